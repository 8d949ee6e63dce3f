"""What an editor's question is asked about: one text of a rig, the rig's other texts, and its report."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cached_property

from attrs import frozen

from rigspec.check import Report
from rigspec.language.syntax import File, Ref, Statement, Stock, Token
from rigspec.rig.asked import names_of
from rigspec.rig.model import Rig
from rigspec.rig.names import Names
from rigspec.rig.relations import parts
from rigspec.rig.values import Faults
from rigspec.server.mentions import Mention, kinds_of, of_statement, words_of
from rigspec.text.source import Source, Span
from rigspec.text.value import Value


@frozen(eq=False, slots=False, repr=False)
class Snapshot(Value):
    """``file`` is the text at hand; ``files`` are all texts of the rig, by path.

    ``check`` and ``bind`` make a report and a rig of them, which takes longer than to read them: when they are needed.
    """

    file: File
    files: Mapping[str, File]
    check: Callable[[], Report]
    bind: Callable[[], Rig]

    @cached_property
    def report(self) -> Report:
        return self.check()

    @property
    def source(self) -> Source:
        return self.file.source

    @cached_property
    def words(self) -> dict[str, str]:
        """What each thing and list of the rig is, by name."""
        return words_of(self.files.values())

    @cached_property
    def kinds(self) -> dict[str, Stock]:
        """The rig's stock by name."""
        return kinds_of(self.files.values())

    @cached_property
    def names(self) -> Names:
        """The rig's names, to look things up in."""
        return names_of(self.bind(), Faults())

    def statement(self, offset: int) -> Statement | None:
        """The statement that an offset lies in or right behind."""
        found = None
        for statement in self.file.statements:
            if statement.tokens and statement.start <= offset:
                found = statement
        return found if found is not None and offset <= found.end else None

    def token(self, offset: int) -> Token | None:
        """The token at an offset, or else the one that ends there."""
        statement = self.statement(offset)
        if statement is None:
            return None
        found = None
        for token in statement.tokens:
            if token.start <= offset <= token.end:
                found = token
                if offset < token.end:
                    break
        return found

    def mention(self, offset: int) -> Mention | None:
        """The name at an offset; of two that meet there the one that begins there."""
        statement = self.statement(offset)
        if statement is None:
            return None
        found = None
        for mention in of_statement(self.file, statement, self.words, self.kinds):
            if mention.span.start <= offset < mention.span.end:
                return mention
            if mention.span.end == offset:
                found = mention
        return found

    def keys(self, ref: Ref) -> list[str]:
        """The full names of everything that a reference names: ``sub[1]``, ``bass.2``; a bad one names nothing."""
        found = parts(ref, self.names)
        return list(dict.fromkeys(part.key for part in found))

    def near(self, key: str) -> list[str]:
        """A thing and the parts of it that have figures of their own: channels, outputs, ways, pairs."""
        wiring = self.report.figures.rig.wiring
        keys = [key]
        for places in (wiring.outputs, wiring.sinks, wiring.throughs):
            keys += [each for each in places if each.startswith(f"{key}.")]
        return list(dict.fromkeys(keys))

    def declared(self, name: str) -> list[str]:
        """The full names of the members of a thing that is declared under a name."""
        row = self.names.rows.get(name)
        return [gear.full for gear in row.members.values()] if row is not None else [name]


def within(span: Span, offset: int) -> bool:
    """Does a span hold an offset, its end included?"""
    return span.start <= offset <= span.end
