-- Findings, figures and fixes for loudspeaker rigs, by the language server `rigspec serve`. Neovim 0.7.2 and newer.
local M = {}

local NAME = 'rigspec'
local defaults = {
  cmd = { 'rigspec', 'serve' }, -- the server
  server = true, -- false: colours, :make and gq only
  findings = true, -- the message of a finding behind its line
  while_typing = true, -- false: findings wait until insert mode is left
  hints = true, -- figures in the text; or a table such as { loss = false }
  keys = true, -- see `map_keys`
  format_on_save = false,
}
local drawn = vim.api.nvim_create_namespace('rigspec-hints')
local hints_off = {} -- by buffer
local told = false
local newer = vim.fn.has('nvim-0.11') == 1 -- it can show the findings at the cursor below their line, in full length
local typing = false -- is the editor in insert mode?

-- `get_active_clients` until 0.9, `get_clients` from then on.
local function clients(buf)
  local get = vim.lsp.get_clients or vim.lsp.get_active_clients
  return vim.tbl_filter(function(client)
    return client.name == NAME and (not buf or vim.lsp.buf_is_attached(buf, client.id))
  end, get())
end

function M.options()
  return vim.tbl_extend('force', defaults, vim.g.rigspec or {})
end

-- A request, and what came back within two seconds.
local function ask(buf, method, params)
  local client = clients(buf)[1]
  if not client then
    return nil
  end
  local answers = vim.lsp.buf_request_sync(buf, method, params, 2000) or {}
  return (answers[client.id] or {}).result, client
end

local function label_of(hint)
  if type(hint.label) == 'string' then
    return hint.label
  end
  return table.concat(vim.tbl_map(function(part)
    return part.value
  end, hint.label))
end

-- ---- findings -------------------------------------------------------------------------------------------------------

-- Lines of at most so many bytes, broken between words; what goes on is set in.
local function wrapped(text, indent, width)
  local lines, line = {}, indent
  for word in text:gmatch('%S+') do
    if #line + #word > width and line:find('%S') then
      table.insert(lines, line)
      line = indent .. '  '
    end
    line = line .. (line:find('%S') and ' ' or '') .. word
  end
  table.insert(lines, line)
  return table.concat(lines, '\n')
end

-- A finding in full: what has to do with it, what was assumed, why it matters, and what to change.
function M.in_full(finding)
  local lsp = (finding.user_data or {}).lsp or {}
  local lines = { wrapped(finding.message, '', 88) }
  local why = (lsp.data or {}).reason or ''
  for _, related in ipairs(lsp.relatedInformation or {}) do
    if why ~= '' and related.message:find('^change: ') then
      table.insert(lines, wrapped('why: ' .. why, '  ', 88))
    end
    local file, line = related.location.uri, related.location.range.start.line + 1
    local place = ''
    if file ~= vim.uri_from_bufnr(finding.bufnr) then
      place = ' (' .. vim.fn.fnamemodify(vim.uri_to_fname(file), ':t') .. ':' .. line .. ')'
    elseif line ~= finding.lnum + 1 then
      place = ' (line ' .. line .. ')'
    end
    table.insert(lines, wrapped(related.message .. place, '  ', 88))
  end
  return table.concat(lines, '\n')
end

-- What is found on this line, in full, in a window of its own.
function M.show()
  local plain = { header = '', prefix = '', suffix = '', source = false, border = 'rounded', wrap = false }
  vim.diagnostic.open_float(vim.tbl_extend('error', plain, { scope = 'line', format = M.in_full }))
end

-- The message of a finding, with the question that a slip in a word raises: did you mean another?
local function message_of(finding)
  local first = (((finding.user_data or {}).lsp or {}).relatedInformation or {})[1]
  local question = first and first.message:find('^did you mean') and ': ' .. first.message or ''
  return finding.message .. question
end

-- A finding as it stands below its line: its message, broken where the window ends. Figures in the text move it.
local function below(finding)
  if typing then
    return nil -- lines would come and go with every key
  end
  local line = vim.api.nvim_buf_get_lines(finding.bufnr, finding.lnum, finding.lnum + 1, false)[1] or ''
  local column = vim.fn.strdisplaywidth(line:sub(1, finding.col))
  local row = { start = { line = finding.lnum, character = 0 }, ['end'] = { line = finding.lnum, character = #line } }
  for _, each in ipairs(vim.lsp.inlay_hint.get({ bufnr = finding.bufnr, range = row })) do
    if each.inlay_hint.position.line == finding.lnum and each.inlay_hint.position.character <= finding.col then
      column = column + 1 + vim.fn.strdisplaywidth(label_of(each.inlay_hint))
    end
  end
  local wins = vim.fn.win_findbuf(finding.bufnr)
  local room = (wins[1] and vim.api.nvim_win_get_width(wins[1]) or vim.o.columns) - column - 10
  local rule = finding.code and (' [' .. finding.code .. ']') or ''
  return wrapped(message_of(finding) .. rule, '', math.max(room, 30))
end

-- A finding as it stands behind its line; where the cursor is it stands below it, but while somebody types there.
local function behind(finding)
  local here = vim.api.nvim_get_current_buf() == finding.bufnr and vim.api.nvim_win_get_cursor(0)[1] - 1
  return (typing or not newer or here ~= finding.lnum) and message_of(finding) or nil
end

-- Draw the findings anew when the cursor has come to a line that has some or has left one, and around typing.
local function follow_cursor(buf, of_client)
  local last = vim.api.nvim_win_get_cursor(0)[1] - 1
  local group = vim.api.nvim_create_augroup('rigspec-cursor-' .. buf, {}) -- once, if the server is started anew
  local function on(events, call)
    vim.api.nvim_create_autocmd(events, { buffer = buf, group = group, callback = call })
  end
  local function has_some(line)
    return #vim.diagnostic.get(buf, { namespace = of_client, lnum = line }) > 0
  end
  on('CursorMoved', function()
    local line = vim.api.nvim_win_get_cursor(0)[1] - 1
    typing = false -- insert mode may have been left elsewhere
    if line ~= last and (has_some(line) or has_some(last)) then
      vim.diagnostic.show(of_client, buf)
    end
    last = line
  end)
  on({ 'InsertEnter', 'InsertLeave' }, function(event)
    typing = event.event == 'InsertEnter'
    vim.diagnostic.show(of_client, buf)
  end)
end

local function show_findings(client, buf, options)
  local of_client = vim.lsp.diagnostic.get_namespace(client.id)
  vim.diagnostic.config({
    virtual_text = options.findings and { prefix = '■', spacing = 2, format = behind } or false,
    virtual_lines = newer and options.findings and { current_line = true, format = below } or nil,
    severity_sort = true,
    update_in_insert = options.while_typing,
  }, of_client)
  if newer and options.findings then
    follow_cursor(buf, of_client)
  end
  if vim.o.signcolumn == 'auto' and vim.api.nvim_get_current_buf() == buf then
    vim.cmd('setlocal signcolumn=yes') -- else the text would jump aside with every slip, and back
  end
end

-- ---- figures in the text --------------------------------------------------------------------------------------------

-- Neovim before 0.10 has no hints of its own: they are drawn behind the line.
local function draw_hints(buf)
  local client = clients(buf)[1]
  if not client or not vim.api.nvim_buf_is_loaded(buf) then
    return
  end
  local last = vim.api.nvim_buf_line_count(buf)
  local params = {
    textDocument = vim.lsp.util.make_text_document_params(buf),
    range = { start = { line = 0, character = 0 }, ['end'] = { line = last, character = 0 } },
  }
  client.request('textDocument/inlayHint', params, function(_, hints)
    if not vim.api.nvim_buf_is_loaded(buf) then
      return
    end
    vim.api.nvim_buf_clear_namespace(buf, drawn, 0, -1)
    if hints_off[buf] then
      return
    end
    local by_line = {}
    for _, hint in ipairs(hints or {}) do
      local line = hint.position.line
      by_line[line] = by_line[line] or {}
      table.insert(by_line[line], label_of(hint))
    end
    for line, labels in pairs(by_line) do
      if line < vim.api.nvim_buf_line_count(buf) then
        vim.api.nvim_buf_set_extmark(buf, drawn, line, 0, {
          virt_text = { { '  ' .. table.concat(labels, ' · '), 'RigHint' } },
          hl_mode = 'combine',
          priority = 5000, -- behind a finding, which has 4096
        })
      end
    end
  end, buf)
end

local function start_hints(buf)
  if vim.lsp.inlay_hint then
    local hint = vim.api.nvim_get_hl(0, { name = 'LspInlayHint', link = false })
    if not vim.o.termguicolors and not hint.ctermfg then
      -- in a terminal of 256 colours nothing would tell figures from the text
      vim.api.nvim_set_hl(0, 'LspInlayHint', vim.tbl_extend('force', hint, { ctermfg = 'DarkGrey' }))
    end
    vim.lsp.inlay_hint.enable(true, { bufnr = buf })
    return
  end
  vim.api.nvim_set_hl(0, 'RigHint', { link = 'Comment', default = true })
  -- Findings come after every change, when the server has the figures too.
  vim.api.nvim_create_autocmd('DiagnosticChanged', {
    buffer = buf,
    callback = function()
      draw_hints(buf)
    end,
  })
  draw_hints(buf)
end

function M.toggle_hints(buf)
  buf = buf or vim.api.nvim_get_current_buf()
  if vim.lsp.inlay_hint then
    vim.lsp.inlay_hint.enable(not vim.lsp.inlay_hint.is_enabled({ bufnr = buf }), { bufnr = buf })
  else
    hints_off[buf] = not hints_off[buf]
    draw_hints(buf)
  end
end

-- ---- changes --------------------------------------------------------------------------------------------------------

-- Apply the fix of the finding nearest to the cursor on its line; true where there was one.
function M.fix()
  local buf, row = vim.api.nvim_get_current_buf(), vim.api.nvim_win_get_cursor(0)[1] - 1
  local line = vim.api.nvim_buf_get_lines(buf, row, row + 1, true)[1]
  local client = clients(buf)[1]
  if not client then
    return false
  end
  local _, width = vim.str_utfindex(line)
  local params = {
    textDocument = vim.lsp.util.make_text_document_params(buf),
    range = { start = { line = row, character = 0 }, ['end'] = { line = row, character = width } },
    context = { diagnostics = {} },
  }
  for _, action in ipairs(ask(buf, 'textDocument/codeAction', params) or {}) do
    if action.isPreferred then
      vim.lsp.util.apply_workspace_edit(action.edit, client.offset_encoding)
      return true
    end
  end
  vim.notify('rigspec: no finding on this line has a fix')
  return false
end

function M.format()
  local options = { tabSize = 2, insertSpaces = true }
  local buf = vim.api.nvim_get_current_buf()
  local params = { textDocument = vim.lsp.util.make_text_document_params(buf), options = options }
  local edits, client = ask(buf, 'textDocument/formatting', params)
  if edits and #edits > 0 then
    vim.lsp.util.apply_text_edits(edits, buf, client.offset_encoding)
    return
  end
  for _, finding in ipairs(vim.diagnostic.get(buf)) do
    if finding.code == 'syntax' or ((finding.user_data or {}).lsp or {}).code == 'syntax' then
      vim.notify('rigspec: not formatted, line ' .. finding.lnum + 1 .. ' cannot be read: ' .. finding.message)
      return
    end
  end
end

-- What is told of a figure is long: it stands in a frame, unless the user's own windows have another.
local function hover()
  local own = vim.fn.exists('+winborder') == 1 and vim.o.winborder ~= ''
  vim.lsp.buf.hover(not own and { border = 'rounded' } or nil)
end

-- The keys that newer versions of Neovim have themselves; `gd` and `gl` besides.
local function map_keys(buf)
  local keys = {
    K = hover,
    gd = vim.lsp.buf.definition,
    grr = vim.lsp.buf.references,
    grn = vim.lsp.buf.rename,
    gra = vim.lsp.buf.code_action,
    gl = M.show,
  }
  for key, call in pairs(keys) do
    vim.keymap.set('n', key, function()
      call()
    end, { buffer = buf, desc = 'rigspec' })
  end
end

-- ---- the server -----------------------------------------------------------------------------------------------------

local function on_attach(client, buf)
  local options = M.options()
  show_findings(client, buf, options)
  if options.hints then
    start_hints(buf)
  end
  if options.keys then
    map_keys(buf)
  end
  vim.bo[buf].omnifunc = 'v:lua.vim.lsp.omnifunc'
  local command = vim.api.nvim_buf_create_user_command
  command(buf, 'RigFix', M.fix, { desc = 'apply the fix of the finding on this line' })
  command(buf, 'RigFormat', M.format, { desc = 'bring the rig into its canonical form' })
  command(buf, 'RigHints', function()
    M.toggle_hints(buf)
  end, { desc = 'show or hide the figures in the text' })
  if options.format_on_save then
    vim.api.nvim_create_autocmd('BufWritePre', { buffer = buf, callback = M.format })
  end
end

-- Start the server, or use the one that runs, for a buffer.
function M.attach(buf)
  local options = M.options()
  if not options.server or vim.bo[buf].buftype ~= '' or vim.api.nvim_buf_get_name(buf) == '' then
    return
  end
  if vim.fn.executable(options.cmd[1]) == 0 then
    if not told then
      told = true
      local cure = "pip install 'rigspec[serve]', or say in g:rigspec.cmd where it is"
      vim.notify('rigspec: `' .. options.cmd[1] .. '` is not found: ' .. cure, vim.log.levels.WARN)
    end
    return
  end
  local running = clients()[1]
  if running then
    vim.lsp.buf_attach_client(buf, running.id)
    return
  end
  local config = {
    name = NAME,
    cmd = options.cmd,
    init_options = { hints = options.hints },
    on_attach = on_attach,
  }
  if not newer then -- it takes no frame with the request
    config.handlers = { ['textDocument/hover'] = vim.lsp.with(vim.lsp.handlers.hover, { border = 'rounded' }) }
  end
  if vim.lsp.start then
    vim.lsp.start(config, { bufnr = buf })
  else
    vim.lsp.buf_attach_client(buf, vim.lsp.start_client(config))
  end
end

return M
