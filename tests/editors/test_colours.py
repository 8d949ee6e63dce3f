"""Vim, Emacs and Kate colour every piece of every sample as the parser reads it."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Sequence
from html.parser import HTMLParser
from pathlib import Path

import pytest
from oracle import SAMPLES, Piece, pieces
from tools import ROOT, run

from rigspec.language.reader import parse
from rigspec.text.source import Source

# What each piece may be coloured as; the first is what it is at most places.
VIM = {
    "statement": {"rigStatement"},
    "name": {"rigNamed"},
    "sort": {"rigSort"},
    "kind": {"rigKind"},
    "hop": {"rigHop"},
    "joint": {"rigJoint", "rigIs"},
    "setting": {"rigSetting"},
    "choice": {"rigChoice", "rigState"},
    "figure": {"rigFigure"},
    "rule": {"rigRule"},
    "number": {"rigNumber", "rigMember", "rigMemberBeforeIs"},
    "unit": {"rigUnit"},
    "port": {"rigPort"},
    "text": {"rigText"},
    "comment": {"rigComment"},
    "operator": {"rigArrow", "rigCompare"},
    "plain": {"rigName", "rigBlock", ""},
}
KATE = {
    "statement": {"Statement"},
    "name": {"Name"},
    "sort": {"Sort"},
    "kind": {"Kind"},
    "hop": {"Hop"},
    "joint": {"Joint"},
    "setting": {"Setting"},
    "choice": {"Choice"},
    "figure": {"Figure"},
    "rule": {"Rule"},
    "number": {"Number"},
    "unit": {"Unit"},
    "port": {"Port"},
    "text": {"Text"},
    "comment": {"Comment"},
    "operator": {"Operator"},
    "plain": {"Normal Text"},
}
EMACS = {
    "statement": {"font-lock-keyword-face"},
    "name": {"font-lock-variable-name-face"},
    "sort": {"font-lock-builtin-face"},
    "kind": {"font-lock-type-face"},
    "hop": {"font-lock-keyword-face"},
    "joint": {"font-lock-builtin-face"},
    "setting": {"font-lock-type-face"},
    "choice": {"font-lock-constant-face"},
    "figure": {"font-lock-function-name-face"},
    "rule": {"font-lock-preprocessor-face"},
    "number": {"font-lock-constant-face"},
    "unit": {"font-lock-builtin-face"},
    "port": {"font-lock-variable-name-face"},
    "text": {"font-lock-string-face"},
    "comment": {"font-lock-comment-delimiter-face", "font-lock-comment-face"},
    "operator": {"font-lock-builtin-face"},
    "plain": {"nil"},
}


@pytest.fixture(scope="module")
def rigs(tmp_path_factory: pytest.TempPathFactory) -> list[tuple[Path, list[Piece]]]:
    """The samples, and one file of what they lack; without statements that have slips, whose colours nobody knows."""
    folder = tmp_path_factory.mktemp("rigs")
    found = []
    for sample in [*SAMPLES, Path(__file__).with_name("every.rig")]:
        text = sample.read_text(encoding="utf-8")
        for statement in reversed(parse(Source("", text)).statements):
            if statement.node is None:
                start, end = statement.tokens[0].start, statement.tokens[-1].end
                text = text[:start] + text[end:]
        copy = folder / sample.name
        copy.write_text(text, encoding="utf-8")
        found.append((copy, pieces(text)))
    return found


def differences(
    rigs: Iterable[tuple[Path, list[Piece]]], shown: Sequence[str], right: dict[str, set[str]]
) -> list[str]:
    every = [(path, piece) for path, own in rigs for piece in own]
    assert len(every) == len(shown) > 3000
    wrong = [
        f"{path.name}:{piece.line + 1}:{piece.column + 1} `{piece.text}` is {piece.what}, shown as {colour!r}"
        for (path, piece), colour in zip(every, shown, strict=True)
        if colour not in right[piece.what]
    ]
    return wrong[:20]


def all_are_met(rigs: Iterable[tuple[Path, list[Piece]]]) -> bool:
    return {piece.what for _, own in rigs for piece in own} == VIM.keys()


def test_every_sort_of_piece_is_there(rigs: list[tuple[Path, list[Piece]]]) -> None:
    assert all_are_met(rigs)


def test_vim(rigs: list[tuple[Path, list[Piece]]], tmp_path: Path) -> None:
    places, says = tmp_path / "places.json", tmp_path / "says.json"
    asked = []
    for path, own in rigs:
        lines = path.read_text(encoding="utf-8").splitlines()
        asked.append([str(path), [[each.line, len(lines[each.line][: each.column].encode())] for each in own]])
    places.write_text(json.dumps(asked), encoding="utf-8")
    setup = tmp_path / "vimrc"
    setup.write_text(f"set nocompatible\nset runtimepath^={ROOT}/editors/vim\nfiletype plugin on\nsyntax on\n")
    driver = Path(__file__).with_name("colours.vim")
    command = ["vim", "-n", "-i", "NONE", "-u", str(setup), "-es", "-S", str(driver)]
    run(command, tmp_path, tmp_path, PLACES=str(places), SAYS=str(says))
    shown = json.loads(says.read_text(encoding="utf-8"))
    assert differences(rigs, shown, VIM) == []


def test_emacs(rigs: list[tuple[Path, list[Piece]]], tmp_path: Path) -> None:
    places, says = tmp_path / "places.json", tmp_path / "says.json"
    asked = [[str(path), [[each.line, each.column] for each in own]] for path, own in rigs]
    places.write_text(json.dumps(asked), encoding="utf-8")
    driver = Path(__file__).with_name("emacs_colours.el")
    own = {"MODE": str(ROOT / "editors/emacs/rig-mode.el"), "PLACES": str(places), "SAYS": str(says)}
    run(["emacs", "-Q", "--batch", "-l", str(driver)], tmp_path, tmp_path, **own)
    shown = [re.sub(r"^\((\S+).*\)$", r"\1", each) for each in json.loads(says.read_text(encoding="utf-8"))]
    assert differences(rigs, shown, EMACS) == []


def test_kate(rigs: list[tuple[Path, list[Piece]]], tmp_path: Path) -> None:
    data = tmp_path / "data" / "org.kde.syntax-highlighting"
    (data / "syntax").mkdir(parents=True)
    (data / "syntax" / "rig.xml").write_bytes((ROOT / "editors/kate/rig.xml").read_bytes())
    styles = re.findall(r'<itemData name="([^"]+)"', (data / "syntax" / "rig.xml").read_text(encoding="utf-8"))
    colour_of = {f"#{number:06x}": style for number, style in enumerate(styles, 1)}
    (data / "themes").mkdir()
    (data / "themes" / "told-apart.theme").write_text(json.dumps(theme(colour_of)), encoding="utf-8")
    shown = []
    for path, own in rigs:
        command = ["kate-syntax-highlighter", "--syntax", "Rig", "--theme", "Told apart", str(path)]
        page = Page(colour_of)
        page.feed(run(command, tmp_path, tmp_path, QT_QPA_PLATFORM="offscreen").stdout)
        lines = path.read_text(encoding="utf-8").splitlines()
        assert "".join(letter for letter, _ in page.letters).splitlines()[: len(lines)] == lines
        begins, offset = [], 0
        for line in lines:
            begins.append(offset)
            offset += len(line) + 1
        shown += [page.letters[begins[each.line] + each.column][1] for each in own]
    assert differences(rigs, shown, KATE) == []


def theme(colour_of: dict[str, str]) -> dict[str, object]:
    """A theme in which every style of ours has a colour of its own; what has none of ours is white."""
    standard = re.findall(
        r"\w+",
        """Normal Keyword Function Variable ControlFlow Operator BuiltIn Extension
        Preprocessor Attribute Char SpecialChar String VerbatimString SpecialString Import DataType DecVal BaseN Float
        Constant Comment Documentation Annotation CommentVar RegionMarker Information Warning Alert Error Others""",
    )
    own = {style: {"text-color": colour} for colour, style in colour_of.items()}
    return {
        "metadata": {"name": "Told apart", "revision": 1},
        "text-styles": {style: {"text-color": "#ffffff"} for style in standard},
        "editor-colors": {},
        "custom-styles": {"Rig": own},
    }


class Page(HTMLParser):
    """The letters of a coloured page, each with its style."""

    def __init__(self, colour_of: dict[str, str]) -> None:
        super().__init__()
        self.colour_of = colour_of
        self.letters: list[tuple[str, str]] = []
        self.styles = ["Normal Text"]
        self.inside = False

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        if tag == "pre":
            self.inside, self.letters = True, []
        if tag == "span":
            colour = re.search(r"(?<![-\w])color:(#\w+)", dict(attributes).get("style") or "")
            self.styles.append(self.colour_of.get(colour[1], self.styles[-1]) if colour else self.styles[-1])

    def handle_endtag(self, tag: str) -> None:
        self.inside &= tag != "pre"
        if tag == "span":
            self.styles.pop()

    def handle_data(self, data: str) -> None:
        if self.inside:  # the line end behind the opening tag is none of the text
            text = data if self.letters else data.removeprefix("\n")
            self.letters += [(letter, self.styles[-1]) for letter in text]
