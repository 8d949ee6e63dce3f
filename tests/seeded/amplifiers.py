"""What an amplifier gives into a load by its rated points, as the judge reckons it."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from math import sqrt

from rigspec.language import syntax as s

from .reading import Gear, Settings, quantity


def words_of(item: s.Item) -> list[str]:
    return [atom.name for atom in item.atoms if isinstance(atom, s.Ref)]


def number_of(setting: s.Setting) -> str:
    return next(atom.number for atom in setting.items[0].atoms if isinstance(atom, s.Figure))


def pairs_of(settings: Settings, word: str) -> Iterator[tuple[str, str]]:
    """The pairs of channels that a switch joins."""
    for setting in settings.get(word, ()):
        for item in setting.items:
            yield from ((str(atom.first), str(atom.second)) for atom in item.atoms if isinstance(atom, s.Pair))


def items_of(settings: Settings, word: str) -> Iterator[tuple[float, list[str]]]:
    for setting in settings.get(word, ()):
        for item in setting.items:
            figure = next((quantity(atom).low for atom in item.atoms if isinstance(atom, s.Figure)), 0.0)
            yield figure, words_of(item)


def rated_points(amp: Gear, mode: str) -> list[tuple[float, float, float]]:
    """The rated points of an amplifier as power, ohms and volts; ``mode`` is empty, ``alone`` or ``bridge``."""
    points = []
    for setting in amp.settings.get("rated", ()):
        for item in setting.items:
            given = {quantity(atom).kind: quantity(atom).low for atom in item.atoms if isinstance(atom, s.Figure)}
            words = words_of(item)
            if "watt" in given and mode == next((w for w in words if w in ("alone", "bridge")), ""):
                ohm = given.get("ohm") or given.get("volt", 0.0) ** 2 / given["watt"]
                points.append((given["watt"], ohm, sqrt(given["watt"] * ohm)))
    return sorted(points, key=lambda point: point[1])


def rated_volt(amp: Gear, output: str, ohm: float) -> float | None:
    """The voltage at an amplifier's rated output into a load: between rated loads on the straight line of volts over
    amperes, above them the highest voltage, below them the greatest current; None where the load is too low to say."""
    bridged = "+" in output.rpartition(".")[2]
    points = rated_points(amp, "bridge") if bridged else rated_points(amp, "")
    if bridged and not points:
        points = [(2 * power, 2 * load, 2 * volt) for power, load, volt in rated_points(amp, "")]
    if not points:
        return None
    if ohm >= points[-1][1]:
        return points[-1][2]
    if ohm <= points[0][1]:
        return points[0][2] / points[0][1] * ohm if ohm > points[0][1] * 0.9 else None
    for (_, low, low_volt), (_, high, high_volt) in pairwise(points):
        if low <= ohm <= high:
            low_ampere, high_ampere = low_volt / low, high_volt / high
            slope = (high_volt - low_volt) / (high_ampere - low_ampere)
            return (low_volt - slope * low_ampere) / (1 - slope / ohm)
    return None
