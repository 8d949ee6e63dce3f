"""Every name in a text with what it is the name of; definitions, references, renaming and colours are made from it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from attrs import frozen

from rigspec.language import syntax as s
from rigspec.language.fields import LEAD_SPEC, Field
from rigspec.language.settings import TABLES
from rigspec.rig.ports import PORT_TABLES
from rigspec.text.source import Span
from rigspec.text.value import Content

THING, KIND, PORT, SETTING, FIGURE, RULE, FILE, CHOICE, SORT, WORD = (
    "thing",
    "kind",
    "port",
    "setting",
    "figure",
    "rule",
    "file",
    "choice",
    "sort",
    "word",
)
# The table of the settings that are made on a part of a thing, by the word of the thing.
_AGAINST = "against"


@frozen(eq=False, repr=False)
class Mention(Content):
    """A name at its place.

    ``declares``: it is given here. ``ref`` is the reference it stands in. ``sure`` is False in a statement with a slip,
    where names are known by their spelling only. ``table`` is where a setting is looked up.
    """

    what: str
    name: str
    span: Span
    declares: bool = False
    ref: s.Ref | None = None
    sure: bool = True
    table: str = ""


Words = Mapping[str, str]  # name of a thing -> what it is: amp, speaker, group ...


def words_of(files: Iterable[s.File]) -> dict[str, str]:
    """What each name of a thing or list is, in all files of a rig."""
    words: dict[str, str] = {}
    for file in files:
        for statement in file.statements:
            node = statement.node
            if isinstance(node, s.Thing | s.Listing) and node.name:
                words.setdefault(node.name, node.word)
    return words


def kinds_of(files: Iterable[s.File]) -> dict[str, s.Stock]:
    """The stock of all files of a rig, by name."""
    kinds: dict[str, s.Stock] = {}
    for file in files:
        for statement in file.statements:
            if isinstance(statement.node, s.Stock):
                kinds.setdefault(statement.node.name, statement.node)
    return kinds


def mentions(file: s.File, words: Words, kinds: Mapping[str, object]) -> Iterator[Mention]:
    """All names of a file in the order of its statements."""
    for statement in file.statements:
        yield from of_statement(file, statement, words, kinds)


def of_statement(file: s.File, statement: s.Statement, words: Words, kinds: Mapping[str, object]) -> Iterator[Mention]:
    """The names in one statement."""
    if statement.node is None:
        return _by_spelling(file, statement, words, kinds)
    return _of_node(statement.node, words)


def _by_spelling(file: s.File, statement: s.Statement, words: Words, kinds: Mapping[str, object]) -> Iterator[Mention]:
    for token in statement.tokens:
        if token.kind != "NAME":
            continue
        span = Span(file.source, token.start, token.end)
        if token.text in words:
            yield Mention(THING, token.text, span, sure=False)
        elif token.text in kinds:
            yield Mention(KIND, token.text, span, sure=False)


def _of_node(node: s.Node, words: Words) -> Iterator[Mention]:
    match node:
        case s.RigFacts():
            yield from _block(node.block, "rig")
        case s.Use():
            yield Mention(FILE, node.path.value, node.path.span)
        case s.Stock():
            yield Mention(SORT, node.sort, node.sort_span)
            yield Mention(KIND, node.name, node.name_span, declares=True)
            yield from _block(node.block, f"stock {node.sort}")
        case s.Thing():
            yield Mention(THING, node.name, node.name_span, declares=True)
            if node.kind is not None:
                yield Mention(KIND, node.kind.name, node.kind.name_span, ref=node.kind)
            if node.parent is not None:
                yield from _ref(node.parent)
            yield from _lead(node.atoms)
            yield from _block(node.block, node.word)
        case s.Listing():
            if node.name:
                yield Mention(THING, node.name, node.name_span, declares=True)
            yield from _items(node.items)
            yield from _block(node.block, node.word)
        case s.Member():
            for ref in node.refs:
                yield from _ref(ref)
            first = node.refs[0]
            word = words.get(first.name, "")
            yield from _block(node.block, PORT_TABLES.get(word, word) if first.ports else word)
        case s.Path():
            yield from _hops(node.hops)
        case s.Expect():
            yield Mention(FIGURE, node.figure, node.figure_span)
            for clause in node.clauses:
                yield from _items(clause.items)
        case s.Measured():
            yield Mention(FIGURE, node.figure, node.figure_span)
            for reading in node.readings:
                yield from _ref(reading.ref)
                yield from _ref(reading.place) if reading.place else ()
            yield from _block(node.block, "measured")
        case s.Allow():
            yield Mention(RULE, node.rule, node.rule_span)
            yield from _ref(node.ref)


def _ref(ref: s.Ref) -> Iterator[Mention]:
    yield Mention(THING, ref.name, ref.name_span, ref=ref)
    if ref.ports:
        start = ref.index.span.end if ref.index is not None else ref.name_span.end
        yield Mention(PORT, ".".join(ref.ports), Span(ref.span.source, start, ref.span.end), ref=ref)


def _items(items: Sequence[s.Item]) -> Iterator[Mention]:
    for item in items:
        refs = [atom for atom in item.atoms if isinstance(atom, s.Ref)]
        for ref in refs:
            if ref.plain and ref.name == _AGAINST and len(refs) > 1:
                yield Mention(WORD, ref.name, ref.span)
            else:
                yield from _ref(ref)


def _lead(atoms: Sequence[s.Atom]) -> Iterator[Mention]:
    for atom in atoms:
        if isinstance(atom, s.Ref):
            yield Mention(CHOICE if atom.name in LEAD_SPEC.words else KIND, atom.name, atom.name_span, ref=atom)


def _hops(hops: Sequence[s.Hop]) -> Iterator[Mention]:
    for hop in hops:
        match hop:
            case s.Point():
                yield from _ref(hop.ref)
                yield from _lead(hop.linked or ())
            case s.LeadHop():
                yield from _lead(hop.atoms)
            case s.Join():
                for branch in hop.branches:
                    yield from _hops(branch)


def _block(block: s.Block | None, table: str) -> Iterator[Mention]:
    if block is None:
        return
    for setting in block.settings:
        field = TABLES.get(table, {}).get(setting.word)
        yield Mention(SETTING, setting.word, setting.word_span, table=table)
        for item in setting.items:
            for atom in item.atoms:
                if isinstance(atom, s.Ref):
                    yield from _in_setting(atom, setting.word, field)
        if field is not None and field.inner:
            yield from _block(setting.block, field.inner)


def _in_setting(ref: s.Ref, word: str, field: Field | None) -> Iterator[Mention]:
    if word == "hears":
        yield from _ref(ref)
    elif field is not None and word == "from":
        yield Mention(PORT, ref.name, ref.span, ref=ref)
    else:
        yield Mention(CHOICE, ref.name, ref.span)
