"""The widths that drawings reckon with, against what a browser takes for the same letters in real fonts."""

from __future__ import annotations

import json
from html import escape

import pytest
from browser import answer
from making import SAMPLES, sample

from rigspec.draw.letters import ASCENT, DESCENT, PLAIN, STRONG, shortened, width

FONTS = ("Liberation Sans", "DejaVu Sans")  # the widths of Helvetica and Arial, and the widest that is common
WORDS = ("hang_left[1..4] ×4", "2.5 mm² 15 m", "AVAToWa.fi", "Verstärker “links” 4 Ω", "jgpqyÅÉ|", "", " ")
SIZE = 1000.0


def measured(texts: list[str]) -> dict[str, list[list[float]]]:
    """For each font and weight the width, height above and depth below the base line of each text."""
    page = "".join(
        f'<svg xmlns="http://www.w3.org/2000/svg"><text font-family="{font}" font-weight="{weight}" font-size="{SIZE}"'
        f' xml:space="preserve" data-of="{font} {weight}">{escape(text)}</text></svg>'
        for font in FONTS
        for weight in (400, 700)
        for text in texts
    )
    script = """(() => {
      const found = {}, pen = document.createElement("canvas").getContext("2d");
      for (const text of document.querySelectorAll("text")) {
        const of = text.dataset.of, at = of.lastIndexOf(" ");
        pen.font = `${of.slice(at + 1)} SIZEpx "${of.slice(0, at)}"`;
        const box = pen.measureText(text.textContent);
        (found[of] = found[of] || []).push(
          [text.getComputedTextLength(), box.actualBoundingBoxAscent, box.actualBoundingBoxDescent]);
      }
      return found;
    })()""".replace("SIZE", str(SIZE))
    found: dict[str, list[list[float]]] = answer(page, script)
    return found


@pytest.fixture(scope="module")
def fonts_are_there() -> None:
    """Without the font a browser takes another, and the test would hold nothing: their widths of one text differ."""
    pages = {font: measured(["Wm.l"])[f"{font} 400"][0][0] for font in FONTS}
    assert len(set(pages.values())) == len(FONTS), "fonts-liberation and fonts-dejavu-core are needed"


@pytest.mark.usefixtures("fonts_are_there")
def test_no_letter_is_wider_in_a_font_than_in_the_tables() -> None:
    chars = sorted({*PLAIN, *STRONG})
    found = measured(chars)
    for of, sizes in found.items():
        table = STRONG if of.endswith("700") else PLAIN
        wider = {char: size[0] for char, size in zip(chars, sizes, strict=True) if size[0] > table[char] + 0.5}
        assert not wider, of
    # and none is much wider than it need be: each figure is the greater of the two, rounded up to 0.02
    for weight, table in (("400", PLAIN), ("700", STRONG)):
        widest = [max(found[f"{font} {weight}"][at][0] for font in FONTS) for at in range(len(chars))]
        assert all(table[char] <= most + 21 for char, most in zip(chars, widest, strict=True))


@pytest.mark.usefixtures("fonts_are_there")
def test_no_text_of_the_samples_is_wider_or_higher_than_reckoned() -> None:
    names = {gear.full for name in SAMPLES for gear in sample(name).figures.rig.gear.values()}
    texts = sorted({*WORDS, *names})
    for of, sizes in measured(texts).items():
        for text, (wide, up, down) in zip(texts, sizes, strict=True):
            assert wide <= width(text, SIZE, of.endswith("700")) + 0.5, (of, text)
            if text in names:
                assert up <= ASCENT * SIZE + 0.5, (of, text)
                assert down <= DESCENT * SIZE + 0.5, (of, text)


def test_letters_without_a_width_count_by_their_class() -> None:
    assert width("喇叭", 10) == width("\U0001f50a\U0001f50a", 10) == 28
    assert width("e\u0301", 10) == width("e", 10)
    assert width("\u0416", 10) == 12
    assert width("ab", 20) == 2 * width("ab", 10)
    assert width("ab", 10, strong=True) > width("ab", 10)


def test_a_text_is_cut_to_what_has_room() -> None:
    assert shortened("a long name", 10, 1000) == "a long name"
    cut = shortened("a very long name indeed", 10, 60)
    assert cut.endswith("…")
    assert width(cut, 10) <= 60 < width("a very long name indeed", 10)
    assert json.dumps(shortened("", 10, 0)) == '""'
