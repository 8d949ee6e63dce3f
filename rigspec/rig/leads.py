"""What a lead in a path is: its size or kind, its length, and whether it is made inverted."""

from __future__ import annotations

from collections.abc import Sequence

from rigspec.language.fields import LEAD_SPEC
from rigspec.language.syntax import Atom, Ref
from rigspec.rig.model import Entry, LeadSpec, first, one
from rigspec.rig.names import CALLED, Names, suggestion
from rigspec.rig.values import entry
from rigspec.text.finding import Label
from rigspec.text.source import Span


def lead_spec(names: Names, atoms: Sequence[Atom], span: Span) -> tuple[LeadSpec, Span | None] | None:
    """The lead that a hop describes, and the place of its `inverted`; None when it cannot be known."""
    before = names.faults.count
    given = entry(LEAD_SPEC, atoms, span, names.faults)
    if names.faults.count > before:
        return None
    size: Entry = given
    length, kind = given.get("length"), None
    solid, tinned = "solid" in given.words, "tinned" in given.words
    if given.refs:
        ref = given.refs[0]
        kind = names.kinds.get(ref.name)
        if kind is None or kind.sort != "lead":
            _no_lead_kind(names, ref)
            return None
        if kind.doubt:
            return None
        if stock_size := first(kind.facts, "size"):
            size = stock_size
            solid, tinned = solid or "solid" in size.words, tinned or "tinned" in size.words
        length = length or one(kind.facts, "length", "length")
    spec = LeadSpec(size.get("area"), size.get("gauge"), length, solid, tinned, kind, given.texts)
    if not lead_complete(names, spec, span):
        return None
    turned = next((atom.span for atom in atoms if isinstance(atom, Ref) and atom.name == "inverted"), None)
    return spec, turned


def lead_complete(names: Names, spec: LeadSpec, span: Span, subject: str = "") -> bool:
    lacks = [what for what, known in (("size", spec.area_mm2 or spec.awg), ("length", spec.length)) if not known]
    bad = next((m for m in (spec.area_mm2, spec.length) if m is not None and m.low < 0), None)
    if bad is None and spec.area_mm2 is not None and spec.area_mm2.low <= 0:
        bad = spec.area_mm2
    if bad is not None:
        what, such = ("length", "15 m") if bad.kind == "length" else ("size", "2.5 mm2")
        names.faults.add(
            "lead-incomplete",
            bad.span,
            f"a lead cannot be {bad.text}",
            label="impossible",
            help=f"write its {what} above zero, for example {such}",
        )
        return False
    if lacks:
        names.faults.add(
            "lead-incomplete",
            span,
            f"the {' and the '.join(lacks)} of this lead {'is' if len(lacks) == 1 else 'are'} not said",
            label="its loss cannot be known",
            help=f"write {'both' if len(lacks) == 2 else f'its {lacks[0]}'}, for example `{_such(lacks, subject)}`;"
            f" a run nobody can see takes a range: `{'20 m to 40 m' if 'length' in lacks else '1.5 mm2 to 2.5 mm2'}`",
            subject=subject,
        )
        return False
    return True


def _such(lacks: Sequence[str], subject: str) -> str:
    """A lead written right: one in a path whole, a named one by what its declaration lacks."""
    if not subject:
        return "lead 2.5 mm2 15 m"
    return " ".join([f"lead {subject} ...", *({"size": "2.5 mm2", "length": "15 m"}[each] for each in lacks)])


def _no_lead_kind(names: Names, ref: Ref) -> None:
    if ref.name in names.rows:
        names.faults.add(
            "gear-misplaced",
            ref.span,
            f"`{ref.name}` is {CALLED[names.rows[ref.name].word]}, not a kind of lead",
            related=(Label(names.rows[ref.name].span, "declared here"),),
            help=f"a named lead stands in the path by its name alone: `-> {ref.span.text} ->`",
            subject=ref.name,
        )
    elif not names.doubt(ref.name):
        known = names.kinds_of("lead")
        suggestion(
            names.faults,
            "kind-unknown",
            ref.span,
            f"no lead of the kind `{ref.name}` is in the stock",
            ref.name,
            known,
            f"correct the name, or describe it: `stock lead {ref.name} {{ size 2.5 mm2 }}`",
        )
