"""Single-edit mutants of a rig, made over its syntax tree: the spans say where each edit goes.

An operator is a function from a rig to its mutants.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from itertools import combinations, pairwise

from rigspec.language import syntax as s
from rigspec.text.source import Span

from .edits import Edit, Mutant, Rig, after, names_in, over

# ---- polarity


def cross_before_lead(rig: Rig) -> Iterator[Mutant]:
    for _, chain, number in rig.hops():
        if number and _is_lead(rig, chain[number]):
            start = chain[number].span.start
            yield Mutant("cross a lead before it", ((start, start, "invert -> "),))


def cross_behind_lead(rig: Rig) -> Iterator[Mutant]:
    for _, chain, number in rig.hops():
        if number and _is_lead(rig, chain[number]):
            yield Mutant("cross a lead behind it", (after(chain[number].span, " -> invert"),))


def _is_lead(rig: Rig, hop: s.Hop) -> bool:
    return isinstance(hop, s.LeadHop) or (isinstance(hop, s.Point) and rig.words.get(hop.ref.name) == "lead")


def drop_invert(rig: Rig) -> Iterator[Mutant]:
    for _, chain, number in rig.hops():
        if isinstance(chain[number], s.Invert):
            yield Mutant("drop an `invert`", (_without(chain, number),))


def drop_inverted(rig: Rig) -> Iterator[Mutant]:
    for setting in rig.settings():
        if setting.word == "inverted":
            yield Mutant("drop an `inverted`", (over(setting.span, 'label "x"'),))


def lead_inverted(rig: Rig) -> Iterator[Mutant]:
    for atoms, link in rig.leads():
        if not link:
            yield Mutant("make a lead `inverted`", (after(atoms[-1].span, " inverted"),))


def output_inverted(rig: Rig) -> Iterator[Mutant]:
    for node in rig.nodes:
        if isinstance(node, s.Member) and rig.words.get(node.refs[0].name) in ("processor", "panel"):
            at = node.block.span.start + 1
            yield Mutant("switch an output `inverted`", ((at, at, " inverted;"),))


def reverse_pair(rig: Rig) -> Iterator[Mutant]:
    for _, point in rig.points():
        if point.ref.ports and "+" in point.ref.ports[0]:
            first, _, second = point.ref.ports[0].partition("+")
            yield Mutant("reverse `1+2`", ((point.ref.span.end - 3, point.ref.span.end, f"{second}+{first}"),))
    for setting in rig.settings():
        for item in setting.items:
            for atom in item.atoms:
                if isinstance(atom, s.Pair):
                    yield Mutant("reverse `1+2`", (over(atom.span, f"{atom.second}+{atom.first}"),))


# ---- boxes


def drop_box(rig: Rig) -> Iterator[Mutant]:
    for _, point in rig.points("speaker"):
        index = point.ref.index
        if index and index.numbers and index.numbers[0][1] > index.numbers[0][0]:
            low, high = index.numbers[0]
            for text in (f"[{low}..{high - 1}]", f"[{low + 1}..{high}]"):
                lost = frozenset({point.ref.name})
                yield Mutant("drop a box from a row", (over(index.span, text),), lost)


def add_boxes(rig: Rig) -> Iterator[Mutant]:
    for thing in rig.things:
        numbers = thing.index.numbers if thing.word == "speaker" and thing.index else None
        if not numbers or any(_last(each) > numbers[0][1] for each in rig.things if each.name == thing.name):
            continue
        low, high = numbers[0]
        for more in (1, 2, high - low + 1):
            hung = [
                over(point.ref.index.span, f"[{point.ref.index.numbers[0][0]}..{high + more}]")
                for _, point in rig.points("speaker")
                if point.ref.name == thing.name
                and point.ref.index
                and point.ref.index.numbers
                and point.ref.index.numbers[0][1] == high
                and point.linked
            ]
            assert thing.index is not None
            if hung:
                yield Mutant("add boxes to a row", (over(thing.index.span, f"[{low}..{high + more}]"), *hung))


def _last(thing: s.Thing) -> int:
    return thing.index.numbers[0][1] if thing.index and thing.index.numbers else 0


BOXES = (
    ("compact-8", "double-18 column-4 hang-16 horn-30"),
    ("twelve-two", "double-18 column-4 hang-16 ceiling-6"),
    ("fifteen-two", "double-18 hang-16 compact-8 horn-30"),
    ("reflex-18", "double-18 deep-18 compact-8 horn-30"),
    ("pier-top", "double-18 column-4 hang-16 ceiling-6"),
    ("pier-bass", "double-18 deep-18 compact-8 horn-30"),
    ("deep-18", "double-18 reflex-18 column-4"),
    ("double-18", "reflex-18 column-4 hang-16"),
    ("hang-two", "hang-16 twelve-two"),
    ("wedge-12", "double-18 column-4 hang-16 horn-30"),
    ("column-4", "compact-8 hang-16 ceiling-6"),
    ("horn-30", "compact-8 twelve-two ceiling-6"),
    ("ceiling-6", "compact-8 horn-30"),
    ("powered-12", "twelve-two powered-15-bass"),
    ("powered-15-bass", "reflex-18 powered-12"),
)
AMPS = (
    ("twin-400", "four-250 twin-900 line-500"),
    ("twin-900", "twin-400 four-250 twin-1600 line-500"),
    ("twin-1600", "twin-400 twin-900 four-900"),
    ("four-250", "twin-400 four-900 line-500"),
    ("four-900", "four-250 twin-900"),
    ("line-500", "twin-400 four-900"),
)


def another_kind(word: str, table: Sequence[tuple[str, str]], operator: str) -> Callable[[Rig], Iterator[Mutant]]:
    kinds = dict(table)

    def made(rig: Rig) -> Iterator[Mutant]:
        for thing in rig.things:
            if thing.word == word and thing.kind:
                for kind in kinds[thing.kind.name].split():
                    yield Mutant(operator, (over(thing.kind.span, kind),))

    return made


def tap_doubled(rig: Rig) -> Iterator[Mutant]:
    for setting in rig.settings():
        if setting.word == "tap":
            yield from (Mutant("tap x2", (_times(each, 2),)) for each in _figures(setting.items[0].atoms))


def drop_linked(rig: Rig) -> Iterator[Mutant]:
    for _, point in rig.points():
        if point.linked:
            yield Mutant("drop `linked`", ((point.ref.span.end, point.linked[-1].span.end, ""),))


# ---- exchanging two things


def _exchange(operator: str, pairs: Iterator[tuple[Span, Span]]) -> Iterator[Mutant]:
    for a, b in pairs:
        if a.text != b.text:
            yield Mutant(operator, (over(a, b.text), over(b, a.text)))


def exchange_ways(rig: Rig) -> Iterator[Mutant]:
    for _, point in rig.points("speaker"):
        for way, other in ((".low", ".high"), (".high", ".low")):
            if point.ref.span.text.endswith(way):
                edit = over(point.ref.span, point.ref.span.text.removesuffix(way) + other)
                yield Mutant("`.low` for `.high`", (edit,))
    ways = [point.ref for _, point in rig.points("speaker") if point.ref.ports]
    same = ((a, b) for a, b in combinations(ways, 2) if a.name == b.name and a.index == b.index)
    yield from _exchange("exchange low and high", ((a.span, b.span) for a, b in same))


def exchange_ports(rig: Rig) -> Iterator[Mutant]:
    """Two channels, outputs, pairs or lines of one thing change places."""
    for word, operator in (
        ("lead", "exchange two pairs"),
        ("panel", "exchange two panel lines"),
        ("amp", "exchange two channels"),
        ("processor", "exchange two outputs"),
    ):
        refs = [point.ref for _, point in rig.points(word) if point.ref.ports]
        spans = [(a.span, b.span) for a, b in combinations(refs, 2) if a.name == b.name and a.span.text != b.span.text]
        yield from _exchange(operator, iter(spans))


def exchange_feeds(rig: Rig) -> Iterator[Mutant]:
    refs = [path.hops[0].ref for path in rig.paths if isinstance(path.hops[0], s.Point)]
    feeds = [ref for ref in refs if rig.words.get(ref.name) in ("feed", "split")]
    yield from _exchange("exchange two feeds", ((a.span, b.span) for a, b in combinations(feeds, 2)))


def exchange_boxes(rig: Rig) -> Iterator[Mutant]:
    """Two neighbouring paths end at each other's box."""
    ends = [path.hops[-1] for path in rig.paths]
    boxes = [hop for hop in ends if isinstance(hop, s.Point) and rig.words.get(hop.ref.name) == "speaker"]
    yield from _exchange("exchange two boxes", ((a.span, b.span) for a, b in pairwise(boxes)))


def connect_elsewhere(rig: Rig) -> Iterator[Mutant]:
    for _, point in rig.points():
        ref, word = point.ref, rig.words.get(point.ref.name)
        if word not in ("amp", "processor", "panel", "lead") or len(ref.ports) != 1 or len(ref.ports[0]) != 1:
            continue
        port = ref.ports[0]
        others = {"a": "b", "b": "a"}.get(port) or str(int(port) % 2 + 1 if word == "amp" else int(port) + 1)
        edit = (ref.span.end - 1, ref.span.end, others)
        yield Mutant(f"another {_PORT[word]}", (edit,))


_PORT = {"amp": "channel", "processor": "input or output", "panel": "panel line", "lead": "pair"}


# ---- copper and units

THINNER = {"4": "1.5", "2.5": "0.75", "1.5": "0.5", "12": "18", "14": "20"}
THINNER_KIND = {"heavy-pair": "thin-pair", "stout-pair": "signal-pair", "gauge-12": "gauge-14"}


def thinner_lead(rig: Rig) -> Iterator[Mutant]:
    for atoms, _ in rig.leads():
        for each in _figures(atoms):
            if each.unit in ("mm2", "AWG") and each.number in THINNER:
                yield Mutant("a thinner lead", (over(each.span, f"{THINNER[each.number]} {each.unit}"),))
        for atom in atoms:
            if isinstance(atom, s.Ref) and atom.name in THINNER_KIND:
                yield Mutant("a thinner lead", (over(atom.span, THINNER_KIND[atom.name]),))


def longer_lead(rig: Rig) -> Iterator[Mutant]:
    for atoms, _ in rig.leads():
        for each in _figures(atoms):
            if each.unit in ("m", "ft"):
                yield Mutant("a lead ten times as long", (_times(each, 10),))


def _figures(atoms: Sequence[s.Atom]) -> Iterator[s.Figure]:
    for atom in atoms:
        if isinstance(atom, s.Figure):
            yield atom
        elif isinstance(atom, s.Range):
            yield from (atom.low, atom.high)


def _times(figure: s.Figure, factor: int) -> Edit:
    return over(figure.span, f"{float(figure.number) * factor:g} {figure.unit}")


OTHER_UNITS = {
    "m": ("km", "ft"),
    "ft": ("m", "km"),
    "mm2": ("AWG", "m"),
    "AWG": ("mm2",),
    "dBu": ("dB", "V"),
    "dB": ("dBu",),
    "ohm": ("kohm",),
    "kohm": ("ohm",),
    "W": ("kW",),
    "kHz": ("Hz",),
    "Hz": ("kHz",),
    "ms": ("s",),
}


def another_unit(rig: Rig) -> Iterator[Mutant]:
    for token in rig.tokens:
        match = re.fullmatch(r"([+-]?[\d.]+)\s*([a-zA-Z]\w*)", token.text) if token.kind == "FIGURE" else None
        for unit in OTHER_UNITS.get(match[2], ()) if match else ():
            assert match is not None
            yield Mutant(f"{match[2]} -> {unit}", ((token.start, token.end, f"{match[1]} {unit}"),))


def no_unit(rig: Rig) -> Iterator[Mutant]:
    for token in rig.tokens:
        if token.kind == "FIGURE" and (number := re.match(r"[+-]?[\d.]+", token.text)) and number[0] != token.text:
            yield Mutant("drop a unit", ((token.start, token.end, number[0]),))


def drop_separator(rig: Rig) -> Iterator[Mutant]:
    for node in rig.nodes:
        block = getattr(node, "block", None)
        for first, second in pairwise(block.settings if block is not None else ()):
            if "\n" not in rig.text[first.span.end : second.span.start]:
                yield Mutant("drop a `;`", ((first.span.end, second.span.start, " "),))


# ---- modes and levels


def bridged_channel(rig: Rig) -> Iterator[Mutant]:
    for _, point in rig.points("amp"):
        if point.ref.ports in (("1",), ("3",)):
            second = str(int(point.ref.ports[0]) + 1)
            yield Mutant("bridge a channel", (after(point.ref.span, f"+{second}"),))


def switch(word: str) -> Callable[[Rig], Iterator[Mutant]]:
    def made(rig: Rig) -> Iterator[Mutant]:
        for thing in rig.things:
            if thing.word == "amp" and thing.block:
                at = thing.block.span.start + 1
                yield Mutant(f"switch `{word} 1+2` on", ((at, at, f" {word} 1+2;"),))

    return made


def drop_switch(rig: Rig) -> Iterator[Mutant]:
    for setting in rig.settings():
        if setting.word in ("bridge", "joined"):
            yield Mutant("switch `bridge` or `joined` off", (over(setting.span, 'label "x"'),))


def louder(rig: Rig) -> Iterator[Mutant]:
    for setting in rig.settings():
        for figure in _figures(setting.items[0].atoms) if setting.items else ():
            if setting.word in ("level", "peak"):
                edit = over(figure.span, f"{float(figure.number) + 12:g} {figure.unit}")
                yield Mutant("a feed 12 dB louder", (edit,))
            elif setting.word == "attenuator":
                yield Mutant("attenuator at 0 dB", (over(figure.span, "0 dB"),))


# ---- text


def misspelt(rig: Rig) -> Iterator[Mutant]:
    for token in rig.tokens:
        if token.kind == "NAME" and len(token.text) > 3 and token.text[1] != token.text[2]:
            wrong = token.text[0] + token.text[2] + token.text[1] + token.text[3:]
            edit = (token.start, token.end, wrong)
            yield Mutant("misspell a name", (edit,))


def delete_statement(rig: Rig) -> Iterator[Mutant]:
    for statement in rig.file.statements:
        tokens = statement.tokens
        text = rig.text[tokens[0].start : tokens[-1].end]
        word = "a path" if isinstance(statement.node, s.Path) else f"`{tokens[0].text}`"
        operator = f"delete {word}" if word == "a path" or word[1:-1] in _WORDS else "delete settings"
        yield Mutant(operator, ((tokens[0].start, tokens[-1].end, ""),), names_in(text), True)


_WORDS = "rig use feed stereo mix split processor amp speaker lead panel rack spare mains place group expect measured"
_WORDS += " allow"


def delete_hop(rig: Rig) -> Iterator[Mutant]:
    for _, chain, number in rig.hops():
        if len(chain) > 1:
            lost = names_in(chain[number].span.text)
            yield Mutant("delete a hop", (_without(chain, number),), lost)


def _without(chain: Sequence[s.Hop], number: int) -> Edit:
    """The edit that takes a hop out of its chain, with one arrow."""
    if number:
        return chain[number - 1].span.end, chain[number].span.end, ""
    return chain[0].span.start, chain[1].span.start, ""


def duplicate_path(rig: Rig) -> Iterator[Mutant]:
    for path in rig.paths:
        text = rig.text[path.span.start : path.span.end]
        yield Mutant("write a path twice", ((len(rig.text), len(rig.text), text + "\n"),))


OPERATORS: tuple[Callable[[Rig], Iterator[Mutant]], ...] = (
    cross_before_lead,
    cross_behind_lead,
    drop_invert,
    drop_inverted,
    lead_inverted,
    output_inverted,
    reverse_pair,
    drop_box,
    add_boxes,
    another_kind("speaker", BOXES, "another box kind"),
    another_kind("amp", AMPS, "another amplifier kind"),
    tap_doubled,
    drop_linked,
    exchange_ways,
    exchange_ports,
    exchange_feeds,
    exchange_boxes,
    connect_elsewhere,
    thinner_lead,
    longer_lead,
    another_unit,
    no_unit,
    drop_separator,
    bridged_channel,
    switch("bridge"),
    switch("joined"),
    drop_switch,
    louder,
    misspelt,
    delete_statement,
    delete_hop,
    duplicate_path,
)
