"""``rigspec new``: a first rig with its own stock, or an entry of a stock to fill in."""

from __future__ import annotations

import os
from importlib import import_module, resources
from pathlib import Path

from rigspec.cli import terminal
from rigspec.cli.command import nearest
from rigspec.cli.trouble import CannotRunError, UsageError
from rigspec.cli.writing import create
from rigspec.show.cells import visible

ALSO = {"monitors": "wedge", "subs": "sub", "wedding": "sub", "delay": "tower", "hall": "pair"}  # what people ask for
HOUSE = "samples/stock/house.rig"
PATTERNS = "grammar/patterns"


def run(words: tuple[str, ...], options: dict[str, str]) -> int:
    """Write a rig and its stock, say an entry, or list what there is; the exit code."""
    starting = import_module("rigspec.plans.starting")
    patterns = {path.name.removesuffix(".rig"): path for path in _lying(PATTERNS).iterdir()}
    known = [*sorted(patterns), *starting.SORTS]
    if not words:
        terminal.say(_list({name: patterns[name].read_text(encoding="utf-8") for name in sorted(patterns)}))
        return 0
    first = ALSO.get(words[0], words[0])
    if first not in known:
        raise UsageError(
            first, f"there is no {first} to start from", f"{nearest(first, known)}there are {', '.join(known)}"
        )
    if first in starting.SORTS:
        name = words[1] if len(words) > 1 else f"my-{first}"
        if not starting.NAME.fullmatch(name):
            raise UsageError(name, f"{name} is no name", "letters, digits, - and _, for example my-amp")
        terminal.say(starting.entry(first, name))
        return 0
    if len(words) > 1:
        raise UsageError(
            words[1], f"{first} takes no name", f"-o DIR says where it is written: rigspec new {first} -o shows"
        )
    rig, stock = starting.started(
        patterns[first].read_text(encoding="utf-8"), _lying(HOUSE).read_text(encoding="utf-8")
    )
    return _write(options["--output"], {f"{first}.rig": rig, starting.STOCK: stock})


def _lying(name: str) -> resources.abc.Traversable:
    """What ships with the program, from beside the package when installed and from the checkout otherwise."""
    inside = resources.files("rigspec") / "grammar" / name.rpartition("/")[2]
    return inside if inside.is_file() or inside.is_dir() else Path(__file__).parents[2] / name


def _write(folder: str, texts: dict[str, str]) -> int:
    """Write all files or none of them."""
    paths = {os.path.join(folder, name) if folder else name: text for name, text in texts.items()}
    there = [visible(path) for path in paths if os.path.lexists(path)]
    if there:
        said = f"{' and '.join(there)} {'is' if len(there) == 1 else 'are'} there already"
        raise CannotRunError(f"{said}, and nothing was written; say another folder: -o DIR")
    if folder:
        try:
            os.makedirs(folder, exist_ok=True)
        except OSError as error:
            raise CannotRunError(f"{visible(folder)} cannot be made: {error.strerror}") from None
    for path, text in paths.items():
        refusal = create(path, text)
        if refusal:
            raise CannotRunError(f"{visible(path)} cannot be written: {refusal}")
    rig, stock = map(visible, paths)
    terminal.say(
        f"wrote {rig}, and {stock} with its gear\nnext: rigspec check {rig}, then rigspec draw {rig} -o drawing.svg\n"
    )
    return 0


def _list(texts: dict[str, str]) -> str:
    lines = [f"{name:<10}  {text.partition(chr(10))[0].removeprefix('# ')}\n" for name, text in texts.items()]
    return "".join(
        [
            "Rigs to start from: rigspec new NAME\n",
            *lines,
            "Entries of a stock: rigspec new amp, speaker, processor or lead\n",
        ]
    )
