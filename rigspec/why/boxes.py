"""Working of what reaches a loudspeaker."""

from __future__ import annotations

from collections.abc import Callable

from rigspec.figures import BoxFigures, Figures
from rigspec.why.channels import source_impedance, voltage_step
from rigspec.why.derived import Derived
from rigspec.why.network import CIRCUIT, Reckoning
from rigspec.why.working import Step, numbered


def _reckoning(figures: Figures, box: BoxFigures) -> Reckoning:
    return Reckoning(figures, figures.channels[box.channel])


def power(figures: Figures, key: str) -> Step | None:
    box = figures.boxes.get(key)
    if box is None or box.rated_w is None:
        return None
    reckoning = _reckoning(figures, box)
    volt = voltage_step(figures, reckoning.channel, reckoning)
    parts = (volt, reckoning.share(box.box), reckoning.impedance(box.box))
    name = f"power into {key} with {box.channel} at its rated output"
    return Step(name, box.rated_w, "power", "P", "(U * k)^2 / Z", "", CIRCUIT, rests_on=parts)


def loss(figures: Figures, key: str) -> Step | None:
    box = figures.boxes.get(key)
    if box is None:
        return None
    reckoning = _reckoning(figures, box)
    share = reckoning.share(box.box)
    name, authority = f"loss of the leads to {key}", "20 log of a ratio of voltages (ITU-R V.574)"
    if reckoning.run.splits:
        method = "the voltage here against that of the same network without the copper"
        return Step(name, box.loss_db, "gain", "L_dB", "", method, authority, rests_on=(share,))
    return Step(name, box.loss_db, "gain", "L_dB", "max(0, 20 * log10(1 / k))", "", authority, rests_on=(share,))


def damping(figures: Figures, key: str) -> Step | None:
    box = figures.boxes.get(key)
    if box is None or box.damping is None:
        return None
    reckoning = _reckoning(figures, box)
    source = source_impedance(figures, box.channel)
    assert source is not None  # a damping factor at the box rests on it
    leads = numbered([reckoning.lead(piece) for piece in reckoning.run.leads_to(box.box.arrival.sink.joint)], "R")
    formula = f"Z / ({' + '.join(['R_s', *(lead.symbol for lead in leads)])})"
    parts = (reckoning.impedance(box.box).called("Z"), source, *leads)
    authority = "IEC 60268-3, from memory, with the leads counted to the source"
    return Step(f"damping factor at {key}", box.damping, "number", "D", formula, "", authority, rests_on=parts)


def polarity(figures: Figures, key: str) -> Step | None:
    box = figures.boxes.get(key)
    if box is None:
        return None
    said = _way(box)
    if said is None:
        return None
    turns = (*(box.parts[0].turns if box.parts else ()), *box.own_turns)
    steps = tuple(Step(turn.text, "one inversion", "", span=turn.span) for turn in turns)
    method = (
        f"{len(turns)} inversion{'' if len(turns) == 1 else 's'} of plus and minus on the way: an even number leaves it"
    )
    return Step(f"polarity of {key}", said, "", "", "", method, CIRCUIT, rests_on=steps)


def _way(box: BoxFigures) -> str | None:
    """Which way it pushes for a positive pulse at its feeds; None where they differ, or what feeds it is in doubt."""
    if box.in_doubt and not box.parts:
        return None
    ways = {(len(part.turns) + len(box.own_turns)) % 2 for part in box.parts} or {len(box.own_turns) % 2}
    if len(ways) != 1:
        return None
    return "inverted" if ways.pop() else "normal"


def rated_impedance(figures: Figures, key: str) -> Step | None:
    box = figures.boxes.get(key)
    return None if box is None else _reckoning(figures, box).impedance(box.box)


def _of(figures: Figures, key: str, figure: Callable[[BoxFigures], float | str | None]) -> float | str | None:
    box = figures.boxes.get(key)
    return None if box is None else figure(box)


BOX = "a loudspeaker or a way of one"
DERIVED = (
    Derived(
        "power",
        BOX,
        "what it gets with the amplifier at its rated output",
        power,
        lambda f, key: _of(f, key, lambda box: box.rated_w),
    ),
    Derived("loss", BOX, "what the leads to it cost", loss, lambda f, key: _of(f, key, lambda box: box.loss_db)),
    Derived(
        "damping",
        BOX,
        "the damping factor at its terminals",
        damping,
        lambda f, key: _of(f, key, lambda box: box.damping),
    ),
    Derived(
        "polarity",
        BOX,
        "normal or inverted, with every inversion on the way",
        polarity,
        lambda f, key: _of(f, key, _way),
    ),
    Derived("impedance", BOX, "its rated impedance, or the load of its tap", rated_impedance),
)
