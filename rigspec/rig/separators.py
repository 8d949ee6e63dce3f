"""Settings between which no `;` stands: told once each at its place, and read as they are meant."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from attrs import evolve

from rigspec.language.fields import Field, alternatives
from rigspec.language.syntax import Atom, Block, Item, Ref, Setting
from rigspec.rig.faults import Faults
from rigspec.text.finding import Edit, Fix
from rigspec.text.source import Span


def settings_of(block: Block, table: Mapping[str, Field], faults: Faults) -> Iterator[Setting]:
    """The settings of a block; where another begins with nothing but blank space or a comma before it, both."""
    for setting in block.settings:
        field = table.get(setting.word)
        cut = _next(setting, field, table) if field else None
        while cut is not None:
            setting, rest = _parted(setting, *cut)
            _tell(setting, rest, faults)
            yield setting
            setting, field = rest, table[rest.word]
            cut = _next(setting, field, table)
        yield setting


def _next(setting: Setting, field: Field, table: Mapping[str, Field]) -> tuple[int, int] | None:
    """The item and the atom with which another setting begins."""
    if not setting.items:
        return None
    for number, item in enumerate(setting.items):
        for position, atom in enumerate(item.atoms):
            if (number or position) and _begins(atom, field, table):
                rest = item.atoms[1:]
                if (
                    field.refs
                    and not position
                    and all(isinstance(each, Ref) and each.name in field.words for each in rest)
                ):
                    continue  # a name in a list of names
                return number, position
    return None


def _begins(atom: Atom, field: Field, table: Mapping[str, Field]) -> bool:
    if not isinstance(atom, Ref) or not atom.plain or atom.name not in table or atom.name in field.words:
        return False
    if table[atom.name].inner:
        return False  # what has braces of its own is a word elsewhere, as in `drivers low, high`
    kinds = [kind for group in field.need + field.may for kind in alternatives(group)]
    return atom.name != "at" or len(kinds) < 2  # as in `900 W at 4 ohm`


def _parted(setting: Setting, number: int, position: int) -> tuple[Setting, Setting]:
    here = setting.items[number]
    word = here.atoms[position]
    assert isinstance(word, Ref)
    before = (*setting.items[:number], *_items(here.atoms[:position]))
    behind = (*_items(here.atoms[position + 1 :]), *setting.items[number + 1 :])
    first = evolve(
        setting, items=before, block=None, span=setting.word_span.to(before[-1].span if before else setting.word_span)
    )
    return first, Setting(
        word.name, behind, setting.block, word.span, Span(word.span.source, word.span.start, setting.span.end)
    )


def _items(atoms: tuple[Atom, ...]) -> tuple[Item, ...]:
    return (Item(atoms, atoms[0].span.to(atoms[-1].span)),) if atoms else ()


def _tell(first: Setting, second: Setting, faults: Faults) -> None:
    source = first.span.source
    between = Span(source, first.span.end, second.word_span.start)
    right = f"{first.span.text}; {second.span.text}"
    faults.add(
        "setting-value",
        second.word_span,
        f"no `;` stands between `{first.word}` and `{second.word}`",
        label="another setting begins here",
        help=f"write it like this: {' '.join(right.split())}",
        fix=Fix(f"put `;` before `{second.word}`", (Edit(between, "; "),)),
    )
