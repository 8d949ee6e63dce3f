;;; rig-mode.el --- Loudspeaker rigs: colours, findings, figures  -*- lexical-binding: t; -*-

;; Version: 0.1.0
;; Package-Requires: ((emacs "28.1"))
;; Keywords: languages

;;; Commentary:

;; A major mode for *.rig files.  Findings come as Flymake diagnostics from `rigspec serve', by way of Eglot
;; (`M-x eglot', or `eglot-ensure' in `rig-mode-hook').  The lists of words are made by
;; `python -m rigspec.make'.

;;; Code:

(defgroup rig nil
  "Loudspeaker rigs."
  :group 'languages)

(defcustom rig-server-command '("rigspec" "serve")
  "The language server and its arguments."
  :type '(repeat string))

(defcustom rig-start-server t
  "Whether opening a rig starts the language server."
  :type 'boolean)

(defcustom rig-format-on-save nil
  "Whether saving a rig brings it into its canonical form first."
  :type 'boolean)

(defcustom rig-hints t
  "Which figures the server shows inside the text, where this Emacs can.
t is all, nil is none; else an alist of kinds, such as ((loss . :json-false))."
  :type '(choice (const :tag "All" t) (const :tag "None" nil) (alist :key-type symbol :value-type sexp)))

;; words: statement
(defconst rig--statement-words
  '("processor" "measured" "speaker" "expect" "stereo" "allow" "group" "mains" "panel" "place" "spare" "split"
    "stock" "area" "each" "feed" "lead" "rack" "amp" "mix" "rig" "use"))
;; end
;; words: naming
(defconst rig--naming-words
  '("processor" "speaker" "stereo" "group" "mains" "panel" "place" "split" "area" "feed" "lead" "rack" "amp"
    "mix"))
;; end
;; words: sort
(defconst rig--sort-words
  '("processor" "speaker" "panel" "lead" "amp"))
;; end
;; words: hop
(defconst rig--hop-words
  '("parallel" "invert" "linked" "series" "delay" "lead" "pad"))
;; end
;; words: joint
(defconst rig--joint-words
  '("because" "between" "after" "from" "at" "in" "is" "of" "on" "to"))
;; end
;; words: setting
(defconst rig--setting-words
  '("compliance-ratio" "coil-inductance" "insertion-loss" "dc-resistance" "bridged-gain" "electrical-q"
    "mechanical-q" "power-factor" "capacitance" "sensitivity" "switch-mode" "transformer" "attenuator"
    "connectors" "efficiency" "input-peak" "least-load" "peak-level" "capacitor" "generator" "high-pass"
    "impedance" "lead-loss" "programme" "regulated" "resonance" "channels" "coverage" "headroom" "inverted"
    "language" "low-pass" "rated-at" "residual" "separate" "sequence" "breaker" "carries" "contact" "damping"
    "drivers" "latency" "leakage" "outlets" "outputs" "passive" "powered" "release" "active" "attack" "bridge"
    "common" "corner" "driver" "height" "inputs" "inrush" "joined" "length" "limits" "phases" "shared"
    "source" "spread" "supply" "toward" "weight" "array" "box-q" "curve" "delay" "drive" "hears" "input"
    "label" "level" "limit" "lines" "mains" "meter" "muted" "owned" "pairs" "phase" "rated" "stage" "asks"
    "band" "code" "draw" "drop" "ends" "from" "gain" "high" "idle" "lead" "legs" "line" "loss" "note" "peak"
    "rail" "size" "taps" "trip" "aim" "air" "box" "low" "mid" "tap" "at" "on"))
;; end
;; words: choice
(defconst rig--choice-words
  '("linkwitz-riley" "side-by-side" "butterworth" "full-bridge" "half-bridge" "loudspeaker" "continuous"
    "free-field" "half-space" "selective" "class-ab" "end-fire" "gradient" "inverted" "class-h" "bessel"
    "bridge" "curved" "ground" "sealed" "signal" "spaced" "tinned" "vented" "alone" "least" "mains" "solid"
    "peak" "iec" "nec" "rms" "L1" "L2" "L3" "B" "C" "D"))
;; end
;; words: state
(defconst rig--state-words
  '("inverted" "normal" "tinned" "solid"))
;; end
;; words: figure
(defconst rig--figure-words
  '("least-impedance" "opposed-gain" "attenuation" "temperature" "clip-level" "difference" "limit-peak"
    "resistance" "crossover" "high-edge" "impedance" "evenness" "headroom" "low-edge" "polarity" "arrival"
    "current" "damping" "leakage" "neutral" "voltage" "inrush" "margin" "source" "climb" "delay" "level"
    "limit" "power" "share" "draw" "drop" "gain" "heat" "load" "loss" "taps"))
;; end
;; words: unit
(defconst rig--unit-words
  '("dB/octave" "dB SPL" "dB/oct" "mohm/m" "ohm/km" "dBSPL" "ohm/m" "Mohm" "degC" "degF" "feet" "foot" "ft/s"
    "inch" "kohm" "mohm" "mΩ/m" "mΩ/m" "Ω/km" "Ω/km" "AWG" "dBV" "dBu" "deg" "kHz" "kVA" "lbs" "m/s" "min"
    "mm2" "mm²" "ohm" "Ω/m" "Ω/m" "Hz" "MΩ" "MΩ" "VA" "cm" "dB" "ft" "in" "kV" "kW" "kg" "km" "kΩ" "kΩ" "lb"
    "mA" "mF" "mH" "mV" "mW" "mm" "ms" "mΩ" "mΩ" "nF" "pF" "uF" "uH" "us" "°C" "°F" "µF" "µH" "µs" "μF" "μH"
    "μs" "%" "A" "F" "H" "K" "U" "V" "W" "g" "h" "m" "s" "°" "Ω" "Ω"))
;; end
;; words: rule
(defconst rig--rule-words
  '("impedance-below-rated" "amplifier-into-input" "bridge-switch-undone" "opposed-drive-uneven"
    "box-over-continuous" "opposed-drive-costs" "opposed-drive-gains" "breaker-overloaded"
    "curve-driver-apart" "limiter-peak-alone" "neutral-overloaded" "opposed-drive-half" "output-loaded-down"
    "bridge-and-halves" "driver-incomplete" "filter-impossible" "inversions-cancel" "nothing-connected"
    "rated-implausible" "bridge-half-free" "carrier-mismatch" "centre-one-sided" "input-overdriven"
    "residual-missing" "array-backwards" "bass-below-band" "bridge-and-half" "driver-unlikely"
    "expect-unjudged" "figure-unlikely" "file-unreadable" "generator-small" "generator-tight"
    "input-fed-twice" "lead-incomplete" "mains-drop-high" "mains-lead-thin" "more-than-owned"
    "pair-used-twice" "pairs-exchanged" "place-uncovered" "polarity-shared" "polarity-stereo"
    "setting-unknown" "settings-unlike" "sides-exchanged" "switch-conflict" "wedge-exchanged" "amp-too-strong"
    "box-overdriven" "crossover-null" "figure-unknown" "gear-misplaced" "headroom-short" "high-pass-weak"
    "language-newer" "lead-loss-high" "lead-overheats" "lead-too-short" "least-load-low" "limiter-timing"
    "member-unknown" "polarity-clash" "signal-tangled" "allow-unknown" "arrival-early" "box-over-peak"
    "breaker-close" "breaker-order" "bridge-unsaid" "crossover-dip" "curve-doubled" "feed-peak-low"
    "input-ignored" "lead-unsuited" "line-mismatch" "mains-crossed" "mains-missing" "mains-voltage"
    "name-reserved" "outlets-short" "output-loaded" "phases-uneven" "reach-unknown" "series-unlike"
    "setting-twice" "setting-value" "source-unsaid" "stereo-unlike" "unit-mismatch" "allow-unused"
    "amp-too-weak" "band-overlap" "draw-unknown" "end-dangling" "expect-unmet" "group-uneven" "hop-unsuited"
    "kind-unknown" "leakage-high" "limiter-high" "limiter-idle" "load-too-low" "load-unknown" "muted-in-use"
    "name-unknown" "outputs-tied" "phase-absent" "phase-unsaid" "port-unknown" "row-unlinked" "rows-unequal"
    "sides-uneven" "sides-unlike" "unit-missing" "unit-unknown" "array-unset" "curve-short" "damping-low"
    "gain-unused" "inrush-high" "limiter-low" "signal-loop" "stage-clips" "subs-behind" "use-missing"
    "above-band" "array-weak" "array-wide" "band-empty" "below-band" "comb-heard" "echo-heard" "gain-apart"
    "name-twice" "rails-pump" "amp-clips" "fill-loud" "line-bass" "line-full" "list-loop" "tap-short"
    "ways-late" "aim-away" "band-gap" "use-loop" "syntax" "usage"))
;; end

(defun rig--any (words)
  "A pattern for any of WORDS; group 1 is the word."
  (concat "\\(" (regexp-opt words) "\\)"))

(defconst rig--name "[[:alpha:]_]\\(?:[[:alnum:]_]\\|-[[:alnum:]_]\\)*")

(defconst rig--port
  (concat "\\(\\.\\(?:[0-9]+\\(?:\\+[0-9]+\\|\\.\\.[0-9]+\\)?\\|\\*\\|" rig--name "\\)\\)"))

(defun rig--in-block (pattern)
  "A matcher that finds PATTERN in braces only."
  (rig--where pattern (lambda (depth) (> depth 0))))

(defun rig--outside (pattern)
  "A matcher that finds PATTERN outside braces only."
  (rig--where pattern #'zerop))

(defun rig--where (pattern wanted)
  "A matcher that finds PATTERN where the depth in braces is WANTED."
  (lambda (limit)
    (let (found)
      (while (and (not found) (re-search-forward pattern limit t))
        (let ((after (match-end 1)))
          (setq found (save-match-data (funcall wanted (rig--depth (match-beginning 1)))))
          (goto-char (max after (1+ (match-beginning 0))))))
      found)))

(defun rig--depth (place)
  "How many braces are open at PLACE."
  (let ((depth 0))
    (dolist (open (nth 9 (save-excursion (syntax-ppss place))) depth)
      (when (eq (char-after open) ?\{) (setq depth (1+ depth))))))

(defconst rig--figure-pattern
  (concat "\\(?:^\\|[^][:alnum:]_.)-]\\)"
          "\\([+-]?[0-9]+\\(?:\\.[0-9]+\\)?\\(?:[eE][+-]?[0-9]+\\)?\\(?:/[0-9]+\\)?\\)"
          "\\(?:[ \t]*" (rig--any rig--unit-words) "\\(?:[^[:alnum:]_/]\\|$\\)\\)?"))

(defun rig--find-figure (limit)
  "Find the next figure before LIMIT: its number and its unit."
  (when (re-search-forward rig--figure-pattern limit t)
    (goto-char (or (match-end 2) (match-end 1)))
    t))

(defconst rig-font-lock-keywords
  (let ((end "\\(?:[^[:alnum:]_.[-]\\|$\\)") (begin "\\(?:^\\|[^[:alnum:]_.-]\\)"))
    `((,(concat "^[ \t]*\\(stock\\)[ \t]+" (rig--any rig--sort-words) "[ \t]+\\(" rig--name "\\)")
       (1 font-lock-keyword-face) (2 font-lock-builtin-face) (3 font-lock-type-face))
      (,(concat "^[ \t]*\\(expect\\|measured\\)[ \t]+" (rig--any rig--figure-words) end)
       (1 font-lock-keyword-face) (2 font-lock-function-name-face))
      (,(concat "^[ \t]*\\(allow\\)[ \t]+" (rig--any rig--rule-words) end)
       (1 font-lock-keyword-face) (2 font-lock-preprocessor-face))
      (,(rig--outside (concat "^[ \t]*" (rig--any rig--naming-words) "[ \t]+\\(" rig--name "\\)"))
       (1 font-lock-keyword-face) (2 font-lock-variable-name-face))
      (,(rig--outside (concat "\\[[^][]*\\][ \t]+\\(is\\)[ \t]+\\(" rig--name "\\)"))
       (1 font-lock-builtin-face) (2 font-lock-type-face))
      (,(rig--outside (concat "[ \t]\\(is\\)[ \t]+\\(" rig--name "\\)"))
       (1 font-lock-builtin-face) (2 font-lock-type-face))
      (,(rig--outside (concat "^[ \t]*" (rig--any rig--statement-words) end)) (1 font-lock-keyword-face))
      (,(rig--in-block (concat "\\(?:^\\|[{;]\\)[ \t]*" (rig--any rig--setting-words) end)) (1 font-lock-type-face))
      ("\\[[^][]*\\]" . font-lock-constant-face)
      (,(concat "\\(?:" rig--name "\\|\\]\\)" rig--port) (1 font-lock-variable-name-face))
      (rig--find-figure (1 font-lock-constant-face) (2 font-lock-builtin-face nil t))
      (,(rig--outside (concat begin (rig--any rig--hop-words) end)) (1 font-lock-keyword-face))
      (,(rig--outside (concat begin (rig--any rig--state-words) end)) (1 font-lock-constant-face))
      (,(rig--in-block (concat begin (rig--any rig--choice-words) end)) (1 font-lock-constant-face))
      (,(concat "[ \t]" (rig--any rig--joint-words) "\\(?:[ \t]\\|$\\)") (1 font-lock-builtin-face))
      ("->\\|[<>]=\\|[≤≥<>=±]" . font-lock-builtin-face)))
  "What is coloured in a rig.")

(defvar rig-mode-syntax-table
  (let ((table (make-syntax-table)))
    (modify-syntax-entry ?# "<" table)
    (modify-syntax-entry ?\n ">" table)
    (modify-syntax-entry ?\" "\"" table)
    (modify-syntax-entry ?_ "_" table)
    (modify-syntax-entry ?- "_" table)
    (modify-syntax-entry ?\; "." table)
    (modify-syntax-entry ?% "." table)
    table))

(defun rig-indent-line ()
  "Indent by two columns for each open brace, as the canonical form does."
  (interactive)
  (let* ((closing (save-excursion (back-to-indentation) (looking-at-p "[})]")))
         (depth (save-excursion (car (syntax-ppss (line-beginning-position)))))
         (column (* 2 (max 0 (if closing (1- depth) depth)))))
    (if (<= (current-column) (current-indentation))
        (indent-line-to column)
      (save-excursion (indent-line-to column)))))

(defun rig-format-buffer ()
  "Bring the rig into its canonical form by `rigspec format -'.
It works without a server."
  (interactive)
  (let ((name (or buffer-file-name "rig")) (text (current-buffer)) (program (car rig-server-command))
        (said (generate-new-buffer " *rigspec*" t)) (errors (make-temp-file "rigspec")))
    (unwind-protect
        (if (zerop (call-process-region nil nil program nil (list said errors) nil "format" "--name" name "-"))
            (with-current-buffer text (replace-buffer-contents said))
          (message "%s" (with-temp-buffer (insert-file-contents errors) (string-trim (buffer-string)))))
      (kill-buffer said)
      (delete-file errors))))

(defun rig--format-before-save ()
  "Format, where it is wished."
  (when rig-format-on-save (rig-format-buffer)))

;;;###autoload
(define-derived-mode rig-mode prog-mode "Rig"
  "Major mode for loudspeaker rigs."
  (setq-local comment-start "# ")
  (setq-local comment-start-skip "#+[ \t]*")
  (setq-local comment-end "")
  (setq-local indent-tabs-mode nil)
  (setq-local indent-line-function #'rig-indent-line)
  (setq-local font-lock-defaults '(rig-font-lock-keywords))
  (setq-local compile-command (format "%s check --as line ." (car rig-server-command)))
  (add-hook 'before-save-hook #'rig--format-before-save nil t)
  (when (and rig-start-server buffer-file-name (not noninteractive) (fboundp 'eglot-ensure)
             (executable-find (car rig-server-command)))
    (eglot-ensure)))

;;;###autoload
(add-to-list 'auto-mode-alist '("\\.rig\\'" . rig-mode))

(defun rig--contact (&rest _)
  "The server's command, and what it is told at the start."
  (append rig-server-command
          (list :initializationOptions
                (list :hints (cond ((eq rig-hints t) t)
                                   ((null rig-hints) :json-false)
                                   (t rig-hints))))))

(declare-function flymake-eldoc-function "flymake")
(defun rig--findings-first ()
  "Say of point first what is wrong, then how its figures come about."
  (when (derived-mode-p 'rig-mode)
    (remove-hook 'eldoc-documentation-functions #'flymake-eldoc-function t)
    (add-hook 'eldoc-documentation-functions #'flymake-eldoc-function -90 t)
    (setq-local eldoc-documentation-strategy #'eldoc-documentation-compose)
    ;; A working has many lines: where point goes, the text shall not jump.  `M-x eldoc' shows all of it.
    (setq-local eldoc-echo-area-use-multiline-p 3)))

(defvar eglot-server-programs)
(with-eval-after-load 'eglot
  (add-hook 'eglot-managed-mode-hook #'rig--findings-first)
  (add-to-list 'eglot-server-programs '(rig-mode . rig--contact)))

(provide 'rig-mode)
;;; rig-mode.el ends here
