"""The signal path: from the feeds to the boxes, one column a stage, on one drawing as large as it has to be."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from rigspec.check import Report
from rigspec.draw.letters import shortened
from rigspec.draw.marks import Drawing, Mark, Words
from rigspec.draw.path_columns import columns_of
from rigspec.draw.path_fold import folded
from rigspec.draw.path_key import findings_key, symbols_key
from rigspec.draw.path_lay import laid
from rigspec.draw.path_things import graph_of
from rigspec.sheets.whole import head

MARGIN = 36.0
LEAST = 760.0  # px of width for the words
CAUTION = "Plug and unplug loudspeakers with the amplifier off."


def path(report: Report, show: Collection[str] = ()) -> Drawing:
    """The signal path of a rig, with what a check found; ``show`` may ask for ``loads`` and ``powers``."""
    figures = report.figures
    graph = folded(graph_of(figures, report.findings, show), figures.rig.gear)
    columns = columns_of(graph)
    top = MARGIN + 66
    body = laid(columns, graph.findings, MARGIN + 10, top)
    wide = max(LEAST, body.right + MARGIN + 10)
    marks: list[Mark] = [*_heading(report, wide), *body.marks]
    y = max(body.bottom, top) + 34
    found, y = symbols_key(graph, MARGIN, y, wide - MARGIN)
    marks += found
    found, y = findings_key(report, graph, MARGIN, y + 8, wide - MARGIN)
    marks += found
    boxes = sum(len(node.names) for node in graph.nodes.values() if node.word == "speaker")
    name = head(report).rig
    said = (
        f"The signal path from left to right: {', '.join(each for each in columns.heads if each) or 'nothing'}."
        f" {boxes} loudspeakers, {len(report.findings)} findings."
    )
    return Drawing(wide, y + MARGIN, f"{name}: signal path", said, tuple(marks))


def _heading(report: Report, wide: float) -> Iterable[Mark]:
    above = head(report)
    room = wide - 2 * MARGIN
    title = f"{above.rig}: signal path"
    yield Words(MARGIN, MARGIN + 4, shortened(title, 16, room, True), 16, strong=True)
    made = f"Made from {above.path}, text {above.stamp}. {CAUTION}"
    yield Words(MARGIN, MARGIN + 19, shortened(made, 9, room), 9)
    if above.errors:
        count = "1 error" if above.errors == 1 else f"{above.errors} errors"
        said = f"THE CHECK FOUND {count.upper()} IN THIS RIG. Do not build from this drawing: things may be missing."
        yield Words(MARGIN, MARGIN + 33, shortened(said, 11, room, True), 11, strong=True, level="error")
