"""Names to gear: every thing is declared once, has its kind from the stock and its own settings on top."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from attrs import evolve, frozen

from rigspec.fields import LEAD_SPEC, STOCK_SORTS, TABLES
from rigspec.finding import Edit, Fix, Label
from rigspec.parse.chunk import STATEMENT_WORDS
from rigspec.resolve.values import Faults, entry, facts, merged
from rigspec.rig import Facts, Gear, Given, Kind, runs
from rigspec.source import Span
from rigspec.syntax import File, Index, Listing, Member, Node, Ref, Stock, Thing
from rigspec.value import Value

MOST_MEMBERS = 1000
HOP_WORDS = ("invert", "pad", "delay", "series", "parallel", "linked")
CALLED = {
    "feed": "a feed",
    "split": "a split",
    "processor": "a processor",
    "amp": "an amplifier",
    "speaker": "a loudspeaker",
    "lead": "a lead",
    "panel": "a panel",
    "mains": "a part of the mains",
    "place": "a place",
    "stereo": "a stereo pair",
    "mix": "a mix",
    "rack": "a rack",
    "group": "a group",
}
_PORT_TABLES = {
    "amp": "amp channel",
    "processor": "processor output",
    "panel": "panel line",
    "lead": "lead pair",
    "split": "panel line",
    "speaker": "way",
}
NEEDS_KIND = {"amp": "amp", "speaker": "speaker"}


def suggestion(faults: Faults, rule: str, span: Span, message: str, name: str, known: Iterable[str]) -> list[str]:
    """A fault about a name nobody knows, with the nearest names that are known."""
    from difflib import get_close_matches

    near = get_close_matches(name, sorted(known), 3, 0.6)
    close = f"did you mean {' or '.join(f'`{each}`' for each in near)}?" if near else "unknown name"
    faults.add(
        rule,
        span,
        message,
        label=close,
        help="correct the name, or declare it, anywhere in this rig or in a file it uses",
        fix=Fix(f"write `{near[0]}`", (Edit(span, near[0]),)) if near else None,
        subject=name,
    )
    return near


@frozen(repr=False)
class Row(Value):
    """All members of one name; the member of a thing that is not a row has the number None."""

    word: str
    name: str
    members: dict[int | None, Gear]
    span: Span

    @property
    def numbered(self) -> bool:
        return None not in self.members


class Names:
    """The names of a rig while it is bound."""

    def __init__(self, files: Sequence[File], missing: bool, faults: Faults) -> None:
        self.faults = faults
        self.missing = missing
        self.kinds: dict[str, Kind] = {}
        self.rows: dict[str, Row] = {}
        self.listings: dict[str, Listing] = {}
        self.silent = _touched(files)
        self.suspected: set[str] = set()  # names that an unknown one may have meant
        nodes = [statement.node for file in files for statement in file.statements if statement.node is not None]
        for node in nodes:
            if isinstance(node, Stock):
                self._stock(node)
        for node in nodes:
            if isinstance(node, Thing):
                self._thing(node)
            elif isinstance(node, Listing) and node.word != "spare":
                self._listing(node)
        self._members(nodes)

    # ---- declarations

    def _stock(self, node: Stock) -> None:
        if node.sort not in STOCK_SORTS:
            message = f"there is no stock of sort `{node.sort}`"
            suggestion(self.faults, "kind-unknown", node.sort_span, message, node.sort, STOCK_SORTS)
            self.kinds.setdefault(node.name, Kind("", node.name, {}, node.name_span, True))
            return
        earlier = self.kinds.get(node.name)
        if earlier is not None:
            self._twice(node.name, node.name_span, earlier.span, "kind")
            return
        before = self.faults.count
        table = facts(node.block, f"stock {node.sort}", f"stock {node.sort}", self.faults)
        broken = self.faults.count > before
        self.kinds[node.name] = Kind(node.sort, node.name, table, node.name_span, broken)

    def _twice(self, name: str, span: Span, earlier: Span, what: str = "name") -> None:
        self.faults.add(
            "name-twice",
            span,
            f"the {what} `{name}` is given twice",
            label="given again here",
            related=(Label(earlier, "given here already"),),
            help="use another name; members of one row must not overlap",
            subject=name,
        )

    def second_rig(self, span: Span, first: Span) -> None:
        self.faults.add(
            "name-twice",
            span,
            "a second `rig` statement; a rig has its facts in one place",
            related=(Label(first, "the first one"),),
            help="keep one of the two, or merge their settings",
        )

    def _reserved(self, name: str, span: Span) -> bool:
        if name not in STATEMENT_WORDS and name not in HOP_WORDS:
            return False
        self.faults.add(
            "name-reserved",
            span,
            f"`{name}` is a word of the language and cannot be a thing's name",
            help=f"choose another name, for example {name}_1",
            subject=name,
        )
        return True

    def _thing(self, node: Thing) -> None:
        before = self.faults.count
        self._reserved(node.name, node.name_span)
        kind = self._kind_of(node)
        own = facts(node.block, node.word, CALLED[node.word], self.faults)
        own = self._head(node, own)
        base: Facts = kind.facts if kind else {}
        broken = self.faults.count > before or (kind is not None and kind.broken)
        row = self.rows.setdefault(node.name, Row(node.word, node.name, {}, node.name_span))
        if node.name in self.listings or row.word != node.word:
            self._twice(node.name, node.name_span, row.span)
            return
        numbers = self._numbers(node.index)
        shared = merged(base, own)
        for number in numbers:
            clash = number in row.members or (row.members and (number is None) != (None in row.members))
            if clash:
                self._twice(node.name, node.name_span, next(iter(row.members.values())).span)
                return
        for number in numbers:
            row.members[number] = Gear(node.word, node.name, number, kind, shared, {}, node.name_span, broken)

    def _numbers(self, index: Index | None) -> list[int | None]:
        if index is None:
            return [None]
        if index.numbers is None:
            self.faults.add(
                "member-unknown", index.span, "a row is declared with its numbers, not with `[*]`", help="write [1..4]"
            )
            return []
        numbers: list[int | None] = []
        for low, high in index.numbers:
            if high > MOST_MEMBERS or low < 1:
                self.faults.add(
                    "member-unknown",
                    index.span,
                    f"members are numbered from 1 to {MOST_MEMBERS}",
                    help="split a longer row in two",
                )
                return []
            numbers += range(low, high + 1)
        return list(dict.fromkeys(numbers))

    def _kind_of(self, node: Thing) -> Kind | None:
        wanted = NEEDS_KIND.get(node.word, node.word)
        if node.kind is None:
            if node.word in NEEDS_KIND:
                stray = next((atom for atom in node.atoms if isinstance(atom, Ref)), None)
                self.faults.add(
                    "kind-unknown",
                    stray.span if stray else node.name_span,
                    f"{CALLED[node.word]} needs a kind from the stock",
                    help=f"write `{node.word} {node.name} is KIND`",
                    fix=Fix(
                        "put `is` before the kind", (Edit(Span(stray.span.source, *[stray.span.start] * 2), "is "),)
                    )
                    if stray and stray.name in self.kinds
                    else None,
                    subject=node.name,
                )
            return None
        kind = self.kinds.get(node.kind.name)
        if kind is None:
            if not self.missing and node.kind.name not in self.silent:
                known = [each.name for each in self.kinds.values() if each.sort == wanted]
                message = f"no {wanted} of the kind `{node.kind.name}` is in the stock"
                suggestion(self.faults, "kind-unknown", node.kind.span, message, node.kind.name, known)
            return Kind(wanted, node.kind.name, {}, node.kind.span, True)
        if kind.sort and kind.sort != wanted:
            self.faults.add(
                "kind-unknown",
                node.kind.span,
                f"`{kind.name}` is stock of the sort {kind.sort}, and `{node.name}` is {CALLED[node.word]}",
                label=f"a kind of {kind.sort}",
                related=(Label(kind.span, "described here"),),
                help=f"name a kind of {wanted}, or declare the thing as `{kind.sort}`",
                subject=node.name,
            )
            return Kind(wanted, node.kind.name, {}, node.kind.span, True)
        return kind

    def _head(self, node: Thing, own: Facts) -> Facts:
        """Figures that stand before the braces: only a lead has some, its size and length."""
        if not node.atoms or (node.kind is None and node.word in NEEDS_KIND):
            return own
        if node.word != "lead":
            self.faults.add(
                "setting-value",
                node.atoms[0].span,
                f"`{node.atoms[0].span.text}` says nothing here",
                help=f"settings of {CALLED[node.word]} stand in braces: {{ ... }}",
            )
            return own
        span = Span(node.span.source, node.atoms[0].span.start, node.atoms[-1].span.end)
        spec = entry(LEAD_SPEC, node.atoms, span, self.faults)
        result = dict(own)
        for word, kinds in (("size", ("area", "gauge")), ("length", ("length",))):
            measures = tuple(measure for measure in spec.measures if measure.kind in kinds)
            if measures:
                kept = evolve(spec, measures=measures)
                result[word] = Given(word, (kept,), None, span)
        if "inverted" in spec.words:
            result["inverted"] = Given("inverted", (), None, span)
        return result

    def _listing(self, node: Listing) -> None:
        self._reserved(node.name, node.name_span)
        earlier = self.listings.get(node.name)
        row = self.rows.get(node.name)
        if earlier is not None or row is not None:
            self._twice(node.name, node.name_span, earlier.name_span if earlier else row.span if row else node.span)
            return
        self.listings[node.name] = node

    # ---- settings made later

    def _members(self, nodes: Sequence[Node]) -> None:
        for node in nodes:
            if isinstance(node, Member):
                self._member(node)

    def _member(self, node: Member) -> None:
        found = self.find(node.ref, "settings")
        if not found:
            return
        row = self.rows[node.ref.name]
        before = self.faults.count
        port = node.ref.ports[0] if node.ref.ports else ""
        table_name = _PORT_TABLES.get(row.word, "") if port else row.word
        if port and not table_name:
            self.port_unknown(node.ref, found[0], "")
            return
        if port and port not in self.ports(found[0]):
            self.port_unknown(node.ref, found[0], ", ".join(self.ports(found[0])))
            return
        holder = f"{CALLED[row.word]}'s {table_name.split()[-1]}" if port else CALLED[row.word]
        over = facts(node.block, table_name, holder, self.faults)
        broken = self.faults.count > before
        for gear in found:
            held = gear.ports.get(port, {}) if port else gear.facts
            again = next(
                (word for word in over if word in held and held[word].span not in self._stock_spans(gear)), None
            )
            if again and not TABLES[table_name][again].again:
                self.faults.add(
                    "setting-twice",
                    over[again].span,
                    f"`{again}` of {gear.full} is set twice",
                    label="set again here",
                    related=(Label(held[again].span, "set here already"),),
                    help="keep one of the two",
                )
                return
            if port == "" or (row.word == "speaker"):
                laid = merged(gear.facts, over) if not port else merged(gear.facts, _as_way(port, over, node.span))
                row.members[gear.number] = evolve(gear, facts=laid, broken=gear.broken or broken)
            else:
                ports = {**gear.ports, port: merged(held, over)}
                row.members[gear.number] = evolve(gear, ports=ports, broken=gear.broken or broken)

    def _stock_spans(self, gear: Gear) -> set[Span]:
        return {given.span for given in gear.kind.facts.values()} if gear.kind else set()

    # ---- look-up

    def find(self, ref: Ref, purpose: str) -> list[Gear]:
        """The members a reference names; a fault and nothing where it names none."""
        row = self.rows.get(ref.name)
        if row is None:
            if ref.name not in self.silent and not self.missing:
                if ref.name in self.listings:
                    self.faults.add(
                        "gear-misplaced",
                        ref.span,
                        f"`{ref.name}` is {CALLED[self.listings[ref.name].word]} and cannot stand here",
                        related=(Label(self.listings[ref.name].name_span, "declared here"),),
                        help="name the things themselves",
                        subject=ref.name,
                    )
                else:
                    message = f"nothing is called `{ref.name}`"
                    known = [*self.rows, *self.listings]
                    near = suggestion(self.faults, "name-unknown", ref.name_span, message, ref.name, known)
                    self.suspected.update(near)
            return []
        if ref.index is None:
            if row.numbered and row.members:
                if len(row.members) == 1:
                    return list(row.members.values())
                self.faults.add(
                    "member-unknown",
                    ref.span,
                    f"`{ref.name}` is a row of {len(row.members)}; say which members",
                    related=(Label(row.span, "the row"),),
                    help=f"write {ref.name}[1], {ref.name}[1..{len(row.members)}] or {ref.name}[*]",
                    subject=ref.name,
                )
                return []
            return list(row.members.values())
        if not row.members:
            return []  # its declaration has a fault already
        if not row.numbered:
            self.faults.add(
                "member-unknown",
                ref.index.span,
                f"`{ref.name}` is one thing, not a row",
                related=(Label(row.span, "declared here"),),
                help=f"write {ref.name} without brackets, or declare the row: {row.word} {ref.name}[1..4] ...",
                subject=ref.name,
            )
            return []
        if ref.index.numbers is None:
            return [row.members[number] for number in sorted(row.members, key=lambda number: number or 0)]
        wanted = list(
            dict.fromkeys(n for low, high in ref.index.numbers for n in range(low, min(high, MOST_MEMBERS + 1) + 1))
        )
        absent = [number for number in wanted if number not in row.members]
        if absent:
            if ref.name not in self.silent:
                numbers = sorted(number for number in row.members if number is not None)
                self.faults.add(
                    "member-unknown",
                    ref.index.span,
                    f"`{ref.name}` has no member {absent[0]}",
                    label=f"the row has {runs(numbers)}",
                    related=(Label(row.span, "the row"),),
                    help="name members that exist, or declare more",
                    subject=ref.name,
                )
            return []
        return [row.members[number] for number in wanted]

    def ports(self, gear: Gear) -> list[str]:
        """The ports that a thing of this sort has."""
        match gear.word:
            case "amp":
                return [str(n) for n in range(1, gear.count("channels", 2) + 1)]
            case "processor":
                return [str(n) for n in range(1, gear.count("outputs", 2) + 1)]
            case "split":
                return [str(n) for n in range(1, gear.count("legs", 2) + 1)]
            case "panel":
                return [str(n) for n in range(1, gear.count("lines", 1) + 1)]
            case "lead":
                return [str(n) for n in range(1, gear.count("pairs", 1) + 1)]
            case "speaker":
                return list(gear.ways)
            case "mains":
                return [str(n) for n in range(1, gear.count("outlets", 1) + 1)]
        return []

    def port_unknown(self, ref: Ref, gear: Gear, known: str) -> None:
        port = ".".join(ref.ports)
        self.faults.add(
            "port-unknown",
            ref.span,
            f"`{gear.full}` has no `.{port}`",
            label=f"it has .{known.replace(', ', ', .')}" if known else "it has no ports",
            related=(Label(gear.span, CALLED[gear.word]),),
            help="channels, outputs, legs, lines and pairs are numbered from 1; inputs of a processor are a, b, c",
            subject=gear.full,
        )

    def port_unknown_which(self, ref: Ref, gear: Gear, known: Sequence[str], help: str) -> None:
        few = [f".{port}" for port in known[:8]]
        self.faults.add(
            "port-unknown",
            ref.span,
            f"`{ref.span.text}` does not say which of its {len(known)} connections is meant",
            label=f"it has {', '.join(few)}{' ...' if len(known) > 8 else ''}",
            related=(Label(gear.span, CALLED[gear.word]),),
            help=help,
            subject=gear.full,
        )


def _as_way(port: str, over: Facts, span: Span) -> Facts:
    return {port: Given(port, (), over, span)}


def _touched(files: Sequence[File]) -> frozenset[str]:
    """Names in statements that cannot be read: nothing is concluded about them, nor about what they would declare."""
    return frozenset(
        token.text
        for file in files
        for statement in file.statements
        if statement.node is None
        for token in statement.tokens
        if token.kind == "NAME"
    )


def gear_by_name(rows: Mapping[str, Row]) -> dict[str, Gear]:
    return {gear.full: gear for row in rows.values() for gear in row.members.values()}
