"""A whole rig as data for other programs: gear, wiring, figures and findings in one document."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, cast

from attrs import evolve

from rigspec.language.words import SettingWord, StockSort
from rigspec.rig import model as bound
from rigspec.show import export_results as results
from rigspec.show import export_values as out
from rigspec.show.ascii_json import dump
from rigspec.show.figures import figures_document
from rigspec.text import finding as found
from rigspec.text.source import Source, Span
from rigspec.text.units import BASE_UNIT

if TYPE_CHECKING:
    from rigspec.check import Report


def export_json(report: Report, files: tuple[str, ...], version: str) -> str:
    """Everything about a rig; ``files`` were read for it, ``version`` is the program's. Equal rigs, equal documents."""
    return dump(out.as_json(export(report, files, version)))


def export(report: Report, files: tuple[str, ...], version: str) -> out.Export:
    rig = report.figures.rig
    return out.Export(
        format="rigspec-export",
        version=out.VERSION,
        tool=out.Tool("rigspec", version),
        file=report.source.path,
        title=rig.title,
        files=files,
        settings=_facts(rig.facts),
        kinds=tuple(map(_kind, rig.kinds.values())),
        things=tuple(map(_thing, rig.gear.values())),
        wiring=_wiring(report),
        lists=tuple(
            out.Listing(each.word, each.name, tuple(map(_part, each.parts)), _place(each.span)) for each in rig.rosters
        ),
        promises=tuple(map(_promise, rig.expectations)),
        readings=tuple(
            out.Reading(each.statement.figure, _named(each.subject), _value(each.value), _place(each.statement.span))
            for each in rig.readings
        ),
        exceptions=tuple(map(_excuse, rig.excuses)),
        figures=_figures(report),
        findings=tuple(map(_finding, report.findings)),
        excused=tuple(map(_finding, report.excused)),
    )


# ---- what is given ---------------------------------------------------------------------------------------------------


def _place(span: Span) -> out.Place:
    return out.Place(span.path, *span.source.position(span.start), *span.source.position(span.end))


def _figure(measure: bound.Measure) -> out.Figure:
    return out.Figure(
        out.KindOfFigure(measure.kind),
        measure.value,
        out.Unit(BASE_UNIT[measure.kind]),
        measure.low,
        measure.high,
        " ".join(measure.span.text.split()),
        _place(measure.span),
    )


def _perhaps(measure: bound.Measure | None) -> out.Figure | None:
    return None if measure is None else _figure(measure)


def _value(value: bound.Measure | str) -> out.Figure | str:
    return _figure(value) if isinstance(value, bound.Measure) else value


def _facts(facts: bound.Facts) -> out.Facts:
    return out.Facts({word: _setting(given) for word, given in facts.items()})


def _setting(given: bound.Given) -> out.Setting:
    inner = None if given.inner is None else _facts(given.inner)
    return out.Setting(tuple(map(_item, given.entries)), inner, _place(given.span))


def _item(entry: bound.Entry) -> out.Item:
    return out.Item(
        tuple(map(_figure, entry.measures)),
        entry.words,
        tuple(ref.span.text for ref in entry.refs),
        entry.texts,
        tuple(f"{first}+{second}" for first, second in entry.pairs),
    )


# ---- gear and lists --------------------------------------------------------------------------------------------------


def _kind(kind: bound.Kind) -> out.Kind:
    sort = cast("StockSort | None", kind.sort or None)  # what is declared as stock is of one of its sorts
    return out.Kind(sort, kind.name, _facts(kind.facts), not kind.doubt, _place(kind.span))


def _thing(gear: bound.Gear) -> out.Thing:
    return out.Thing(
        name=gear.full,
        row=gear.name,
        number=gear.number,
        word=gear.word,
        kind=gear.kind.name if gear.kind else None,
        parent=gear.parent or None,
        settings=_facts(_told_once(gear.facts, gear.kind.facts if gear.kind else {})),
        ports=tuple(out.Port(port, _facts(facts)) for port, facts in gear.ports.items()),
        complete=not gear.doubt,
        place=_place(gear.span),
    )


LONG = 16  # items of a setting: longer ones stand once, at the kind


def _told_once(facts: bound.Facts, of_kind: bound.Facts) -> bound.Facts:
    """Settings without the long ones that are its kind's own: many boxes would repeat a curve many times."""
    told: dict[SettingWord, bound.Given] = {}
    for word, given in facts.items():
        same = of_kind.get(word)
        if given.inner and same is not None and same.inner:
            told[word] = evolve(given, inner=_told_once(given.inner, same.inner))
        elif given is not same or len(given.entries) <= LONG:
            told[word] = given
    return told


def _part(part: bound.ListMember) -> out.Part:
    return out.Part(part.name, part.port, part.gain_db, part.against)


def _named(part: bound.ListMember) -> str:
    return part.key


def _promise(each: bound.Expectation) -> out.Promise:
    said = each.statement
    of = tuple(map(_named, each.subjects))
    return out.Promise(said.figure, of, said.comparison, _value(each.value), _perhaps(each.band), _place(said.span))


def _excuse(each: bound.Excuse) -> out.Excuse:
    said = each.statement
    return out.Excuse(said.rule, tuple(sorted(each.names)), said.reason.value, _place(said.span))


# ---- wiring ----------------------------------------------------------------------------------------------------------


def _wiring(report: Report) -> out.Wiring:
    wiring, traced = report.figures.rig.wiring, report.figures.trace
    fed_by = {id(piece): key for key, run in traced.runs.items() for piece in run.pieces}
    return out.Wiring(
        outputs=tuple(
            out.Output(o.key, o.gear.full, o.port, o.carries, o.joint, _place(o.span)) for o in wiring.outputs.values()
        ),
        inputs=tuple(
            out.Input(s.key, s.gear.full, s.port, s.takes, s.joint, _place(s.span)) for s in wiring.sinks.values()
        ),
        passages=tuple(out.Passage(t.key, t.gear.full, t.port, t.near, t.far) for t in wiring.throughs.values()),
        links=tuple(_link(piece, fed_by.get(id(piece))) for piece in wiring.pieces),
        series=tuple(out.Series(s.joint, s.branches, _place(s.span)) for s in wiring.series),
        arrivals=tuple(
            out.Arrival(
                key,
                arrival.sink.key,
                tuple(out.Inversion(turn.text, _place(turn.span)) for turn in arrival.turns),
                len(arrival.turns) % 2 == 1,
                arrival.gain_db,
                arrival.delay_s,
            )
            for key, run in traced.runs.items()
            for arrival in run.arrivals
        ),
    )


def _link(piece: bound.Piece, fed_by: str | None) -> out.Link:
    spec = piece.spec
    lead = None
    if spec is not None:
        lead = out.LeadSize(_perhaps(spec.area_mm2), _perhaps(spec.awg), _perhaps(spec.length), spec.solid, spec.tinned)
    return out.Link(
        what=cast(Any, piece.what),
        near_joint=piece.a,
        far_joint=piece.b,
        fed_by=fed_by,
        name=piece.name,
        thing=piece.gear.full if piece.gear is not None else None,
        lead=lead,
        crossed=_place(piece.inverted) if piece.inverted is not None else None,
        gain_db=piece.gain_db,
        delay_s=piece.delay_s,
        place=_place(piece.span),
    )


# ---- figures and findings --------------------------------------------------------------------------------------------


def _figures(report: Report) -> results.Figures:
    told = figures_document(report)
    return results.Figures(
        version=told["version"],
        tables=results.Tables(told["tables"]),
        unknown=tuple(results.Unknown(key, why) for key, why in told["unknown"].items()),
        assumes=tuple(results.Assumption(each["what"], tuple(each["of"])) for each in told["assumes"]),
        notes=tuple(results.Note(word, tuple(lines)) for word, lines in told["notes"].items()),
        cautions=tuple(told["cautions"]),
    )


def _position(source: Source, offset: int) -> results.Position:
    line, column = source.position(offset)
    return results.Position(line, column, source.position_utf16(offset)[1] + 1, offset)


def _ends(span: Span) -> tuple[str, results.Position, results.Position]:
    return span.path, _position(span.source, span.start), _position(span.source, span.end)


def _finding(each: found.Finding) -> results.Finding:
    fix = each.fix
    return results.Finding(
        each.rule,
        cast(Any, each.severity.value),
        *_ends(each.span),
        message=each.message,
        label=each.label,
        subject=each.subject,
        computed=each.computed,
        allowed=each.allowed,
        certain=not each.possible,
        decides=each.decides,
        assumes=each.assumes,
        reason=each.reason,
        authority=each.authority,
        help=each.help,
        related=tuple(results.Label(*_ends(label.span), label.text) for label in each.related),
        fix=results.Fix(fix.title, tuple(results.Edit(*_ends(edit.span), edit.text) for edit in fix.edits))
        if fix
        else None,
    )
