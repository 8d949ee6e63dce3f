"""What opposed drive is worth as curves in SVG: power in phase and opposed, and the gain with its range, for each pair.

Plain boxes, the colours of Okabe and Ito (a published palette for the colour-blind), and a dash of its own for each
line, so that the drawing reads in black and white.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import ceil, floor, log2

from rigspec.figures.opposed import Worth
from rigspec.figures.supplies import AmpSupply, Pair
from rigspec.show.cells import visible, wrap
from rigspec.show.supply_words import UNMEASURED, state, supply_line, verdict

BLUE, VERMILLION, GREEN, GREY = "#0072B2", "#D55E00", "#009E73", "#E0E0E0"  # Okabe and Ito, 2008; and a light grey
_WIDE = 860
_LINE = 118  # letters in a line of text
_BOX_WIDE, _BOX_TALL = 320, 190
_LEFT, _RIGHT, _TOP = 60, 490, 40
_TICKS = (20, 25, 31.5, 40, 50, 63, 80, 100, 125)
_SIZE = 12

Along = Callable[[float], float]


def supply_svg(title: str, amps: Sequence[AmpSupply]) -> str:
    """One drawing with two boxes for each set of channels that has figures."""
    drawn = [(amp, pair) for amp in amps for pair in amp.pairs if pair.worths]
    parts, y = [], 60.0
    for amp, pair in drawn:
        heads = [line for text in (supply_line(amp), state(pair.together), verdict(pair)) for line in wrap(text, _LINE)]
        said = "\n".join(_text(20, 20 + 18 * number, line) for number, line in enumerate(heads))
        parts.append(f'<g transform="translate(0 {y:.0f})">{said}</g>')
        y += 18 * len(heads)
        parts.append(f'<g transform="translate(0 {y:.0f})">\n{_powers(pair)}\n{_gains(pair)}\n</g>')
        y += _TOP + _BOX_TALL + 70
    note = UNMEASURED if drawn else "No figures of opposed drive in this rig: see the table."
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_WIDE}" height="{y:.0f}" viewBox="0 0 {_WIDE} {y:.0f}"'
        f' font-family="sans-serif" font-size="{_SIZE}">\n<rect width="{_WIDE}" height="{y:.0f}" fill="white"/>'
    )
    return "\n".join([head, _text(20, 26, title, size=16), _text(20, 46, note), *parts, "</svg>", ""])


def _powers(pair: Pair) -> str:
    """Power per channel in phase (solid) and opposed (dashed)."""
    known = [each for each in pair.curve if each.in_phase_w is not None and each.opposed_w is not None]
    if not known:
        return ""
    watts = [watt for each in known for watt in (each.in_phase_w, each.opposed_w) if watt is not None]
    step = _step((max(watts) - min(watts)) or max(watts) / 10)
    low, high = floor(min(watts) / step) * step, ceil(max(watts) / step) * step
    high = high if high > low else low + step
    along, up = _hertz(pair.worths, _LEFT), _scale(low, high)
    lines = [
        _frame(_LEFT, "power per channel, W", pair.worths, along, low, high, step, up),
        _line([(along(each.hz), up(each.in_phase_w or 0.0)) for each in known], BLUE, ""),
        _line([(along(each.hz), up(each.opposed_w or 0.0)) for each in known], VERMILLION, "7 4"),
        _key(_LEFT, [("in phase", BLUE, ""), ("opposed", VERMILLION, "7 4")]),
    ]
    return "\n".join(lines)


def _gains(pair: Pair) -> str:
    """The gain with the range of its uncertainty, and the other computation where it was made."""
    curve = pair.curve
    others = [(each.hz, 100 * each.other) for each in pair.worths if each.other is not None]
    values = [100 * share for each in curve for share in (each.low, each.high)] + [share for _, share in others] + [0.0]
    step = _step(max(values) - min(values))
    low, high = floor(min(values) / step) * step, ceil(max(values) / step) * step
    high = high if high > low else low + step
    along, up = _hertz(pair.worths, _RIGHT), _scale(low, high)
    edge = [(along(each.hz), up(100 * each.high)) for each in curve]
    edge += [(along(each.hz), up(100 * each.low)) for each in reversed(curve)]
    name = "simulation" if curve[0].simulation else "closed form"
    other = "closed form" if curve[0].simulation else "simulation"
    lines = [
        f'<polygon points="{_points(edge)}" fill="{GREY}"/>',
        _frame(_RIGHT, "gain when opposed, %", pair.worths, along, low, high, step, up),
        f'<line x1="{_RIGHT}" y1="{up(0):.1f}" x2="{_RIGHT + _BOX_WIDE}" y2="{up(0):.1f}" stroke="black"/>',
        _line([(along(each.hz), up(100 * each.gain)) for each in curve], BLUE, ""),
    ]
    keys = [(f"{name}, range in grey", BLUE, "")]
    if others:
        lines.append(_line([(along(hz), up(share)) for hz, share in others], GREEN, "2 4"))
        lines += [f'<circle cx="{along(hz):.1f}" cy="{up(share):.1f}" r="3" fill="{GREEN}"/>' for hz, share in others]
        keys.append((other, GREEN, "2 4"))
    return "\n".join([*lines, _key(_RIGHT, keys)])


# ---- boxes and lines ------------------------------------------------------------------------------------------------


def _hertz(worths: Sequence[Worth], left: float) -> Along:
    """Tones on an axis of octaves."""
    low, high = log2(worths[0].hz), log2(worths[-1].hz)
    if high - low < 0.1:
        low, high = low - 0.5, high + 0.5
    return lambda hz: left + (log2(hz) - low) / (high - low) * _BOX_WIDE


def _scale(low: float, high: float) -> Along:
    return lambda value: _TOP + _BOX_TALL - (value - low) / (high - low) * _BOX_TALL


def _step(span: float) -> float:
    """A round step that cuts a span into about four."""
    power = 1.0
    while power * 10 <= span / 4:
        power *= 10
    while power > span / 4 and power > 1e-6:
        power /= 10
    return next(power * each for each in (1, 2, 5, 10) if power * each >= span / 5)


def _frame(
    left: float, title: str, worths: Sequence[Worth], along: Along, low: float, high: float, step: float, up: Along
) -> str:
    bottom = _TOP + _BOX_TALL
    parts = [
        f'<rect x="{left}" y="{_TOP}" width="{_BOX_WIDE}" height="{_BOX_TALL}" fill="none" stroke="black"/>',
        _text(left, _TOP - 6, title),
        _text(left + _BOX_WIDE + 16, bottom + 18, "Hz"),
    ]
    for hz in _TICKS:
        if worths[0].hz * 0.999 <= hz <= worths[-1].hz * 1.001:
            parts.append(
                f'<line x1="{along(hz):.1f}" y1="{bottom}" x2="{along(hz):.1f}" y2="{bottom + 5}" stroke="black"/>'
            )
            parts.append(_text(along(hz), bottom + 18, f"{hz:g}", anchor="middle"))
    for number in range(round((high - low) / step) + 1):
        value = low + number * step
        y = up(value)
        parts.append(f'<line x1="{left - 5}" y1="{y:.1f}" x2="{left}" y2="{y:.1f}" stroke="black"/>')
        parts.append(_text(left - 8, y + 4, f"{value:g}", anchor="end"))
    return "\n".join(parts)


def _points(points: Sequence[tuple[float, float]]) -> str:
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in points)


def _line(points: Sequence[tuple[float, float]], colour: str, dash: str) -> str:
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    return f'<polyline points="{_points(points)}" fill="none" stroke="{colour}" stroke-width="2"{dashed}/>'


def _key(left: float, entries: Sequence[tuple[str, str, str]]) -> str:
    parts, at, y = [], left, _TOP + _BOX_TALL + 42
    for name, colour, dash in entries:
        parts.append(_line([(at, y - 4), (at + 28, y - 4)], colour, dash))
        parts.append(_text(at + 34, y, name))
        at += 58 + 6 * len(name)
    return "\n".join(parts)


def _text(x: float, y: float, text: str, anchor: str = "start", size: int = _SIZE) -> str:
    safe = visible(text).replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" font-size="{size}">{safe}</text>'
