"""Names of things in short: rows by their numbers, channels by their ports."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from rigspec.rig.model import runs
from rigspec.show.cells import cell_width
from rigspec.show.table import CUT

_NAME = re.compile(r"([^\[\].]+)(?:\[(\d+)\])?(?:\.(.+))?")


def ranged(keys: Iterable[str]) -> list[str]:
    """Full names, those that belong together as one: ``hl[1..8]``, ``lows[1..2].1..2``, ``bass.1``, ``bass.2``."""
    gear: dict[str, dict[str, list[str]]] = {}
    for key in dict.fromkeys(keys):
        found = _NAME.fullmatch(key)
        name, number, port = found.groups() if found else (key, None, None)
        gear.setdefault(name, {}).setdefault(number or "", []).append(port or "")
    return [text for name, members in gear.items() for text in _members(name, members)]


def _members(name: str, members: dict[str, list[str]]) -> list[str]:
    alike: dict[tuple[str, ...], list[str]] = {}
    for number, ports in members.items():
        alike.setdefault(tuple(ports), []).append(number)
    found: list[str] = []
    for row_ports, numbers in alike.items():
        ports = list(row_ports)
        row = sorted(int(number) for number in numbers if number)
        head = f"{name}[{runs(row)}]" if row else name
        behind = _ports(ports) if len(row) > 1 or len(ports) > 2 else ports
        found += [f"{head}.{port}" if port else head for port in behind]
    return found


def _ports(ports: Sequence[str]) -> list[str]:
    numbers = sorted(int(port) for port in ports if port.isdecimal())
    others = [port for port in ports if not port.isdecimal()]
    return [*(runs(numbers).split(",") if numbers else ()), *others]


def named(keys: Sequence[str], cells: int) -> str:
    """Names in short up to about so many cells, and how many things there are beside."""
    left = list(dict.fromkeys(keys))
    names = ranged(left)
    count = len(names)
    while count > 1 and cell_width(", ".join(names[:count])) > cells:
        count -= 1
    if count < len(names):
        more = len(left) - sum(map(_things, names[:count]))
        return f"{cut(', '.join(names[:count]), cells)} and {more} more"
    return cut(", ".join(names), cells)


def _things(name: str) -> int:
    """How many things a name in short stands for."""
    count = 1
    for inner in re.findall(r"\[([^\]]*)\]|\.(\d+\.\.\d+)$", name):
        runs = (inner[0] or inner[1]).split(",")
        ends = [[int(end) for end in run.split("..")] for run in runs]
        count *= sum(each[-1] - each[0] + 1 for each in ends)
    return count


def cut(text: str, cells: int) -> str:
    """A text in so many cells, with the middle left out where it has more."""
    keep = len(text)
    while cell_width(text) > cells and keep > 2:
        keep -= 1
        shown = f"{text[: (keep + 1) // 2]}{CUT}{text[len(text) - keep // 2 :]}"
        if cell_width(shown) <= cells:
            return shown
    return text
