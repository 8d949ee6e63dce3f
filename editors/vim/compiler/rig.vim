" Findings of rigspec as quickfix entries: `:compiler rig`, then `:make`.
if exists('current_compiler')
  finish
endif
let current_compiler = 'rig'

CompilerSet makeprg=rigspec\ check\ --as\ line\ %:S
CompilerSet errorformat=%f:%l:%c:\ %trror:\ %m,%f:%l:%c:\ %tarning:\ %m,%I%f:%l:%c:\ advice:\ %m,%f:%l:%c:\ %m
