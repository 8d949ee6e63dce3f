"""Rows in short: members that are alike and hang alike become one box; what differs by member stays apart."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from attrs import evolve

from rigspec.draw.path_graph import Edge, Graph, PathItem, PathNode, PathRow
from rigspec.rig.model import Gear, runs

# Where a box stands and points is on the plan; two boxes are not another sort of box by that.
ELSEWHERE = ("at", "aim")


def folded(graph: Graph, gear: Mapping[str, Gear] | None = None) -> Graph:
    """The graph with alike neighbours of each row as one thing: linked from one to the next, or fed alike.

    ``gear`` gives the settings by name, so that members that are set differently stay apart.
    """
    return _Fold(graph, gear or {}).graph()


class _Fold:
    def __init__(self, graph: Graph, gear: Mapping[str, Gear]) -> None:
        self.old = graph
        self.gear = gear
        self.into: dict[str, list[Edge]] = {}
        self.out: dict[str, list[Edge]] = {}
        for edge in graph.edges:
            self.into.setdefault(edge.target[0], []).append(edge)
            self.out.setdefault(edge.source[0], []).append(edge)

    def graph(self) -> Graph:
        packs: list[tuple[list[PathNode], str]] = []
        rows: dict[str, list[PathNode]] = {}
        for node in self.old.nodes.values():
            if node.word == "speaker":
                rows.setdefault(node.key.partition("[")[0], []).append(node)
        for members in rows.values():
            packs += self._packs(members)
        pack_of = {node.key: at for at, (pack, _) in enumerate(packs) for node in pack}
        nodes: dict[str, PathNode] = {}
        for key, node in self.old.nodes.items():
            at = pack_of.get(key)
            if at is None:
                nodes[key] = node
            else:
                first = packs[at][0][0].key
                nodes[first] = self._packed(*packs[at])
        return Graph(nodes, tuple(self._edges(packs, pack_of)), self.old.findings)

    def _packs(self, members: Sequence[PathNode]) -> list[tuple[list[PathNode], str]]:
        """Runs of neighbours: chained, or beside each other, or single."""
        found: list[tuple[list[PathNode], str]] = []
        for node in members:
            if found and self._alike(found[-1][0][-1], node):
                pack, how = found[-1]
                hung = self._hung(pack, node)
                if hung and how in ("", hung):
                    found[-1] = [*pack, node], hung
                    continue
            found.append(([node], ""))
        return found

    def _alike(self, one: PathNode, other: PathNode) -> bool:
        a, b = (
            (each.lines, each.group, each.marks, [evolve(row, turns=(), watts=()) for row in each.rows])
            for each in (one, other)
        )
        if a != b or any(len(x.turns) != len(y.turns) for x, y in zip(one.rows, other.rows, strict=True)):
            return False
        facts = [
            {word: given for word, given in self.gear[each.key].facts.items() if word not in ELSEWHERE}
            for each in (one, other)
            if each.key in self.gear
        ]
        return len(facts) < 2 or facts[0] == facts[1]

    def _hung(self, pack: Sequence[PathNode], node: PathNode) -> str:
        """How a box hangs on a pack: ``linked`` to its last, ``beside`` it, or neither."""
        last, into, before = pack[-1].key, self.into.get(node.key, []), self.into.get(pack[-1].key, [])
        if not into or len({edge.target for edge in into}) != len(into):
            return ""
        if all(edge.source == (last, edge.target[1]) for edge in into):
            links = [_said(edge) for edge in into]
            first = len(pack) == 1 or links == [_said(edge) for edge in before]
            only = {edge.target[0] for edge in self.out.get(last, [])} == {node.key}
            return "linked" if first and only and all(_plain(edge) for edge in into) else ""
        same = [(edge.source, edge.target[1], _said(edge)) for edge in into]
        if same == [(edge.source, edge.target[1], _said(edge)) for edge in before]:
            ends = not self.out.get(last) and not self.out.get(node.key)
            return "beside" if ends and all(_plain(edge) for edge in into) else ""
        return ""

    def _packed(self, pack: Sequence[PathNode], how: str) -> PathNode:
        if len(pack) == 1:
            return pack[0]
        numbers = sorted(int(node.key.partition("[")[2].rstrip("]")) for node in pack)
        title = f"{pack[0].key.partition('[')[0]}[{runs(numbers)}]  ×{len(pack)}"
        last = self.into.get(pack[-1].key, [])
        notes: list[str] = []
        if how == "linked":
            for edge in last:
                said = ", ".join(item.text for item in edge.items) or "no lead said"
                way = f"{edge.target[1]} " if edge.target[1] != "1" and len(last) > 1 else ""
                notes.append(f"{way}linked {said}")
            if len({note.partition("linked")[2] for note in notes}) == 1:
                notes = [f"linked{notes[0].partition('linked')[2]}"]
        names = tuple(name for node in pack for name in node.names)
        spans = tuple(dict.fromkeys(span for node in pack for span in node.spans))
        rows = tuple(
            evolve(
                row,
                turns=tuple(dict.fromkeys(turn for node in pack for turn in _row(node, row).turns)),
                watts=tuple(watt for node in pack for watt in _row(node, row).watts),
            )
            for row in pack[0].rows
        )
        return evolve(pack[0], title=title, lines=(*pack[0].lines, *notes), names=names, spans=spans, rows=rows)

    def _edges(self, packs: Sequence[tuple[list[PathNode], str]], pack_of: dict[str, int]) -> list[Edge]:
        made: list[Edge] = []
        for edge in self.old.edges:
            source, target = pack_of.get(edge.source[0]), pack_of.get(edge.target[0])
            if source is not None and source == target and edge.source[0] != edge.target[0]:
                continue
            if target is not None:
                pack, how = packs[target]
                if how == "beside" and edge.target[0] != pack[0].key:
                    continue
                if how == "beside":
                    items = tuple(
                        evolve(item, text=f"{len(pack)} × {item.text}") if item.text else item for item in edge.items
                    )
                    edge = evolve(edge, items=items)
                edge = evolve(edge, target=(pack[0].key, edge.target[1]))
            if source is not None:
                edge = evolve(edge, source=(packs[source][0][0].key, edge.source[1]))
            made.append(edge)
        return made


def _row(node: PathNode, like: PathRow) -> PathRow:
    return next(row for row in node.rows if row.key == like.key)


def _said(edge: Edge) -> tuple[tuple[str, bool, tuple[int, ...]], ...]:
    return tuple((item.text, item.turn is not None, item.marks) for item in edge.items)


def _plain(edge: Edge) -> bool:
    """Nothing but leads, and nothing to say of them: only then may they be told in one line."""
    return all(_is_plain(item) for item in edge.items)


def _is_plain(item: PathItem) -> bool:
    return item.turn is None and not item.marks and bool(item.text)
