"""What each rule of the grammar makes of its parts: one function a rule, named as the rule or its alias is."""

from __future__ import annotations

import re
from typing import Any

from rigspec.language import syntax as s
from rigspec.text.source import Source, Span

Parts = list[Any]

_split_figure = re.compile(r"([+-]?[\d.]+(?:[eE][+-]?\d+)?(?:/\d+)?)[ \t]*(.*)", re.DOTALL).fullmatch
_index_part = re.compile(r"\s*(\d{1,9})\s*(?:\.\.\s*(\d{1,9})\s*)?").fullmatch


class Misshapen(Exception):
    """A token that the grammar takes and that says nothing sensible inside."""

    def __init__(self, token: s.Token, message: str, example: str) -> None:
        super().__init__(message)
        self.token, self.message, self.example = token, message, example


def _over(source: Source, token: s.Token) -> Span:
    return Span(source, token.start, token.start + len(token.text))


def _between(source: Source, parts: Parts) -> Span:
    """The span from the first to the last part; parts are tokens and nodes."""
    first, last = parts[0], parts[-1]
    start = first.start if first.__class__ is s.Token else first.span.start
    return Span(source, start, last.end if last.__class__ is s.Token else last.span.end)


def _spread(source: Source, parts: Parts) -> Parts:
    """A repeated part: everything in one flat list."""
    if parts[0].__class__ is list:
        flat: Parts = parts[0]
        flat.extend(parts[1:])
        return flat
    return parts


def _flat(parts: Parts) -> Parts:
    if not any(part.__class__ is list for part in parts):
        return parts
    return [leaf for part in parts for leaf in (part if part.__class__ is list else (part,))]


def _text(source: Source, token: s.Token) -> s.Text:
    return s.Text(re.sub(r"\\(.)", r"\1", token.text[1:-1]), _over(source, token))


def _index(source: Source, token: s.Token) -> s.Index:
    inner = token.text[1:-1].strip()
    if inner == "*":
        return s.Index(None, _over(source, token))
    ranges = []
    for part in inner.split(","):
        match = _index_part(part)
        if match is None:
            raise Misshapen(token, "the brackets hold no member numbers", "[3], [1..4], [1,3] or [*]")
        low, high = int(match[1]), int(match[2] or match[1])
        if low > high:
            raise Misshapen(token, f"the range runs backwards, from {low} to {high}", f"[{high}..{low}]")
        ranges.append((low, high))
    return s.Index(tuple(ranges), _over(source, token))


def start(source: Source, parts: Parts) -> s.Node:
    node: s.Node = parts[0]
    return node


def rig(source: Source, parts: Parts) -> s.RigFacts:
    return s.RigFacts(_text(source, parts[1]), parts[2] if len(parts) > 2 else None, _between(source, parts))


def use(source: Source, parts: Parts) -> s.Use:
    return s.Use(_text(source, parts[1]), _between(source, parts))


def stock(source: Source, parts: Parts) -> s.Stock:
    _, sort, name_token = parts[:3]
    block_node = parts[3] if len(parts) > 3 else None
    return s.Stock(
        sort.text, name_token.text, block_node, _over(source, sort), _over(source, name_token), _between(source, parts)
    )


def name(source: Source, parts: Parts) -> s.Ref:
    return ref(source, parts)


def thing(source: Source, parts: Parts) -> s.Thing:
    word, named = parts[0], parts[1]
    kind = parent = block_node = None
    atoms: tuple[s.Atom, ...] = ()
    position = 2
    while position < len(parts):
        part = parts[position]
        if part.__class__ is s.Token and part.text == "is":
            position += 1
            token = parts[position]
            kind = s.Ref(token.text, None, (), _over(source, token), _over(source, token))
        elif part.__class__ is s.Token:
            position += 1
            parent = parts[position]
        elif part.__class__ is s.Block:
            block_node = part
        else:
            atoms = tuple(part)
        position += 1
    word_span, whole = _over(source, word), _between(source, [word, _last(parts)])
    return s.Thing(
        word.text, named.name, named.index, kind, parent, atoms, block_node, word_span, named.name_span, whole
    )


def _last(parts: Parts) -> Any:
    last = parts[-1]
    return last[-1] if last.__class__ is list else last


def listing_named(source: Source, parts: Parts) -> s.Listing:
    flat = _flat(parts)
    items = tuple(part for part in flat[3:] if part.__class__ is s.Item)
    word, named, last = flat[0], flat[1], flat[-1]
    settings = last if last.__class__ is s.Block else None
    word_span, name_span = _over(source, word), _over(source, named)
    return s.Listing(word.text, named.text, items, settings, word_span, name_span, _between(source, flat))


def listing_spare(source: Source, parts: Parts) -> s.Listing:
    flat = _flat(parts)
    items = tuple(part for part in flat[1:] if part.__class__ is s.Item)
    span = _over(source, flat[0])
    return s.Listing(flat[0].text, "", items, None, span, span, _between(source, flat))


def member(source: Source, parts: Parts) -> s.Member:
    flat = _flat(parts)
    refs = tuple(part for part in flat if part.__class__ is s.Ref)
    return s.Member(refs, flat[-1], _between(source, flat))


def path(source: Source, parts: Parts) -> s.Path:
    flat = _flat(parts)
    each = flat[0].__class__ is s.Token
    return s.Path(tuple(flat[each::2]), each, _between(source, flat))


def chain(source: Source, parts: Parts) -> s.Path:
    return path(source, parts)


def hop_lead(source: Source, parts: Parts) -> s.LeadHop:
    return s.LeadHop(tuple(parts[1]), _between(source, [parts[0], parts[1][-1]]))


def hop_invert(source: Source, parts: Parts) -> s.Invert:
    return s.Invert(_over(source, parts[0]))


def hop_pad(source: Source, parts: Parts) -> s.Pad:
    return s.Pad(parts[1], _between(source, parts))


def hop_delay(source: Source, parts: Parts) -> s.Delay:
    return s.Delay(parts[1], _between(source, parts))


def hop_join(source: Source, parts: Parts) -> s.Join:
    flat = _flat(parts)
    branches = tuple(part.hops for part in flat if part.__class__ is s.Path)
    return s.Join(flat[0].text, branches, _between(source, flat))


def point(source: Source, parts: Parts) -> s.Point:
    if len(parts) == 1:
        return s.Point(parts[0], None, parts[0].span)
    return s.Point(parts[0], tuple(parts[2]), _between(source, [parts[0], parts[2][-1]]))


def expect(source: Source, parts: Parts) -> s.Expect:
    _, figure_token, clauses, comparison, value = parts
    span = _between(source, parts)
    value_span = _between(source, [value])
    if value.__class__ is s.Token:
        value = value.text
    figure_span = _over(source, figure_token)
    return s.Expect(figure_token.text, tuple(clauses), comparison.text, value, figure_span, value_span, span)


def clause(source: Source, parts: Parts) -> s.Clause:
    flat = _flat(parts)
    items = tuple(part for part in flat[1:] if part.__class__ is s.Item)
    return s.Clause(flat[0].text, items, _between(source, flat))


def measured(source: Source, parts: Parts) -> s.Measured:
    flat = _flat(parts)
    readings = tuple(part for part in flat if part.__class__ is s.ReadingOf)
    conditions = flat[-1] if flat[-1].__class__ is s.Block else None
    word, preposition = flat[1], flat[2]
    return s.Measured(word.text, preposition.text, readings, conditions, _over(source, word), _between(source, flat))


def reading(source: Source, parts: Parts) -> s.ReadingOf:
    """A thing, perhaps `at` a place; the value, perhaps `at` a figure."""
    ref_node, *rest = parts
    place = at = None
    if len(rest) > 1 and rest[1].__class__ is s.Ref:
        place, rest = rest[1], rest[2:]
    if len(rest) > 1:
        at = rest[2]
    value = rest[0].text if rest[0].__class__ is s.Token else rest[0]
    return s.ReadingOf(ref_node, place, value, at, _between(source, rest[:1]), _between(source, parts))


def allow(source: Source, parts: Parts) -> s.Allow:
    rule = parts[1]
    return s.Allow(rule.text, parts[3], _text(source, parts[5]), _over(source, rule), _between(source, parts))


def block(source: Source, parts: Parts) -> s.Block:
    flat = _flat(parts)
    settings = tuple(part for part in flat if part.__class__ is s.Setting)
    return s.Block(settings, _between(source, flat))


def setting(source: Source, parts: Parts) -> s.Setting:
    flat = _flat(parts)
    items = tuple(part for part in flat if part.__class__ is s.Item)
    block_node = flat[-1] if flat[-1].__class__ is s.Block else None
    return s.Setting(flat[0].text, items, block_node, _over(source, flat[0]), _between(source, flat))


def item(source: Source, parts: Parts) -> s.Item:
    atoms = parts[0]
    return s.Item(tuple(atoms), Span(source, atoms[0].span.start, atoms[-1].span.end))


def text(source: Source, parts: Parts) -> s.Text:
    return _text(source, parts[0])


def pair(source: Source, parts: Parts) -> s.Pair:
    first, second = parts[0].text.split("+")
    return s.Pair(int(first[:9]), int(second[:9]), _over(source, parts[0]))


def range(source: Source, parts: Parts) -> s.Range:
    return s.Range(parts[0], parts[2], _between(source, parts))


def figure(source: Source, parts: Parts) -> s.Figure:
    token = parts[0]
    match = _split_figure(token.text)
    assert match is not None  # the token pattern and this one agree on what a number is
    number, unit = match[1], match[2]
    if " " in unit or "\t" in unit:
        unit = " ".join(unit.split())
    if len(parts) == 1:
        return s.Figure(number, unit, None, Span(source, token.start, token.start + len(token.text)))
    return s.Figure(number, unit, figure(source, parts[2:]), _between(source, parts))


def ref(source: Source, parts: Parts) -> s.Ref:
    token = parts[0]
    start = token.start
    name_end = end = start + len(token.text)
    index = None
    ports: tuple[str, ...] = ()
    for part in parts[1:]:
        if part.__class__ is list:
            ports = tuple([port.text[1:] for port in part])
            end = part[-1].end
        else:
            index = _index(source, part)
            end = part.end
    return s.Ref(token.text, index, ports, Span(source, start, name_end), Span(source, start, end))
