-- Run by a headless Neovim that opens a rig: says as JSON what it shows, before and after changes. EXPECTED is how many
-- findings there are at first, SAYS the file to write, TEXTS the file of the function that finds what is drawn.
local said = {}

local function findings()
  return vim.tbl_map(function(each)
    local code = each.code or each.user_data.lsp.code
    local where = { each.lnum, each.col, each.end_lnum, each.end_col }
    return { where = where, severity = each.severity, rule = code, message = each.message }
  end, vim.diagnostic.get(0))
end

local function wait(what, holds)
  if not vim.wait(15000, holds, 20) then
    error('never: ' .. what .. ': ' .. vim.inspect(findings()))
  end
end

local function has(rule)
  for _, each in ipairs(findings()) do
    if each.rule == rule then
      return true
    end
  end
  return false
end

local drawn_text = dofile(vim.env.TEXTS)

local function drive()
  local count = tonumber(vim.env.EXPECTED)
  wait('all findings', function()
    return #vim.diagnostic.get(0) == count
  end)
  said.first = findings()
  wait('a load in the text', function()
    for _, each in ipairs(drawn_text()) do
      if each[2]:find('2.06 < 2.7 ohm', 1, true) and each[1] == 34 then
        return true
      end
    end
    return false
  end)
  said.drawn = drawn_text()
  local client = vim.lsp.get_active_clients()[1]
  local drawing = vim.diagnostic.config(nil, vim.lsp.diagnostic.get_namespace(client.id))
  said.steady = { while_typing = drawing.update_in_insert, signs = vim.wo.signcolumn }
  vim.cmd('RigHints')
  wait('no figures', function()
    for _, each in ipairs(drawn_text()) do
      if each[2]:find(' ≥ ', 1, true) then
        return false
      end
    end
    return true
  end)

  for _, each in ipairs(vim.diagnostic.get(0)) do
    if each.message:find('top_rihgt', 1, true) then
      vim.api.nvim_win_set_cursor(0, { each.lnum + 1, 0 })
      said.in_full = require('rigspec').in_full(each)
    end
  end
  vim.cmd('RigFix')
  wait('the name is known', function()
    return not has('name-unknown')
  end)
  said.fixed = vim.api.nvim_get_current_line()

  -- columns behind characters of two and of four bytes, and of two UTF-16 units
  vim.api.nvim_buf_set_lines(0, 0, 0, false, { 'feed extra { label "🔊 Ω"; level 4 }' })
  wait('the unit is missed', function()
    for _, each in ipairs(findings()) do
      if each.rule == 'unit-missing' and each.where[1] == 0 then
        said.wide = each
        return true
      end
    end
    return false
  end)
  vim.api.nvim_buf_set_lines(0, 0, 1, false, { '   feed   extra { level 4 dBu; label "🔊 Ω" }' })
  vim.cmd('RigFormat')
  said.formatted = vim.api.nvim_buf_get_lines(0, 0, 1, false)[1]

  vim.api.nvim_buf_set_lines(0, 0, 0, false, { 'amp' })
  wait('the slip', function()
    return has('syntax')
  end)
  local notify = vim.notify
  vim.notify = function(text)
    said.refused = text
  end
  vim.cmd('RigFormat')
  vim.notify = notify

  vim.cmd('edit! ' .. vim.env.RIGHT)
  wait('the figures of the right rig', function()
    for _, each in ipairs(drawn_text()) do
      if each[2]:find('8.24 ≥ 4 ohm', 1, true) then
        return true
      end
    end
    return false
  end)
  said.right = findings()
end

vim.api.nvim_create_autocmd('VimEnter', {
  callback = function()
    vim.schedule(function()
      local fine, trouble = pcall(drive)
      said.trouble = not fine and tostring(trouble) or nil
      local file = assert(io.open(vim.env.SAYS, 'w'))
      file:write((vim.json and vim.json.encode or vim.fn.json_encode)(said))
      file:close()
      vim.cmd('qa!')
    end)
  end,
})
