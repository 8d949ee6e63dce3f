"""All that the program says of some hundred rigs, as text: what stays the same while the house is rebuilt.

Rigs are those of the rules, the examples of the rules, the samples, and samples cut off while they are typed.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

from attrs import AttrsInstance, evolve, fields

from rigspec.check import check
from rigspec.language.reader import parse
from rigspec.rules import RULES
from rigspec.rules.example_stock import EXAMPLE_STOCK
from rigspec.show.export import export
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
    stock = "example-stock.rig"
    yield stock, Source(stock, EXAMPLE_STOCK), in_memory({})
    for rule in RULES.values():
        for which, example in (("bad", rule.bad), ("good", rule.good)):
            main, *parts = _PART.split(example)
            others = dict(zip(parts[::2], parts[1::2], strict=True))
            source = Source("rig.rig", f'{main}\nuse "{stock}"\n')
            yield f"{rule.name} {which}", source, in_memory({**others, stock: EXAMPLE_STOCK, source.path: source.text})


def _cut(path: str, text: str, number: int, load: Load) -> Rig:
    """A sample as far as it is typed: within a line, wherever that falls."""
    return f"{path} {number}/{CUTS}", Source(path, text[: len(text) * number // CUTS]), load


def answer(rig: Rig) -> str:
    """Everything that is said of a rig. Figures stand with nine digits: machines differ in the last ones.

    The kinds of the files that it uses are left out: these files are rigs of their own here.
    """
    _, source, load = rig
    report = check(source, load, lambda read: parse(read) if read is source else _parsed(read))
    said = export(report, report.files, "0")
    said = evolve(said, kinds=tuple(kind for kind in said.kinds if kind.place.path == source.path))
    return _FLOAT.sub(lambda found: f"{float(found[0]):.9g}", json.dumps(said, default=_fields))


_parsed = cache(parse)  # of what many rigs use


def _fields(value: AttrsInstance) -> dict[str, object]:
    return {each.name: getattr(value, each.name) for each in fields(type(value))}


def digest(said: str) -> str:
    return hashlib.sha256(said.encode()).hexdigest()[:16]


def first_change() -> str:
    """The first rig found whose answer is not as kept, nothing where all are: quicker than all of them, and enough."""
    kept = {line[17:]: line[:16] for line in GOLDEN.read_text("utf-8").splitlines()}
    every = list(rigs())
    apart = [rig for first in range(23) for rig in every[first::23]]  # neighbours are much alike
    return next((rig[0] for rig in apart if digest(answer(rig)) != kept.get(rig[0])), "")


def page() -> str:
    return "".join(f"{digest(answer(rig))} {rig[0]}\n" for rig in rigs())
