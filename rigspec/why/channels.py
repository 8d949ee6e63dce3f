"""Working of what an amplifier channel sees and gives."""

from __future__ import annotations

from collections.abc import Callable

from rigspec.figures import ChannelFigures, Figures
from rigspec.figures.rated import judged, points_in_use, rated_points
from rigspec.rig.model import Entry, entries
from rigspec.solve.amplifier import RatedPoint
from rigspec.why.derived import Derived
from rigspec.why.network import CIRCUIT, Reckoning
from rigspec.why.working import Step, given, taken

DATA = "the amplifier's data sheet, as the stock gives it"
LOAD_LINE = "circuit theory: the load line of a source with internal resistance through two rated points"


def load(figures: Figures, key: str) -> Step | None:
    channel = figures.channels.get(key)
    return None if channel is None else Reckoning(figures, channel).load


def rated_voltage(figures: Figures, key: str) -> Step | None:
    channel = figures.channels.get(key)
    if channel is None or channel.rated_volt is None:
        return None
    return voltage_step(figures, channel, Reckoning(figures, channel))


def voltage_step(figures: Figures, channel: ChannelFigures, reckoning: Reckoning) -> Step:
    """The rated output voltage into the load, from the rated points around it."""
    assert channel.rated_volt is not None
    seen = seen_step(channel, reckoning)
    points, note = points_in_use(channel.gear, bool(channel.halves))
    ordered = sorted(points, key=lambda point: point.load_ohm)
    load_ohm = float(seen.value)
    name = f"rated output voltage of {channel.key}"
    exact = next((point for point in ordered if abs(load_ohm / point.load_ohm - 1) < 1e-9), None)
    if exact is not None or load_ohm > ordered[-1].load_ohm:
        point = exact or ordered[-1]
        parts = _point(channel, point, note)
        why = "" if exact else f"above {point.load_ohm:g} ohm the voltage rated there is taken to hold"
        return Step(name, channel.rated_volt, "voltage", "U", "sqrt(P * Z)", "", CIRCUIT, assumed=why, rests_on=parts)
    if load_ohm < ordered[0].load_ohm:
        point = ordered[0]
        why = f"below {point.load_ohm:g} ohm the current rated there is taken to hold"
        lowest = (*_point(channel, point, note), seen.called("Z_load"))
        formula = "sqrt(P / Z) * Z_load"
        return Step(name, channel.rated_volt, "voltage", "U", formula, "", CIRCUIT, assumed=why, rests_on=lowest)
    above = next(point for point in ordered if point.load_ohm > load_ohm)
    below = ordered[ordered.index(above) - 1]
    both = (*_point(channel, below, note, "1"), *_point(channel, above, note, "2"), seen.called("Z_load"))
    slope = "((sqrt(P2*Z2) - sqrt(P1*Z1)) / (sqrt(P2/Z2) - sqrt(P1/Z1)))"
    formula = f"(sqrt(P1*Z1) - {slope} * sqrt(P1/Z1)) / (1 - {slope} / Z_load)"
    if abs(above.ampere - below.ampere) < 1e-12 * above.ampere:
        formula = "sqrt(P2/Z2) * Z_load"  # limited by its current between the two
    return Step(name, channel.rated_volt, "voltage", "U", formula, "", LOAD_LINE, rests_on=both)


def seen_step(channel: ChannelFigures, reckoning: Reckoning) -> Step:
    """The load by which the ratings are read: the channel's own, or twice what the worse half of a bridge sees."""
    if not channel.halves:
        return reckoning.load
    worse = half_step(reckoning.figures, channel, reckoning, min(channel.halves, key=lambda half: half[1])[0])
    ohm = 2 * float(worse.value)
    name = f"load of {channel.key} as its worse half sees it"
    return Step(name, ohm, "resistance", "Z", "2 * Z_half", "", CIRCUIT, rests_on=(worse.called("Z_half"),))


def half_step(figures: Figures, channel: ChannelFigures, reckoning: Reckoning, half: str) -> Step:
    """What one half of a bridged pair sees: half the bridged load, beside what hangs on the half alone."""
    name, ohm = f"load of channel {half} of {channel.key}", dict(channel.halves)[half]
    own = figures.channels.get(f"{channel.gear.full}.{half}")
    authority = "circuit theory: each half of a bridge gives half the voltage at the same current"
    if own is None:
        return Step(name, ohm, "resistance", "Z", "Z / 2", "", authority, rests_on=(reckoning.load,))
    beside = Reckoning(figures, own).load.called("Z_own")
    formula = "1 / (2/Z + 1/Z_own)"
    return Step(name, ohm, "resistance", "Z", formula, "", authority, rests_on=(reckoning.load, beside))


def _point(channel: ChannelFigures, point: RatedPoint, note: str, number: str = "") -> tuple[Step, Step]:
    """A rated power and the load it is rated at."""
    entry = _entry_of(channel, point)
    power = taken("rated power", point.power_w, "power", note, f"P{number}", DATA)
    at = taken("at", point.load_ohm, "resistance", "", f"Z{number}", DATA)
    if entry is None:
        return power, at
    watt, ohm = entry.get("power"), entry.get("resistance")
    if watt is not None and watt.value == point.power_w:
        power = given("rated power", watt, f"P{number}")
    if ohm is not None and ohm.value == point.load_ohm:
        at = given("rated at", ohm, f"Z{number}")
    return power, at


def _entry_of(channel: ChannelFigures, point: RatedPoint) -> Entry | None:
    """Where a rated point was said, if it was said as it is."""
    for mode in ("bridge", "all", "alone"):
        for each, made in zip(_said(channel, mode), rated_points(channel.gear, mode), strict=False):
            if made.load_ohm == point.load_ohm and made.power_w == point.power_w:
                return each
    return None


def _said(channel: ChannelFigures, mode: str) -> list[Entry]:
    words = {"bridge": {"bridge"}, "alone": {"alone"}, "all": set()}[mode]
    return [
        each
        for each in entries(channel.gear.facts, "rated")
        if set(each.words) == words and (power := each.get("power")) and power.value > 0
    ]


def rated_power(figures: Figures, key: str) -> Step | None:
    channel = figures.channels.get(key)
    if channel is None or channel.rated_w is None or channel.rated_volt is None:
        return None
    reckoning = Reckoning(figures, channel)
    parts = (voltage_step(figures, channel, reckoning), reckoning.load)
    name = f"rated power of {key} into its load"
    return Step(name, channel.rated_w, "power", "P", "U^2 / Z", "", CIRCUIT, rests_on=parts)


def source_impedance(figures: Figures, key: str) -> Step | None:
    """The impedance of an amplifier's output, from its damping factor."""
    channel = figures.channels.get(key)
    given_damping = channel.gear.measure("damping", "number") if channel else None
    if channel is None or channel.source_ohm is None or given_damping is None:
        return None
    said = channel.gear.measure("damping", "resistance")
    times = 2.0 if channel.halves else 1.0
    at_ohm = channel.source_ohm * given_damping.value / times
    why = "the load of its damping factor is not given: its highest rated load stands for it"
    at = (
        given("the load it is said at", said, "Z")
        if said
        else taken("the load it is said at", at_ohm, "resistance", why, "Z")
    )
    parts = (at, given("damping factor", given_damping, "D"))
    formula = "2 * Z / D" if channel.halves else "Z / D"
    authority = "IEC 60268-3, from memory: the damping factor is rated load over output impedance"
    name = f"output impedance of {key}"
    return Step(name, channel.source_ohm, "resistance", "R_s", formula, "", authority, rests_on=parts)


def margin(figures: Figures, key: str) -> Step | None:
    """The load over the least load that the amplifier stands."""
    channel = figures.channels.get(key)
    if channel is None or channel.limit is None:
        return None
    reckoning = Reckoning(figures, channel)
    worst = min(channel.halves, key=lambda half: half[1])[0] if channel.halves else ""
    seen = half_step(figures, channel, reckoning, worst) if worst else reckoning.load
    assert judged(channel.limit) > 0
    value = float(seen.value) / channel.limit.value
    parts = (seen, given("least load", channel.limit, "Z_least"))
    authority = "IEC 60268-3, from memory: rated load"
    return Step(f"margin of {key}", value, "ratio", "m", "Z / Z_least", "", authority, rests_on=parts)


def _of(figures: Figures, key: str, figure: Callable[[ChannelFigures], float | None]) -> float | None:
    channel = figures.channels.get(key)
    return None if channel is None else figure(channel)


CHANNEL = "an amplifier channel or a bridged pair"
DERIVED = (
    Derived("load", CHANNEL, "what it sees, leads included", load, lambda f, key: _of(f, key, lambda c: c.load_ohm)),
    Derived(
        "voltage",
        CHANNEL,
        "its rated output voltage (rms) into its load",
        rated_voltage,
        lambda f, key: _of(f, key, lambda c: c.rated_volt),
    ),
    Derived(
        "power",
        CHANNEL,
        "its rated output into its load",
        rated_power,
        lambda f, key: _of(f, key, lambda c: c.rated_w),
    ),
    Derived("source", CHANNEL, "the impedance of its output", source_impedance),
    Derived("margin", CHANNEL, "its load over the least that it stands", margin),
)
