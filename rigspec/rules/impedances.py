"""Rules about impedance as it is: loudspeakers that fall below what they are rated at, and channels that do."""

from __future__ import annotations

from cmath import phase
from collections.abc import Iterable, Iterator, Sequence
from math import degrees, floor

from attrs import frozen

from rigspec.figures import BoxFigures, ChannelFigures, Figures, judged
from rigspec.figures.spectrum import BoxSpectrum, Extreme, own_band
from rigspec.figures.sweep import Law
from rigspec.rig.model import Measure
from rigspec.rules.curves import example_curve, kinds, named_kind, place
from rigspec.rules.loads import suited
from rigspec.rules.places import declared
from rigspec.rules.rule import Rule
from rigspec.solve.impedance import LEAST_OF_RATED, STEPS_PER_OCTAVE, grid_hz
from rigspec.text.finding import Finding, Label, Severity
from rigspec.text.source import Span
from rigspec.text.units import show, show_pair
from rigspec.text.value import Value

_PRECISION = 0.9999  # 6.4 ohm are 80 % of 8 ohm
# A driver's parameters leave out the losses of its iron, which raise the least |Z| by a tenth or more (common practice,
# no source): of one without a curve nothing is said until it falls this much further.
_IDEAL_COIL = 0.85


def impedance_below_rated(figures: Figures) -> Iterable[Finding]:
    """The impedance of a loudspeaker falls below 80 % of its rated one in the band it is made for."""
    low = list(_low_channels(figures))
    for box, spectrum, law in kinds(figures):
        least = _claims_too_much(box, spectrum, law)
        if least is None:
            continue
        rated = box.box.impedance
        assert rated is not None  # of a box without one nothing is known
        sure = abs(law.ohm(least.hz)) < _floor_share(law) * rated.value
        hit = [each for each in low if any(_same_law(figures, other, law) for other in each.channel.boxes)]
        yield _below_rated(box, law, rated, least, not sure, hit)


def _floor_share(law: Law) -> float:
    """The least |Z| over the rated impedance, below which it is spoken of."""
    return LEAST_OF_RATED * (_PRECISION if law.curve is not None else _IDEAL_COIL)


def _same_law(figures: Figures, box: BoxFigures, law: Law) -> bool:
    spectrum = figures.spectrum.boxes.get(box.key)
    return spectrum is not None and spectrum.law is law


def _claims_too_much(box: BoxFigures, spectrum: BoxSpectrum, law: Law) -> Extreme | None:
    """The least |Z| of a loudspeaker in the band it is made for, where that is below 80 % of its rated impedance."""
    rated, own = box.box.impedance, own_band(box.box)
    if rated is None:
        return None
    band = (own.low, own.high) if own is not None else (spectrum.low_hz, spectrum.high_hz)
    steps = 0 if law.curve is not None else STEPS_PER_OCTAVE
    hertz = [hz for hz in grid_hz(*band, law.marks_hz, steps) if law.covers(hz)]
    ohm = law.lowest_ohm if law.curve is not None else law.ohm
    least = min(((abs(ohm(hz)), hz) for hz in hertz), default=None)
    return Extreme(*least) if least is not None and least[0] < _floor_share(law) * rated.value else None


def _below_rated(
    box: BoxFigures, law: Law, rated: Measure, least: Extreme, possible: bool, hit: Sequence[_Low]
) -> Finding:
    computed, allowed = show_pair(least.value, LEAST_OF_RATED * rated.value, "resistance")
    at, named = show(least.hz, "frequency"), named_kind(box)
    by = "measured" if law.curve is not None else "by its driver's parameters"
    falls = "may fall" if possible else "falls"
    return Finding(
        "impedance-below-rated",
        place(box, law, least.hz),
        f"{named} {falls} to {computed} at {at}, less than 80 % of its rated {rated.text}",
        label=f"{computed} at {at}",
        related=(
            Label(rated.span, f"rated here: {rated.text}"),
            *declared([box]),
            *(Label(each.channel.output.span, f"{each.text}, less than 80 % of what it stands") for each in hit[:3]),
        ),
        computed=f"{computed} at {at}, {by}: {least.value / rated.value:.0%} of its rated impedance",
        allowed=f"at least {allowed}",
        assumes=law.assumes,
        help=f"call it rated at {_down(least.value / LEAST_OF_RATED)} or less (its least over 0.8), or put the"
        f" {law.what} right",
        subject=box.box.gear.full,
        possible=possible,
    )


def _down(ohm: float) -> str:
    """A boundary in ohms that is still kept when it is written as it is shown."""
    return f"{floor(ohm * 100) / 100:g} ohm"


@frozen(eq=False, repr=False)
class _Low(Value):
    """A channel, or each half of a bridged pair, that falls below 80 % of the least load it stands."""

    channel: ChannelFigures
    limit: Measure
    least: Extreme

    @property
    def text(self) -> str:
        who = f"each half of {self.channel.key}" if self.channel.halves else self.channel.key
        return f"{who} falls to {show(self.least.value, 'resistance')} at {show(self.least.hz, 'frequency')}"


def _low_channels(figures: Figures) -> Iterator[_Low]:
    """Channels that fall too low by curve or driver, and not by their rated impedances already."""
    for channel in suited(figures):
        spectrum, limit = figures.spectrum.channels.get(channel.key), channel.limit
        if spectrum is None or limit is None or _too_low_as_rated(channel, limit):
            continue
        drivers = any(box.law is not None and box.law.curve is None for box in spectrum.boxes)
        least = spectrum.usual if drivers else spectrum.least
        halves = [_half_ohm(figures, channel, half, least.value) for half, _ in channel.halves]
        ohm = min(halves, default=least.value)
        if ohm < LEAST_OF_RATED * judged(limit) * (_IDEAL_COIL if drivers else 1.0):
            yield _Low(channel, limit, Extreme(ohm, least.hz))


def _too_low_as_rated(channel: ChannelFigures, limit: Measure) -> bool:
    """Is the load too low by rated impedances already, which another rule says?"""
    seen = min((ohm for _, ohm in channel.least_halves), default=channel.least_seen_ohm)
    pair = channel.bridge_limit
    return seen < judged(limit) or (pair is not None and channel.least_seen_ohm < judged(pair))


def _half_ohm(figures: Figures, channel: ChannelFigures, half: str, across_ohm: float) -> float:
    """What a half of a bridged pair sees at the least: half of that across, beside what hangs on it alone."""
    alone = figures.channels.get(f"{channel.gear.full}.{half}")
    return 1 / (2 / across_ohm + (1 / alone.load_ohm if alone is not None else 0.0))


def least_load_low(figures: Figures) -> Iterable[Finding]:
    """A channel falls below 80 % of the least load its amplifier stands, though every loudspeaker keeps its own.

    Where one of them does not, that is the cause, and `impedance-below-rated` names the channel too.
    """
    faulty = {law.span for box, spectrum, law in kinds(figures) if _claims_too_much(box, spectrum, law) is not None}
    for low in _low_channels(figures):
        laws = [figures.spectrum.boxes[box.key].law for box in low.channel.boxes if box.key in figures.spectrum.boxes]
        if not any(law is not None and law.span in faulty for law in laws):
            yield _falls_low(figures, low)


def _falls_low(figures: Figures, low: _Low) -> Finding:
    floor_ohm = LEAST_OF_RATED * low.limit.value
    computed, allowed = show_pair(low.least.value, floor_ohm, "resistance")
    at = show(low.least.hz, "frequency")
    who = f"each half of {low.channel.key}" if low.channel.halves else low.channel.key
    return Finding(
        "least-load-low",
        low.channel.output.span,
        f"{who} falls to {computed} at {at}, less than 80 % of the {low.limit.text} it stands",
        label=f"{computed} at {at}",
        related=(
            *_there(figures, low),
            Label(low.limit.span, f"the least load it stands: {low.limit.text}, for rated impedances"),
        ),
        computed=f"{computed} at {at}, {1 - low.least.value / floor_ohm:.0%} below",
        allowed=f"at least {allowed}",
        assumes=figures.spectrum.channels[low.channel.key].assumes,
        help="hang only like boxes in series, whose impedances do not cancel; or use an amplifier that stands"
        f" {_down(low.least.value / LEAST_OF_RATED)} (the least over 0.8); or move boxes elsewhere",
        subject=low.channel.key,
    )


def _there(figures: Figures, low: _Low) -> list[Label]:
    """The first box of each kind on a channel, with its impedance at the frequency of the least load."""
    labels: dict[Span, Label] = {}
    for box in low.channel.boxes:
        spectrum = figures.spectrum.boxes.get(box.key)
        law = None if spectrum is None else spectrum.law
        if law is not None and law.covers(low.least.hz) and law.span not in labels:
            ohm = complex(law.ohm(low.least.hz))
            turned = f" at {degrees(phase(ohm)):+.0f} deg" if law.curve is None else ""
            said = f"{box.key} has {show(abs(ohm), 'resistance')}{turned} there"
            labels[law.span] = Label(box.box.arrival.sink.span, said)
    return list(labels.values())[:4]


def _unlike(kind: str) -> str:
    """Two pairs in series: a small box with one of another kind."""
    driver = "dc-resistance 2.2 ohm; mechanical-q 8; electrical-q 0.3; resonance"
    stock = "".join(
        f"stock speaker {name} {{\n  impedance 4 ohm\n  rated 200 W continuous\n  band 70 Hz to 110 Hz\n"
        f"  driver {{ {driver} {hz} Hz }}\n}}\n"
        for name, hz in (("small", 180), ("deep", 40))
    )
    return (
        f"{stock}amp a is twin\nspare a.2\nspeaker s[1..2] is small\nspeaker t[1..2] is {kind}\n"
        "a.1 -> lead 4 mm2 1 m -> parallel(series(s[1], t[1]), series(s[2], t[2]))\n"
    )


RULES = (
    Rule(
        name="impedance-below-rated",
        severity=Severity.WARNING,
        summary="a loudspeaker falls below 80 % of its rated impedance",
        reason="every load that is reckoned with its rated figure comes out too high, and the amplifier sees less",
        limit="80 % of the rated impedance, in the band it is made for",
        authority="IEC 60268-5, clause 16 from memory: the least impedance in the rated band is at least 80 % of the"
        " rated one",
        cure="rate it lower in the stock",
        bad=example_curve("9 ohm at 60 Hz, 30 ohm at 90 Hz, 5.8 ohm at 250 Hz, 12 ohm at 18 kHz"),
        good=example_curve("9 ohm at 60 Hz, 30 ohm at 90 Hz, 6.5 ohm at 250 Hz, 12 ohm at 18 kHz"),
        check=impedance_below_rated,
    ),
    Rule(
        name="least-load-low",
        severity=Severity.ADVICE,
        summary="a channel falls below what its amplifier is made for at some frequency",
        reason="there it has to give more current than its ratings promise, and may cut out when it plays loud",
        limit="80 % of the least load the amplifier stands, as a load of that rated impedance may fall to",
        authority="IEC 60268-5 for the 80 %, clause 16 from memory; the amplifier's data sheet for its least load",
        cure="move boxes to another channel, or use an amplifier with a lower least load",
        bad=_unlike("deep"),
        good=_unlike("small"),
        check=least_load_low,
    ),
)
