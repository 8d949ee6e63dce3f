"""Help while a setting or a lead is written: what it takes, in which the part at hand stands out."""

from __future__ import annotations

from collections.abc import Sequence

from attrs import frozen

from rigspec.figures.over_band import IN_A_BAND
from rigspec.language.fields import LEAD_SPEC, NUMBER, Field
from rigspec.language.slips import READING
from rigspec.language.syntax import Token
from rigspec.rig.relations import FIGURES, POLARITIES
from rigspec.server.place import CursorPlace, lead_so_far, place, setting
from rigspec.server.snapshot import Snapshot
from rigspec.text.value import Content
from rigspec.why import DERIVED

# What the hops take that take something.
_HOPS = {
    "pad": ("GAIN", "the signal loses this much; for example `pad 13 dB`"),
    "delay": ("TIME|LENGTH", "a delay, as a time or as the distance that sound goes in it; for example `delay 3 ms`"),
}


@frozen(eq=False, repr=False)
class Signature(Content):
    """``parts`` are pieces of ``label``; ``active`` is the number of the one that is written now, or -1."""

    label: str
    about: str
    parts: tuple[str, ...]
    active: int


def signature(sight: Snapshot, offset: int) -> Signature | None:
    """The help for what is written at an offset, or None."""
    at = place(sight, offset)
    if at.what == "comment" or not at.before:
        return None
    inside = setting(at.before, sight.words)
    if inside is not None:
        field = inside.field
        return None if field is None else _of_field(field, _written(inside.atoms))
    lead = lead_so_far(at)
    if lead is not None and at.first != "lead":
        return _signature(LEAD_SPEC, ["SIZE|KIND", "LENGTH"], int(lead.size or lead.kind))
    hop = _HOPS.get(at.before[-1].text) if len(at.before) > 1 else None
    if hop is not None:
        return Signature(f"{at.before[-1].text} {hop[0]}", hop[1], (hop[0],), 0)
    if at.first in ("expect", "measured") and len(at.before) > 1 and at.before[1].text in DERIVED:
        return _of_figure(at)
    said = READING.get(at.first)
    return Signature(said[1], said[0], (), -1) if said is not None else None


def _of_figure(at: CursorPlace) -> Signature:
    """What a promise or a reading of a figure takes."""
    word = at.before[1].text
    promised = at.first == "expect"
    kinds = _group("|".join(FIGURES[word])) if FIGURES[word] else "|".join(POLARITIES)
    things = "between THING, THING" if word == "difference" else "of THING"
    parts = [things + (", ..." if promised and word != "difference" else "")]
    parts += ["[in FREQUENCY to FREQUENCY]"] if promised and word in IN_A_BAND else []
    sign = ">=|<= " if FIGURES[word] else "= "
    parts.append(f"{sign if promised else ''}{kinds}")
    behind = [token.text for token in at.before[2:]]
    if any(token.kind == "COMPARE" for token in at.before) or (not promised and len(behind) > 1):
        active = len(parts) - 1
    else:
        active = 1 if "in" in behind and len(parts) > 2 else 0
    of = " or ".join(dict.fromkeys(each.of for each in DERIVED[word]))
    return Signature(f"{at.first} {word} {' '.join(parts)}", f"{DERIVED[word][0].says}; of {of}", tuple(parts), active)


def _written(atoms: Sequence[Token]) -> int:
    """How many parts of a setting are written: a range is one, once both of its ends are."""
    return sum(token.text not in ("at", "to") for token in atoms) - sum(token.text == "to" for token in atoms)


def _of_field(field: Field, written: int) -> Signature:
    parts = ["NAME"] if field.refs and not field.words else []
    parts += [" to ".join([_group(group)] * (1 + field.range_only)) for group in field.need]
    beside = [f"[{_group(group)}]" for group in field.may]
    words = "|".join(field.words) if field.word_needed else f"[{'|'.join(field.words)}]"
    worded = [words] if field.words else []
    parts += [*beside, *worded] if field.need else [*worded, *beside]
    parts += ['"TEXT"'] if field.texts else []
    parts += ["N+M"] if field.pairs else []
    return _signature(field, parts, written)


def _signature(field: Field, parts: list[str], written: int) -> Signature:
    label = " ".join([field.word, *parts]) + (", ..." if field.many else "") + (" { ... }" if field.inner else "")
    active = min(written, len(parts) - 1) if parts else -1
    about = f"{field.says}; for example `{field.example}`"
    return Signature(label, about, tuple(parts), active)


def _group(group: str) -> str:
    kinds = group.split("|")
    return "|".join("NUMBER" if kind == NUMBER else kind.upper().replace(" ", "-") for kind in kinds)
