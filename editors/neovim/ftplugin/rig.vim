" Rig files: comments, the checker behind :make, and gq through the formatter.
if exists('b:did_ftplugin')
  finish
endif
let b:did_ftplugin = 1

setlocal comments=:# commentstring=#\ %s expandtab shiftwidth=2 softtabstop=2
if executable('rigspec')
  setlocal formatprg=rigspec\ format\ -
  compiler rig
endif
let b:undo_ftplugin = 'setlocal comments< commentstring< expandtab< shiftwidth< softtabstop< formatprg< makeprg< errorformat<'
