"""What stands on a plan: loudspeakers and places by where they are, and those without a place."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import isfinite

from attrs import evolve, frozen

from rigspec.check import Report
from rigspec.figures import Figures
from rigspec.figures.channel import turned_inside
from rigspec.language.words import SettingWord
from rigspec.rig.model import Facts, Gear, Measure, members
from rigspec.text.finding import Finding, Severity
from rigspec.text.units import FigureKind
from rigspec.text.value import Content

FOOT_M = 0.3048
FARTHEST_M = 1e6  # whatever lies farther out than that is a slip, and would push everything else together


@frozen(eq=False, repr=False)
class PlanThing(Content):
    """Things of one name at one spot, in metres across, along and up; ``aim_deg`` is None where it is not said.

    ``aim_deg`` counts from along towards across, so 0 faces the audience and 90 house right. ``inverted`` tells that a
    positive pulse moves its cones inward, ``notes`` say what there is to say of it, ``findings`` what the check has to
    say.
    """

    names: tuple[str, ...]
    title: str
    is_place: bool
    across_m: float
    along_m: float
    up: str
    aim_deg: float | None
    tilt_deg: float | None
    kind: str
    notes: tuple[str, ...]
    inverted: bool
    findings: tuple[Finding, ...]

    @property
    def level(self) -> Severity | None:
        """The weight of the heaviest finding about it."""
        return max((each.severity for each in self.findings), key=lambda each: each.weight, default=None)


@frozen(eq=False, repr=False)
class Stand(Content):
    """All that is known of where things are. ``without`` are the names that have no place, with why if not plain."""

    things: tuple[PlanThing, ...]
    without: tuple[str, ...]
    feet: bool


def standing(report: Report) -> Stand:
    """Where the loudspeakers and places of a rig stand; rows at one spot are one thing."""
    figures = report.figures
    found: list[tuple[Gear, PlanThing]] = []
    without: list[tuple[Gear, str]] = []
    feet = False
    said = _findings(report)
    against = _against(figures)
    for gear in figures.rig.gear.values():
        if gear.word not in ("speaker", "place"):
            continue
        lengths = _figures(gear.facts, "at", "length")
        why = _unusable(gear, lengths)
        if why is not None:
            without.append((gear, why))
            continue
        feet = feet or any("ft" in each.text or " in" in each.text or "'" in each.text for each in lengths)
        found.append((gear, _thing(gear, lengths, figures, said.get(gear.full, ()), against)))
    return Stand(tuple(_folded(found)), tuple(_listed(without)), feet)


def _figures(facts: Facts, word: SettingWord, kind: FigureKind) -> list[Measure]:
    given = facts.get(word)
    return [found for entry in (given.entries if given else ()) if (found := entry.get(kind)) is not None]


def _unusable(gear: Gear, lengths: Sequence[Measure]) -> str | None:
    """Why a thing cannot be drawn: nothing said, or what was said is no place; None where it can."""
    if not lengths:
        return ""
    if len(lengths) not in (2, 3):
        return f"`at` has {len(lengths)} figure{'s' if len(lengths) > 1 else ''}, not across, along and perhaps up"
    if any(not isfinite(each.value) or abs(each.value) > FARTHEST_M for each in lengths):
        return f"`at` is more than {FARTHEST_M / 1000:.0f} km away"
    return None


def _thing(
    gear: Gear, lengths: Sequence[Measure], figures: Figures, findings: tuple[Finding, ...], against: set[str]
) -> PlanThing:
    angles = [each.value for each in _figures(gear.facts, "aim", "angle")]
    height = gear.measure("height", "length")
    up = f"{lengths[2].text} up" if len(lengths) == 3 else ""
    ears = f"ears at {height.text}" if gear.word == "place" and height else ""
    turned = _turned(gear, figures) if gear.word == "speaker" else []
    notes = [", ".join(turned)] if turned else []
    if gear.full in against:
        notes.append("against, on purpose")
    label = gear.facts.get("label")
    labels = [f"“{text}”" for entry in (label.entries if label else ()) for text in entry.texts]
    return PlanThing(
        names=(gear.full,),
        title=" ".join([gear.full, *labels]),
        is_place=gear.word == "place",
        across_m=lengths[0].value,
        along_m=lengths[1].value,
        up=", ".join(each for each in (up, ears) if each),
        aim_deg=angles[0] if angles else None,
        tilt_deg=angles[1] if len(angles) > 1 else None,
        kind=gear.kind.name if gear.kind else "",
        notes=tuple(notes),
        inverted="inverted" in turned,
        findings=findings,
    )


def _turned(gear: Gear, figures: Figures) -> list[str]:
    """Whether a positive pulse moves the cones inward: ``inverted``, or which ways or feeds are."""
    odd: list[str] = []
    states: set[bool] = set()
    for arrival in figures.trace.arrivals.values():
        if arrival.sink.gear is not gear or arrival.sink.takes == "mains":
            continue
        own = len(arrival.turns) + len(turned_inside(gear, arrival.sink.port))
        turns = {part.feed: (own + len(part.turns)) % 2 == 1 for part in figures.signals.at_output(arrival.output)}
        states |= set(turns.values())
        which = f"{arrival.sink.port} " if arrival.sink.port else ""
        if turns and all(turns.values()):
            odd.append(f"{which}inverted")
        else:
            odd += [f"{which}inverted for {feed}" for feed, is_odd in turns.items() if is_odd]
    return ["inverted"] if states == {True} else odd


def _against(figures: Figures) -> set[str]:
    return {part.name for roster in figures.rig.rosters_of("group") for part in roster.parts if part.against}


def _findings(report: Report) -> dict[str, tuple[Finding, ...]]:
    """The findings by the full name of the thing that they are about, with its port or without."""
    found: dict[str, tuple[Finding, ...]] = {}
    for finding in report.findings:
        name = finding.subject.partition(".")[0]
        found[name] = (*found.get(name, ()), finding)
    return found


def _folded(found: Iterable[tuple[Gear, PlanThing]]) -> Iterable[PlanThing]:
    """Members of a row that are alike in all that the plan shows become one thing."""
    alike: dict[object, list[tuple[Gear, PlanThing]]] = {}
    for gear, thing in found:
        labels = thing.title.removeprefix(gear.full)
        key = gear.name, gear.word, labels, evolve(thing, names=(), title="", findings=())
        alike.setdefault(key, []).append((gear, thing))
    for group in alike.values():
        gears = [gear for gear, _ in group]
        first = group[0][1]
        labels = first.title.removeprefix(gears[0].full)
        count = f" ×{len(group)}" if len(group) > 1 else ""
        names = tuple(gear.full for gear in gears)
        findings = tuple(dict.fromkeys(finding for _, thing in group for finding in thing.findings))
        yield evolve(first, names=names, findings=findings, title=f"{members(gears)}{count}{labels}")


def _listed(without: Iterable[tuple[Gear, str]]) -> Iterable[str]:
    rows: dict[tuple[str, str], list[Gear]] = {}
    for gear, why in without:
        rows.setdefault((gear.name, why), []).append(gear)
    for (_, why), gears in rows.items():
        yield f"{members(gears)} ({why})" if why else members(gears)
