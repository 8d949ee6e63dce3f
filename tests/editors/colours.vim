" Run by a silent Vim: writes the syntax group of the first character of every piece. PLACES is a JSON list of files with
" lists of lines and bytes, SAYS the file to write.
let s:told = []
for [s:file, s:places] in json_decode(join(readfile($PLACES), ''))
  execute 'edit ' . fnameescape(s:file)
  syntax sync fromstart
  for [s:line, s:byte] in s:places
    call add(s:told, synIDattr(synID(s:line + 1, s:byte + 1, 0), 'name'))
  endfor
endfor
call writefile([json_encode(s:told)], $SAYS)
qall!
