"""All that the program says of some hundred rigs, as text: what stays the same while the house is rebuilt.

Rigs are those of the rules, the examples of the rules, the samples, and samples cut off while they are typed.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator
from pathlib import Path

from rigspec.check import check
from rigspec.rules import RULES
from rigspec.rules.example_stock import EXAMPLE_STOCK
from rigspec.show.export import export_json
from rigspec.text.source import Load, Source
from tests.rules.rig_checks import in_memory

ROOT = Path(__file__).parents[2]
GOLDEN = Path(__file__).with_name("answers.txt")
CUTS = 12  # of each sample

_PART = re.compile(r"^--- (.+)\n", re.MULTILINE)
_FLOAT = re.compile(r"-?\d+\.\d+(?:e[-+]?\d+)?")

Rig = tuple[str, Source, Load]


def rigs() -> Iterator[Rig]:
    """Every rig: what it is called, its text, and the files that it may use."""
    for folder in ("tests/rules/rigs", "samples"):
        files = {path.relative_to(ROOT).as_posix(): path.read_text("utf-8") for path in (ROOT / folder).rglob("*.rig")}
        load = in_memory(files)
        for path in sorted(files):
            yield path, Source(path, files[path]), load
            if folder == "samples":
                yield from (_cut(path, files[path], number, load) for number in range(1, CUTS))
    for rule in RULES.values():
        for which, example in (("bad", rule.bad), ("good", rule.good)):
            main, *parts = _PART.split(example)
            others = dict(zip(parts[::2], parts[1::2], strict=True))
            yield f"{rule.name} {which}", Source("rig.rig", main + EXAMPLE_STOCK), in_memory(others)


def _cut(path: str, text: str, number: int, load: Load) -> Rig:
    """A sample as far as it is typed: within a line, wherever that falls."""
    return f"{path} {number}/{CUTS}", Source(path, text[: len(text) * number // CUTS]), load


def answer(rig: Rig) -> str:
    """Everything that is said of a rig. Figures stand with nine digits: machines differ in the last ones."""
    _, source, load = rig
    report = check(source, load)
    return _FLOAT.sub(lambda found: f"{float(found[0]):.9g}", export_json(report, report.files, "0"))


def digest(said: str) -> str:
    return hashlib.sha256(said.encode()).hexdigest()[:16]


def page() -> str:
    return "".join(f"{digest(answer(rig))} {rig[0]}\n" for rig in rigs())
