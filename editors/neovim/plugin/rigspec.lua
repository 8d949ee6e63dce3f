-- Starts the language server for every rig that is opened. `g:rigspec` says what is wanted; see the README.
if vim.g.loaded_rigspec then
  return
end
vim.g.loaded_rigspec = true
local group = vim.api.nvim_create_augroup('rigspec', {})
vim.api.nvim_create_autocmd('FileType', {
  group = group,
  pattern = 'rig',
  callback = function(event)
    require('rigspec').attach(event.buf)
  end,
})
