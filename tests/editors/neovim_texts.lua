-- All that is drawn into the text of the buffer: pairs of the line, from 0, and the piece. Findings are drawn in spaces
-- without a name, which the diagnostics know.
return function()
  local spaces = vim.tbl_values(vim.api.nvim_get_namespaces())
  for _, each in pairs(vim.diagnostic.get_namespaces()) do
    table.insert(spaces, each.user_data and each.user_data.virt_text_ns)
  end
  local texts = {}
  for _, space in ipairs(spaces) do
    for _, mark in ipairs(vim.api.nvim_buf_get_extmarks(0, space, 0, -1, { details = true })) do
      for _, piece in ipairs(mark[4].virt_text or {}) do
        table.insert(texts, { mark[2], piece[1] })
      end
    end
  end
  -- Neovim draws hints of its own only on a screen; what it would draw is told.
  local hints = vim.lsp.inlay_hint
  for _, each in ipairs(hints and hints.is_enabled({ bufnr = 0 }) and hints.get({ bufnr = 0 }) or {}) do
    table.insert(texts, { each.inlay_hint.position.line, each.inlay_hint.label })
  end
  return texts
end
