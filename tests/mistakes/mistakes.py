"""Reads mistakes.txt: single mistakes in right rigs, each with what must be said of it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from rigspec.check import check
from rigspec.text.finding import Finding, Severity
from rigspec.text.source import Source
from tests.rules.rig_checks import in_memory

HERE = Path(__file__).parent
DATA = HERE / "mistakes.txt"
PRACTICE = HERE.parent / "practice"
FILES = {path.relative_to(PRACTICE).as_posix(): path.read_text() for path in sorted(PRACTICE.rglob("*.rig"))}


@dataclass(frozen=True)
class Mistake:
    """One block of the file; ``line`` is where it begins."""

    line: int
    item: str
    of: dict[str, str]

    @property
    def near_miss(self) -> bool:
        return self.of["say"].startswith("nothing")

    @property
    def found(self) -> bool:
        return self.of["now"] == "found"

    def text(self) -> str:
        """The rig with the mistake made; what is replaced must stand in it once."""
        old, new = (half.replace("\\n", "\n") for half in self.of["edit"].split(" => "))
        right = FILES[self.of["rig"]]
        assert right.count(old) == 1, f"line {self.line}: `{old}` stands {right.count(old)} times in {self.of['rig']}"
        return right.replace(old, new)


def read_mistakes(text: str) -> list[Mistake]:
    mistakes: list[Mistake] = []
    item = ""
    for number, line in enumerate(text.splitlines(), 1):
        if line.startswith("== "):
            item = line[3:]
        elif line.startswith("rig: "):
            mistakes.append(Mistake(number, item, {"rig": line[5:]}))
        elif line and not line.startswith("#"):
            word, _, rest = line.partition(": ")
            assert word not in mistakes[-1].of, f"line {number}: `{word}` is given twice"
            mistakes[-1].of[word] = rest
    return mistakes


def findings_of(mistake: Mistake) -> tuple[str, tuple[Finding, ...]]:
    text = mistake.text()
    name = mistake.of["rig"]
    return text, tuple(check(Source(name, text), in_memory({**FILES, name: text})).findings)


def answers(mistake: Mistake, finding: Finding, text: str) -> bool:
    """Whether this finding says what must be said, at the line to edit."""
    of = mistake.of
    rules = of["rules"].split(", ")
    said = f"{finding.message} {finding.label} {finding.help} {' '.join(one.title for one in finding.choices)}"
    begin = text.rfind("\n", 0, finding.span.start) + 1
    line = text[begin : text.find("\n", finding.span.start)]
    return (
        (rules == ["any"] or finding.rule in rules)
        and finding.severity.weight >= Severity(of.get("least", "warning")).weight
        and all(any(word in said for word in words.split("|")) for words in of.get("words", "").split("; "))
        and finding.span.source.path == of["rig"]
        and any(piece in line for piece in of["at"].split(" | "))
    )


def is_told(mistake: Mistake) -> bool:
    text, findings = findings_of(mistake)
    return not findings if mistake.near_miss else any(answers(mistake, one, text) for one in findings)
