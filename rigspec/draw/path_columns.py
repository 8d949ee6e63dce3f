"""Which column each thing stands in: the stages of a signal in their order, and no lead that goes back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

from attrs import evolve, frozen

from rigspec.draw.path_graph import STAGES, Edge, Graph, PathNode, PathRow
from rigspec.text.value import Value

HEADS = {
    "feed": "feeds",
    "mix": "mixes",
    "split": "splits",
    "processor": "processors",
    "amp": "amplifiers",
    "panel": "panels",
    "speaker": "loudspeakers",
    "series": "in series",
}


@frozen(eq=False, repr=False)
class Stack(Value):
    """Loudspeakers linked from one to the next, one below the other; mostly a single thing."""

    nodes: tuple[PathNode, ...]
    column: int

    @property
    def group(self) -> str:
        return self.nodes[0].group


@frozen(eq=False, repr=False)
class Columns(Value):
    """All stacks by column. ``links`` are the edges inside stacks by the node they lead to, ``edges`` all others.

    Every edge leads to a higher column.
    """

    stacks: tuple[Stack, ...]
    edges: tuple[Edge, ...]
    links: Mapping[str, tuple[Edge, ...]]
    heads: tuple[str, ...]


def columns_of(graph: Graph) -> Columns:
    """Put every thing of a graph into a column."""
    chains, links = _chains(graph)
    chain_of = {key: at for at, chain in enumerate(chains) for key in chain}
    edges = [edge for edge in graph.edges if edge not in {each for found in links.values() for each in found}]
    extra: list[PathNode] = []
    ranks, edges = _ranked(graph, chains, chain_of, edges, extra)
    used = {rank: at for at, rank in enumerate(sorted(set(ranks)))}
    nodes = {**graph.nodes, **{node.key: node for node in extra}}
    stacks = tuple(
        Stack(tuple(nodes[key] for key in chain), used[rank]) for chain, rank in zip(chains, ranks, strict=True)
    )
    return Columns(stacks, tuple(edges), links, _heads(stacks, len(used)))


def _heads(stacks: Sequence[Stack], count: int) -> tuple[str, ...]:
    found: list[dict[str, None]] = [{} for _ in range(count)]
    for stack in stacks:
        word = HEADS.get(stack.nodes[0].word)
        if word:
            found[stack.column][word] = None
    order = list(HEADS.values())
    return tuple(", ".join(sorted(words, key=order.index)) for words in found)


def _chains(graph: Graph) -> tuple[list[list[str]], dict[str, tuple[Edge, ...]]]:
    """Things by stack, and the links inside of stacks: where a box feeds one other box, and nothing else feeds that."""
    into: dict[str, list[Edge]] = {}
    out: dict[str, set[str]] = {}
    for edge in graph.edges:
        into.setdefault(edge.target[0], []).append(edge)
        out.setdefault(edge.source[0], set()).add(edge.target[0])
    above: dict[str, str] = {}
    for key, edges in into.items():
        sources = {edge.source[0] for edge in edges}
        source = next(iter(sources))
        both = graph.nodes[key].word == graph.nodes[source].word == "speaker"
        if both and len(sources) == 1 and out[source] == {key} and source != key:
            above[key] = source
    below = {source: key for key, source in above.items()}
    chains: list[list[str]] = []
    seen: set[str] = set()
    starts = [key for key in graph.nodes if key not in above]
    for key in [*starts, *graph.nodes]:  # the second time for what is linked in a circle
        chain: list[str] = []
        while key and key not in seen:
            seen.add(key)
            chain.append(key)
            key = below.get(key, "")
        if chain:
            chains.append(chain)
    links = {key: tuple(into[key]) for chain in chains for before, key in pairwise(chain) if before}
    return chains, links


def _ranked(
    graph: Graph, chains: list[list[str]], chain_of: dict[str, int], edges: list[Edge], extra: list[PathNode]
) -> tuple[list[tuple[int, int]], list[Edge]]:
    """The rank of each chain, stage first; what would go back ends at a note instead, in a chain of its own."""
    waiting = [0] * len(chains)
    leaving: dict[int, list[Edge]] = {}
    for edge in edges:
        waiting[chain_of[edge.target[0]]] += 1
        leaving.setdefault(chain_of[edge.source[0]], []).append(edge)
    ranks = [(STAGES.get(graph.nodes[chain[0]].word, -1), 0) for chain in chains]
    ready = [at for at in range(len(chains)) if not waiting[at]][::-1]
    done: set[int] = set()
    kept: list[Edge] = []
    rest = 0
    while len(done) < len(chains):
        if not ready:
            while rest in done:
                rest += 1
            ready.append(rest)
        at = ready.pop()
        if at in done:
            continue
        done.add(at)
        stage, depth = ranks[at] = max(ranks[at], (0, 0))
        for edge in leaving.get(at, ()):
            target = chain_of[edge.target[0]]
            if target in done:
                kept.append(_back(edge, extra))
                continue
            kept.append(edge)
            waiting[target] -= 1
            if ranks[target] <= (stage, depth):
                ranks[target] = stage, depth + 1
            if not waiting[target]:
                ready.append(target)
    for edge in kept:
        if edge.target[0].startswith("back ") and edge.target[0] not in chain_of:
            stage, depth = ranks[chain_of[edge.source[0]]]
            chain_of[edge.target[0]] = len(chains)
            chains.append([edge.target[0]])
            ranks.append((stage, depth + 1))
    return ranks, kept


def _back(edge: Edge, extra: list[PathNode]) -> Edge:
    name, row = edge.target
    key = f"back {len(extra) + 1}"
    title = f"back to {name}" + ("" if row == "1" else f".{row.removeprefix('in ')}")
    extra.append(PathNode(key, "back", title, (), (PathRow("1", inlet=True),), ()))
    return evolve(edge, target=(key, "1"))
