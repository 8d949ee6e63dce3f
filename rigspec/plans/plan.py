"""One plan of several: what decides between them, each figure with the words that a person reads."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from math import isfinite, log10

from attrs import frozen

from rigspec.check import Report
from rigspec.figures import Figures
from rigspec.figures.supplies import supplies
from rigspec.rig.model import Gear
from rigspec.sheets.pack import weight_kg
from rigspec.show.figures import number
from rigspec.show.names import named
from rigspec.show.overview_rows import Told, channel_rows, figure, told
from rigspec.text.finding import Finding, Severity
from rigspec.text.value import Value, gathered

COPPER_KG_PER_M3 = 8960.0
"""CRC Handbook of Chemistry and Physics, from memory."""
NAMES = 30  # cells for names


@frozen(eq=False, repr=False)
class Fact(Value):
    """What one plan says in one row: words, the figure behind them, and whether it breaks a limit."""

    text: str
    value: float | None = None
    breaks: bool = False


@frozen(eq=False, repr=False)
class Plan(Value):
    """One rig as it is compared: its path, its facts by the name of their row, and what is found.

    ``watts`` are all watts into the loudspeakers of each kind at rated output. ``first`` is what decides: the first
    finding of those that weigh most.
    """

    path: str
    title: str
    facts: Mapping[str, Fact]
    watts: Mapping[str, float]
    counts: Mapping[Severity, int]
    first: Finding | None
    limits: str
    """What sets the end to louder, in words."""


def plan(report: Report) -> Plan:
    """What is compared of one rig."""
    figures = report.figures
    watts = {kind: sum(found) for kind, found in _watts(figures).items()}
    facts = {row: fact for row, fact in _facts(report) if fact is not None}
    first = min(report.findings, key=lambda each: (-each.severity.weight, each.span.start), default=None)
    clips = min(_rows(figures, "feeds"), key=lambda row: _of(row, "clip_dbu", 1e9), default=None)
    return Plan(
        report.source.path,
        figures.rig.title,
        facts,
        watts,
        _counts(report),
        first,
        "" if clips is None or not clips.get("first") else f"{clips['first']} clips first",
    )


def _facts(report: Report) -> Iterator[tuple[str, Fact | None]]:
    figures = report.figures
    yield "least load", _least_load(report)
    for kind, found in _watts(figures).items():
        yield f"into {kind}", _spread(found, _share(figures, kind))
    yield "opposed drive", _opposed(figures)
    if not any(found.rule == "load-too-low" for found in report.findings):  # what it then gives is not known
        yield "clips at dBu", _least(figures, "feeds", "clip_dbu", "first")
        yield "headroom dB", _least(figures, "headroom", "headroom_db", "at")
    yield "limiter dBu", _limiters(report)
    yield "lead loss dB", _most(figures, "speakers", "loss_db", "loudspeaker", 2)
    yield from _levels(report)
    yield from _mains(figures)
    yield "copper", _copper(figures)
    yield "weight kg", _weight(figures)
    yield "gear", _gear(figures)
    yield "findings", _findings(report)


def _rows(figures: Figures, word: str) -> list[Told]:
    return [row for rows in told(figures, word).values() for row in rows]


def _of(row: Told, key: str, otherwise: float) -> float:
    found = figure(row, key)
    return otherwise if found is None else found


# ---- loads and powers ------------------------------------------------------------------------------------------------


def _least_load(report: Report) -> Fact | None:
    """The load that is nearest to what its channel stands, or farthest below it."""
    found = []
    for row in _rows(report.figures, "channels"):
        half, limit = figure(row, "half_ohm"), figure(row, "limit_ohm")
        load = figure(row, "load_ohm") if half is None else half
        if load is not None and limit:
            found.append((load / limit, load, limit, " each half" if half is not None else "", str(row["channel"])))
    if not found:
        return None
    share, load, limit, each, key = min(found)
    low = any(found.rule == "load-too-low" and found.subject == key for found in (*report.findings, *report.excused))
    return Fact(f"{load:.2f} ohm{each}, stands {limit:g}", share, low)


def _watts(figures: Figures) -> dict[str, list[float]]:
    """The watts into each loudspeaker of a kind, at rated output."""
    found: dict[str, list[float]] = {}
    for row in _rows(figures, "powers"):
        watt = figure(row, "rated_watt")
        if watt is not None:
            found.setdefault(_kind(figures, str(row["loudspeaker"])), []).append(watt)
    return found


def _kind(figures: Figures, name: str) -> str:
    """The kind of a loudspeaker, with its way."""
    whole, dot, way = name.partition(".")
    gear = figures.rig.gear.get(whole)
    return f"{gear.kind.name if gear is not None and gear.kind is not None else whole}{dot}{way}"


def _spread(watts: Sequence[float], percent: float | None) -> Fact:
    least, most = min(watts), max(watts)
    of = f"{least:.0f}" if most < 1.01 * least else f"{least:.0f} to {most:.0f}"
    share = "" if percent is None else f", {percent:.0f} % of rating"
    return Fact(f"{len(watts)} x {of} W{share}", sum(watts))


def _share(figures: Figures, kind: str) -> float | None:
    """What the one that gets most of its rating gets of it, in percent."""
    shares = [
        100 * _of(row, "rated_watt", 0.0) / rated
        for row in _rows(figures, "powers")
        if (rated := figure(row, "continuous_rating_watt")) and _kind(figures, str(row["loudspeaker"])) == kind
    ]
    return max(shares, default=None)


def _opposed(figures: Figures) -> Fact | None:
    """What opposed drive gives, or would give."""
    found = []
    for amp in supplies(figures):
        for pair in amp.pairs:
            best = pair.best
            if best is not None and best.gain > 0:
                opposed = pair.together.opposed
                found.append((10 * log10(1 + best.gain), opposed, best.hz))
        if amp.bridged:
            found.append((0.0, True, 0.0))
    if not found:
        return None
    gain_db, opposed, hz = max(found)
    if not hz:
        return Fact("by nature: bridged", None)
    word = "up to" if opposed else "unused:"
    return Fact(f"{word} +{gain_db:.1f} dB at {hz:.0f} Hz", gain_db if opposed else 0.0)


# ---- levels ----------------------------------------------------------------------------------------------------------


def _least(figures: Figures, word: str, key: str, of: str) -> Fact | None:
    known = [(value, str(row[of])) for row in _rows(figures, word) if (value := figure(row, key)) is not None]
    return _told(min(known), 1) if known else None


def _most(figures: Figures, word: str, key: str, of: str, decimals: int) -> Fact | None:
    known = [(value, str(row[of])) for row in _rows(figures, word) if (value := figure(row, key)) is not None]
    return _told(max(known), decimals) if known else None


def _told(found: tuple[float, str], decimals: int) -> Fact:
    value, of = found
    return Fact(f"{number(value, decimals)} ({of})", value)


def _limiters(report: Report) -> Fact | None:
    said = gathered(channel_rows(report), lambda row: row.words["limiter"])
    if len(said) < 2:
        words = next(iter(said), "")
        return Fact(words) if words else None
    keys = {words: [key for row in rows for key in row.keys] for words, rows in said.items() if words}
    parts = [f"{words} ({named(keys[words], NAMES)})" for words in keys]
    return Fact("; ".join(parts)) if parts else None


def _levels(report: Report) -> Iterator[tuple[str, Fact]]:
    """The loudest peaks at each place; sound is loaded where a rig has places.

    What an amplifier gives below its least load is not known, and so no level either.
    """
    placed = any(gear.word in ("place", "area") for gear in report.figures.rig.gear.values())
    if not placed or any(found.rule == "load-too-low" for found in report.findings):
        return
    from rigspec.show.reach import reaches

    for reach in reaches(report):
        if reach.most is not None and isfinite(reach.most.mean_db):
            yield f"at most, {reach.spot.name}", Fact(f"{reach.most.mean_db:.0f} dB SPL", reach.most.mean_db)


# ---- mains, copper, gear ---------------------------------------------------------------------------------------------


def _mains(figures: Figures) -> Iterator[tuple[str, Fact]]:
    circuits = _rows(figures, "mains")
    for word, row_name in (("eighth", "mains at 1/8 A"), ("third", "mains at 1/3 A")):
        draws = [value for row in _rows(figures, "draws") if (value := figure(row, f"{word}_ampere")) is not None]
        if draws:
            yield row_name, Fact(f"{sum(draws):.1f}", sum(draws))
    used = [(share, str(row["part"])) for row in circuits if (share := figure(row, "used_percent")) is not None]
    if used:
        yield "fullest breaker %", _told(max(used), 0)
    inrush = [(value, str(row["part"])) for row in circuits if (value := figure(row, "inrush_ampere")) is not None]
    said = [each.appliance.inrush.value for each in figures.mains.inlets.values() if each.appliance.inrush is not None]
    if inrush:
        yield "inrush A", _told(max(inrush), 0)
    elif said:
        yield "inrush A", Fact(f"{sum(said):.0f}, all at once", sum(said))


def _copper(figures: Figures) -> Fact | None:
    """Metres of loudspeaker lead and what their copper weighs, both conductors."""
    leads = [row for row in _rows(figures, "leads") if figure(row, "length_m")]
    if not leads:
        return None
    metres = sum(_of(row, "length_m", 0.0) for row in leads)
    kg = sum(2 * _of(row, "length_m", 0.0) * _of(row, "area_mm2", 0.0) * 1e-6 * COPPER_KG_PER_M3 for row in leads)
    return Fact(f"{metres:.0f} m, {kg:.1f} kg", kg)


def _gears(figures: Figures) -> list[Gear]:
    return [gear for gear in figures.rig.gear.values() if gear.word in ("amp", "speaker", "processor")]


def _weight(figures: Figures) -> Fact | None:
    weights = [weight_kg(gear) for gear in _gears(figures)]
    known = [each for each in weights if each is not None]
    if not known:
        return None
    lacking = len(weights) - len(known)
    return Fact(f"{sum(known):.0f}{f', without {lacking}' if lacking else ''}", sum(known))


def _gear(figures: Figures) -> Fact | None:
    kinds = gathered(_gears(figures), lambda gear: gear.kind.name if gear.kind is not None else gear.word)
    return Fact(", ".join(f"{len(found)} x {kind}" for kind, found in kinds.items())) if kinds else None


def _counts(report: Report) -> dict[Severity, int]:
    return {severity: sum(each.severity is severity for each in report.findings) for severity in Severity}


def _findings(report: Report) -> Fact:
    counts = _counts(report)
    said = [f"{count} {_word(severity, count)}" for severity, count in counts.items() if count]
    return Fact(", ".join(said) or "none", None, counts[Severity.ERROR] > 0)


def _word(severity: Severity, count: int) -> str:
    return severity.value if count == 1 or severity is Severity.ADVICE else f"{severity.value}s"
