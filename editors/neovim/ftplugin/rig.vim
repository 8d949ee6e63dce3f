" Rig files: comments, the checker behind :make, and gq through the formatter.
if exists('b:did_ftplugin')
  finish
endif
let b:did_ftplugin = 1

setlocal comments=:# commentstring=#\ %s expandtab shiftwidth=2 softtabstop=2 formatoptions-=t formatoptions+=croql
setlocal iskeyword+=-
let b:undo_ftplugin = 'setlocal comments< commentstring< expandtab< shiftwidth< softtabstop< formatoptions<'
      \ . ' iskeyword< formatprg< formatexpr< makeprg< errorformat<'
if executable('rigspec')
  " The program alone would put its complaint in the place of a text with a slip; the function keeps the text.
  setlocal formatprg=rigspec\ format\ - formatexpr=rig#format()
  compiler rig
endif
