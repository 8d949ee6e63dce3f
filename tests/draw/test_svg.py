"""Drawings as SVG, PNG and PDF: whole, safe, the same each time, with words that can be found."""

from __future__ import annotations

import re
import struct
import sys
import xml.etree.ElementTree as ET

import pytest
from browser import answer, pdf_size, pdf_text

from rigspec.cli import picture
from rigspec.cli.trouble import CannotRunError
from rigspec.draw.letters import width
from rigspec.draw.marks import FILLS, LINES, PX_PER_MM, Drawing, Group, Outline, Round, Shape, Stroke, Words
from rigspec.draw.svg import svg_text

NASTY = '<script>alert(1)</script> & "both" \' ]]> \x00\x1b[31m \u202e \ud800 é 喇叭'
SVG = "{http://www.w3.org/2000/svg}"
MARKS = (
    Outline(10, 10, 100.126, 50, 5, (4.0, 2.0), "tint", 2, "warning"),
    Group(NASTY, NASTY, (Words(20, 40, NASTY, 11, "start", True, "error"), Group("", "", (Words(5, 5, "in"),)))),
    Stroke(((10, 100), (200, 150), (250, 150)), 1.5, (3.0,), head=True, level="quiet"),
    Shape(((1, 2), (3, 4), (5, -0.001)), "ink", 0),
    Round(50, 150, 10, "paper"),
    Words(100, 180, "left_box[1..4] ×4", 12, "middle"),
)
DRAWING = Drawing(300, 200, NASTY, NASTY, MARKS)


def test_what_texts_say_never_acts() -> None:
    text = svg_text(DRAWING)
    root = ET.fromstring(text.encode("utf-8"))
    assert {element.tag.removeprefix(SVG) for element in root.iter()} == {
        *("svg", "title", "desc", "rect", "g", "text", "polyline", "polygon", "circle")
    }
    said = [element.text or "" for element in root.iter(f"{SVG}text")]
    assert said[0].startswith('<script>alert(1)</script> & "both" \' ]]> \\x00\\x1b[31m \\u202e \\ud800 é 喇叭')
    assert root.find(f"{SVG}g").get("data-part") == said[0]
    for element in root.iter():
        assert not [name for name in element.attrib if name.startswith("on") or "href" in name]
    assert not re.search(r"url\(|@import|<style|<script|<!ENTITY", text)


def test_a_drawing_says_what_it_is() -> None:
    root = ET.fromstring(svg_text(Drawing(PX_PER_MM * 297, PX_PER_MM * 210, "Plan", "Two boxes", ())))
    assert root.get("role") == "img"
    assert [element.tag.removeprefix(SVG) for element in root][:2] == ["title", "desc"]
    assert root.findtext(f"{SVG}title") == "Plan"
    assert root.findtext(f"{SVG}desc") == "Two boxes"
    assert (root.get("width"), root.get("height")) == ("297.0mm", "210.0mm")
    assert root.get("viewBox") == "0 0 1122.52 793.7"


def test_marks_are_drawn_in_their_order_with_all_that_they_say() -> None:
    root = ET.fromstring(svg_text(DRAWING).encode())
    paper, outline, group, line, arrow, shape, circle, words = list(root)[2:]
    assert paper.get("fill") == FILLS["paper"]
    assert outline.attrib == {
        "x": "10",
        "y": "10",
        "width": "100.13",
        "height": "50",
        "rx": "5",
        "fill": FILLS["tint"],
        "stroke": LINES["warning"],
        "stroke-width": "2",
        "stroke-dasharray": "4 2",
    }
    assert group.findtext(f"{SVG}title").startswith("<script>")
    assert (line.get("points"), line.get("stroke-dasharray"), line.get("fill")) == (
        "10 100 200 150 250 150",
        "3",
        "none",
    )
    assert arrow.get("points").startswith("250 150 ")
    assert (shape.get("points"), shape.get("stroke")) == ("1 2 3 4 5 0", None)
    assert (circle.get("r"), circle.get("fill")) == ("10", FILLS["paper"])
    assert (words.get("text-anchor"), words.get("font-weight"), words.get("font-size")) == ("middle", None, "12")


def test_the_same_drawing_gives_the_same_text() -> None:
    assert svg_text(DRAWING) == svg_text(Drawing(300, 200, NASTY, NASTY, MARKS))
    assert svg_text(DRAWING).startswith('<?xml version="1.0" encoding="UTF-8"?>\n<svg ')


def test_a_browser_finds_the_words_where_they_were_put() -> None:
    text = svg_text(DRAWING).partition("\n")[2]
    boxes = answer(
        text, "[...document.querySelectorAll('text')].map(t => {const b = t.getBBox(); return [b.x, b.width]})"
    )
    (left, wide) = boxes[-1]
    assert wide <= width("left_box[1..4] ×4", 12)
    assert left + wide / 2 == pytest.approx(100, abs=0.2)


def luminance(colour: str) -> float:
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return sum(share * part for share, part in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


@pytest.mark.parametrize("level", LINES)
def test_words_stand_out_on_paper_and_on_tint(level: str) -> None:
    """4.5 to 1, by WCAG 2.2, success criterion 1.4.3 and its definition of relative luminance."""
    for ground in ("paper", "tint"):
        contrast = (luminance(FILLS[ground]) + 0.05) / (luminance(LINES[level]) + 0.05)
        assert contrast >= 4.5


def test_a_picture_has_its_size_and_its_pixels() -> None:
    data = picture.png(svg_text(DRAWING))
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    assert struct.unpack(">II", data[16:24]) == (600, 400)
    assert data != picture.png(svg_text(Drawing(300, 200, "", "", ())))


def test_a_page_has_its_size_and_its_words() -> None:
    data = picture.pdf(svg_text(DRAWING))
    assert pdf_size(data) == pytest.approx((225, 150), abs=0.1)
    assert "left_box[1..4] ×4" in pdf_text(data)
    assert '<script>alert(1)</script> & "both"' in pdf_text(data)


@pytest.mark.parametrize("write", [picture.png, picture.pdf])
def test_without_the_library_it_says_what_to_install(write: object, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "cairosvg", None)
    with pytest.raises(CannotRunError, match=r"pip install 'rigspec\[picture\]'"):
        write(svg_text(DRAWING))  # type: ignore[operator]
