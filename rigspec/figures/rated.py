"""What an amplifier's data say: its rated points, limits of voltage, current and load, and its output's impedance."""

from __future__ import annotations

from rigspec.rig.model import Gear, Measure, entries, one
from rigspec.solve.amplifier import RatedPoint, bridged_points, rated_output
from rigspec.solve.gain import source_ohm
from rigspec.solve.line import exact_volt


def line_volt(gear: Gear) -> float | None:
    """The voltage of the distributed line that an amplifier drives, if it drives one."""
    line = gear.measure("line", "voltage")
    return exact_volt(line.value) if line else None


def limits(gear: Gear, bridged: bool) -> tuple[Measure | None, str, Measure | None]:
    """The least load of a channel as said, or the lowest rated load in its place; and that of a bridged pair."""
    said = [(each.get("resistance"), "bridge" in each.words) for each in entries(gear.facts, "least-load")]
    single = next((m for m, bridge in said if m and not bridge), None)
    pair = next((m for m, bridge in said if m and bridge), None) if bridged else None
    if single is not None:
        return single, "", pair
    rated = [m for each in entries(gear.facts, "rated") if "bridge" not in each.words and (m := each.get("resistance"))]
    lowest = min(rated, key=lambda m: m.value, default=None)
    if lowest is None:
        return None, "", pair
    return lowest, f"no least load of {gear.full} is given: the lowest rated load stands for it", pair


def rated_points(gear: Gear, mode: str) -> list[RatedPoint]:
    """The rated points of an amplifier: ``all`` channels driven, one ``alone``, or ``bridge``."""
    points = []
    for each in entries(gear.facts, "rated"):
        own = "bridge" if "bridge" in each.words else "alone" if "alone" in each.words else "all"
        power, load, volt = each.get("power"), each.get("resistance"), each.get("voltage")
        if own != mode or power is None or power.value <= 0:
            continue
        if load is not None and load.value > 0:
            points.append(RatedPoint(load.value, power.value))
        elif (at := exact_volt(volt.value) if volt else line_volt(gear)) is not None:
            points.append(RatedPoint(at * at / power.value, power.value))
    return points


def points_in_use(gear: Gear, bridged: bool) -> tuple[list[RatedPoint], str]:
    """The rated points that count with all channels driven, or across a bridge; and what stood in for missing ones."""
    points, note = rated_points(gear, "all"), ""
    if not points:
        points = rated_points(gear, "alone")
        if points:
            note = f"only one-channel ratings of {gear.full} are given; less may be left with all channels driven"
    if bridged:
        bridge = rated_points(gear, "bridge")
        if bridge:
            return bridge, ""
        if points:
            note = f"no bridged rating of {gear.full} is given: twice that of each channel into half the load"
        points = bridged_points(points)
    return points, note


def rated_volt(
    gear: Gear, load_ohm: float, halves: tuple[tuple[str, float], ...], limit: Measure | None
) -> tuple[float | None, str]:
    """The rated output voltage into this load, and what was assumed for it."""
    points, note = points_in_use(gear, bool(halves))
    least_ohm = judged(limit) if limit else 0.0
    seen = load_ohm
    if halves:
        least_ohm *= 2
        seen = 2 * min(ohm for _, ohm in halves)
    line = line_volt(gear)
    rated = rated_output(points, seen, least_ohm if line is None else min(least_ohm, seen))
    if rated is None:
        return None, ""
    return rated.volt, "; ".join(text for text in (note, rated.assumes) if text)


def alone_w(gear: Gear, load_ohm: float, limit: Measure | None) -> float | None:
    """What a channel gives into a load while the others rest, from the ratings that say so; None where none does.

    Nothing is read above the highest load that is rated so: there the supply sags less than at that load, and what
    the channel gives with all driven may well be more than the voltage rated there.
    """
    points = rated_points(gear, "alone")
    if not points or load_ohm > max(point.load_ohm for point in points) * 1.05:
        return None
    rated = rated_output(points, load_ohm, judged(limit) if limit else 0.0)
    return None if rated is None else rated.volt**2 / load_ohm


def judged(limit: Measure, end: int = 0) -> float:
    """The least load that still keeps a limit, or its low (-1) or high (1) end, with its printed precision in mind.

    A rating that is no whole number of ohms is a rounded fraction of a usual impedance (2.7 ohm is 8/3): a load within
    2 % below it keeps it. A whole number is that number, however it is spelt.
    """
    whole = abs(limit.value - round(limit.value)) < 1e-9
    said = (limit.value, limit.high, limit.low)[end]
    return said * (0.9999 if whole else 0.98)


def most_given(gear: Gear, bridged: bool) -> tuple[float | None, float | None]:
    """The most voltage (rms) and the most current that the ratings show an output to give; None without ratings.

    The voltage is that of the highest rated load, the current that of the lowest: a lower bound of what the output
    stage can do, since a rating says what is guaranteed and no more.
    """
    points, _ = points_in_use(gear, bridged)
    if not points:
        return None, None
    return max(point.volt for point in points), max(point.ampere for point in points)


def output_ohm(gear: Gear, bridged: bool) -> float | None:
    """The impedance of an output in ohms, from its damping factor (rated load over it); None where that is not given.

    A bridge has two outputs in series. Source: the definition of the damping factor, IEC 60268-3, from memory.
    """
    damping = one(gear.facts, "damping", "number")
    if damping is None or damping.value <= 0:
        return None
    said = one(gear.facts, "damping", "resistance")
    loads = [point.load_ohm for point in rated_points(gear, "all") or rated_points(gear, "alone")]
    load_ohm = said.value if said else max(loads, default=None)
    if load_ohm is None or load_ohm <= 0:
        return None
    return source_ohm(damping.value, load_ohm) * (2 if bridged else 1)
