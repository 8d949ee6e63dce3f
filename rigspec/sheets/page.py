"""All sheets as one page of HTML that needs nothing else, made for paper: A4 or Letter, black and white."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

from rigspec.sheets.sheet import Blank, Cell, Head, Row, Sheet, SheetMark, Table, Tick, number
from rigspec.show.cells import prose

# No paper size is named, so that the printer's own counts; margins leave room on both A4 and Letter.
STYLE = """
@page { margin: 11mm 10mm 13mm; @bottom-right { content: counter(page) " of " counter(pages); font: 8pt sans-serif; } }
* { box-sizing: border-box; }
body { font: 8.5pt/1.3 "Liberation Sans", Arial, Helvetica, sans-serif; color: #000; background: #fff;
  max-width: 195mm; margin: 0 auto; }
section { break-before: page; }
section:first-of-type { break-before: auto; }
header { border-bottom: 2pt solid #000; margin-bottom: 2mm; }
h1 { font-size: 15pt; margin: 0; }
header p { margin: 0 0 1mm; }
.rig { font-size: 11pt; font-weight: bold; }
.wrong { border: 4pt double #000; padding: 2mm; font-size: 12pt; font-weight: bold; }
.caution { border: 1.5pt solid #000; border-left-width: 6pt; padding: 1mm 2mm; margin: 1mm 0; font-weight: bold; }
table { border-collapse: collapse; width: 100%; margin: 3mm 0; }
.over { font-size: 10.5pt; border-bottom: none; padding: 1mm 0; }
.over small { font-weight: normal; font-size: 8pt; }
thead { display: table-header-group; }
.alone { break-before: page; }
.short { break-inside: avoid; }
tr { break-inside: avoid; }
th { text-align: left; vertical-align: bottom; border-bottom: 1.5pt solid #000; padding: 0.6mm 1mm; }
td { text-align: left; vertical-align: top; border-bottom: 0.4pt solid #666; padding: 0.6mm 1mm;
  overflow-wrap: break-word; }
.number { text-align: right; padding-right: 3mm; font-variant-numeric: tabular-nums; }
tr.marked td { border-top: 1.5pt solid #000; border-bottom: 1.5pt solid #000; }
.whole, .mark { white-space: nowrap; }
.mark.long { white-space: normal; }
.mark { display: inline-block; border: 3pt double #000; padding: 0 1mm; font-weight: bold; }
.tick { display: inline-block; width: 3.6mm; height: 3.6mm; border: 1pt solid #000; }
.write { display: inline-block; width: 14mm; height: 3.6mm; border-bottom: 1pt solid #000; }
ul { margin: 2mm 0; padding-left: 5mm; break-inside: avoid; }
@media screen { body { padding: 6mm; } section { margin-bottom: 15mm; } }
"""


SHORT = 12  # rows up to which a table is kept on one sheet of paper
WHOLE = 10  # letters up to which a cell stands on one line


def page(sheets: Iterable[Sheet], head: Head) -> str:
    """The whole page: a section for each sheet, everything from outside escaped."""
    title = f"Sheets: {head.rig}"
    body = "\n".join(_section(sheet, head) for sheet in sheets)
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f"<title>{_text(title)}</title>\n<style>{STYLE}</style>\n</head>\n<body>\n{body}\n</body>\n</html>\n"
    )


def _text(text: str) -> str:
    return escape(prose(text), quote=True)


def _section(sheet: Sheet, head: Head) -> str:
    parts = [
        f'<section id="{sheet.word}">',
        f'<header><h1>{_text(sheet.title)}</h1><p class="rig">{_text(head.rig)}</p>'
        f"<p>{_text(head.made_from)}</p></header>",
    ]
    if head.warning:
        parts.append(f'<p class="wrong">!! {_text(head.warning)} !!</p>')
    parts.append(f"<p>{_text(sheet.intro)}</p>")
    parts += [f'<p class="caution">Caution: {_text(caution)}</p>' for caution in sheet.cautions]
    if not sheet.tables:
        parts.append("<p>There is nothing of this in the rig.</p>")
    parts += (_table(table.shown, f"{sheet.title}, {head.rig}, text {head.stamp}") for table in sheet.tables)
    if sheet.notes:
        parts.append("<ul>" + "".join(f"<li>{_text(note)}</li>" for note in sheet.notes) + "</ul>")
    return "\n".join([*parts, "</section>"])


def _table(table: Table, whose: str) -> str:
    """A table; its title stands in the head, with whose it is, so that both come again on each sheet of paper."""
    said = f"<br><small>{_text(table.said)}</small>" if table.said else ""
    over = (
        f'<th class="over" colspan="{len(table.heads)}">{_text(table.title)} <small>{_text(whose)}</small>{said}</th>'
    )
    kind = ' class="alone"' if table.alone else ' class="short"' if len(table.rows) <= SHORT else ""
    columns = zip(table.heads, zip(*table.rows, strict=True), strict=True)
    heads = "".join(f'<th scope="col"{_aligned(cells)}>{_text(head)}</th>' for head, cells in columns)
    rows = "\n".join(map(_row, table.rows))
    return f"<table{kind}>\n<thead><tr>{over}</tr>\n<tr>{heads}</tr></thead>\n<tbody>\n{rows}\n</tbody></table>"


def _aligned(cells: Iterable[Cell]) -> str:
    """Where a column holds numbers its head stands above them."""
    return ' class="number"' if any(isinstance(cell, int | float) for cell in cells) else ""


def _row(row: Row) -> str:
    marked = ' class="marked"' if any(isinstance(cell, SheetMark) for cell in row) else ""
    return f"<tr{marked}>{''.join(map(_cell, row))}</tr>"


def _cell(cell: Cell) -> str:
    match cell:
        case None:
            return "<td></td>"
        case SheetMark(text):
            long = "" if len(text) <= WHOLE else " long"
            return f'<td><span class="mark{long}">X {_text(text)}</span></td>'
        case Tick():
            return '<td><span class="tick"></span></td>'
        case Blank():
            return '<td><span class="write"></span></td>'
        case float():
            return f'<td class="number">{number(cell)}</td>'
        case int():
            return f'<td class="number">{cell}</td>'
    return f'<td class="whole">{_text(cell)}</td>' if 0 < len(cell) <= WHOLE else f"<td>{_text(cell)}</td>"
