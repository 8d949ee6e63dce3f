" What `gq` does in a rig: the lines in their canonical form, or as they were and the reason why.
function! rig#format() abort
  if mode() =~# '[iR]'
    return 0 " nothing is broken while somebody types
  endif
  let l:last = v:lnum + v:count - 1
  let l:said = tempname()
  let l:name = empty(expand('%')) ? 'rig' : expand('%:p')
  let l:command = 'rigspec format --name ' . shellescape(l:name) . ' - 2>' . shellescape(l:said)
  let l:lines = systemlist(l:command, join(getline(v:lnum, l:last), "\n") . "\n")
  if v:shell_error
    let l:why = filereadable(l:said) ? readfile(l:said) : []
    echohl WarningMsg
    echomsg 'not formatted: ' . get(l:why, 0, 'rigspec cannot be run')
    echohl None
  elseif l:lines !=# getline(v:lnum, l:last)
    let l:first = v:lnum
    let l:view = winsaveview()
    call append(l:last, l:lines)
    silent execute l:first . ',' . l:last . 'delete _'
    call winrestview(l:view)
  endif
  call delete(l:said)
  return 0
endfunction
