"""What was promised: each promise with its computed figure, whether it is kept, and what a meter said beside it."""

from __future__ import annotations

from collections.abc import Iterable

from rigspec.figures import Figures
from rigspec.figures.over_band import over_band
from rigspec.rig.model import Expectation, Given, Measure, Reading, Roster
from rigspec.rules.found import Found
from rigspec.rules.promises import computed, expect_unjudged, expect_unmet
from rigspec.rules.space_promises import answers, of_places
from rigspec.sheets.basis import Basis
from rigspec.sheets.sheet import BLANK, Cell, Row, Sheet, SheetMark, Table, filled
from rigspec.text.units import show
from rigspec.why import figure_of
from rigspec.why.groups import difference_step

PROMISES = ("figure", "of", "promised", "computed", "kept", "measured before", "read", "line")
AT = {"=": "", ">": "more than", "<": "less than", ">=": "at least", "<=": "at most"}
AT |= {"\u2265": AT[">="], "\u2264": AT["<="]}
READINGS = ("figure", "of", "measured", "computed", "of it (%)", "line")
GROUND = ("what", "as the rig says it")
LISTS = ("list", "name", "holds", "meant to be")
ACCEPTED = ("finding", "on", "because", "line")


def sheet(basis: Basis) -> Sheet:
    """The promises."""
    figures = basis.figures
    tables = (
        Table("promises", "Promises", PROMISES, tuple(_promises(figures))),
        Table("readings", "What a meter said before, beside what is computed", READINGS, tuple(_readings(figures))),
        Table("accepted", "Findings that somebody has accepted", ACCEPTED, tuple(_accepted(figures))),
        Table("ground", "What all figures rest on", GROUND, tuple(_ground(figures))),
        Table("lists", "What belongs together", LISTS, tuple(_lists(figures))),
    )
    notes = (
        "Computed: of several things the least and the greatest, with the tolerances that are said. Read: write down"
        " what you find on site, and put it into the rig as `measured`.",
        "Lines are those of the rig file.",
    )
    intro = "What the engineer promised of this rig and what the check made of it; read what can be read on site."
    return Sheet("promises", "Promises and readings", intro, filled(tables), notes)


# ---- promises -------------------------------------------------------------------------------------------------------


def _promises(figures: Figures) -> Iterable[Row]:
    broken = {finding.span: finding for finding in expect_unmet(figures)}
    unjudged = {finding.span for finding in expect_unjudged(figures)}
    for each in figures.rig.expectations:
        statement = each.statement
        finding = broken.get(statement.span)
        found = _found(figures, each)
        kept: Cell = "yes"
        if finding is not None:
            kept = SheetMark("MAY NOT BE KEPT" if finding.possible else "NOT KEPT")
        elif statement.span in unjudged or not found:
            kept = SheetMark("NOT JUDGED")
        wanted = each.value.text if isinstance(each.value, Measure) else each.value
        clauses = " ".join(" ".join(clause.span.text.split()) for clause in statement.clauses)
        yield (
            statement.figure,
            clauses.removeprefix("of "),
            f"{AT[statement.comparison]} {wanted}".strip(),
            _told(found, each),
            kept,
            ", ".join(_measured(figures, each)),
            BLANK,
            statement.span.line,
        )


def _found(figures: Figures, each: Expectation) -> list[float | str]:
    """All figures that a promise is about: both ends of each, or words."""
    figure, keys = each.statement.figure, [part.key for part in each.subjects]
    if of_places(figures, each):
        heard = [found for _, found in answers(figures, each) if isinstance(found, Found)]
        return [end for found in heard for end in (found.low, found.high)]
    if each.band is not None:
        overs = [over_band(figures, figure, key, (each.band.low, each.band.high)) for key in keys]
        ends = [end for over in overs if not isinstance(over, str) for end in (over.low, over.high)]
        return [end.value for end in ends if end is not None]
    if figure == "difference":
        step = difference_step(figures, keys, figure)
        return [] if step is None else [float(step.value)]
    found: list[float | str] = []
    for part in each.subjects:
        one = computed(figures, figure, part)
        if one is not None:
            found += [one.value] if isinstance(one.value, str) else [one.low, one.high]
    return found


def _told(found: list[float | str], each: Expectation) -> str:
    words = dict.fromkeys(value for value in found if isinstance(value, str))
    numbers = [value for value in found if not isinstance(value, str)]
    if not isinstance(each.value, Measure) or not numbers:
        return ", ".join(words) or "not known"
    least, most = show(min(numbers), each.value.kind), show(max(numbers), each.value.kind)
    return least if least == most else f"{least} to {most}"


def _measured(figures: Figures, each: Expectation) -> Iterable[str]:
    keys = {part.key for part in each.subjects}
    for reading in figures.rig.readings:
        if reading.statement.figure == each.statement.figure and reading.subject.key in keys:
            yield f"{_value(reading)} ({reading.subject.key})"


# ---- readings -------------------------------------------------------------------------------------------------------


def _value(reading: Reading) -> str:
    value = reading.value
    return show(value.value, value.kind) if isinstance(value, Measure) else value


def _readings(figures: Figures) -> Iterable[Row]:
    for reading in figures.rig.readings:
        value, line = reading.value, reading.statement.span.line
        at_meter = reading.statement.figure == "resistance"  # it has the range, and says what was measured where
        found = None if at_meter else figure_of(figures, reading.statement.figure, reading.subject.key)
        shown, share = ("see the meter sheet" if at_meter else "not known"), None
        if isinstance(found, str):
            shown = found
        elif found is not None and isinstance(value, Measure):
            shown = show(found, value.kind)
            if found and value.kind not in ("gain", "level", "sound level", "temperature"):
                share = 100 * value.value / found
        yield reading.statement.figure, reading.subject.key, _value(reading), shown, share, line


def _accepted(figures: Figures) -> Iterable[Row]:
    for excuse in figures.rig.excuses:
        node = excuse.statement
        yield node.rule, node.ref.span.text, node.reason.value, node.span.line


# ---- what it rests on -----------------------------------------------------------------------------------------------


def _ground(figures: Figures) -> Iterable[Row]:
    """What the rig says of itself, the texts that it uses, and the kinds that it describes for itself."""
    rig = figures.rig
    for word, given in rig.facts.items():
        inner = given.inner
        for name, limit in inner.items() if inner else ():
            yield f"limit of this company: {name}", _setting(limit, name)
        if not inner:
            yield word, _setting(given, word)
    for file in rig.files:
        if file.path != rig.source.path:
            yield "stock", file.path
    for kind in rig.kinds.values():
        if kind.span.path == rig.source.path:
            yield (
                f"{kind.sort} {kind.name}",
                "; ".join(" ".join(each.span.text.split()) for each in kind.facts.values()),
            )


def _setting(given: Given, word: str) -> str:
    """What a setting says behind its word, as it was written."""
    return " ".join(given.span.text.split()).removeprefix(word).strip()


def _lists(figures: Figures) -> Iterable[Row]:
    for roster in figures.rig.rosters:
        if roster.word in ("stereo", "group"):
            names = [f"{'against ' if part.against else ''}{part.key}" for part in roster.parts]
            yield ("stereo pair" if roster.word == "stereo" else "group"), roster.name, ", ".join(names), _meant(roster)


def _meant(roster: Roster) -> str:
    """What else is said of a list: that a group is an array, and which way it looks."""
    return "; ".join(" ".join(given.span.text.split()) for given in roster.facts.values())
