"""The forms of sheets: Markdown, CSV and the page of HTML, with names and labels that try to act."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from itertools import pairwise

import pytest
from golden_sheets import FOLDER, NAMES, golden
from making import Parsed, placed, printed, reported, sample

from rigspec.sheets.markdown import escaped, markdown
from rigspec.sheets.page import STYLE, page
from rigspec.sheets.sheet import BLANK, TICK, Head, Sheet, SheetMark, Table
from rigspec.sheets.spreadsheet import files, table_csv
from rigspec.sheets.whole import SHEETS, head, sheets
from rigspec.show.csv_text import guarded

NASTY = '<script>alert(1)</script> & "both" \\" | \U0001f50a `x` url(http://a) \u202e=1+1'
NASTY_RIG = """
rig "<script>x</script> & \\"quoted\\" | \U0001f50a" { mains 230 V 50 Hz }
use "stock/house.rig"
feed links { level 4 dBu }
amp verstärker is twin-400 { label "<b>&amp;</b>" }
speaker lautsprecher_喇叭[1..2] is twelve-two { label "<img src=x onerror=alert(1)>" }
lead kabel is four-pair 15 m { ends "=HYPERLINK(1)", "-2+3"; label "<script src=//x>" }
links -> verstärker.1 -> kabel.1 -> invert -> lautsprecher_喇叭[1..2] linked 2.5 mm2 2 m
"""


def whole_page(name: str) -> str:
    report = sample(name)
    return page(sheets(report), head(report))


@pytest.mark.parametrize("name", NAMES)
def test_sheets_are_as_they_were_read(name: str) -> None:
    stale = "python -m tests.golden, then read what changed"
    assert (FOLDER / f"{name}.md").read_text(encoding="utf-8") == golden(name), stale


@pytest.mark.parametrize("name", ["festival-stage", "two-box-hall", "hundred-volt-street", "powered-boxes"])
def test_a_page_is_balanced_and_needs_nothing_from_outside(name: str) -> None:
    text = whole_page(name)
    parsed = Parsed(text)
    assert set(parsed.tags) <= TAGS
    assert {name for name, _ in parsed.attributes} <= {"lang", "charset", "id", "class", "scope", "colspan"}
    assert "url(" not in STYLE
    assert "@import" not in STYLE
    assert parsed.tags.count("section") == len(SHEETS)


def test_what_names_and_labels_say_never_acts() -> None:
    report = reported(NASTY_RIG)
    text = page(sheets(report), head(report))
    parsed = Parsed(text)
    assert not {"script", "img", "b"} & set(parsed.tags)
    assert not {"src", "onerror", "href"} & {name for name, _ in parsed.attributes}
    assert '<script>x</script> & "quoted" | \U0001f50a' in parsed.text
    assert "<script src=//x>" in parsed.text
    for sheet in sheets(report):
        written = markdown(sheet, head(report))
        assert not re.search(r"<(?!/?details)\w", written)
    assert "lautsprecher_喇叭[1]" in parsed.text


def test_a_cell_of_each_sort_in_each_form() -> None:
    cells = (NASTY, 1.23456, 12, None, SheetMark("CROSSED"), TICK, BLANK)
    table = Table("one", "One", ("text", "m", "count", "none", "polarity", "done", "read (ohm)"), (cells, cells))
    sheet = Sheet("one", "Sheet", "Words.", (table,), ("a note",), ("a caution",))
    whose = Head("Rig", "a.rig", "00000000", 2)
    text = markdown(sheet, whose)
    row = next(line for line in text.splitlines() if "CROSSED" in line)
    assert len(re.findall(r"(?<!\\)\|", row)) == 7 + 1 - 1  # the empty column is left out
    assert "\u202e" not in text
    for piece in ("**X CROSSED X**", "[ ]", "______", "1.23", "THE CHECK FOUND 2 ERRORS", "> **Caution:** a caution"):
        assert piece in text
    parsed = Parsed(page([sheet], whose))
    for piece in ("X CROSSED", "1.23", "THE CHECK FOUND 2 ERRORS", "Caution: a caution", "a note"):
        assert piece in parsed.text
    assert ("class", "tick") in parsed.attributes
    assert ("class", "write") in parsed.attributes
    (_, first, _) = csv.reader(io.StringIO(table_csv(table)))
    assert first[1:] == ["1.23456", "12", "", "X CROSSED X", "", ""]


def test_a_spreadsheet_has_all_places_in_one_file_with_their_names() -> None:
    report = sample("festival-stage")
    (patch,) = sheets(report, ["patch"])
    written = files(patch)
    assert set(written) == {"patch-signal.csv", "patch-power.csv", "patch-mains.csv", "patch-places.csv"}
    head_row, *rows = csv.reader(io.StringIO(written["patch-places.csv"]))
    assert head_row[:3] == ["place", "socket", "goes"]
    assert len(rows) == sum(len(each.rows) for each in patch.tables if each.word == "places")
    turned = [row for row in rows if row[7] == "X CROSSED X"]
    assert ["rack left_rack", "bass[1].2 out", "to front[3]"] in [row[:3] for row in turned]


@pytest.mark.parametrize("text", ["=1+1", "+1 (a)", "-x", "@SUM(A1)", " =1", "\t=1", "-", "+4 dBu", "=", "-1-1"])
def test_no_spreadsheet_takes_text_for_a_formula(text: str) -> None:
    assert guarded(text).startswith("'")


@pytest.mark.parametrize("text", ["-1", "+2.5", "-1e3", "12", "front[1]", "a=b", ""])
def test_numbers_and_names_stay_as_they_are(text: str) -> None:
    assert guarded(text) == text


@pytest.mark.parametrize(
    ("text", "safe"),
    [
        ("front[1].low", "front[1].low"),
        ("left_box", "left_box"),
        ("_x_", "\\_x\\_"),
        ("a|b", "a\\|b"),
        ("[a](http://x)", "[a]\\(http://x)"),
        ("<b>&", "&lt;b&gt;&amp;"),
        ("a\nb", "a b"),
        ("# a", "\\# a"),
        ("1. a", "1\\. a"),
    ],
)
def test_markdown_shows_what_was_written(text: str, safe: str) -> None:
    assert escaped(text) == safe


def test_an_error_stands_on_the_head_of_every_sheet() -> None:
    report = sample("two-box-hall", ("-> left_box", "-> left_bax"))
    assert head(report).errors >= 1
    for sheet in sheets(report):
        assert f"THE CHECK FOUND {head(report).errors} ERROR" in markdown(sheet, head(report))
    assert Parsed(page(sheets(report), head(report))).text.count("THE CHECK FOUND") == len(SHEETS)


def test_the_stamp_changes_with_the_text_of_the_rig_and_of_its_stock() -> None:
    before, after = sample("two-box-hall"), sample("two-box-hall", ("15 m", "16 m"))
    assert head(before).stamp != head(after).stamp
    assert head(before).stamp == head(sample("two-box-hall")).stamp


def test_the_page_prints_on_a4_and_letter() -> None:
    """Opened in a browser, printed, and read from the paper; on both sizes, so that nothing is cut off."""
    text = whole_page("festival-stage")
    for paper in ("A4", "Letter"):
        pages = printed(text, paper)
        assert len(SHEETS) <= len(pages) <= PAGES, paper
        for title in TITLES:
            (first,) = [each for each in pages if each.startswith(f"{title}\n")]
            assert "Made from samples/festival-stage.rig" in first
        words = " ".join(" ".join(pages).split())
        for piece in KEY_TEXTS:
            assert piece in words, (paper, piece)
        assert f"1 of {len(pages)}" in words
        assert f"{len(pages)} of {len(pages)}" in words
    racks = [each for each in pages if each.startswith("At rack ")]
    assert {each.split()[2] for each in racks} == {"left_rack", "right_rack", "monitor_rack"}
    patch = [each for each in pages if "other end is at" in each]
    assert len(patch) > 1, "the heads of a long table stand on each page"


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("name", ["festival-stage", "theatre-panels", "hundred-volt-street"])
def test_no_word_is_cut_off_at_the_edge_of_the_paper(name: str, paper: str) -> None:
    """Every word of the page stands on the paper, within the margins that printers need, none over another."""
    text = whole_page(name)
    found = placed(text, paper)
    meant = Parsed(text[text.index("<body>") :].removesuffix("</html>\n")).text
    pieces = [each for words in found for word, *_ in words for each in re.split("-", word)]  # lines break at hyphens
    assert Counter(re.split(r"[\s-]+", meant)) - Counter(pieces) == Counter()
    for words in found:
        assert min(left for _, left, _, _, _ in words) >= MARGIN
        assert max(right for _, _, right, _, width in words) <= max(width for *_, width in words) - MARGIN
        rows: dict[float, list[tuple[float, float, str]]] = {}
        for word, left, right, top, _ in words:
            rows.setdefault(round(top, 1), []).append((left, right, word))
        for row in rows.values():
            for (_, end, one), (start, _, other) in pairwise(sorted(row)):
                assert end <= start + 0.5, (one, other)


MARGIN = 20.0  # points: 7 mm
TAGS = {"html", "head", "meta", "title", "style", "body", "section", "header", "h1", "p", "ul", "li", "span"}
TAGS |= {"table", "small", "br", "thead", "tbody", "tr", "th", "td"}
TITLES = (
    "Patch list",
    "Lead labels and pull list",
    "Pack list",
    "Places and aim",
    "Channel settings",
    "Polarity sheet",
    "Mains",
    "Meter sheet",
    "Checks before power-up",
    "Walk test",
    "Promises and readings",
)
KEY_TEXTS = ("Lantern parade, meadow stage", "P15", "bass[1].2 out", "CROSSED", "heavy-pair", "left_rack", "PROPOSED")
KEY_TEXTS += ("(tower_left)", "local code", "OUT", "All weights that are given come to")
PAGES = 45
