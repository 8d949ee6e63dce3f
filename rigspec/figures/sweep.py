"""A run of loudspeakers over frequency: what each of them is as an impedance, and the run as a tree of loads."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from math import inf

from attrs import evolve, frozen

from rigspec.figures.load import TYPICAL, Box, Corner, loop_ohm
from rigspec.figures.trace import Run
from rigspec.language.words import SettingWord
from rigspec.rig.model import Facts, Measure, Piece, first, one
from rigspec.solve.impedance import Curve, Driver, curve_of, in_sealed_box
from rigspec.solve.tree import Joint
from rigspec.text.source import Span
from rigspec.text.units import FigureKind
from rigspec.text.value import Value


@frozen(eq=False, repr=False)
class Law(Value):
    """How the impedance of a loudspeaker runs over frequency: by a measured table or by its driver's parameters.

    ``lowest`` is the same with the low end of every tolerance, and without losses that nobody gave. A table has no
    phase; where both are given it counts, being a measurement. ``span`` is where it is said.
    """

    span: Span
    curve: Curve | None
    driver: Driver | None
    lowest: Curve | Driver
    assumes: tuple[str, ...]

    @property
    def what(self) -> str:
        return "curve" if self.curve is not None else "driver"

    @property
    def marks_hz(self) -> tuple[float, ...]:
        """The frequencies that must not be missed: the points of the table; peaks, dips and flanks of the driver."""
        if self.curve is not None:
            return self.curve.hertz
        assert self.driver is not None
        return self.driver.marks_hz

    def covers(self, hz: float) -> bool:
        return self.curve is None or self.curve.covers(hz)

    def ohm(self, hz: float) -> complex:
        """The impedance where it is covered; a real figure, |Z|, where only a table is given."""
        used = self.curve if self.curve is not None else self.driver
        assert used is not None
        return used.impedance_ohm(hz)

    def lowest_ohm(self, hz: float) -> complex:
        return self.lowest.impedance_ohm(hz)


@frozen(eq=False, repr=False)
class DriverData(Value):
    """What the `driver` of a loudspeaker says: a driver, with what was assumed for it, or what it lacks.

    ``lowest`` has the low end of the coil's tolerance, and no losses in a vented box whose losses are not given.
    """

    driver: Driver | None
    lowest: Driver | None
    assumes: tuple[str, ...]
    lacks: tuple[str, ...]


USUAL_BOX_Q = 7.0
"""The Q of ordinary vented boxes with their leakage (R. H. Small, JAES 1973, from memory)."""

NEEDED: tuple[SettingWord, ...] = ("dc-resistance", "resonance", "mechanical-q", "electrical-q")
_KIND: dict[SettingWord, FigureKind] = {
    "dc-resistance": "resistance",
    "resonance": "frequency",
    "mechanical-q": "number",
    "electrical-q": "number",
}


def facts_of(box: Box) -> Facts:
    """What is said of a loudspeaker, or of the way of it that this box is."""
    return box.gear.way(box.way)


def law_of(box: Box) -> Law | None:
    """How a loudspeaker's impedance runs over frequency; None where only its rated figure is known.

    A box behind a line transformer has only its tap: its curve is that of the box without the transformer.
    """
    if box.tapped:
        return None
    facts = facts_of(box)
    curve = facts.get("curve")
    points = [(e.get("frequency"), e.get("resistance")) for e in curve.entries] if curve is not None else []
    both = [(hz, ohm) for hz, ohm in points if hz is not None and ohm is not None and hz.value > 0 and ohm.low > 0]
    if curve is not None and both:
        typical = curve_of([(hz.value, ohm.value) for hz, ohm in both])
        lowest = curve_of([(hz.value, ohm.low) for hz, ohm in both])
        return Law(curve.span, typical, None, lowest, (PHASE_UNKNOWN,))
    given = facts.get("driver")
    data = driver_of(given.inner or {}) if given is not None else None
    if given is None or data is None or data.driver is None or data.lowest is None:
        return None
    return Law(given.span, None, data.driver, data.lowest, data.assumes)


PHASE_UNKNOWN = (
    "the phase of a measured |Z| is not known: it is taken as resistive, which side by side gives the least load and"
    " behind a lead the greatest loss"
)


def driver_of(facts: Facts) -> DriverData:
    """The driver that the settings of a `driver` describe, in its box.

    Without a box, or in a sealed one without a frequency, resonance and both Q are taken as those in the box. With
    `box sealed F` they are those in free air, and F is the resonance in the box. With `box vented F` they are those
    without the vent, and F is the tuning.
    """
    measures = {word: one(facts, word, kind) for word, kind in _KIND.items()}
    lacks: list[str] = [word for word in NEEDED if (m := measures[word]) is None or m.low <= 0]
    box, tuning = first(facts, "box"), one(facts, "box", "frequency")
    words = box.words if box else ()
    if "vented" in words and tuning is None:
        lacks.append("the tuning of its vented box")
    if lacks:
        return DriverData(None, None, (), tuple(lacks))
    assumes: list[str] = []
    coil = one(facts, "coil-inductance", "inductance")
    if coil is None:
        assumes.append("no coil-inductance is given: far above the resonance nothing but the coil's resistance counts")
    made = Driver(
        _value(measures["dc-resistance"]),
        coil.value if coil is not None else 0.0,
        _value(measures["resonance"]),
        _value(measures["mechanical-q"]),
        _value(measures["electrical-q"]),
    )
    if tuning is None:
        assumes.append("resonance and Q of the driver are taken as those in its box")
    elif "vented" in words:
        made = _vented(made, facts, tuning.value, assumes)
    else:
        made = in_sealed_box(made, tuning.value)
    resistance = measures["dc-resistance"]
    assert resistance is not None
    lossless = tuning is not None and "vented" in words and one(facts, "box-q", "number") is None
    lowest = evolve(made, coil_ohm=resistance.low, box_q=inf if lossless else made.box_q)
    return DriverData(made, lowest, tuple(assumes), ())


def _value(measure: Measure | None) -> float:
    assert measure is not None  # what is lacking has been told before
    return measure.value


def _vented(driver: Driver, facts: Facts, vent_hz: float, assumes: list[str]) -> Driver:
    ratio, box_q = one(facts, "compliance-ratio", "number"), one(facts, "box-q", "number")
    if ratio is None or ratio.value <= 0:
        assumes.append("no compliance-ratio is given: 1 stands for it, which decides where the two peaks lie")
    if box_q is None or box_q.value <= 0:
        assumes.append(
            f"no box-q is given: {USUAL_BOX_Q:g}, a usual figure, stands for it (R. H. Small, JAES 1973, from memory),"
            " and a box without losses where the least counts"
        )
    return evolve(
        driver,
        vent_hz=vent_hz,
        compliance_ratio=ratio.value if ratio is not None and ratio.value > 0 else 1.0,
        box_q=box_q.value if box_q is not None and box_q.value > 0 else USUAL_BOX_Q,
    )


# ---- the run as a tree ----------------------------------------------------------------------------------------------


@frozen(eq=False, repr=False)
class RunTree(Value):
    """A run as a tree for `solve.tree`: ``at`` is the joint of each box, ``leads`` the joint behind each lead.

    Equal runs have the same ``shape``.
    """

    joints: tuple[Joint, ...]
    at: tuple[int, ...]
    leads: tuple[tuple[Piece, int], ...]

    @property
    def shape(self) -> Hashable:
        return tuple((each.parent, each.loop_ohm, each.series, each.loads) for each in self.joints)


def tree_of(run: Run, boxes: Sequence[Box], case: Corner = TYPICAL, *, copper: bool = True) -> RunTree:
    """The joints of a run that matter: the output, what lies behind each lead, and each branch of a loop in series."""
    loop_of = {start: number for number, split in enumerate(run.splits) for start in split.branches}
    number_of: dict[int, int] = {}
    made: list[tuple[int, float, int]] = []
    leads: list[tuple[Piece, int]] = []
    for joint in run.conductors:  # in the order in which they were reached: each behind its parent
        piece = run.parent.get(joint) if number_of else None
        if piece is None:
            number_of[joint] = len(made)
            made.append((-1, 0.0, -1))
            continue
        above = number_of[piece.a]
        is_lead = piece.what == "lead" and piece.spec is not None
        if not is_lead and joint not in loop_of:
            number_of[joint] = above
            continue
        number_of[joint] = len(made)
        ohm = 0.0
        if is_lead and piece.spec is not None:
            leads.append((piece, len(made)))
            ohm = loop_ohm(piece.spec, case) if copper else 0.0
        made.append((above, ohm, loop_of.get(joint, -1)))
    at = tuple(number_of[box.arrival.sink.joint] for box in boxes)
    loads: list[list[int]] = [[] for _ in made]
    for load, number in enumerate(at):
        loads[number].append(load)
    joints = [Joint(*each, tuple(here)) for each, here in zip(made, loads, strict=True)]
    return RunTree(tuple(joints), at, tuple(leads))
