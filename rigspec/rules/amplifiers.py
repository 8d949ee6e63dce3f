"""Rules about what the stock says of an amplifier: ratings that no amplifier can have."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise

from rigspec.figures import Figures
from rigspec.figures.signal import gains_by_sensitivity
from rigspec.rig.model import Entry, Gear, Measure, entries
from rigspec.rules.rule import Rule
from rigspec.solve.amplifier import RatedPoint, bridged_points, rated_output
from rigspec.text.finding import Finding, Label, Severity
from rigspec.text.units import show, show_pair

# What rounding leaves: data sheets print powers to two or three digits, and 2.7 ohm for 8/3.
PRINTED = 1.06
APART_DB = 0.5  # data sheets print gains and sensitivities to two digits
BRIDGE_OVER = 1.25  # a bridge may gain a little where only all-channel ratings are given to compare


def rated_implausible(figures: Figures) -> Iterable[Finding]:
    """A rated power that contradicts another of the same amplifier; each stock entry is judged once."""
    told: set[object] = set()
    for gear in figures.rig.gear.values():
        given = gear.facts.get("rated") if gear.word == "amp" else None
        if given is None or gear.doubt or given.span in told:
            continue
        found = _heavier(gear) or _bridged(gear)
        if found is not None:
            told.add(given.span)
            yield found


def gain_apart(figures: Figures) -> Iterable[Finding]:
    """A gain and a sensitivity of one amplifier that cannot both be true; each place where they are said once."""
    told: set[object] = set()
    for gear in sorted(figures.rig.gear.values(), key=lambda each: (each.name, each.number or 0)):
        gain, given = gear.measure("gain", "gain"), gear.facts.get("sensitivity")
        if gear.word != "amp" or gear.doubt or gain is None or given is None or given.span in told:
            continue
        gains_db = gains_by_sensitivity(gear)
        nearest_db = min(gains_db, key=lambda db: abs(db - gain.value), default=gain.value)
        if gain.low - APART_DB <= nearest_db <= gain.high + APART_DB:
            continue
        told.add(given.span)
        computed, allowed = show_pair(nearest_db, gain.value, "gain")
        said = " ".join(given.entries[0].span.text.split())
        yield Finding(
            "gain-apart",
            given.span,
            f"a sensitivity of {said} makes the gain of {gear.kind.name if gear.kind else gear.full} {computed}, and"
            f" its gain is said to be {gain.text}",
            label=f"stands for {computed}",
            related=(Label(gain.span, "against this, which is what is computed with"),),
            computed=computed,
            allowed=f"{allowed}, within {show(APART_DB, 'gain')}",
            help="keep the one that the gear in hand is set to; many amplifiers have a switch for it",
            subject=gear.full,
        )


def _points(gear: Gear, word: str) -> list[tuple[RatedPoint, Entry]]:
    points = []
    for each in entries(gear.facts, "rated"):
        mode = next(iter(each.words), "")
        power, load = each.get("power"), each.get("resistance")
        if mode == word and power and load and power.value > 0 and load.value > 0:
            points.append((RatedPoint(load.value, power.value), each))
    return sorted(points, key=lambda each: -each[0].load_ohm)


def _heavier(gear: Gear) -> Finding | None:
    """More volts into a heavier load than into a lighter one."""
    for word in ("", "alone", "bridge"):
        points = _points(gear, word)
        for (light, light_entry), (heavy, heavy_entry) in pairwise(points):
            if heavy.volt > light.volt * PRINTED**0.5:
                most = show(light.volt**2 / heavy.load_ohm, "power")
                computed, allowed = show_pair(heavy.volt, light.volt, "voltage")
                what = f"{_said(heavy_entry)} would be {computed}, more than the {allowed} of {_said(light_entry)}"
                return _finding(gear, heavy_entry, light_entry, what, computed, f"at most {allowed}, {most} there")
    return None


def _bridged(gear: Gear) -> Finding | None:
    """More across a bridge than twice what each half gives into half the load."""
    alone, driven = _points(gear, "alone"), _points(gear, "")
    base = alone or driven
    for bridge, entry in _points(gear, "bridge"):
        made = rated_output(bridged_points([point for point, _ in base]), bridge.load_ohm, 0.0)
        if made is None or bridge.volt <= made.volt * (PRINTED if alone else BRIDGE_OVER * PRINTED) ** 0.5:
            continue
        nearest = min(base, key=lambda each: abs(2 * each[0].load_ohm - bridge.load_ohm))[1]
        most_w = made.volt**2 / bridge.load_ohm
        computed, allowed = show_pair(bridge.power_w, most_w, "power")
        half = show(bridge.load_ohm / 2, "resistance")
        what = f"{computed} bridged is more than twice the {show(most_w / 2, 'power')} of each half into {half}"
        return _finding(gear, entry, nearest, what, computed, f"at most {allowed}")
    return None


def _said(entry: Entry) -> str:
    measures: list[Measure] = [m for m in (entry.get("power"), entry.get("resistance")) if m is not None]
    return " at ".join(m.text for m in measures)


def _finding(gear: Gear, entry: Entry, other: Entry, what: str, computed: str, allowed: str) -> Finding:
    name = gear.kind.name if gear.kind else gear.full
    return Finding(
        "rated-implausible",
        entry.span,
        f"the ratings of {name} contradict each other: {what}",
        label="more than it can be",
        related=(Label(other.span, "against this"), Label(gear.span, f"{gear.full} is {name}")),
        computed=computed,
        allowed=allowed,
        help="compare both with the data sheet: the power, the load, and whether one channel or all were driven",
        subject=gear.full,
    )


RULES = (
    Rule(
        name="rated-implausible",
        severity=Severity.WARNING,
        summary="the ratings of an amplifier contradict each other",
        reason="one of them is a slip, and every power that is read from it is wrong",
        limit="no more volts into a heavier load; across a bridge twice the power of each half into half the load",
        authority="circuit theory; 6 % for rounding in print, common practice, no source",
        cure="correct the stock by the data sheet",
        bad="amp a is hall\nspeaker b is box\na.1 -> lead 2.5 mm2 9 m -> b\n"
        "stock amp hall { channels 2; rated 900 W at 4 ohm, 350 W at 8 ohm; gain 32 dB }\n",
        good="amp a is hall\nspeaker b is box\na.1 -> lead 2.5 mm2 9 m -> b\n"
        "stock amp hall { channels 2; rated 900 W at 4 ohm, 550 W at 8 ohm; gain 32 dB }\n",
        check=rated_implausible,
    ),
    Rule(
        name="gain-apart",
        severity=Severity.WARNING,
        summary="the gain and the sensitivity of an amplifier contradict each other",
        reason="one of them is not how the amplifier is set, and all levels behind it are wrong by the difference",
        limit="the rated output over the sensitivity is the gain, for one of the rated outputs at least",
        authority="circuit theory; 0.5 dB for rounding in print, common practice, no source",
        cure="keep the one that is true of the gear in hand",
        bad="feed f { level -8 dBu; peak -4 dBu }\namp a is hall\nspeaker b is box\nf -> a.1 -> lead 2.5 mm2 9 m -> b\n"
        "stock amp hall { channels 1; rated 550 W at 8 ohm; gain 26 dB; sensitivity 1.4 V; input 20 kohm }\n",
        good="feed f { level -8 dBu; peak -4 dBu }\namp a is hall\nspeaker b is box\n"
        "f -> a.1 -> lead 2.5 mm2 9 m -> b\n"
        "stock amp hall { channels 1; rated 550 W at 8 ohm; gain 33.5 dB; sensitivity 1.4 V; input 20 kohm }\n",
        check=gain_apart,
    ),
)
