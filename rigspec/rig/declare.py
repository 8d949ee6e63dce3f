"""Statements that declare things, and settings made on them later: stock and own settings become gear."""

from __future__ import annotations

from collections.abc import Iterable

from attrs import evolve

from rigspec.language.chunk import STATEMENT_WORDS
from rigspec.language.fields import LEAD_SPEC
from rigspec.language.settings import STOCK_SORTS, TABLES
from rigspec.language.syntax import Index, Listing, Member, Ref, Stock, Thing
from rigspec.language.words import SettingWord
from rigspec.rig.doubt import Doubt, graver, of_faults
from rigspec.rig.inner import feed, judge_mains, judge_settings
from rigspec.rig.model import WAYS, Facts, Gear, Given, Kind
from rigspec.rig.names import CALLED, MOST_MEMBERS, NEEDS_KIND, Names, Row, members_named, suggestion
from rigspec.rig.ports import PORT_TABLES
from rigspec.rig.spoken import SPOKEN
from rigspec.rig.statements import Statements
from rigspec.rig.values import Faults, entry, facts, merged
from rigspec.text.finding import Edit, Fix, Label
from rigspec.text.near import Known, near
from rigspec.text.source import Span
from rigspec.text.units import FigureKind

HOP_WORDS = ("invert", "pad", "delay", "series", "parallel", "linked")
_HEAD: dict[SettingWord, tuple[FigureKind, ...]] = {"size": ("area", "gauge"), "length": ("length",)}


def declare(statements: Statements, missing: bool, faults: Faults) -> Names:
    """All names that the files declare."""
    # Names in statements that cannot be read: nothing is concluded about them, nor about what they would declare.
    names = Names(missing, statements.unread, faults)
    declarer = _Declarer(names)
    for stock in statements.stocks:
        declarer.stock(stock)
    for node in statements.named:
        if isinstance(node, Listing):
            declarer.listing(node)
        else:
            declarer.thing(node)
    for member in statements.members:
        declarer.member(member)
    declarer.doubt(statements.set_on)
    judge_settings(names)
    for part in statements.fed:
        feed(names, part)
    judge_mains(names)
    return names


class _Declarer:
    """Declares things one by one, and makes the settings that are made on them later."""

    def __init__(self, names: Names) -> None:
        self.names = names
        self.meant: set[str] = set()  # rows that settings with a fault may mean

    def stock(self, node: Stock) -> None:
        if node.sort not in STOCK_SORTS:
            message = f"there is no stock of sort `{node.sort}`"
            suggestion(
                self.names.faults,
                "kind-unknown",
                node.sort_span,
                message,
                node.sort,
                STOCK_SORTS,
                f"write one of {', '.join(STOCK_SORTS)}",
                elsewhere=SPOKEN,
            )
            self.names.kinds.setdefault(node.name, Kind("", node.name, {}, node.name_span, Doubt.KIND))
            return
        earlier = self.names.kinds.get(node.name)
        if earlier is not None:
            self._twice(node.name, node.name_span, earlier.span, "kind")
            return
        before = self.names.faults.count
        table = facts(node.block, f"stock {node.sort}", f"stock {node.sort}", self.names.faults)
        doubt = of_faults(self.names.faults.found[before:], node.block, node.sort)
        self.names.kinds[node.name] = Kind(node.sort, node.name, table, node.name_span, doubt)

    def _twice(self, name: str, span: Span, earlier: Span, what: str = "name", row: bool = False) -> None:
        self.names.faults.add(
            "name-twice",
            span,
            f"the {what} `{name}` is given twice",
            label="given again here",
            related=(Label(earlier, "given here already"),),
            help="use other numbers, so that each member is declared once, or another name"
            if row
            else "use another name",
            subject=name,
        )

    def _reserved(self, name: str, span: Span) -> bool:
        if name not in STATEMENT_WORDS and name not in HOP_WORDS:
            return False
        self.names.faults.add(
            "name-reserved",
            span,
            f"`{name}` is a word of the language and cannot be a thing's name",
            label="a word of the language",
            help=f"choose another name, for example {name}_1",
            subject=name,
        )
        return True

    def thing(self, node: Thing) -> None:
        before = self.names.faults.count
        kind = self._kind_of(node)
        row = self.names.rows.get(node.name)
        if row is None:
            row = self.names.rows[node.name] = Row(node.word, node.name, {}, node.name_span)
        taken = node.name in self.names.listings or row.word != node.word
        gears = self._members(node, kind, before, taken)
        if taken:
            self._twice(node.name, node.name_span, row.span)
            return
        for gear in gears if row.members else ():
            if gear.number in row.members or (gear.number is None) != (None in row.members):
                first = next(iter(row.members.values())).span
                self._twice(node.name, node.name_span, first, row=gear.number is not None and row.numbered)
                return
        row.members.update({gear.number: gear for gear in gears})

    def _members(self, node: Thing, kind: Kind | None, before: int, taken: bool) -> tuple[Gear, ...]:
        """The thing, or each member of its row; ``before`` is how many faults there were before its statement.

        Nothing where its name is ``taken``: that is told, and no more of it.
        """
        self._reserved(node.name, node.name_span)
        own = self._head(node, facts(node.block, node.word, CALLED[node.word], self.names.faults))
        fault = of_faults(self.names.faults.found[before:], node.block, node.word)
        doubt = graver(kind.doubt if kind else None, fault)
        shared = merged(kind.facts if kind else {}, own)
        return tuple(
            Gear(node.word, node.name, number, kind, shared, {}, node.name_span, doubt)
            for number in (() if taken else self._numbers(node.index))
        )

    def _numbers(self, index: Index | None) -> list[int | None]:
        if index is None:
            return [None]
        if index.numbers is None:
            self.names.faults.add(
                "member-unknown",
                index.span,
                "a row is declared with its numbers, not with `[*]`",
                label="which members are there?",
                help="write the numbers of its members, for example [1..4]",
            )
            return []
        numbers: list[int | None] = []
        for low, high in index.numbers:
            if high > MOST_MEMBERS or low < 1:
                self.names.faults.add(
                    "member-unknown",
                    index.span,
                    f"members are numbered from 1 to {MOST_MEMBERS}",
                    label=f"{low} is too low" if low < 1 else f"{high} is too high",
                    help="begin at 1" if low < 1 else "make two rows of it, with a name for each",
                )
                return []
        if self.names.too_many(index.span, members_named(index, 0)):
            return []
        for low, high in index.numbers:
            numbers += range(low, high + 1)
        return list(dict.fromkeys(numbers))

    def _kind_of(self, node: Thing) -> Kind | None:
        wanted = node.word
        if node.kind is None:
            return self._kind_unsaid(node) if node.word in NEEDS_KIND else None
        kind = self.names.kinds.get(node.kind.name)
        if kind is None:
            if not self.names.doubt(node.kind.name):
                known = self.names.kinds_of(wanted)
                message = f"no {wanted} of the kind `{node.kind.name}` is in the stock"
                cure = f"correct the name, or describe it: `stock {wanted} {node.kind.name} {{ ... }}`"
                suggestion(self.names.faults, "kind-unknown", node.kind.span, message, node.kind.name, known, cure)
            return Kind(wanted, node.kind.name, {}, node.kind.span, Doubt.KIND)
        if kind.sort and kind.sort != wanted:
            self.names.faults.add(
                "kind-unknown",
                node.kind.span,
                f"`{kind.name}` is stock of the sort {kind.sort}, and `{node.name}` is {CALLED[node.word]}",
                label=f"a kind of {kind.sort}",
                related=(Label(kind.span, "described here"),),
                help=f"name a kind of {wanted}, or declare the thing as `{kind.sort}`",
                subject=node.name,
            )
            return Kind(wanted, node.kind.name, {}, node.kind.span, Doubt.KIND)
        return kind

    def _kind_unsaid(self, node: Thing) -> Kind | None:
        """A fault, as no kind stands behind `is`; the kind that is named all the same, or None."""
        if self._misspelt_is(node):
            return self._named_in(node, 1)
        stray = next((atom for atom in node.atoms if isinstance(atom, Ref)), None)
        known = self._named_in(node, node.atoms.index(stray)) if stray else None
        self.names.faults.add(
            "kind-unknown",
            stray.span if stray else node.name_span,
            f"{CALLED[node.word]} needs a kind from the stock",
            label="no `is` before it" if stray else "no kind is said",
            help=f"write `{node.word} {node.name} is {stray.name if stray else 'KIND'}`",
            fix=Fix("put `is` before the kind", (Edit(Span(stray.span.source, *[stray.span.start] * 2), "is "),))
            if stray and known
            else None,
            subject=node.name,
        )
        return known

    def _named_in(self, node: Thing, position: int) -> Kind | None:
        """The kind of the stock that an atom names: with a fault, but nothing more is to come of the statement."""
        atom = node.atoms[position]
        kind = self.names.kinds.get(atom.name) if isinstance(atom, Ref) else None
        return evolve(kind, facts={}, doubt=Doubt.FAULT) if kind else None

    def _misspelt_is(self, node: Thing) -> bool:
        """A word that says nothing and a kind of the stock behind it: `is` is meant, and a fault tells so."""
        word, kind = (*node.atoms, None, None)[:2]
        if not (isinstance(word, Ref) and isinstance(kind, Ref)) or word.name in self.names.kinds:
            return False
        if kind.name not in self.names.kinds:
            return False
        self.names.faults.add(
            "kind-unknown",
            word.span,
            f"`{word.span.text}` stands before the kind `{kind.name}`, where `is` belongs",
            label="did you mean `is`?",
            help=f"write `{node.word} {node.name} is {kind.name}`",
            fix=Fix("write `is`", (Edit(word.span, "is"),)),
            subject=node.name,
        )
        return True

    def _head(self, node: Thing, own: Facts) -> Facts:
        """Figures that stand before the braces: only a lead has some, its size and length."""
        if not node.atoms or (node.kind is None and node.word in NEEDS_KIND):
            return own
        if node.kind is None and self._misspelt_is(node):
            return own
        if node.word != "lead":
            if node.kind and node.kind.name not in self.names.kinds:
                return own  # the rest of a kind's name, perhaps
            self.names.faults.add(
                "setting-value",
                node.atoms[0].span,
                f"`{node.atoms[0].span.text}` says nothing here",
                help=f"settings of {CALLED[node.word]} stand in braces: {{ ... }}",
                subject=node.name,
            )
            return own
        span = node.atoms[0].span.to(node.atoms[-1].span)
        spec = entry(LEAD_SPEC, node.atoms, span, self.names.faults)
        result = dict(own)
        for word, kinds in _HEAD.items():
            measures = tuple(measure for measure in spec.measures if measure.kind in kinds)
            if measures:
                kept = evolve(spec, measures=measures)
                result[word] = Given(word, (kept,), None, span)
        if "inverted" in spec.words:
            result["inverted"] = Given("inverted", (), None, span)
        return result

    def listing(self, node: Listing) -> None:
        self._reserved(node.name, node.name_span)
        earlier = self.names.listings.get(node.name)
        row = self.names.rows.get(node.name)
        if earlier is not None or row is not None:
            self._twice(node.name, node.name_span, earlier.name_span if earlier else row.span if row else node.span)
            return
        self.names.listings[node.name] = node

    # ---- settings made later

    def member(self, node: Member) -> None:
        """Settings on things already named; the same block may be meant for several."""
        before = self.names.faults.count
        _, meant = self.names.suspecting(lambda: self._member(node))
        rules = {fault.rule for fault in self.names.faults.found[before:]}
        if "name-unknown" in rules:
            self.meant |= meant
        if rules - {"name-unknown", "member-unknown", "port-unknown"}:
            self.meant |= {ref.name for ref in node.refs}

    def doubt(self, set_on: Iterable[tuple[str, str]]) -> None:
        """Conclude nothing from things of which settings cannot be read, or are made on what is not there.

        Where a port is said the statement may become a path: it is doubted if nothing is set on that port.
        """
        rows = Known(self.names.rows)
        for name, port in sorted({*set_on, *((name, "") for name in self.meant)}):
            meant = near(name, rows).words[:1] if not port and name not in self.names.rows else (name,)
            row = self.names.rows.get(meant[0]) if meant else None
            if row is None or all(gear.doubt or port in gear.ports for gear in row.members.values()):
                continue
            doubt = next((gear.doubt for gear in row.members.values() if gear.doubt), Doubt.LATER)
            members = {number: evolve(gear, doubt=graver(gear.doubt, doubt)) for number, gear in row.members.items()}
            self.names.rows[row.name] = Row(row.word, row.name, members, row.span)

    def _member(self, node: Member) -> None:
        for ref in node.refs:
            found = self.names.find(ref)
            for gear in found:
                ports = self.names.expanded(ref, gear) if ref.ports else [""]
                for port in ports or ():
                    if not self._set(node, ref, gear, port):
                        return

    def _set(self, node: Member, ref: Ref, gear: Gear, port: str) -> bool:
        """Make the settings on one thing or one port of it; False where a fault makes the rest repeat it."""
        row = self.names.rows[ref.name]
        table_name = PORT_TABLES.get(row.word, "") if port else row.word
        if not table_name:
            self.names.port_unknown(ref, gear, "")
            return False
        faults = self.names.faults
        before = faults.count
        holder = f"{CALLED[row.word]}'s {table_name.split()[-1]}" if port else CALLED[row.word]
        over = facts(node.block, table_name, holder, faults)
        fault = of_faults(faults.found[before:], node.block, row.word)
        gear = row.members[gear.number]  # as earlier settings have left it
        held: Facts = gear.ports.get(port, {}) if port else gear.facts
        if row.word == "speaker" and port:
            over = {way: Given(way, (), over, node.span) for way in WAYS if way == port}
        stock_spans = {given.span for given in gear.kind.facts.values()} if gear.kind else set()
        again = next((word for word in over if word in held and held[word].span not in stock_spans), None)
        if again and not (row.word == "speaker" and port) and not TABLES[table_name][again].again:
            full = f"{gear.full}.{port}" if port else gear.full
            faults.add(
                "setting-twice",
                over[again].span,
                f"`{again}` of {full} is set twice",
                label="set again here",
                related=(Label(held[again].span, "set here already"),),
                help="keep one of the two",
                subject=gear.full,
            )
            return False
        row.members[gear.number] = _with_settings(gear, port, over, graver(gear.doubt, fault))
        return not fault


def _with_settings(gear: Gear, port: str, over: Facts, doubt: Doubt | None) -> Gear:
    """The thing with settings made on it later; those of a loudspeaker's way stand in the settings of the box."""
    if port and gear.word != "speaker":
        return evolve(gear, ports={**gear.ports, port: merged(gear.ports.get(port, {}), over)}, doubt=doubt)
    return evolve(gear, facts=merged(gear.facts, over), doubt=doubt)
