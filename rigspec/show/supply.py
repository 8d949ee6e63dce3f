"""What opposed drive is worth, for people: a table, a plot and a verdict for each amplifier; and as JSON and CSV."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from rigspec.figures.opposed import OpposedGain
from rigspec.figures.opposed_hits import HitGain
from rigspec.figures.supplies import AmpSupply, SupplyPair, supplies
from rigspec.rules.opposing import RESISTANCES
from rigspec.show.cells import visible, wrap
from rigspec.show.csv_text import csv_text
from rigspec.show.supply_words import (
    RELIEF,
    UNMEASURED,
    bridged_line,
    heard,
    kick_line,
    method,
    nothing_line,
    percent,
    pump_line,
    state,
    supply_line,
    tone,
    verdict,
    why_none,
)
from rigspec.show.table import table
from rigspec.solve.supply import gain_db
from rigspec.text.units import show

if TYPE_CHECKING:
    from rigspec.check import Report

WIDTH = 100
HEARD = "of a just-heard step"
_PLOT = 56  # cells of the plot
_LEAST_SPAN = 0.1
CAUTION = "Outputs of large amplifiers are dangerous to touch. Figures are computed, not measured."


def chosen(report: Report, names: Sequence[str]) -> list[AmpSupply]:
    """The supplies of the amplifiers of these names (``bass`` stands for all of a row), or all; KeyError if none is."""
    found = supplies(report.figures)
    for name in names:
        if not any(name in (amp.gear.full, amp.gear.name) for amp in found):
            raise KeyError(name)
    return [amp for amp in found if not names or {amp.gear.full, amp.gear.name} & set(names)]


# ---- for people -----------------------------------------------------------------------------------------------------


def supply_text(report: Report, amps: Sequence[AmpSupply]) -> str:
    """Everything about these supplies, 100 cells wide."""
    parts = [_prose(report.figures.rig.title or report.source.path)]
    nothing = nothing_line(amps)
    if nothing:
        return parts[0] + _prose(nothing)
    parts += [_amp(amp) for amp in amps]
    parts.append(_prose(RELIEF) + _prose(UNMEASURED) + _prose(CAUTION))
    return "\n".join(parts)


def _prose(text: str, indent: str = "") -> str:
    return "".join(f"{indent}{line}\n" for line in wrap(text, WIDTH - len(indent)))


def _amp(amp: AmpSupply) -> str:
    text = _prose(supply_line(amp))
    for pair in amp.pairs:
        text += _pair(pair)
    if amp.why and len(amp.bridged) < len(amp.channels):
        text += _prose(f"Nothing to compare: {amp.why}.", "  ")
    for channel in amp.bridged:
        text += _prose(f"{bridged_line(channel)}.", "  ")
    for pump in amp.pumps:
        text += _prose(pump_line(pump), "  ") + "".join(_prose(f"Assumed: {each}.", "  ") for each in pump.assumes)
    return text


def _pair(pair: SupplyPair) -> str:
    text = _prose(f"{state(pair.together)}.", "  ")
    if pair.worths:
        text += _indented(_table(pair.worths)) + _indented(_plot(pair.worths))
    text += _prose(verdict(pair), "  ")
    if pair.hits:
        text += "\n" + _indented(_hits(pair.hits)) + _prose(kick_line(pair.hits), "  ")
    if pair.worths:
        text += _prose(method(pair.prospect), "  ")
        text += _prose(f"What limits it: {pair.prospect.limit}.", "  ")
        text += "".join(_prose(f"Assumed: {each}.", "  ") for each in (*pair.prospect.assumes, RESISTANCES))
    return text


def _indented(text: str) -> str:
    return "".join(f"  {line}\n" if line else "\n" for line in text.splitlines())


def _table(worths: Sequence[OpposedGain]) -> str:
    head = ["tone", "in phase W", "opposed W", "gain", "from", "to", "dB", HEARD]
    rows = [[tone(each.hz), _watt(each.in_phase_w), _watt(each.opposed_w), *_gain(each)] for each in worths]
    return table(head, rows, right=range(1, 7), width=WIDTH - 2)


def _hits(hits: Sequence[HitGain]) -> str:
    """What a tone, a burst and a drum gain, side by side: power at the highest peak."""
    head = [f"peaks at {show(hits[0].hz, 'frequency')}", "in phase W", "opposed W", "gain", "from", "to", "dB", HEARD]
    rows = [[each.name, _watt(each.in_phase_w), _watt(each.opposed_w), *_gain(each)] for each in hits]
    return table(head, rows, right=range(1, 7), width=WIDTH - 2)


def _gain(each: OpposedGain | HitGain) -> list[str]:
    return [percent(each.gain), percent(each.low), percent(each.high), f"{gain_db(each.gain):+.2f}", heard(each.gain)]


def _watt(watt: float | None) -> str:
    return "-" if watt is None else f"{watt:.0f}"


def _plot(worths: Sequence[OpposedGain]) -> str:
    """A bar for each tone: ``=`` from nothing to the gain, ``-`` over the range of uncertainty, ``|`` at nothing."""
    low = min(0.0, *(min(each.low, each.gain) for each in worths))
    high = max(0.0, low + _LEAST_SPAN, *(max(each.high, each.gain) for each in worths))

    def cell(share: float) -> int:
        return round((share - low) / (high - low) * (_PLOT - 1))

    lines = [f"\n{'':11}{percent(low):<{_PLOT - 8}}{percent(high):>8}"]
    zero = cell(0.0)
    for each in worths:
        cells = [" "] * _PLOT
        for at in range(cell(each.low), cell(each.high) + 1):
            cells[at] = "-"
        for at in range(min(zero, cell(each.gain)), max(zero, cell(each.gain)) + 1):
            cells[at] = "="
        cells[cell(each.gain)] = "O"
        if cell(each.gain) != zero:
            cells[zero] = "|"
        lines.append(f"{each.hz:7.4g} Hz {''.join(cells)}".rstrip())
    lines.append("O gain in power when opposed, - range of uncertainty, | no gain\n")
    return "\n".join(lines)


# ---- for programs ---------------------------------------------------------------------------------------------------


def rows(amps: Sequence[AmpSupply]) -> Iterator[dict[str, Any]]:
    """A row for each tone of each set of channels; one without figures where there is no number."""
    for amp in amps:
        for pair in amp.pairs:
            made, together = pair.prospect, pair.together
            head = {
                "amplifier": amp.gear.full,
                "channels": together.key,
                "state": "opposed" if together.opposed else "in phase",
            }
            for each in pair.worths:
                yield {**head, **_figures(each), "method": made.method, "why": ""}
            if not pair.worths:
                nothing = dict.fromkeys(FIGURES)
                yield {**head, **nothing, "method": "", "why": why_none(made)}


FIGURES = (
    "tone_hz",
    "in_phase_watt",
    "opposed_watt",
    "gain_percent",
    "low_percent",
    "high_percent",
    "gain_db",
)


HIT_FIGURES = ("tone_hz", "in_phase_peak_watt", "opposed_peak_watt", *FIGURES[3:])


def _figures(each: OpposedGain) -> dict[str, float | None]:
    return dict(zip(FIGURES, _values(each), strict=True))


def _values(each: OpposedGain | HitGain) -> list[float | None]:
    shares = [100 * share for share in (each.gain, each.low, each.high)]
    return [each.hz, each.in_phase_w, each.opposed_w, *shares, gain_db(each.gain)]


def supply_csv(amps: Sequence[AmpSupply]) -> str:
    """The tones with commas between, a head row, empty cells for what is not known."""
    head = ["amplifier", "channels", "state", *FIGURES, "method", "why"]
    return csv_text([head, *(row.values() for row in rows(amps))])


def supply_json(report: Report, amps: Sequence[AmpSupply]) -> str:
    """Everything about these supplies; keys have their units at the end."""
    import json

    document = {
        "file": visible(report.source.path),
        "caution": UNMEASURED,
        "amplifiers": [_amp_json(amp) for amp in amps],
    }
    return json.dumps(document, indent=2, ensure_ascii=True) + "\n"


def _amp_json(amp: AmpSupply) -> dict[str, Any]:
    supply = amp.supply
    return {
        "amplifier": amp.gear.full,
        "stage": supply.stage or None,
        "supply": supply.sort or None,
        "sharing": supply.sharing or None,
        "regulated": supply.regulated,
        "capacitance_farad": None if supply.farad is None else supply.farad.value,
        "rail_volt": None if supply.rail is None else supply.rail.value,
        "why": amp.why or None,
        "pairs": [_pair_json(pair) for pair in amp.pairs],
        "pumping": [
            {
                "channels": [channel.key for channel in pump.channels],
                "tone_hz": pump.hz,
                "swing_percent": 100 * pump.swing,
                "rise_volt": pump.rise_volt,
                "in_phase_volt": pump.in_phase_volt,
                "opposed_volt": pump.opposed_volt,
                "trip_volt": None if pump.trip is None else pump.trip.value,
                "reached": pump.rise_volt >= pump.room_volt,
                "assumes": list(pump.assumes),
            }
            for pump in amp.pumps
        ],
    }


def _pair_json(pair: SupplyPair) -> dict[str, Any]:
    made, together = pair.prospect, pair.together
    return {
        "channels": [member.channel.key for member in together.members],
        "opposed": together.opposed,
        "differs": list(together.differs),
        "method": made.method or None,
        "x": made.x,
        "limit": made.limit or None,
        "why": None if pair.worths else why_none(made),
        "direction": made.direction or None,
        "assumes": [*made.assumes, RESISTANCES],
        "tones": [_figures(each) for each in pair.worths],
        "hits": [{"signal": each.name, **dict(zip(HIT_FIGURES, _values(each), strict=True))} for each in pair.hits],
    }
