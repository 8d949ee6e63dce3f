"""Figures in aligned columns."""

from collections.abc import Collection, Mapping, Sequence

from rigspec.show.cells import cell_width, pad, prose

NO_MARKS: Mapping[int, str] = {}
GAP = "  "


def table(
    head: Sequence[str],
    rows: Sequence[Sequence[str]],
    *,
    right: Collection[int] = (),
    marks: Mapping[int, str] = NO_MARKS,
) -> str:
    """A plain text table: head, a line of dashes, rows; every line with its end, no blanks before that.

    Units live in the head. ``right`` numbers the columns (from 0) that are set to the right, as figures are. ``marks``
    puts a short sign before rows (from 0), in a column of its own that is there only when needed. A row may be shorter
    than the head. Widths are those on a terminal.
    """
    marked = any(marks.values())
    columns = range(max(map(len, (head, *rows))) + marked)

    def cells(row: Sequence[str], mark: str) -> list[str]:
        filled = [prose(cell) for cell in ([mark, *row] if marked else row)]
        return filled + [""] * (len(columns) - len(filled))

    grid = [cells(head, ""), *(cells(row, marks.get(number, "")) for number, row in enumerate(rows))]
    widths = [max(cell_width(row[column]) for row in grid) for column in columns]
    grid.insert(1, ["-" * (0 if marked and not column else widths[column]) for column in columns])
    return "".join(
        GAP.join(pad(row[column], widths[column], right=column - marked in right) for column in columns).rstrip() + "\n"
        for row in grid
    )
