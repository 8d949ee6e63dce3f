" Colours for loudspeaker rigs. The lists of words are made by `python -m rigspec.make`.
" What is no setting in braces, no unit behind a number or no rule behind `allow` stays plain, so that a slip shows.
if exists('b:current_syntax')
  finish
endif
let s:cpo = &cpo
set cpo&vim

" words: statement
let s:statement = [
  \ 'processor', 'measured', 'speaker', 'expect', 'stereo', 'allow', 'group', 'mains', 'panel', 'place',
  \ 'spare', 'split', 'stock', 'area', 'each', 'feed', 'lead', 'rack', 'amp', 'mix', 'rig', 'use',
  \ ]
" end
" words: naming
let s:naming = [
  \ 'processor', 'speaker', 'stereo', 'group', 'mains', 'panel', 'place', 'split', 'area', 'feed', 'lead',
  \ 'rack', 'amp', 'mix',
  \ ]
" end
" words: sort
let s:sort = [
  \ 'processor', 'speaker', 'panel', 'lead', 'amp',
  \ ]
" end
" words: hop
let s:hop = [
  \ 'parallel', 'invert', 'linked', 'series', 'delay', 'lead', 'pad',
  \ ]
" end
" words: joint
let s:joint = [
  \ 'because', 'between', 'after', 'from', 'at', 'in', 'is', 'of', 'on', 'to',
  \ ]
" end
" words: setting
let s:setting = [
  \ 'compliance-ratio', 'coil-inductance', 'insertion-loss', 'dc-resistance', 'bridged-gain', 'electrical-q',
  \ 'mechanical-q', 'power-factor', 'capacitance', 'sensitivity', 'switch-mode', 'transformer', 'attenuator',
  \ 'connectors', 'efficiency', 'input-peak', 'least-load', 'peak-level', 'capacitor', 'generator',
  \ 'high-pass', 'impedance', 'lead-loss', 'programme', 'regulated', 'resonance', 'channels', 'coverage',
  \ 'headroom', 'inverted', 'language', 'low-pass', 'rated-at', 'residual', 'separate', 'sequence', 'breaker',
  \ 'carries', 'contact', 'damping', 'drivers', 'latency', 'leakage', 'outlets', 'outputs', 'passive',
  \ 'powered', 'release', 'active', 'attack', 'bridge', 'common', 'corner', 'driver', 'height', 'inputs',
  \ 'inrush', 'joined', 'length', 'limits', 'phases', 'shared', 'source', 'spread', 'supply', 'toward',
  \ 'weight', 'array', 'box-q', 'curve', 'delay', 'drive', 'hears', 'input', 'label', 'level', 'limit',
  \ 'lines', 'mains', 'meter', 'muted', 'owned', 'pairs', 'phase', 'rated', 'stage', 'asks', 'band', 'code',
  \ 'draw', 'drop', 'ends', 'from', 'gain', 'high', 'idle', 'lead', 'legs', 'line', 'loss', 'note', 'peak',
  \ 'rail', 'size', 'taps', 'trip', 'aim', 'air', 'box', 'low', 'mid', 'tap', 'at', 'on',
  \ ]
" end
" words: choice
let s:choice = [
  \ 'linkwitz-riley', 'side-by-side', 'butterworth', 'full-bridge', 'half-bridge', 'loudspeaker',
  \ 'continuous', 'free-field', 'half-space', 'selective', 'class-ab', 'end-fire', 'gradient', 'inverted',
  \ 'class-h', 'bessel', 'bridge', 'curved', 'ground', 'sealed', 'signal', 'spaced', 'tinned', 'vented',
  \ 'alone', 'least', 'mains', 'solid', 'peak', 'iec', 'nec', 'rms', 'L1', 'L2', 'L3', 'B', 'C', 'D',
  \ ]
" end
" words: state
let s:state = [
  \ 'inverted', 'normal', 'tinned', 'solid',
  \ ]
" end
" words: figure
let s:figure = [
  \ 'least-impedance', 'opposed-gain', 'attenuation', 'temperature', 'clip-level', 'difference', 'limit-peak',
  \ 'resistance', 'crossover', 'high-edge', 'impedance', 'evenness', 'headroom', 'low-edge', 'polarity',
  \ 'arrival', 'current', 'damping', 'leakage', 'neutral', 'voltage', 'inrush', 'margin', 'source', 'climb',
  \ 'delay', 'level', 'limit', 'power', 'share', 'draw', 'drop', 'gain', 'heat', 'load', 'loss', 'taps',
  \ ]
" end
" words: unit
let s:unit = [
  \ 'dB/octave', 'dB SPL', 'dB/oct', 'mohm/m', 'ohm/km', 'dBSPL', 'ohm/m', 'Mohm', 'degC', 'degF', 'feet',
  \ 'foot', 'ft/s', 'inch', 'kohm', 'mohm', 'mΩ/m', 'mΩ/m', 'Ω/km', 'Ω/km', 'AWG', 'dBV', 'dBu', 'deg', 'kHz',
  \ 'kVA', 'lbs', 'm/s', 'min', 'mm2', 'mm²', 'ohm', 'Ω/m', 'Ω/m', 'Hz', 'MΩ', 'MΩ', 'VA', 'cm', 'dB', 'ft',
  \ 'in', 'kV', 'kW', 'kg', 'km', 'kΩ', 'kΩ', 'lb', 'mA', 'mF', 'mH', 'mV', 'mW', 'mm', 'ms', 'mΩ', 'mΩ',
  \ 'nF', 'pF', 'uF', 'uH', 'us', '°C', '°F', 'µF', 'µH', 'µs', 'μF', 'μH', 'μs', '%', 'A', 'F', 'H', 'K',
  \ 'U', 'V', 'W', 'g', 'h', 'm', 's', '°', 'Ω', 'Ω',
  \ ]
" end
" words: rule
let s:rule = [
  \ 'impedance-below-rated', 'amplifier-into-input', 'bridge-switch-undone', 'opposed-drive-uneven',
  \ 'box-over-continuous', 'opposed-drive-costs', 'opposed-drive-gains', 'breaker-overloaded',
  \ 'curve-driver-apart', 'limiter-peak-alone', 'neutral-overloaded', 'opposed-drive-half',
  \ 'output-loaded-down', 'bridge-and-halves', 'driver-incomplete', 'filter-impossible', 'inversions-cancel',
  \ 'nothing-connected', 'rated-implausible', 'bridge-half-free', 'carrier-mismatch', 'centre-one-sided',
  \ 'input-overdriven', 'residual-missing', 'array-backwards', 'bass-below-band', 'bridge-and-half',
  \ 'driver-unlikely', 'expect-unjudged', 'figure-unlikely', 'file-unreadable', 'generator-small',
  \ 'generator-tight', 'input-fed-twice', 'lead-incomplete', 'mains-drop-high', 'mains-lead-thin',
  \ 'more-than-owned', 'pair-used-twice', 'pairs-exchanged', 'place-uncovered', 'polarity-shared',
  \ 'polarity-stereo', 'setting-unknown', 'settings-unlike', 'sides-exchanged', 'switch-conflict',
  \ 'wedge-exchanged', 'amp-too-strong', 'box-overdriven', 'crossover-null', 'figure-unknown',
  \ 'gear-misplaced', 'headroom-short', 'high-pass-weak', 'language-newer', 'lead-loss-high',
  \ 'lead-overheats', 'lead-too-short', 'least-load-low', 'limiter-timing', 'member-unknown',
  \ 'polarity-clash', 'signal-tangled', 'allow-unknown', 'arrival-early', 'box-over-peak', 'breaker-close',
  \ 'breaker-order', 'bridge-unsaid', 'crossover-dip', 'curve-doubled', 'feed-peak-low', 'input-ignored',
  \ 'lead-unsuited', 'line-mismatch', 'mains-crossed', 'mains-missing', 'mains-voltage', 'name-reserved',
  \ 'outlets-short', 'output-loaded', 'phases-uneven', 'reach-unknown', 'series-unlike', 'setting-twice',
  \ 'setting-value', 'source-unsaid', 'stereo-unlike', 'unit-mismatch', 'allow-unused', 'amp-too-weak',
  \ 'band-overlap', 'draw-unknown', 'end-dangling', 'expect-unmet', 'group-uneven', 'hop-unsuited',
  \ 'kind-unknown', 'leakage-high', 'limiter-high', 'limiter-idle', 'load-too-low', 'load-unknown',
  \ 'muted-in-use', 'name-unknown', 'outputs-tied', 'phase-absent', 'phase-unsaid', 'port-unknown',
  \ 'row-unlinked', 'rows-unequal', 'sides-uneven', 'sides-unlike', 'unit-missing', 'unit-unknown',
  \ 'array-unset', 'curve-short', 'damping-low', 'gain-unused', 'inrush-high', 'limiter-low', 'signal-loop',
  \ 'stage-clips', 'subs-behind', 'use-missing', 'above-band', 'array-weak', 'array-wide', 'band-empty',
  \ 'below-band', 'comb-heard', 'echo-heard', 'gain-apart', 'name-twice', 'rails-pump', 'amp-clips',
  \ 'fill-loud', 'line-bass', 'line-full', 'list-loop', 'tap-short', 'ways-late', 'aim-away', 'band-gap',
  \ 'use-loop', 'syntax', 'usage',
  \ ]
" end

syntax case match
syntax iskeyword @,48-57,_,-,192-255

function! s:any(words) abort
  return '\%(' . escape(join(a:words, '\|'), '/') . '\)'
endfunction

" A match that begins later in this file wins over one before it at the same place.
syntax match rigName /\<\K\k*\>/ contains=NONE
execute 'syntax match rigJoint /\s\@1<=' . s:any(s:joint) . '\ze\%(\s\|$\)/'
execute 'syntax match rigState /\%([.[]\)\@1<!\<' . s:any(s:state) . '\>/'
execute 'syntax match rigHop /\%([.[]\)\@1<!\<' . s:any(s:hop) . '\>/'
syntax match rigArrow /->/
syntax match rigCompare /<=\|>=\|≤\|≥\|[<>=]/
syntax match rigTolerance /±\|+\/\?-/
syntax match rigPort /\.\%(\d\+\%(+\d\+\|\.\.\d\+\)\?\|\*\|\K\k*\)/
syntax match rigMember /\[[^][]*\]/
syntax match rigNumber /\%(\k\|[])]\)\@1<!\%([+-]\|\)\d\+\%(\.\.\@!\d\+\)\?\%([eE][+-]\?\d\+\)\?\%(\/\d\+\)\?/ nextgroup=rigUnit skipwhite
syntax match rigNumber /\<\d\++\d\+\>/
execute 'syntax match rigUnit /' . s:any(s:unit) . '\%(\k\|\/\)\@!/ contained'
syntax region rigText start=/"/ skip=/\\./ end=/"/ end=/$/ oneline

" A statement begins a line.
execute 'syntax match rigStatement /^\s*\zs' . s:any(s:statement) . '\>\%([.[]\)\@!/'
execute 'syntax match rigStatement /^\s*\zs' . s:any(s:naming) . '\>\%([.[]\)\@!/ nextgroup=rigNamed skipwhite'
syntax match rigStatement /^\s*\zsstock\>\%([.[]\)\@!/ nextgroup=rigSort skipwhite
syntax match rigStatement /^\s*\zs\%(expect\|measured\)\>\%([.[]\)\@!/ nextgroup=rigFigure skipwhite
syntax match rigStatement /^\s*\zsallow\>\%([.[]\)\@!/ nextgroup=rigRule skipwhite
syntax match rigNamed /\K\k*/ contained nextgroup=rigIs,rigMemberBeforeIs skipwhite
syntax match rigMemberBeforeIs /\[[^][]*\]/ contained nextgroup=rigIs skipwhite
syntax match rigIs /\<is\>/ contained nextgroup=rigKind skipwhite
syntax match rigKind /\K\k*/ contained
execute 'syntax match rigSort /\<' . s:any(s:sort) . '\>/ contained nextgroup=rigKind skipwhite'
execute 'syntax match rigFigure /\<' . s:any(s:figure) . '\>/ contained'
execute 'syntax match rigRule /\<' . s:any(s:rule) . '\>/ contained'

" Settings stand in braces, and there alone.
syntax cluster rigInBlock contains=rigName,rigJoint,rigChoice,rigSetting,rigCompare,rigTolerance,rigPort,rigMember,rigNumber,rigText,rigBlock,rigComment
syntax region rigBlock matchgroup=rigBrace start=/{/ end=/}/ contains=@rigInBlock fold
execute 'syntax match rigChoice /\%([.[]\)\@1<!\<' . s:any(s:choice) . '\>/ contained'
execute 'syntax match rigSetting /\%(^\|[{;]\)\@1<=\s*\zs' . s:any(s:setting) . '\>/ contained'

syntax match rigComment /#.*$/ contains=@Spell,rigTodo
syntax keyword rigTodo TODO FIXME contained
syntax sync minlines=200

highlight default link rigStatement Statement
highlight default link rigSort StorageClass
highlight default link rigHop Keyword
highlight default link rigJoint Operator
highlight default link rigIs Operator
highlight default link rigSetting Type
highlight default link rigChoice Constant
highlight default link rigState Constant
highlight default link rigFigure Function
highlight default link rigRule PreProc
highlight default link rigNumber Number
highlight default link rigUnit Special
highlight default link rigMember Number
highlight default link rigMemberBeforeIs Number
highlight default link rigPort Identifier
highlight default link rigNamed Identifier
highlight default link rigKind Structure
highlight default link rigText String
highlight default link rigArrow Operator
highlight default link rigCompare Operator
highlight default link rigTolerance Operator
highlight default link rigBrace Delimiter
highlight default link rigComment Comment
highlight default link rigTodo Todo

let b:current_syntax = 'rig'
let &cpo = s:cpo
unlet s:cpo
