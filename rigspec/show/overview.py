"""The figures of a rig on one screen: what each channel, powered loudspeaker and circuit does, and where to look."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from attrs import frozen

from rigspec.show.cells import cell_width, prose, visible
from rigspec.show.figures import NOTHING, WIDTH, assumptions, number, wrapped
from rigspec.show.names import cut, named
from rigspec.show.overview_rows import BREAKS, NEAR, Row, channel_rows, circuit_rows, folded, told
from rigspec.show.table import settled, table
from rigspec.show.tables import QUESTIONS
from rigspec.text.finding import Severity
from rigspec.text.value import Value

if TYPE_CHECKING:
    from rigspec.check import Report
    from rigspec.figures import Figures

CAUTION = "Rated, not measured. Outputs and mains are dangerous to touch; such levels can harm hearing."
MOST_LINES = 56
MOST_CHANNEL_LINES = 24
MOST_CIRCUIT_LINES = 12
MOST_ASSUMED_LINES = 6
MOST_NOTE_LINES = 2
NAME_CELLS = 34
WORD_CELLS = 24
LONG_PATH = 40  # cells: from here on FILE stands for it


MEANS = {BREAKS: "breaks a limit", NEAR: "near a limit"}
SAYS = {
    "watt": "W at rated output",
    "share": "% of the continuous rating",
    "headroom": "headroom from nominal level",
}


@frozen(eq=False, repr=False)
class _Column(Value):
    """A column of the overview: a figure, from the least to the most where rows are folded, or else a word."""

    key: str
    head: str
    decimals: int | None = None
    word: bool = False


CHANNELS = (
    _Column("load", "load ohm", 2),
    _Column("least", "stands ohm"),
    _Column("watt", "W each"),
    _Column("share", "% of rated", 0),
    _Column("first", "clips first", word=True),
    _Column("headroom", "headroom dB", 1),
    _Column("limiter", "limiter dBu", word=True),
    _Column("loss", "lead loss dB", 2),
    _Column("cones", "cones", word=True),
)
CIRCUITS = (
    _Column("eighth", "A at 1/8", 1),
    _Column("third", "A at 1/3", 1),
    _Column("breaker", "breaker A", word=True),
    _Column("phase", "phase", word=True),
    _Column("inrush", "inrush A", 0),
    _Column("holds", "bears A", 0),
)


def overview(report: Report) -> str:
    """A rig on one screen, at most 100 cells wide: the figures that are asked for first, and the way to all others."""
    figures = report.figures
    channels, circuits = channel_rows(report), circuit_rows(report)
    path = visible(report.source.path)
    path = path if cell_width(path) <= LONG_PATH else "FILE"
    mains = _circuits(circuits, path) if circuits else ""
    below = [text for text in (mains + _off_circuits(figures), _unknown(figures), _assumed(figures)) if text]
    if not channels and not below:
        below.append("There is nothing in this rig that figures can be computed for.\n")
    below.append(_more(figures, path) + wrapped(CAUTION) + wrapped(_found(report, path)))
    used = sum(text.count("\n") + 1 for text in below) + len(MEANS) * MOST_NOTE_LINES
    most = min(MOST_CHANNEL_LINES, MOST_LINES - used)
    return "\n".join([_title(report), *([_channels(channels, path, most)] if channels else []), *below])


def _title(report: Report) -> str:
    figures = report.figures
    powered = sum("powered" in gear.facts and gear.word == "speaker" for gear in figures.rig.gear.values())
    boxes = len({box.box.gear.full for box in figures.boxes.values()}) + powered
    counts = ((len(figures.channels), "channel"), (boxes, "box"), (len(figures.mains.parts), "circuit"))
    said = ", ".join(_count(count, word) for count, word in counts if count)
    title = _cut_end(prose(figures.rig.title or report.source.path), WIDTH - cell_width(said) - 2)
    return wrapped(f"{title}: {said}" if said else title)


def _count(count: int, word: str) -> str:
    plural = word if word == "advice" else f"{word}es" if word.endswith("x") else f"{word}s"
    return f"{count} {word if count == 1 else plural}"


# ---- tables ----------------------------------------------------------------------------------------------------------


def _channels(rows: Sequence[Row], path: str, most: int) -> str:
    text = _shown(rows, CHANNELS, "channel", most, f"rigspec figures {path} channels")
    figures = {key for row in rows for key in row.figures}
    says = ["load of each half of a bridged pair"] if any("+" in key for row in rows for key in row.keys) else []
    says += [said for key, said in SAYS.items() if key in figures]
    if any(row.words["limiter"].startswith(("set", "needs")) for row in rows):
        says.append("limiter in the last processor or at its input")
    if any(row.words["cones"] for row in rows):
        says.append("cones on a + pulse")
    return text + _marks(rows) + _few_lines("; ".join(says))


def _circuits(rows: Sequence[Row], path: str) -> str:
    more = f"rigspec figures {path} mains"
    return _shown(rows, CIRCUITS, "circuit", MOST_CIRCUIT_LINES, more, joined="phase") + _marks(rows)


def _marks(rows: Iterable[Row]) -> str:
    """Why rows are marked, each reason with the things that have it."""
    found: dict[str, dict[str, list[str]]] = {BREAKS: {}, NEAR: {}}
    for row in rows:
        for why in row.why:
            found[row.mark].setdefault(why, []).extend(row.keys)
    lines = []
    for mark, whys in found.items():
        said = "; ".join(f"{why} ({named(keys, NAME_CELLS)})" for why, keys in whys.items())
        lines += [_few_lines(f"{mark} {MEANS[mark]}: {said}")] if said else []
    return "".join(lines)


def _few_lines(text: str) -> str:
    """Prose in so many lines as a note may have."""
    return wrapped(_cut_end(text, MOST_NOTE_LINES * (WIDTH - 12))) if text else ""


def _cut_end(text: str, cells: int) -> str:
    """A text with what goes beyond so many cells left out at its end."""
    if cell_width(text) <= cells:
        return text
    while cell_width(text) > cells - 4:
        text = text[:-1]
    return f"{text.rstrip()} ..."


def _shown(
    rows: Sequence[Row], columns: Sequence[_Column], name: str, most: int, more: str, *, joined: str = ""
) -> str:
    """The rows as a table of at most so many lines: folded as far as that needs, then cut with what is marked first."""
    words = [column.key for column in columns if column.word and column.key != joined]

    def closely(row: Row) -> object:
        return tuple(_cell(row, column) for column in columns if column.key != joined)

    def loosely(row: Row) -> object:
        name = row.keys[0].partition(".")[0].partition("[")[0]
        return (name, *(row.words[word] for word in words), frozenset(row.figures))

    text = ""
    for likeness in (closely, loosely):
        found = folded(rows, likeness, joined)
        text = _drawn(found, len(found), columns, name)
        if text.count("\n") <= most:
            return text
    found = sorted(found, key=lambda row: (BREAKS, NEAR, "").index(row.mark))
    for count in range(min(len(found), most), 0, -1):
        text = _drawn(found, count, columns, name)
        if text.count("\n") < most:
            break
    left = sum(len(row.keys) for row in found[count:])
    return text + wrapped(f"and {_count(left, name)} more: {more}")


def _drawn(rows: Sequence[Row], count: int, columns: Sequence[_Column], name: str) -> str:
    """The first rows as a table; what it says of all throughout holds for those that are left out too."""
    heads, cells = [name], [[named(row.keys, NAME_CELLS) for row in rows]]
    right = set()
    for column in columns:
        shown = [_cell(row, column) for row in rows]
        if any(shown):
            heads.append(column.head)
            cells.append([each or NOTHING for each in shown])
            right |= set() if column.word else {column.head}
    kept, same = settled(heads, cells)
    return table(
        [heads[at] for at in kept],
        list(zip(*(cells[at][:count] for at in kept), strict=True)),
        right={number for number, at in enumerate(kept) if heads[at] in right},
        marks={number: row.mark for number, row in enumerate(rows[:count]) if row.mark},
        width=WIDTH,
    ) + _few_lines(same)


def _cell(row: Row, column: _Column) -> str:
    if column.word:
        return cut(row.words[column.key], WORD_CELLS)
    if column.key not in row.figures:
        return ""
    least, most = (number(value, column.decimals) for value in row.figures[column.key])
    return least if least == most else f"{least}..{most}"


# ---- what stands below ----------------------------------------------------------------------------------------------


def _off_circuits(figures: Figures) -> str:
    """What gear takes that no part of the mains feeds."""
    rows = [row for rows in told(figures, "draws").values() for row in rows if not row["part"] and row["eighth_ampere"]]
    if not rows:
        return ""
    keys = [str(row["gear"]) for row in rows]
    sums = [sum(_ampere(row, f"{word}_ampere") for row in rows) for word in ("eighth", "third")]
    flows = ", ".join(f"{each:.1f} A at {at}" for each, at in zip(sums, ("1/8", "1/3"), strict=True))
    together = " together" if len(keys) > 1 else ""
    return _few_lines(f"on no circuit of this rig: {named(keys, NAME_CELLS)}: {flows}{together}")


def _ampere(row: Mapping[str, object], key: str) -> float:
    value = row[key]
    return value if isinstance(value, float) else 0.0


def _unknown(figures: Figures) -> str:
    found: dict[str, list[str]] = {}
    for key, why in figures.unknown.items():
        found.setdefault(why, []).append(key)
    lines = [wrapped(f"no figures of {named(keys, NAME_CELLS)}: {why}") for why, keys in found.items()]
    return _few_blocks(lines, 4, "no figures of {} more")


def _assumed(figures: Figures) -> str:
    found = assumptions(figures, list(QUESTIONS.values()))
    everything = len(figures.channels)
    lines = []
    for text, keys, alike in _alike(found, figures):
        free = max(NAME_CELLS // 2, WIDTH - cell_width(text) - 20)
        of = "" if len(keys) == everything else f" ({named(keys, free)})"
        more = f", and {alike} alike" if alike else ""
        lines.append(wrapped(f"{text}{of}{more}", "  "))
    return f"assumed\n{_few_blocks(lines, MOST_ASSUMED_LINES, '  and {} more: --all')}" if lines else ""


def _alike(found: Mapping[str, list[str]], figures: Figures) -> list[tuple[str, list[str], int]]:
    """Assumptions that differ in nothing but the names of things as one, and how many more there are of it."""
    names = {name for gear in figures.rig.gear.values() for name in (gear.full, gear.name)}
    names |= {roster.name for roster in figures.rig.rosters}
    same: dict[str, list[str]] = {}
    for text in found:
        same.setdefault(" ".join("" if word.strip(",") in names else word for word in text.split()), []).append(text)
    return [(texts[0], found[texts[0]], len(texts) - 1) for texts in same.values()]


def _few_blocks(blocks: Sequence[str], most: int, more: str) -> str:
    """As many blocks of lines as so many lines hold, and a count of the others."""
    used = 0
    shown: list[str] = []
    for count, block in enumerate(blocks):
        lines = block.count("\n")
        rest = count + 1 < len(blocks)
        if used + lines + rest > most:
            return "".join(shown) + wrapped(more.format(len(blocks) - count))
        shown.append(block)
        used += lines
    return "".join(shown)


def _more(figures: Figures, path: str) -> str:
    words = [word for word, question in QUESTIONS.items() if question.rows(figures)]
    key = next(iter(figures.channels), "")
    why = f', or --why "load of {key}"' if key and cell_width(key) <= LONG_PATH else ""
    return wrapped(f"more: rigspec figures {path} --all{why}, or a table: {', '.join(words)}") if words else ""


def _found(report: Report, path: str) -> str:
    counts = dict.fromkeys(Severity, 0)
    for finding in report.findings:
        counts[finding.severity] += 1
    said = ", ".join(_count(count, severity.value) for severity, count in counts.items() if count)
    excused = f", {len(report.excused)} allowed" if report.excused else ""
    return f"{said}{excused}: rigspec check {path}" if said else f"no findings{excused}"
