"""`each`: a path that stands for several, one for every member of the rows in it."""

from __future__ import annotations

from collections.abc import Sequence

from attrs import evolve

from rigspec.language.syntax import Hop, Index, Join, Path, Point, Ref
from rigspec.rig.names import Names
from rigspec.text.finding import Label


class Rows:
    """Takes the rows of a path apart: the first member of each goes into the first path, and so on.

    A hop that names one thing stands in every path; a row with `linked` does too, as the row it is. Those ``in_doubt``
    (by identity), of which a fault leaves the members unknown, stand in every path as they are.
    """

    def __init__(self, names: Names) -> None:
        self.names = names
        self.in_doubt: set[int] = set()

    def taken_apart(self, path: Path) -> list[Sequence[Hop]]:
        """The paths that the path stands for; none, with a fault, where its rows are not equally long."""
        members: dict[int, list[Ref]] = {}
        for point in _points(path.hops):
            refs = self._members(point.ref) if point.linked is None else [point.ref]
            if not refs:
                self.in_doubt.add(id(point))
            if len(refs) > 1:
                members[id(point)] = refs
        counts = {len(refs) for refs in members.values()}
        if not counts and self.in_doubt:
            return [path.hops]
        if len(counts) != 1:
            self._uneven(path, members)
            return []
        return [tuple(_with_member(hop, members, number) for hop in path.hops) for number in range(next(iter(counts)))]

    def _members(self, ref: Ref) -> list[Ref]:
        """A reference for each member and each port that a reference names."""
        ranged = bool(ref.ports) and (".." in ref.ports[0] or ref.ports[0] == "*")
        if ref.index is None and not ranged:
            return [ref]
        if ref.name in self.names.listings:
            return [ref]
        result = []
        for gear in self.names.find(ref):
            index = None if gear.number is None else Index(((gear.number, gear.number),), ref.span)
            ports = self.names.expanded(ref, gear) if ranged else [".".join(ref.ports)]
            result += [evolve(ref, index=index, ports=(port,) if port else ()) for port in ports]
        return result

    def _uneven(self, path: Path, members: dict[int, list[Ref]]) -> None:
        if not members:
            self.names.faults.add(
                "rows-unequal",
                path.span,
                "`each` takes the members of rows one by one, and this path holds no row",
                help="leave `each` out, or write rows: `each send[1..4] -> mon.1..4 -> ...`",
            )
            return
        rows = list(members.values())
        shown = " and ".join(f"{len(refs)} in `{refs[0].span.text}`" for refs in rows[:3])
        self.names.faults.add(
            "rows-unequal",
            rows[1][0].span,
            f"the rows in this path are not equally long: {shown}",
            label=f"{len(rows[1])} here",
            related=(Label(rows[0][0].span, f"{len(rows[0])} here"),),
            help="name as many members at each hop; a hop that names one thing stands in every path",
        )


def _points(hops: Sequence[Hop]) -> list[Point]:
    """All points of a path, those inside brackets too."""
    found: list[Point] = []
    for hop in hops:
        if isinstance(hop, Point):
            found.append(hop)
        elif isinstance(hop, Join):
            for branch in hop.branches:
                found += _points(branch)
    return found


def _with_member(hop: Hop, members: dict[int, list[Ref]], number: int) -> Hop:
    """The hop with the numbered member in the place of each row."""
    if isinstance(hop, Point) and id(hop) in members:
        return evolve(hop, ref=members[id(hop)][number])
    if isinstance(hop, Join):
        branches = tuple(tuple(_with_member(inner, members, number) for inner in branch) for branch in hop.branches)
        return evolve(hop, branches=branches)
    return hop
