"""How alike the loudspeakers of a group are driven: the level of each against the others of its kind."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from attrs import frozen

from rigspec.figures.signal import Contribution
from rigspec.figures.values import BaseFigures, BoxFigures
from rigspec.rig.model import Roster
from rigspec.solve.decibel import gain_to_ratio, power_ratio_to_gain
from rigspec.text.value import Value, once


@frozen(eq=False, repr=False)
class Driven(Value):
    """A loudspeaker and its power in dB against 1 W, with every feed at 0 dBu; of that, what its leads cost.

    ``known``: the gain up to the amplifier's output is known. Else ``power_db`` counts from the amplifier's output, and
    only loudspeakers of one channel can be compared.
    """

    box: BoxFigures
    power_db: float
    known: bool

    @property
    def like(self) -> tuple[int, str, str]:
        """Loudspeakers with the same value here can be compared: of one kind and way."""
        return id(self.box.box.gear.kind), self.box.box.way, "" if self.known else self.box.channel


@once
def driven(box: BoxFigures) -> Driven | None:
    """How a loudspeaker is driven; None where nothing is left of its signal."""
    at_output = _mean_square(box.parts)
    ohm = box.box.impedance_ohm
    volt_squared = (1.0 if at_output is None else at_output) * box.share_volt**2
    if not ohm or not volt_squared:
        return None
    return Driven(box, power_ratio_to_gain(volt_squared / ohm), at_output is not None)


def _mean_square(parts: Iterable[Contribution]) -> float | None:
    """The square of the voltage at an output, with all feeds at one level: shares of one feed add by voltage."""
    volts: dict[str, float] = {}
    for part in parts:
        if part.gain_db is None:
            return None
        sign = -1.0 if part.inverted else 1.0
        volts[part.feed] = volts.get(part.feed, 0.0) + sign * gain_to_ratio(part.gain_db)
    return sum(volt * volt for volt in volts.values()) if volts else None


def keys_of(name: str) -> Iterable[str]:
    """The keys that a loudspeaker's name may stand for: its own, and those of its ways."""
    return (name, *(f"{name}.{way}" for way in ("low", "mid", "high")))


@once
def names_in(roster: Roster) -> Mapping[str, bool]:
    """The keys of loudspeakers and ways that a group may name, and whether they stand `against` it."""
    return {key: part.against for part in roster.parts for key in keys_of(part.key)}


def listed(ground: BaseFigures, roster: Roster) -> tuple[BoxFigures, ...]:
    """The loudspeakers of a group, or their ways, in its order."""
    return tuple(ground.boxes[key] for key in names_in(roster) if key in ground.boxes)


def named(ground: BaseFigures, names: Iterable[str]) -> tuple[BoxFigures, ...]:
    """The loudspeakers of these names, or their ways, each once."""
    keys = dict.fromkeys(key for name in names for key in keys_of(name))
    return tuple(ground.boxes[key] for key in keys if key in ground.boxes)


def alike(boxes: tuple[BoxFigures, ...]) -> tuple[tuple[Driven, ...], ...]:
    """Loudspeakers in lots that can be compared, the loudest first in each lot."""
    lots: dict[tuple[int, str, str], list[Driven]] = {}
    for box in boxes:
        each = driven(box)
        if each is not None:
            lots.setdefault(each.like, []).append(each)
    return tuple(tuple(sorted(lot, key=lambda each: (-round(each.power_db, 9), each.box.key))) for lot in lots.values())
