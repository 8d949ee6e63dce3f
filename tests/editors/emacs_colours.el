;;; Run by Emacs in batch: writes the face of the first character of every piece.  -*- lexical-binding: t; -*-
;; MODE the file of the mode, PLACES a JSON list of files with lists of lines and columns, SAYS the file to write.
(require 'json)
(load (getenv "MODE"))
(setq rig-start-server nil)
(let ((json-array-type 'list) told)
  (dolist (file (json-read-file (getenv "PLACES")))
    (with-temp-buffer
      (insert-file-contents (car file))
      (rig-mode)
      (font-lock-ensure)
      (dolist (at (cadr file))
        (goto-char (point-min))
        (forward-line (car at))
        (push (format "%s" (get-text-property (+ (point) (cadr at)) 'face)) told))))
  (with-temp-file (getenv "SAYS") (insert (json-encode (vconcat (nreverse told))))))
;;; emacs_colours.el ends here
