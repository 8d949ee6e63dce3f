"""How alike the loudspeakers of a group are driven: the level of each against the others of its kind."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from attrs import frozen

from rigspec.figures.values import BoxFigures, Ground
from rigspec.memory import remembered
from rigspec.rig import Roster
from rigspec.signal import Part
from rigspec.solve.decibel import gain_to_ratio, power_ratio_to_gain
from rigspec.value import Value


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


@remembered
def driven(box: BoxFigures) -> Driven | None:
    """How a loudspeaker is driven; None where nothing is left of its signal."""
    at_output = _mean_square(box.parts)
    ohm = box.box.impedance_ohm
    volt_squared = (1.0 if at_output is None else at_output) * box.share_volt**2
    if not ohm or not volt_squared:
        return None
    return Driven(box, power_ratio_to_gain(volt_squared / ohm), at_output is not None)


def _mean_square(parts: Iterable[Part]) -> float | None:
    """The square of the voltage at an output, with all feeds at one level: shares of one feed add by voltage."""
    volts: dict[str, float] = {}
    for part in parts:
        if part.gain_db is None:
            return None
        sign = -1.0 if part.inverted else 1.0
        volts[part.feed] = volts.get(part.feed, 0.0) + sign * gain_to_ratio(part.gain_db)
    return sum(volt * volt for volt in volts.values()) if volts else None


def by_thing(ground: Ground) -> dict[str, list[BoxFigures]]:
    """The loudspeakers, or their ways, by every name that a list may have for them."""
    found: dict[str, list[BoxFigures]] = {}
    for box in ground.boxes.values():
        for name in {box.key, box.box.gear.full}:
            found.setdefault(name, []).append(box)
    return found


def alike(boxes: Mapping[str, list[BoxFigures]], names: Iterable[str]) -> list[list[Driven]]:
    """Of loudspeakers by name, those of these names in lots that can be compared, the loudest first in each lot."""
    lots: dict[tuple[int, str, str], list[Driven]] = {}
    for name in dict.fromkeys(names):
        for box in boxes.get(name, ()):
            each = driven(box)
            if each is not None:
                lots.setdefault(each.like, []).append(each)
    return [sorted(lot, key=lambda each: (-round(each.power_db, 9), each.box.key)) for lot in lots.values()]


def members(roster: Roster) -> list[str]:
    """The names of a group's loudspeakers, as they are looked up."""
    return [part.key for part in roster.parts]
