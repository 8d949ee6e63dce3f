"""Working of the figures of distributed lines."""

from __future__ import annotations

from rigspec.figures import Figures
from rigspec.figures.lines import LineChannel, TapFigures
from rigspec.figures.load import tap_volt
from rigspec.rig.model import members
from rigspec.why.boxes import loss as box_loss
from rigspec.why.derived import Derived
from rigspec.why.working import Step, given, numbered

SUM = "the sum of the taps: EIA SE-101-A, as public pages reproduce it"
TAP = "a tap takes P (U/U made for)^2: Ohm's law"


def taps(figures: Figures, key: str) -> Step | None:
    """What all taps of a line take together at its full voltage, before its leads."""
    line = figures.lines.channels.get(key)
    if line is None:
        return None
    rows: dict[tuple[object, float, float], list[TapFigures]] = {}
    for tap in line.taps:
        measure = tap.box.box.impedance
        rows.setdefault((measure.span if measure else None, tap.tap_w, tap.asks_w), []).append(tap)
    found = [_row(line, row) for row in rows.values()]
    parts = numbered(found, "P")
    formula = " + ".join(part.symbol for part in parts)
    return Step(f"sum of the taps on {key}", line.taps_w, "power", "P", formula, "", SUM, rests_on=parts)


def _row(line: LineChannel, row: list[TapFigures]) -> Step:
    """Loudspeakers that are set alike in one place."""
    tap, names = row[0], members(each.box.box.gear for each in row)
    measure = tap.box.box.impedance
    assert measure is not None  # a tapped loudspeaker has its tap there
    one = given(f"tap of {names}", measure, "P_tap")
    if tap.asks_w != tap.tap_w:
        one = _elsewhere(line, tap, one)
    count = Step("how many", float(len(row)), "number", "n", span=tap.box.box.gear.span)
    name = f"{len(row)} taps of {names}" if len(row) > 1 else f"the tap of {names}"
    value = sum(each.asks_w for each in row)
    return Step(name, value, "power", "P", "n * P_tap", "", SUM, rests_on=(count, one.called("P_tap")))


def _elsewhere(line: LineChannel, tap: TapFigures, one: Step) -> Step:
    """What a tap that is made for one line takes on another."""
    said, own = tap_volt(tap.box.box.gear), line.channel.gear.measure("line", "voltage")
    made = Step("line it is made for", tap.made_for_volt, "voltage", "U_made", span=said.span if said else None)
    here = Step("line it hangs on", line.line_volt, "voltage", "U", span=own.span if own else None)
    name = "what it takes on this line"
    return Step(name, tap.asks_w, "power", "P", "P_tap * (U / U_made)^2", "", TAP, rests_on=(one, here, made))


def line_loss(figures: Figures, key: str) -> Step | None:
    """The loss along a line: that of the loudspeaker which its leads cost most."""
    line = figures.lines.channels.get(key)
    if line is None:
        return None
    worst = line.worst
    step = box_loss(figures, worst.box.key)
    if step is None:
        return None
    method = f"the greatest of {len(line.taps)} loudspeakers, at {worst.box.key}"
    return Step(f"loss along the line of {key}", worst.box.loss_db, "gain", "L_dB", "", method, "", rests_on=(step,))


LINE = "a channel that drives a distributed line"
DERIVED = (
    Derived("taps", LINE, "what its taps take together", taps),
    Derived("loss", LINE, "what its leads cost at the worst loudspeaker", line_loss),
)
