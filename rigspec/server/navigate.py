"""Where a name is declared, everywhere it is used, and what renaming it changes."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence

from rigspec.files.fixing import applied
from rigspec.language.chunk import STATEMENT_WORDS
from rigspec.language.fields import LEAD_SPEC
from rigspec.language.reader import parse
from rigspec.language.syntax import File
from rigspec.rig.declare import HOP_WORDS
from rigspec.server.mentions import FILE, KIND, PORT, THING, Mention, kinds_of, mentions, words_of
from rigspec.server.snapshot import Snapshot
from rigspec.text.finding import Edit
from rigspec.text.source import Source, Span
from rigspec.text.value import gathered

_name = re.compile(r"[^\W\d]\w*(?:-(?!>)\w+)*")


class Refusal(Exception):
    """A name is not changed; the words are one sentence for the engineer."""


def definition(sight: Snapshot, offset: int) -> list[Span]:
    """Where the thing or kind under the cursor is declared: of a row each statement that declares one of its members.

    For a file that is used it is the path alone, in ``file_at``.
    """
    mention = sight.mention(offset)
    if mention is None:
        return []
    what, name = subject(mention)
    if what not in (THING, KIND):
        return []
    if what == THING and mention.ref is not None and mention.ref.index is not None:
        row = sight.names.rows.get(name)
        keys = {key.partition(".")[0] for key in sight.keys(mention.ref)}
        members = [gear for gear in row.members.values() if gear.full in keys] if row is not None else []
        if members:
            return _in_order(gear.span for gear in members)
    return _in_order(each.span for each in _all(sight.files, what, name) if each.declares)


def file_at(sight: Snapshot, offset: int) -> str:
    """The path in the ``use`` statement under the cursor, or nothing."""
    mention = sight.mention(offset)
    return mention.name if mention is not None and mention.what == FILE else ""


def subject(mention: Mention) -> tuple[str, str]:
    """What a name is looked up as: a port stands for the thing it is of."""
    if mention.what == PORT and mention.ref is not None and mention.ref.ports:
        return THING, mention.ref.name
    return mention.what, mention.name


def references(files: Mapping[str, File], what: str, name: str, *, declaration: bool = True) -> list[Span]:
    """Every place in these files where a thing or kind is named."""
    return _in_order(each.span for each in _all(files, what, name) if declaration or not each.declares)


def _all(files: Mapping[str, File], what: str, name: str) -> Iterable[Mention]:
    words, kinds = words_of(files.values()), kinds_of(files.values())
    for file in files.values():
        if name in file.source.text:
            yield from (each for each in mentions(file, words, kinds) if (each.what, each.name) == (what, name))


def _in_order(spans: Iterable[Span]) -> list[Span]:
    return sorted(dict.fromkeys(spans), key=lambda span: (span.path, span.start))


# ---- renaming --------------------------------------------------------------------------------------------------------


def renamable(sight: Snapshot, offset: int) -> Mention:
    """The name under the cursor if it can be changed. Raises ``Refusal``."""
    mention = sight.mention(offset)
    if mention is None or mention.what not in (THING, KIND):
        raise Refusal("only the names of things and of kinds of gear can be changed")
    known = sight.words if mention.what == THING else sight.kinds
    if mention.name not in known:
        raise Refusal(f"{mention.name} is declared nowhere in this rig")
    return mention


def rename(files: Mapping[str, File], what: str, name: str, new: str) -> list[Edit]:
    """The edits, in all these files, that give a thing or kind another name. Raises ``Refusal``.

    It is proved that the texts mean the same afterwards: every name in them is what it was, but for this one.
    """
    _refuse_bad(files, what, name, new)
    edits = [Edit(span, new) for span in references(files, what, name)]
    by_source = gathered(edits, lambda edit: edit.span.source)
    after: dict[str, File] = {}
    for path, file in files.items():
        text = applied(file.source, by_source.get(file.source, []))
        after[path] = file if text is None else parse(Source(path, text))
    if _named(after, (what, new), (what, new)) != _named(files, (what, name), (what, new)):
        raise Refusal(f"with the name {new} some statement would not mean what it means now")
    return edits


def _refuse_bad(files: Mapping[str, File], what: str, name: str, new: str) -> None:
    if _name.fullmatch(new) is None:
        raise Refusal(
            f"{new or 'nothing'} cannot be a name: it begins with a letter and holds letters, digits, _ and -"
        )
    if new == name:
        raise Refusal(f"it is called {name} already")
    if what == THING and (new in STATEMENT_WORDS or new in HOP_WORDS):
        raise Refusal(f"{new} is a word of the language and cannot be a thing's name")
    if what == KIND and new in LEAD_SPEC.words:
        raise Refusal(f"{new} says how a lead is made and cannot be a kind's name")
    known = words_of(files.values()) if what == THING else kinds_of(files.values())
    if new in known:
        raise Refusal(f"there is {'a thing' if what == THING else 'a kind'} called {new} already")
    for path, file in files.items():
        for statement in file.statements:
            if statement.node is None and any(token.text == name for token in statement.tokens):
                line = file.source.position(statement.start)[0]
                raise Refusal(
                    f"the statement in line {line} of {path} cannot be read and names {name}: put it right first"
                )


def _named(files: Mapping[str, File], old: tuple[str, str], new: tuple[str, str]) -> Sequence[object]:
    """All names of some files in order, the old one as the new one; and of how many statements each file is made."""
    words, kinds = words_of(files.values()), kinds_of(files.values())
    found: list[object] = []
    for file in files.values():
        found.append((len(file.statements), len(file.slips)))
        for each in mentions(file, words, kinds):
            key = (each.what, each.name)
            found.append((*(new if key == old else key), each.declares, each.sure))
    return found
