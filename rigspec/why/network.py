"""Working of loads and voltages: a run of leads and loudspeakers taken apart from its far ends to the amplifier.

The figures come from the network solver. Here the same network is told as an engineer would reckon it, by series and
parallel; that both agree is tested.
"""

from __future__ import annotations

from functools import cached_property

from attrs import evolve

from rigspec.figures import ChannelFigures, Figures
from rigspec.figures.load import Box, conductor, loop_ohm, tap_volt
from rigspec.figures.trace import Run
from rigspec.rig.model import LeadSpec, Piece, one
from rigspec.solve.conductor import COPPER_PER_KELVIN, ZERO_C_KELVIN
from rigspec.text.value import gathered
from rigspec.why.working import Step, given, numbered, taken

CIRCUIT = "circuit theory"
WARM = f"r20 * (1 + {COPPER_PER_KELVIN} * (T - {ZERO_C_KELVIN + 20}))"


class Reckoning:
    """The steps of one channel's run; each is made once, so that trees share what they have in common."""

    def __init__(self, figures: Figures, channel: ChannelFigures) -> None:
        self.figures = figures
        self.channel = channel
        self.run: Run = figures.trace.runs[channel.key]
        self._behind: dict[int, Step | None] = {}
        self._leads: dict[Piece, Step] = {}
        self._leaving = gathered(self.run.pieces, lambda piece: piece.a)
        self._hung = gathered((box.box for box in channel.boxes), lambda box: box.arrival.sink.joint)
        self._splits = gathered(self.run.splits, lambda split: split.joint)

    @cached_property
    def load(self) -> Step:
        """The load of the channel, as the figures have it."""
        found = self.behind(self.run.output.joint)
        assert found is not None  # a channel with figures has a load
        return Step(
            f"load of {self.channel.key}",
            self.channel.load_ohm,
            "resistance",
            "Z",
            found.formula or found.symbol,
            found.method,
            found.authority or CIRCUIT,
            rests_on=found.rests_on or (found,),
        )

    def behind(self, joint: int) -> Step | None:
        """What is seen at a joint, looking away from the amplifier; None where nothing closes the circuit."""
        if not self._behind:  # far ends first, so that a long line goes no deeper than one box
            for piece in reversed(self.run.pieces):
                self._look_behind(piece.b)
        return self._look_behind(joint)

    def _look_behind(self, joint: int) -> Step | None:
        if joint not in self._behind:
            self._behind[joint] = self._made(joint)
        return self._behind[joint]

    def _made(self, joint: int) -> Step | None:
        beside = [self.impedance(box) for box in self._hung.get(joint, ())]
        beside += [self._in_series(split.branches) for split in self._splits.get(joint, ())]
        for piece in self._leaving.get(joint, ()):
            further = self._look_behind(piece.b)
            if further is not None:
                beside.append(self._through(piece, further) if piece.what == "lead" else further)
        if not beside:
            return None
        if len(beside) == 1:
            return beside[0]
        parts = numbered(beside, "Z")
        formula = "1 / (" + " + ".join(f"1/{part.symbol}" for part in parts) + ")"
        ohm = 1 / sum(1 / _ohm(part) for part in parts)
        return Step("in parallel", ohm, "resistance", "Z", formula, "", CIRCUIT, rests_on=parts)

    def _in_series(self, branches: tuple[int, ...]) -> Step:
        found = [self._look_behind(start) for start in branches]
        parts = numbered([part for part in found if part is not None], "Z")
        formula = " + ".join(part.symbol for part in parts)
        ohm = sum(_ohm(part) for part in parts)
        return Step("in series", ohm, "resistance", "Z", formula, "", CIRCUIT, rests_on=parts)

    def _through(self, piece: Piece, further: Step) -> Step:
        lead = self.lead(piece)
        parts = (lead.called("R"), further.called("Z"))
        name = f"behind {piece.name or 'the lead'} of line {piece.span.line}"
        return Step(name, _ohm(lead) + _ohm(further), "resistance", "Z", "R + Z", "", CIRCUIT, rests_on=parts)

    def share(self, box: Box) -> Step:
        """The voltage at a box for one volt at the amplifier, as the figures have it."""
        joint = box.arrival.sink.joint
        factors: list[Step] = []
        while joint in self.run.parent:
            piece = self.run.parent[joint]
            factor = self._factor(piece)
            if factor is not None:
                factors.append(factor)
            joint = piece.a
        value = self.figures.boxes[box.key].share_volt
        name = f"voltage at {box.key} for 1 V at {self.channel.key}"
        if not factors:
            return taken(name, value, "number", "", "k", CIRCUIT)
        if len(factors) == 1:
            return evolve(factors[0], name=name, value=value, symbol="k")
        parts = numbered(factors[::-1], "k")
        formula = " * ".join(part.symbol for part in parts)
        return Step(name, value, "number", "k", formula, "", CIRCUIT, rests_on=parts)

    def _factor(self, piece: Piece) -> Step | None:
        """What a piece leaves of the voltage before it; None where it leaves all."""
        further = self.behind(piece.b)
        if further is None:
            return None
        if piece.what == "lead":
            lead = self.lead(piece)
            value = _ohm(further) / (_ohm(lead) + _ohm(further))
            parts = (further.called("Z"), lead.called("R"))
            name = f"left behind {piece.name or 'the lead'} of line {piece.span.line}"
            return Step(
                name, value, "number", "k", "Z / (R + Z)", "", "circuit theory: voltage divider", rests_on=parts
            )
        branches = next((each.branches for each in self._splits.get(piece.a, ()) if piece.b in each.branches), None)
        if branches is not None:
            whole = self._in_series(branches)
            value = _ohm(further) / _ohm(whole)
            parts = (further.called("Z1"), whole.called("Z"))
            return Step("share in series", value, "number", "k", "Z1 / Z", "", "circuit theory", rests_on=parts)
        return None

    def lead(self, piece: Piece) -> Step:
        """The resistance of a lead, there and back."""
        if piece not in self._leads:
            self._leads[piece] = lead_step(piece, self.figures)
        return self._leads[piece]

    def impedance(self, box: Box) -> Step:
        """The rated impedance of a loudspeaker, or the load of the tap that is set."""
        measure = box.impedance
        assert measure is not None  # a box with figures has a load
        assert box.impedance_ohm is not None
        if not box.tapped:
            return given(f"rated impedance of {box.key}", measure, "Z")
        volt = tap_volt(box.gear) or self.channel.gear.measure("line", "voltage")
        assert volt is not None  # without it the tap's load would not be known
        line = given("line voltage that the tap is said for", volt, "U")
        exact_volt = (box.impedance_ohm * measure.value) ** 0.5
        if abs(exact_volt / volt.value - 1) > 1e-9:
            method = "70.7 V stands for the square root of 5000, 70.71 V"
            name = "line voltage as it is exactly"
            line = Step(name, exact_volt, "voltage", "U", "", method, "common practice, no source", rests_on=(line,))
        parts = (line, given(f"tap of {box.key}", measure, "P"))
        authority = "the power a tap takes at its line's voltage"
        return Step(
            f"load of {box.key}", box.impedance_ohm, "resistance", "Z", "U^2 / P", "", authority, rests_on=parts
        )


def _ohm(step: Step) -> float:
    assert isinstance(step.value, float)
    return step.value


def lead_step(piece: Piece, figures: Figures) -> Step:
    """The resistance of a lead there and back, down to its size, its length and the table of its copper."""
    spec = piece.spec
    assert spec is not None  # only complete leads are wired
    assert spec.length is not None
    parts = (given("length, one way", spec.length, "l"), _per_m(spec, figures).called("r"))
    name = f"{piece.name or 'lead'} of line {piece.span.line}, there and back"
    ohm = loop_ohm(spec, figures.case)
    return Step(name, ohm, "resistance", "R", "2 * l * r", "", CIRCUIT, piece.span, rests_on=parts)


def cold_step(spec: LeadSpec) -> Step:
    """One conductor per metre at 20 degC, from the table of its size."""
    size = spec.area_mm2 or spec.awg
    assert size is not None  # the binder lets no lead without a size through
    cold = conductor(spec)
    said = cold.assumes if size.low == size.high else (*cold.assumes, "the middle of what the ends of the range have")
    return Step(
        "resistance of one conductor at 20 degC",
        cold.ohm_per_m,
        "resistance per length",
        "r20",
        method="what the table of its copper has for this size",
        authority=cold.source,
        assumed="; ".join(said),
        rests_on=(given("size of each conductor", size),),
    )


def _per_m(spec: LeadSpec, figures: Figures) -> Step:
    """One conductor per metre at its temperature."""
    warm_c = figures.case.copper_c
    measure = one(figures.rig.facts, "air", "temperature")
    why = f"copper at {warm_c:g} degC; warm copper has more"
    heat = given("copper, as warm as the air", measure, "T") if measure else _copper(warm_c, why)
    return Step(
        "resistance of one conductor",
        conductor(spec, figures.case).ohm_per_m,
        "resistance per length",
        "r",
        WARM,
        authority="IEC 60028: 0.393 % per kelvin",
        rests_on=(cold_step(spec), heat),
    )


def _copper(warm_c: float, why: str) -> Step:
    return taken("temperature of the copper", warm_c + ZERO_C_KELVIN, "temperature", why, "T")
