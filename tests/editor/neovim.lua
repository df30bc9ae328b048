-- Neovim drives the server: open, error, quick fix, hover, rename, format, each checked. Run by `run` beside it.
local folder = vim.env.DESK
local transcript = {}

local function say(text)
  table.insert(transcript, text)
end

local function done(code)
  vim.fn.writefile(transcript, folder .. '/transcript')
  vim.cmd('cquit ' .. code)
end

local function check(what, holds)
  say((holds and 'ok    ' or 'FAILS ') .. what)
  if not holds then
    say(table.concat(vim.api.nvim_buf_get_lines(0, 0, -1, false), '\n'))
    say(vim.inspect(vim.diagnostic.get(0)))
    done(1)
  end
end

local function wait(what, holds)
  check(what, vim.wait(20000, holds, 20))
end

local function errors()
  return vim.diagnostic.get(0, { severity = vim.diagnostic.severity.ERROR })
end

local function line_of(words)
  for at, line in ipairs(vim.api.nvim_buf_get_lines(0, 0, -1, false)) do
    local from = line:find(words, 1, true)
    if from then return at, from - 1, line end
  end
  check('the text has "' .. words .. '"', false)
end

local function ask(method, more)
  local params = vim.lsp.util.make_position_params(0, 'utf-16')
  local answers = vim.lsp.buf_request_sync(0, method, vim.tbl_extend('force', params, more or {}), 20000)
  for _, answer in pairs(answers or {}) do return answer.result, answer.error end
end

vim.o.swapfile = false
vim.cmd('edit ' .. folder .. '/heath.wherefore')
local client = vim.lsp.start_client({ cmd = { vim.env.WHEREFORE, 'lsp' }, root_dir = folder, name = 'wherefore' })
check('the server starts', client ~= nil)
vim.lsp.buf_attach_client(0, client)
-- The slow analyses find something about this file; when that has come, the file has been read.
wait('findings of the exact analyses arrive', function() return #vim.diagnostic.get(0) > 0 end)
check('the file has no error', #errors() == 0)

local line, from = line_of('lamp commanded on')
vim.api.nvim_buf_set_text(0, line - 1, from, line - 1, from + 4, { 'lmap' })
wait('a slip is told', function() return #errors() == 1 and errors()[1].code == 'syntax/unknown-fact' end)

vim.api.nvim_win_set_cursor(0, { line, from })
local place = { line = line - 1, character = from }
local actions = ask('textDocument/codeAction', { range = { start = place, ['end'] = place }, context = { diagnostics = {} } })
check('a quick fix is offered', actions and actions[1] and actions[1].title == 'Write `lamp commanded on`')
vim.lsp.util.apply_workspace_edit(actions[1].edit, 'utf-16')
wait('the fix mends it', function() return #errors() == 0 end)

line, from = line_of('model year')
if line then
  vim.api.nvim_win_set_cursor(0, { line, from })
  local hover = ask('textDocument/hover')
  check('a fact is told with its question', hover and hover.contents.value:find('What is the model year?', 1, true) ~= nil)
end

line, from = line_of('clause lamp-light')
vim.api.nvim_win_set_cursor(0, { line, from + 7 })
local edit, refused = ask('textDocument/rename', { newName = 'Not A Name' })
check('a wrong name is refused', edit == nil and refused.message:find('lower-case', 1, true) ~= nil)
edit = ask('textDocument/rename', { newName = 'lit-lamp' })
vim.lsp.util.apply_workspace_edit(edit, 'utf-16')
line_of('clause lit-lamp on lamp')
wait('renamed without an error', function() return #errors() == 0 end)

line = line_of('fail where too many monitors are incomplete')
vim.api.nvim_buf_set_lines(0, line - 1, line, false, { '      fail   where over the limit' })
vim.lsp.buf.formatting_sync(nil, 20000)
local _, _, formatted = line_of('fail where too many monitors are incomplete')
check('formatted, in the words of today', formatted == '  fail where too many monitors are incomplete')
wait('clean of errors at the end', function() return #errors() == 0 end)
done(0)
