"""Names of things in short: rows by their numbers, channels by their ports."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from rigspec.rig.model import runs
from rigspec.show.cells import cell_width

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
    found = []
    for ports, numbers in alike.items():
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
    names = ranged(keys)
    shown = names[:1]
    for number, name in enumerate(names[1:], 1):
        if cell_width(", ".join([*shown, name])) > cells:
            return f"{', '.join(shown)} and {len(names) - number} more"
        shown.append(name)
    return ", ".join(shown)
