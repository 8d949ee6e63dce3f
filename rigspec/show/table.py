"""Figures in aligned columns, never wider than asked."""

from collections.abc import Collection, Mapping, Sequence

from rigspec.show.cells import cell_width, pad, prose

NO_MARKS: Mapping[int, str] = {}
GAP = "  "
MOST_HEAD_LINES = 4
MOST_CELL_LINES = 3
LEAST_TEXT = 12  # cells: a column of text is not made narrower than this to spare a second table
HANGING = " "  # before what goes on in the next line of a cell
CUT = "[...]"  # for the middle of a text that even several lines do not hold
_BREAKS = " _-./,["  # a name may go on in the next line behind these, and before a bracket

FEW_ROWS = 2  # so few are read at a glance

Grid = Sequence[Sequence[str]]


def settled(head: Sequence[str], columns: Grid) -> tuple[list[int], str]:
    """The columns (from 0) that a table needs, and in words what the others say in every row; empty where none does.

    A column is spoken for where it says the same throughout. The first always stands, as it names the rows, and so
    does every column of a table of few rows.
    """
    alike = [at for at, cells in enumerate(columns) if at and len(cells) > FEW_ROWS and len(set(cells)) == 1]
    said = "; ".join(f"{head[at]}: {columns[at][0].strip()}" for at in alike)
    kept = [at for at in range(len(columns)) if at not in alike]
    return kept, f"{said}{',' if len(alike) == 1 else ';'} throughout" if said else ""


def table(
    head: Sequence[str],
    rows: Grid,
    *,
    right: Collection[int] = (),
    marks: Mapping[int, str] = NO_MARKS,
    width: int = 0,
) -> str:
    """A plain text table: head, a line of dashes, rows; every line with its end, no blanks before that.

    Units live in the head. ``right`` numbers the columns (from 0) that are set to the right, as figures are. ``marks``
    puts a short sign before rows (from 0), in a column of its own that is there only when needed. A row may be shorter
    than the head. Widths are those on a terminal.

    With a ``width`` no line has more cells than that. Where the table is wider, its heads are broken at blanks; if that
    is not enough its texts go on in further lines, set in by a blank, and of one that is longer than three lines the
    middle is left out; and what then is still too wide stands in a second table below, with the first column again.
    """
    columns = range(max(map(len, (head, *rows))))
    heads = [prose(head[column]) if column < len(head) else "" for column in columns]
    grid = [[prose(row[column]) if column < len(row) else "" for column in columns] for row in rows]
    sizes = [[cell_width(cell) for cell in row] for row in grid]
    mark_width = max(map(cell_width, marks.values())) + len(GAP) if any(marks.values()) else 0
    parts = []
    for shown, widths in _parts(heads, sizes, right, width and width - mark_width):
        beside = [c in right for c in shown]
        text = [
            _drawn(_head_cells([heads[c] for c in shown], widths), widths, beside, " " * mark_width),
            _drawn([["-" * size] for size in widths], widths, beside, " " * mark_width),
        ]
        for number, (row, own) in enumerate(zip(grid, sizes, strict=True)):
            mark = pad(marks.get(number, ""), mark_width)
            if all(own[c] <= size for c, size in zip(shown, widths, strict=True)):
                blanks = [" " * (size - own[c]) for c, size in zip(shown, widths, strict=True)]
                cells = [b + row[c] if r else row[c] + b for c, b, r in zip(shown, blanks, beside, strict=True)]
                text.append(f"{mark}{GAP.join(cells)}".rstrip() + "\n")
            else:
                broken = [cell_lines(row[c], size) for c, size in zip(shown, widths, strict=True)]
                text.append(_drawn(broken, widths, beside, mark))
        parts.append("".join(text))
    return "\n".join(parts)


def _parts(
    heads: Sequence[str], sizes: Sequence[Sequence[int]], right: Collection[int], free: int
) -> list[tuple[list[int], list[int]]]:
    """Which columns stand beside each other, and how wide each is; one part where all of them fit."""
    columns = list(range(len(heads)))
    natural = [max(column) for column in zip(*sizes, strict=True)] or [0] * len(heads)
    if not free:
        return [(columns, [max(natural[c], cell_width(heads[c])) for c in columns])]
    found = _fitted(columns, heads, natural, right, free)
    if found is not None:
        return [(columns, found)]
    parts: list[tuple[list[int], list[int]]] = []
    beside = columns[:2]
    for c in columns[2:]:
        if _fitted([*beside, c], heads, natural, right, free) is None:
            parts.append((beside, _fitted(beside, heads, natural, right, free) or _forced(beside, free)))
            beside = columns[:1]
        beside = [*beside, c]
    return [*parts, (beside, _fitted(beside, heads, natural, right, free) or _forced(beside, free))]


def _forced(columns: Sequence[int], free: int) -> list[int]:
    """Widths for a first column and another that is absurdly wide, heads and all."""
    return [LEAST_TEXT, free - LEAST_TEXT - len(GAP)] if len(columns) > 1 else [free]


def _fitted(
    columns: Sequence[int], heads: Sequence[str], natural: Sequence[int], right: Collection[int], free: int
) -> list[int] | None:
    """Widths with which these columns stand in ``free`` cells, with heads of as few lines as can be; or None."""
    gaps = len(GAP) * (len(columns) - 1)
    for count in range(1, MOST_HEAD_LINES + 1):
        widths = [max(natural[c], _narrowest(heads[c], count)) for c in columns]
        spare = free - gaps - sum(widths)
        if spare >= 0:
            return _eased(columns, heads, widths, spare)
    least = [_narrowest(heads[c], MOST_HEAD_LINES) for c in columns]
    floor = [widths[at] if c in right else min(widths[at], max(LEAST_TEXT, least[at])) for at, c in enumerate(columns)]
    over = sum(widths) + gaps - free
    if over > sum(widths) - sum(floor):
        return None
    while over > 0:  # the widest text gives way first, down to the next widest
        at = max(range(len(columns)), key=lambda at: widths[at] if widths[at] > floor[at] else -1)
        next_widest = max((w for w, low in zip(widths, floor, strict=True) if low < w < widths[at]), default=0)
        step = max(1, min(over, widths[at] - max(next_widest, floor[at])))
        widths[at] -= step
        over -= step
    return widths


def _eased(columns: Sequence[int], heads: Sequence[str], widths: list[int], spare: int) -> list[int]:
    """The widths with as many heads on one line as the spare cells allow, the cheapest first."""
    wanted = {at: cell_width(heads[c]) - widths[at] for at, c in enumerate(columns)}
    for at, more in sorted(wanted.items(), key=lambda each: each[1]):
        if 0 < more <= spare:
            widths[at] += more
            spare -= more
    return widths


def _narrowest(head: str, lines: int) -> int:
    """The least width in which a head stands in so many lines, broken at blanks only."""
    words = [cell_width(word) for word in head.split()]
    if lines == 1 or len(words) < 2:
        return cell_width(head)
    sizes = range(max(words), cell_width(head) + 1)
    return next(size for size in sizes if _lines_needed(words, size) <= lines)


def _lines_needed(words: Sequence[int], size: int) -> int:
    count, used = 0, size + 1
    for word in words:
        if used + 1 + word <= size:
            used += 1 + word
        else:
            count, used = count + 1, word
    return count


def _head_cells(heads: Sequence[str], widths: Sequence[int]) -> list[list[str]]:
    """The lines of each head; all end together at the bottom."""
    found = [_head_lines(head, size) for head, size in zip(heads, widths, strict=True)]
    most = max(map(len, found), default=1)
    return [[""] * (most - len(lines)) + lines for lines in found]


def _head_lines(head: str, size: int) -> list[str]:
    if cell_width(head) <= size:
        return [head]
    lines: list[str] = []
    for word in head.split():
        if lines and cell_width(lines[-1]) + 1 + cell_width(word) <= size:
            lines[-1] += f" {word}"
        else:
            lines += cell_lines(word, size) if cell_width(word) > size else [word]
    return lines


def cell_lines(text: str, size: int) -> list[str]:
    """A text in lines of at most ``size`` cells (8 or more), broken behind a blank or a sign where that can be done.

    Lines after the first are set in by a blank. Of a text that three lines do not hold the middle is left out.
    """
    lines = [text] if cell_width(text) <= size else _broken(text, size)
    if len(lines) <= MOST_CELL_LINES:
        return lines
    keep = len(text)
    while True:  # shorter at every turn, and a few characters always fit
        keep -= max(1, (keep - MOST_CELL_LINES * size) // 2)
        lines = _broken(text[: (keep + 1) // 2] + CUT + text[len(text) - keep // 2 :], size)
        if len(lines) <= MOST_CELL_LINES or keep <= 2:
            return lines[:MOST_CELL_LINES]


def _broken(text: str, size: int) -> list[str]:
    lines: list[str] = []
    while text:
        lead = HANGING if lines else ""
        room = size - len(lead)
        fits, used = 0, 0
        for char in text:
            used += cell_width(char)
            if used > room:
                break
            fits += 1
        if fits < len(text):
            fits = max(fits, 1)
            behind = max((at + (text[at] != "[") for at in range(1, fits) if text[at] in _BREAKS), default=0)
            fits = behind if behind > fits // 3 else fits
        lines.append(lead + text[:fits].rstrip())
        text = text[fits:].lstrip()
    return lines or [""]


def _drawn(cells: Sequence[Sequence[str]], widths: Sequence[int], right: Sequence[bool], mark: str) -> str:
    """One row, whose cells have one or several lines, as text; the mark stands before the first."""
    text = []
    for at in range(max(map(len, cells), default=1)):
        shown = [
            pad(lines[at] if at < len(lines) else "", size, right=to_right)
            for lines, size, to_right in zip(cells, widths, right, strict=True)
        ]
        text.append(f"{' ' * len(mark) if at else mark}{GAP.join(shown)}".rstrip() + "\n")
    return "".join(text)
