"""Whatever is half typed, every command writes what it can: no rig makes one of them fail."""

from __future__ import annotations

import random
import re
from collections.abc import Iterator
from pathlib import Path
from time import monotonic

import pytest
from running import Run

ROOT = Path(__file__).parents[2]
RIGS = sorted([*(ROOT / "samples").glob("*.rig"), *(ROOT / "tests/rules/rigs").glob("*.rig")])
COMMANDS = (
    *(("check", "-", "--as", form) for form in ("people", "line", "json", "sarif", "junit")),
    *(("sheets", "-", "--as", form) for form in ("markdown", "csv", "html")),
    *(("draw", "-", "--view", view) for view in ("path", "plan")),
    *(("figures", "-", "--as", form) for form in ("people", "json", "csv")),
    *(("supply", "-", "--as", form) for form in ("people", "json", "csv", "svg")),
    ("export", "-"),
    ("netlist", "-"),
)
SECONDS = 12.0
STOCK_OF = {path: path.parent / "rig.rig" for path in RIGS}
BELOW_ZERO = (ROOT / "samples/opposed-bass.rig").read_text(encoding="utf-8")


def _hurt(text: str, chance: random.Random) -> str:
    """The text cut short, or without one of its tokens."""
    if chance.random() < 0.5:
        return text[: chance.randrange(len(text))]
    tokens = re.findall(r"[\w.%-]+|\s+|.", text)
    del tokens[chance.randrange(len(tokens))]
    return "".join(tokens)


def _texts() -> Iterator[tuple[Path, str]]:
    chance = random.Random(20)
    while True:
        for path in chance.sample(RIGS, len(RIGS)):
            yield path, _hurt(path.read_text(encoding="utf-8"), chance)


def _fails(run: Run, path: Path, text: str, command: tuple[str, ...]) -> str:
    ran = run(*command, "--name", str(STOCK_OF.get(path, path)), stdin=text.encode())
    return f"{path.name}: {' '.join(command)}: {ran.err}" if "internal error" in ran.err else ""


def test_no_command_fails_on_a_half_typed_rig(run: Run) -> None:
    end = monotonic() + SECONDS
    for (path, text), command in zip(_texts(), (each for _ in iter(int, 1) for each in COMMANDS), strict=False):
        assert _fails(run, path, text, command) == "", text
        if monotonic() > end:
            return


CASES = {
    "a lead of a kind that is not there": 'rig "x" { mains 230 V 50 Hz }\nlead w is m\n',
    "a lead of such a kind in use": "feed f { level 4 dBu }\nlead w is m\nf -> w ->",
}


@pytest.mark.parametrize("text", CASES.values(), ids=CASES)
@pytest.mark.parametrize("command", COMMANDS, ids=" ".join)
def test_no_command_fails_on(text: str, command: tuple[str, ...], run: Run) -> None:
    assert _fails(run, RIGS[0], text, command) == ""
