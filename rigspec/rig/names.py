"""Names to gear: every thing is declared once, has its kind from the stock and its own settings on top."""

from __future__ import annotations

from collections.abc import Callable, Container, Iterable, Mapping, Sequence
from functools import cached_property
from typing import TypeVar

from attrs import frozen

from rigspec.language.syntax import Index, Listing, Ref
from rigspec.language.words import GearWord
from rigspec.rig.doubt import Doubt
from rigspec.rig.model import Gear, Kind, ListMember, runs
from rigspec.rig.ports import ports_of
from rigspec.rig.values import Faults
from rigspec.text.finding import Finding, Label
from rigspec.text.near import LONGEST, Known, near
from rigspec.text.source import Span
from rigspec.text.value import Content

Made = TypeVar("Made")

MOST_MEMBERS = 1000
MOST_NAMED = 100_000  # members that all brackets of a rig name together
NEEDS_KIND = ("amp", "speaker")
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
    "area": "an area",
    "stereo": "a stereo pair",
    "mix": "a mix",
    "rack": "a rack",
    "group": "a group",
}


def suggestion(
    faults: Faults,
    rule: str,
    span: Span,
    message: str,
    name: str,
    known: Iterable[str] | Known,
    cure: str,
    rows: Mapping[str, Row] | None = None,
    elsewhere: Container[str] = (),
) -> tuple[str, ...]:
    """A fault about a name nobody knows, with the nearest names that are known."""
    meant = near(name, known, elsewhere=elsewhere)
    best = meant.words[0] if meant.words else ""
    faults.add(
        rule,
        span,
        message,
        label=meant.question or "unknown name",
        help=cure,
        fix=meant.fix(span),
        related=(Label(rows[best].span, f"`{best}` is declared here"),) if rows and best in rows else (),
        subject=name,
    )
    return meant.words


@frozen(eq=False, repr=False)
class Row(Content):
    """All members of one name; the member of a thing that is not a row has the number None."""

    word: GearWord
    name: str
    members: dict[int | None, Gear]
    span: Span

    @property
    def numbered(self) -> bool:
        return None not in self.members

    @property
    def unfinished(self) -> bool:
        """Does one lack the kind that its sort has to name? That is told, and its statement may be about to go on."""
        return any(gear.kind is None and gear.word in NEEDS_KIND for gear in self.members.values())

    @property
    def bare(self) -> bool:
        """Does its declaration say nothing but its name and its numbers?"""
        return not any(gear.kind or gear.facts for gear in self.members.values())


class Names:
    """The names of a rig while it is bound."""

    def __init__(self, missing: bool, unread: frozenset[str], faults: Faults) -> None:
        self.faults = faults
        self.missing = missing  # a used file could not be had, so an unknown name proves nothing
        self.kinds: dict[str, Kind] = {}
        self.rows: dict[str, Row] = {}
        self.listings: dict[str, Listing] = {}
        self.unread = unread  # names in statements that cannot be read
        self.meant: set[str] = set()  # names that statements with a fault, or unknown ones, may mean
        self.looped: set[str] = set()  # lists that hold themselves
        # What lists that others name hold, with a fault in it and what that may have meant.
        self.held: dict[str, tuple[list[ListMember], list[Finding], set[str]]] = {}
        self._kinds_of: dict[str, Known] = {}
        self.named = 0  # members and ports that brackets and ranges have named so far

    # ---- look-up

    @cached_property
    def known(self) -> Known:
        """All names, for those that nobody knows. Asked for when all is declared."""
        return Known([*self.rows, *self.listings])

    def kinds_of(self, sort: str) -> Known:
        """The names of all kinds of a sort. Asked for when all stock is read."""
        found = self._kinds_of.get(sort)
        if found is None:
            found = self._kinds_of[sort] = Known(each.name for each in self.kinds.values() if each.sort == sort)
        return found

    def doubt(self, name: str) -> Doubt | None:
        """Why nothing is said of it where nobody has this name."""
        return Doubt.MISSING if self.missing else Doubt.UNREAD if name in self.unread else None

    def suspecting(self, make: Callable[[], Made]) -> tuple[Made, set[str]]:
        """What is made, and the names that unknown ones in it may have meant, whoever else suspects them."""
        before, self.meant = self.meant, set()
        made = make()
        found, self.meant = self.meant, before | self.meant
        return made, found

    def find(self, ref: Ref) -> list[Gear]:
        """The members a reference names; a fault and nothing where it names none."""
        row = self.rows.get(ref.name)
        if row is None:
            if not self.doubt(ref.name):
                self._nobody(ref)
            return []
        if not row.members:
            return []  # its declaration has a fault already
        if ref.index is None:
            return self._all_of(ref, row)
        if self.too_many(ref.index.span, members_named(ref.index, len(row.members))):
            return []
        if not row.numbered:
            if row.unfinished:
                return []
            self.faults.add(
                "member-unknown",
                ref.index.span,
                f"`{ref.name}` is one thing, not a row",
                label="it has no members",
                related=(Label(row.span, "declared here"), *self._meant_instead(row, ref.index)),
                help=f"write {ref.name} without brackets, or declare the row: {row.word} {ref.name}[1..4] ...",
                subject=ref.name,
            )
            return []
        return self._numbered(ref, ref.index, row)

    def _nobody(self, ref: Ref) -> None:
        listing = self.listings.get(ref.name)
        if listing is not None:
            self.faults.add(
                "gear-misplaced",
                ref.span,
                f"`{ref.name}` is {CALLED[listing.word]} and cannot stand here",
                related=(Label(listing.name_span, "declared here"),),
                help="name the things themselves",
                subject=ref.name,
            )
            return
        meant = suggestion(
            self.faults,
            "name-unknown",
            ref.name_span,
            f"nothing is called `{ref.name}`",
            ref.name,
            self.known,
            "correct the name, or declare it, anywhere in this rig or in a file it uses",
            self.rows,
            elsewhere=self.kinds,
        )
        self.meant.update(meant)
        begun = (ref.name[:long] for long in range(1, min(len(ref.name), LONGEST) + 1))
        self.meant.update(name for name in begun if name in self.rows)  # as far as it is typed

    def _all_of(self, ref: Ref, row: Row) -> list[Gear]:
        """A name without brackets: one thing, or a row of one."""
        if len(row.members) == 1:
            return list(row.members.values())
        if row.unfinished:
            return []
        self.faults.add(
            "member-unknown",
            ref.span,
            f"`{ref.name}` is a row of {len(row.members)}; say which members",
            label="the whole row, or some of it?",
            related=(Label(row.span, "the row"),),
            help=f"write {ref.name}[1], {ref.name}[1..{len(row.members)}] or {ref.name}[*]",
            subject=ref.name,
        )
        return []

    def too_many(self, span: Span, count: int) -> bool:
        """Are so many members or ports more than one place may name, or with all others more than a rig may name?"""
        if count > MOST_MEMBERS:
            self.faults.add(
                "member-unknown",
                span,
                f"this names {count:,} members, and a row has {MOST_MEMBERS:,} at most",
                label="some are named again",
                help="name each member once",
            )
            return True
        before, self.named = self.named, self.named + (count if count > 1 else 0)
        if before <= MOST_NAMED < self.named:  # said once; what more is named is silently left out
            self.faults.add(
                "member-unknown",
                span,
                f"rows and ranges of a rig name {MOST_NAMED:,} members together at most",
                label="from here on they are left out",
                help="take rows out, or cut the rig into several files that are checked one by one",
            )
        return self.named > MOST_NAMED

    def _numbered(self, ref: Ref, index: Index, row: Row) -> list[Gear]:
        if index.numbers is None:
            return [row.members[number] for number in sorted(row.members, key=lambda number: number or 0)]
        wanted = [n for low, high in index.numbers for n in range(low, min(high, MOST_MEMBERS + 1) + 1)]
        absent = [number for number in wanted if number not in row.members]
        if not absent:
            return [row.members[number] for number in dict.fromkeys(wanted)]
        if ref.name not in self.unread and not row.unfinished:
            self.faults.add(
                "member-unknown",
                index.span,
                f"`{ref.name}` has no member {absent[0]}",
                label=f"the row has {runs(sorted(number for number in row.members if number is not None))}",
                related=(Label(row.span, "the row"), *self._meant_instead(row, index)),
                help="name members that exist, or declare more",
                subject=ref.name,
            )
        return []

    def _meant_instead(self, row: Row, index: Index) -> tuple[Label, ...]:
        """Rows of the same sort and a name near by that have the members which this one lacks: one may be meant."""
        wanted = {n for low, high in index.numbers or () for n in range(low, min(high, MOST_MEMBERS) + 1)}
        alike = {name: self.rows[name] for name in self.known.alike(row.name) if name in self.rows}
        others = [
            name
            for name, other in alike.items()
            if other is not row and other.word == row.word and other.numbered and wanted - other.members.keys() < wanted
        ]
        meant = near(row.name, others).words
        self.meant.update(meant)
        return tuple(Label(self.rows[name].span, f"`{name}` has some of them") for name in meant[:1])

    def expanded(self, ref: Ref, gear: Gear) -> list[str]:
        """The ports that a reference names on a thing: one, a range `.1..4`, or all `.*`; a fault and none if not."""
        known = ports_of(gear)
        port = ref.ports[0]
        if gear.doubt and not known:
            return []
        low, _, high = port.partition("..")
        if port == "*":
            wanted = known
        elif high and int(high[:6]) >= int(low[:6]):
            wanted = [str(number) for number in range(int(low[:6]), min(int(high[:6]), MOST_MEMBERS) + 1)]
        else:
            wanted = [port]
        if self.too_many(ref.span, len(wanted)):
            return []
        halves = {half for each in wanted for half in each.split("+")}
        if len(ref.ports) > 1 or not wanted or not halves <= set(known):
            self.port_unknown(ref, gear, ", ".join(known))
            return []
        return wanted

    def ports_in_doubt(self, gear: Gear) -> bool:
        """Is it not known which ports a thing has? What is in doubt for settings made later has those of its kind."""
        return gear.doubt not in (None, Doubt.LATER)

    def port_unknown(self, ref: Ref, gear: Gear, known: str) -> None:
        if self.ports_in_doubt(gear):
            return  # what is not known of it may well have this port
        port = ".".join(ref.ports)
        label, cure = _instead(gear, port, known.split(", ") if known else [])
        self.faults.add(
            "port-unknown",
            ref.span,
            f"`{gear.full}` has no `.{port}`",
            label=label,
            related=(Label(gear.span, CALLED[gear.word]),),
            help=cure,
            subject=gear.full,
        )

    def port_unknown_which(self, ref: Ref, gear: Gear, known: Sequence[str], help: str) -> None:
        if self.ports_in_doubt(gear):
            return
        self.faults.add(
            "port-unknown",
            ref.span,
            f"`{ref.span.text}` does not say which of its {len(known)} connections is meant",
            label=f"it has {_few(known)}",
            related=(Label(gear.span, CALLED[gear.word]),),
            help=help,
            subject=gear.full,
        )


def members_named(index: Index, all_of_them: int) -> int:
    """How many members brackets name, one that is named again counted again."""
    if index.numbers is None:
        return all_of_them
    return sum(min(high, MOST_MEMBERS) - min(low, MOST_MEMBERS) + 1 for low, high in index.numbers)


def _few(known: Sequence[str]) -> str:
    """Ports as they are written; of many the first eight."""
    return ", ".join(f".{port}" for port in known[:8]) + (" ..." if len(known) > 8 else "")


def _instead(gear: Gear, port: str, known: Sequence[str]) -> tuple[str, str]:
    """What a thing has in place of a port it has not, and what to write."""
    if not known:
        return "it has no ports", f"leave `.{port}` out"
    if "+" in port and set(port.split("+")) <= set(known):
        if gear.word != "amp":
            return "only channels of an amplifier are bridged", f"name one: {gear.full}.{known[0]}"
        two = len(known) > 1
        cure = f"name two, for example {gear.full}.1+2" if two else f"leave the bridge out: {gear.full}.{known[0]}"
        return "a bridge joins two different channels", cure
    if len(known) > 4:
        return f"it has {_few(known)}", f"name one that it has, such as {gear.full}.{known[0]}"
    return f"it has {_few(known)}", f"name one that it has: {' or '.join(f'{gear.full}.{each}' for each in known)}"
