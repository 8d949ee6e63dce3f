"""The signal path of a rig as a graph: gear with its sockets, and what lies between them. No places on paper yet."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from attrs import evolve, frozen

from rigspec.figures.trace import Turn
from rigspec.text.finding import Finding
from rigspec.text.source import Span
from rigspec.text.units import show
from rigspec.text.value import Content, Value

# The stages of a signal in their order; what only passes it on stands a column behind what it comes from.
STAGES = {"feed": 0, "mix": 1, "split": 1, "processor": 2, "amp": 3, "speaker": 4}


@frozen(eq=False, repr=False)
class PathItem(Content):
    """What lies on the way between two sockets: a lead, a pad, a delay, a crossing (which has a turn and no text).

    ``place`` is where a lead ends, in the words of its `ends`.
    """

    text: str
    span: Span | None = None
    turn: Turn | None = None
    marks: tuple[int, ...] = ()
    place: str = ""


@frozen(eq=False, repr=False)
class PathRow(Content):
    """A line of sockets of a thing: what it is called at its inlet and at its outlet, with the turns inside.

    ``watts`` are the powers at the loudspeakers that it stands for, as far as they are asked for and known.
    """

    key: str
    left: str = ""
    middle: str = ""
    right: str = ""
    inlet: bool = False
    outlet: bool = False
    turns: tuple[Turn, ...] = ()
    marks: tuple[int, ...] = ()
    against: str = ""  # the polarity at a loudspeaker where it is not normal
    watts: tuple[float, ...] = ()

    @property
    def said(self) -> str:
        """What stands at its left: its name, and the power, of which far boxes have a little less."""
        if not self.watts:
            return self.left
        low, high = (show(end(self.watts), "power") for end in (min, max))
        power = f"up to {high}" if low == high else f"up to {low} .. {high}"
        return f"{self.left}, {power}" if self.left else power


@frozen(eq=False, repr=False)
class PathNode(Content):
    """A thing, or alike members of a row; ``names`` are all that it stands for, ``group`` its rack or place."""

    key: str
    word: str
    title: str
    lines: tuple[str, ...]
    rows: tuple[PathRow, ...]
    names: tuple[str, ...]
    group: str = ""
    turns: tuple[Turn, ...] = ()
    marks: tuple[int, ...] = ()
    spans: tuple[Span, ...] = ()


@frozen(eq=False, repr=False)
class Edge(Content):
    """A connection from a socket to a socket, each a thing's key and a row's; ``items`` in the order of the signal.

    ``power``: an amplifier drives it.
    """

    source: tuple[str, str]
    target: tuple[str, str]
    items: tuple[PathItem, ...] = ()
    power: bool = False


@frozen(eq=False, repr=False)
class Graph(Value):
    """All of it. ``findings`` are numbered from 1 as the marks are."""

    nodes: Mapping[str, PathNode]
    edges: tuple[Edge, ...]
    findings: tuple[Finding, ...] = ()

    @property
    def turns(self) -> Iterator[Turn]:
        """Every turn that is drawn."""
        for node in self.nodes.values():
            yield from node.turns
            for row in node.rows:
                yield from row.turns
        yield from (item.turn for edge in self.edges for item in edge.items if item.turn is not None)

    @property
    def placed(self) -> set[int]:
        """The numbers of the findings that have a mark somewhere."""
        found = {number for node in self.nodes.values() for number in node.marks}
        found |= {number for node in self.nodes.values() for row in node.rows for number in row.marks}
        return found | {number for edge in self.edges for item in edge.items for number in item.marks}


def marked(graph: Graph, findings: Iterable[Finding]) -> Graph:
    """The graph with a mark for each finding at what it is about, as far as that is on the drawing."""
    numbered = tuple(findings)
    nodes, edges = dict(graph.nodes), list(graph.edges)
    of_name = {name: node.key for node in nodes.values() for name in node.names}
    of_row = {
        f"{node.key}.{row.key.removeprefix('in ')}": (node.key, row.key) for node in nodes.values() for row in node.rows
    }
    items: dict[tuple[str, int], list[tuple[int, int]]] = {}
    lines: dict[tuple[str, int], str] = {}
    for at, edge in enumerate(edges):
        for place, item in enumerate(edge.items):
            if item.span is not None:
                items.setdefault((item.span.path, item.span.line), []).append((at, place))
    for node in nodes.values():
        for span in node.spans:
            lines.setdefault((span.path, span.line), node.key)
    for number, finding in enumerate(numbered, 1):
        line = finding.span.path, finding.span.line
        on_it = [
            each
            for each in items.get(line, ())
            if (place_of := edges[each[0]].items[each[1]].span) is not None
            and finding.span.start <= place_of.start < finding.span.end
        ]
        about = _node_of(finding.subject, of_name)
        chosen = _chosen([(each, edges[each[0]]) for each in on_it], nodes, about)
        if chosen is not None:
            at, place = chosen
            edges[at] = _item_marked(edges[at], place, number)
        elif finding.subject in of_row:
            key, row = of_row[finding.subject]
            rows = tuple(
                evolve(each, marks=(*each.marks, number)) if each.key == row else each for each in nodes[key].rows
            )
            nodes[key] = evolve(nodes[key], rows=rows)
        else:
            found = about or lines.get(line)
            if found:
                nodes[found] = evolve(nodes[found], marks=(*nodes[found].marks, number))
            elif line in items:
                at, place = items[line][0]
                edges[at] = _item_marked(edges[at], place, number)
    return Graph(nodes, tuple(edges), numbered)


def _chosen(
    found: list[tuple[tuple[int, int], Edge]], nodes: Mapping[str, PathNode], about: str | None
) -> tuple[int, int] | None:
    """Which of the items that a finding's place covers it is about: none where it is rather about a thing.

    A link between loudspeakers has the place of the whole row, and with `each` many leads have one place.
    """
    if about is None:
        return found[0][0] if found else None
    leads = [
        (at, edge) for at, edge in found if not nodes[edge.source[0]].word == nodes[edge.target[0]].word == "speaker"
    ]
    if len({edge.target for _, edge in leads}) == 1:
        return leads[0][0]
    return next((at for at, edge in leads if about in (edge.source[0], edge.target[0])), None)


def _node_of(subject: str, of_name: Mapping[str, str]) -> str | None:
    return of_name.get(subject) or of_name.get(subject.rpartition(".")[0]) if subject else None


def _item_marked(edge: Edge, place: int, number: int) -> Edge:
    item = edge.items[place]
    made = evolve(item, marks=(*item.marks, number))
    return evolve(edge, items=(*edge.items[:place], made, *edge.items[place + 1 :]))
