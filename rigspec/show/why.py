"""How a figure came about: as an indented list for people, and as numbered steps for programs.

A step that several others rest on is told once, and referred to by its number afterwards; so is what lies very deep.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence

from attrs import frozen

from rigspec.show.cells import visible, wrap
from rigspec.text.finding import Finding
from rigspec.text.source import Span
from rigspec.text.units import BASE_UNIT, show
from rigspec.text.value import Value
from rigspec.why.working import Step

WIDTH = 100  # cells
DEEPEST = 8  # levels of a list; what lies deeper begins a list of its own below
LONGEST_EXCERPT = 60  # characters
_symbol = re.compile(r"[A-Za-z_]\w*")

Asked = tuple[str, str, Step]  # a word, the thing it was asked of, and how it came about


@frozen(eq=False, repr=False)
class TreeNode(Value):
    """One step, once: with the numbers of the steps it rests on, each under the symbol that its formula uses."""

    step: Step
    below: tuple[tuple[str, int], ...]


def nodes_of(roots: Sequence[Step]) -> tuple[list[TreeNode], list[int]]:
    """All steps below and at the roots, each after those it rests on and equal ones once; and the roots' numbers.

    Goes without recursion: a line of a thousand loudspeakers is a thousand steps deep.
    """
    nodes: list[TreeNode] = []
    by_content: dict[object, int] = {}
    numbers: dict[int, int] = {}  # by the identity of a step, which the roots keep alive
    for root in roots:
        waiting = [root]
        while waiting:
            step = waiting[-1]
            missing = [each for each in step.rests_on if id(each) not in numbers]
            if missing:
                waiting += missing[::-1]
                continue
            waiting.pop()
            if id(step) in numbers:
                continue
            below = tuple((each.symbol, numbers[id(each)]) for each in step.rests_on)
            what = (step.name, step.value, step.kind, step.formula, step.method, step.authority, step.span)
            content = (what, step.assumed, below)
            if content not in by_content:
                by_content[content] = len(nodes)
                nodes.append(TreeNode(step, below))
            numbers[id(step)] = by_content[content]
    return nodes, [numbers[id(root)] for root in roots]


# ---- for people ------------------------------------------------------------------------------------------------------


def why_text(asked: Sequence[Asked]) -> str:
    """The working of each figure that was asked for, 100 cells wide but for words that are longer."""
    nodes, roots = nodes_of([step for _, _, step in asked])
    text = _Text(nodes, roots)
    blocks = [text.block(root, step.symbol) for root, (_, _, step) in zip(roots, asked, strict=True)]
    units = dict.fromkeys(
        unit
        for node in nodes
        if node.step.formula
        for _, number in node.below
        if ((kind := nodes[number].step.kind) and (unit := BASE_UNIT[kind]))
    )
    if units:
        said = f"In formulas figures are in {', '.join(sorted(units, key=str.lower))}; ^ is a power."
        blocks.append("".join(f"{line}\n" for line in wrap(said, WIDTH)))
    return "\n".join(blocks)


class _Text:
    """The lists that are written, and what has been told in them."""

    def __init__(self, nodes: Sequence[TreeNode], roots: Sequence[int]) -> None:
        self.nodes = nodes
        used = [0] * len(nodes)
        for number in [*roots, *(number for node in nodes for _, number in node.below)]:
            used[number] += 1
        self.shared = {number for number, node in enumerate(nodes) if used[number] > 1 and node.below}
        self.labels: dict[int, str] = {}
        self.told: set[int] = set()
        self.postponed: list[tuple[int, str]] = []

    def block(self, root: int, symbol: str) -> str:
        """A list for one step, and for each that lies too deep in it one more."""
        self.postponed = [(root, symbol)]
        parts = []
        for number, called in self.postponed:  # grows while it is written
            if number not in self.told or (number, called) == (root, symbol):
                parts.append("".join(f"{line}\n" for line in self._lines(number, called, 0)))
        return "\n".join(parts)

    def _label(self, number: int) -> str:
        return self.labels.setdefault(number, f"[{len(self.labels) + 1}]")

    def _lines(self, number: int, symbol: str, depth: int) -> Iterator[str]:
        node = self.nodes[number]
        head = f"{f'{symbol}: ' if symbol else ''}{node.step.name} = {shown(node.step)}"
        if number in self.told and node.below:
            yield from _item(f"{head}, see {self._label(number)}", depth)
            return
        if depth > DEEPEST and node.below:
            self.postponed.append((number, symbol))
            yield from _item(f"{head}, see {self._label(number)} below", depth)
            return
        self.told.add(number)
        if number in self.shared or number in self.labels:
            head = f"{self._label(number)} {head}"
        if not node.below and not node.step.assumed and node.step.span is not None:
            yield from _item(f"{head}, {_place(node.step.span)}", depth)
        else:
            yield from _item(head, depth)
            for word, text in self._facts(node):
                yield from _item(f"{word}: {text}", depth, bullet=False)
        for called, below in node.below:
            yield from self._lines(below, called, depth + 1)

    def _facts(self, node: TreeNode) -> Iterator[tuple[str, str]]:
        step = node.step
        if step.formula:
            yield "formula", step.formula
            if not _symbol.fullmatch(step.formula):  # the figure below as it is needs no numbers
                yield "numbers", filled(step.formula, {called: self.nodes[at].step for called, at in node.below})
        if step.method:
            yield "method", step.method
        if step.authority:
            yield "source", step.authority
        if step.assumed:
            yield "assumed", step.assumed
        if step.span is not None:
            yield "place", _place(step.span)


def _item(text: str, depth: int, bullet: bool = True) -> Iterator[str]:
    """One item of a list in as many lines as it takes; without ``bullet`` what is said about it, set in below."""
    indent = "  " * depth
    first = f"{indent}- " if bullet and depth else indent if bullet else f"{indent}  "
    further = f"{indent}  " if bullet else f"{indent}    "
    for number, line in enumerate(wrap(text, WIDTH - len(further))):
        yield f"{further if number else first}{line}"


def _place(span: Span) -> str:
    text = " ".join(span.text.split())
    cut = text if len(text) <= LONGEST_EXCERPT else f"{text[: LONGEST_EXCERPT - 4]} ..."
    return f"{visible(span.path)}:{span.line} `{cut}`"


def shown(step: Step) -> str:
    """The value of a step with its unit, or its word."""
    return step.value if isinstance(step.value, str) else show(step.value, step.kind or "number")


def filled(formula: str, symbols: Mapping[str, Step]) -> str:
    """A formula with the numbers in the place of the symbols, in base units with six significant digits."""

    def number(found: re.Match[str]) -> str:
        step = symbols.get(found[0])
        if step is None:
            return found[0]
        if isinstance(step.value, str):
            return step.value
        text = f"{step.value:.6g}"
        return f"({text})" if text.startswith("-") else text

    return _symbol.sub(number, formula)


# ---- for programs ----------------------------------------------------------------------------------------------------


def why_json(path: str, asked: Sequence[Asked], lacking: Sequence[Finding] = ()) -> str:
    """The working as numbered steps: each figure names its step, each step those it rests on.

    Values are in the unit beside them, the base unit of their kind. ``lacking`` says which figures are not there.
    """
    from rigspec.show.ascii_json import dump

    nodes, roots = nodes_of([step for _, _, step in asked])
    return dump(
        {
            "format": "rigspec-working",
            "version": 1,
            "file": path,
            "figures": [
                {"figure": word, "of": key, "step": root} for root, (word, key, _) in zip(roots, asked, strict=True)
            ],
            "lacking": [{"of": each.subject, "why": each.message, "change": each.help} for each in lacking],
            "steps": [_step(number, node) for number, node in enumerate(nodes)],
        }
    )


def _step(number: int, node: TreeNode) -> dict[str, object]:
    step = node.step
    return {
        "step": number,
        "name": step.name,
        "value": step.value,
        "unit": BASE_UNIT[step.kind] if step.kind else "",
        "kind": step.kind,
        "formula": step.formula,
        "method": step.method,
        "authority": step.authority,
        "assumed": step.assumed,
        "place": None if step.span is None else _json_place(step.span),
        "rests_on": [{"symbol": symbol, "step": below} for symbol, below in node.below],
    }


def _json_place(span: Span) -> dict[str, object]:
    return {"path": span.path, "line": span.line, "column": span.column, "text": span.text}
