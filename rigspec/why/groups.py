"""Working of how much the loudspeakers of a group differ."""

from __future__ import annotations

from collections.abc import Iterable

from rigspec.figures import Figures
from rigspec.figures.groups import Driven, alike, named
from rigspec.why.derived import Derived
from rigspec.why.network import Reckoning
from rigspec.why.working import Step, taken


def difference(figures: Figures, key: str) -> Step | None:
    roster = next((each for each in figures.rig.rosters_of("group") if each.name == key), None)
    return None if roster is None else difference_step(figures, [part.key for part in roster.parts], key)


def difference_step(figures: Figures, names: Iterable[str], of: str) -> Step | None:
    """The most by which loudspeakers of one kind differ among these; None where no two can be compared."""
    lots = [lot for lot in alike(named(figures, names)) if len(lot) > 1]
    if not lots:
        return None
    lot = max(lots, key=lambda each: each[0].power_db - each[-1].power_db)
    parts = tuple(_one(figures, each, symbol) for each, symbol in ((lot[0], "L1"), (lot[-1], "L2")))
    value = lot[0].power_db - lot[-1].power_db
    authority = "levels of one kind of loudspeaker differ as their powers do (10 log, ITU-R V.574)"
    return Step(f"difference within {of}", value, "gain", "D", "L1 - L2", "", authority, rests_on=parts)


def _one(figures: Figures, each: Driven, symbol: str) -> Step:
    box = each.box
    reckoning = Reckoning(figures, figures.channels[box.channel])
    told = "with every feed at 0 dBu" if each.known else "for 1 V at its channel, whose gain is not known"
    gains = tuple(
        Step(f"gain from {part.feed} to {box.channel}", part.gain_db, "gain", method="every gain on the way added up")
        for part in box.parts
        if part.gain_db is not None
    )
    beside = tuple(
        gain if gain.rests_on else taken(gain.name, float(gain.value), "gain", "", "", "levels") for gain in gains
    )
    method = "gains of one feed add by voltage, different feeds by energy, then the share of the voltage that arrives"
    parts = (reckoning.share(box.box), reckoning.impedance(box.box), *beside)
    name = f"power into {box.key} in dB against 1 W, {told}"
    return Step(name, each.power_db, "gain", symbol, "", method, "circuit theory", rests_on=parts)


DERIVED = (Derived("difference", "a group", "how much loudspeakers of one kind in it differ in level", difference),)
