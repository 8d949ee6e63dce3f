"""Help while a setting or a lead is written: what it takes, in which the part at hand stands out."""

from __future__ import annotations

from attrs import frozen

from rigspec.fields import LEAD_SPEC, NUMBER, Field
from rigspec.parse.slips import READING
from rigspec.server.place import Place, place, setting
from rigspec.server.sight import Sight
from rigspec.value import Value


@frozen(repr=False)
class Signature(Value):
    """``parts`` are pieces of ``label``; ``active`` is the number of the one that is written now, or -1."""

    label: str
    about: str
    parts: tuple[str, ...]
    active: int


def signature(sight: Sight, offset: int) -> Signature | None:
    """The help for what is written at an offset, or None."""
    at = place(sight, offset)
    if at.what == "comment" or not at.before:
        return None
    inside = setting(at.before, sight.words)
    if inside is not None:
        field = inside.field
        return None if field is None else _of_field(field, len(inside.atoms))
    if _in_lead_hop(at):
        written = [token for token in at.before[_lead_begins(at) + 1 :] if token.kind in ("FIGURE", "NAME")]
        return _of_field(LEAD_SPEC, len(written))
    said = READING.get(at.first)
    return Signature(said[1], said[0], (), -1) if said is not None else None


def _lead_begins(at: Place) -> int:
    return max((number for number, token in enumerate(at.before) if token.text in ("lead", "linked")), default=-1)


def _in_lead_hop(at: Place) -> bool:
    begins = _lead_begins(at)
    return begins > 0 and not any(token.kind in ("ARROW", "LPAR") for token in at.before[begins:])


def _of_field(field: Field, written: int) -> Signature:
    parts: list[str] = []
    if field is LEAD_SPEC:
        parts = ["SIZE|KIND", "LENGTH"]
    parts += [_group(group) for group in field.need] if field is not LEAD_SPEC else []
    if field.words and field is not LEAD_SPEC:
        parts.append("|".join(field.words) if field.word_needed else f"[{'|'.join(field.words)}]")
    parts += [f"[{_group(group)}]" for group in field.may] if field is not LEAD_SPEC else []
    parts += ["NAME"] if field.refs and not field.words and field is not LEAD_SPEC else []
    parts += ['"TEXT"'] if field.texts else []
    parts += ["N+M"] if field.pairs else []
    label = " ".join([field.word, *parts]) + (", ..." if field.many else "") + (" { ... }" if field.inner else "")
    active = min(written, len(parts) - 1) if parts else -1
    about = f"{field.says}; for example `{field.example}`"
    return Signature(label, about, tuple(parts), active)


def _group(group: str) -> str:
    kinds = group.split("|")
    return "|".join("NUMBER" if kind == NUMBER else kind.upper().replace(" ", "-") for kind in kinds)
