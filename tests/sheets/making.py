"""Reports of samples and of texts, and pages taken apart."""

from __future__ import annotations

import re
import subprocess
import tempfile
from html import unescape
from html.parser import HTMLParser
from pathlib import Path

from rigspec.check import Report, check
from rigspec.text.source import Refused, Source

ROOT = Path(__file__).parents[2]
SAMPLES = sorted(path.stem for path in (ROOT / "samples").glob("*.rig"))
VOID = {"meta", "br", "hr", "img", "link", "input"}


def sample(name: str, change: tuple[str, str] | None = None) -> Report:
    """The report on a sample, perhaps with one piece of its text changed."""
    path = f"samples/{name}.rig"
    text = (ROOT / path).read_text(encoding="utf-8")
    if change is not None:
        assert change[0] in text
        text = text.replace(*change)
    return reported(text, path)


def reported(text: str, path: str = "samples/test.rig") -> Report:
    """The report on a text that stands among the samples and may use their stock."""

    def load(_: str, used: str) -> Source | Refused:
        found = ROOT / "samples" / used
        return Source(f"samples/{used}", found.read_text(encoding="utf-8"))

    return check(Source(path, text), load)


class Parsed(HTMLParser):
    """A page: whether its tags are balanced, which there are with which attributes, and its words."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str | None]] = []
        self.words: list[str] = []
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += attrs
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open, f"</{tag}> closes nothing"
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if "style" not in self.open:
            self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())


def printed(page: str, paper: str = "") -> list[str]:
    """The page printed by a browser: the text of each sheet of paper, which may be said (``A4``)."""
    return _read(page, paper, "-layout").split("\f")[:-1]


def placed(page: str, paper: str) -> list[list[tuple[str, float, float, float, float]]]:
    """For each sheet of paper its words with their left and right end, their top, and its width (points)."""
    found = []
    for text in _read(page, paper, "-bbox").split("<page ")[1:]:
        width = float(text.partition('width="')[2].partition('"')[0])
        words = re.findall(r'xMin="(.*?)" yMin="(.*?)" xMax="(.*?)" yMax=".*?">(.*?)</word>', text)
        found.append(
            [(unescape(word), float(left), float(right), float(top), width) for left, top, right, word in words]
        )
    return found


def _read(page: str, paper: str, how: str) -> str:
    """What is read from the page as a browser prints it."""
    with tempfile.TemporaryDirectory() as folder:
        here = Path(folder)
        if paper:
            page = page.replace("@page {", f"@page {{ size: {paper};", 1)
        (here / "page.html").write_text(page, encoding="utf-8")
        flags = ["--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"]
        flags += ["--disable-background-networking", "--disable-component-update", "--disable-sync"]
        flags += [
            f"--user-data-dir={here / 'profile'}",
            "--no-pdf-header-footer",
            f"--print-to-pdf={here / 'page.pdf'}",
        ]
        command = ["chromium", *flags, (here / "page.html").as_uri()]
        subprocess.run(command, check=True, capture_output=True, timeout=60)
        command = ["pdftotext", how, str(here / "page.pdf"), "-"]
        return subprocess.run(command, check=True, capture_output=True, timeout=20, text=True).stdout
