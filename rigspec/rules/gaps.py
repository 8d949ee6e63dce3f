"""A rule about holes: a band that nothing plays between two bands that are played."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from math import log2

from attrs import frozen

from rigspec.figures import Figures
from rigspec.figures.band import BoxBand
from rigspec.figures.crossovers import facing, taken_for_sums
from rigspec.figures.signal import Contribution, Passed
from rigspec.rig.model import Measure
from rigspec.rules.bounds import at_least, at_most
from rigspec.rules.corners import filter_words, hertz, moved
from rigspec.rules.crossovers import ASSUMED, DIP_DB, GAP_OCTAVES
from rigspec.rules.rule import Rule
from rigspec.solve.crossover import crossover_sum
from rigspec.text.finding import Finding, Label, Severity
from rigspec.text.source import Span
from rigspec.text.units import show
from rigspec.text.value import Value

OWN_GAP_OCTAVES = 0.5  # a box still plays a little beyond the ends of its own band (common practice, no source)
SAME_TIME_S = 1e-6
SLOPES_UNKNOWN = "what is left in between is not known, so only the corners count"


@frozen(eq=False, repr=False)
class _Edge(Value):
    """One end of what a loudspeaker plays of a feed, and what ends it: a filter, its own band, or nothing."""

    hz: float
    passed: Passed | None = None
    own: Measure | None = None

    @property
    def span(self) -> Span | None:
        given = self.passed or self.own
        return given.span if given else None

    @property
    def text(self) -> str:
        if self.passed is not None:
            return f"the {self.passed.word} of {self.passed.key}, {filter_words(self.passed)}"
        return f"its own band, {self.own.text}" if self.own is not None else ""


@frozen(eq=False, repr=False)
class _Player(Value):
    band: BoxBand
    part: Contribution
    low: _Edge
    high: _Edge


@frozen(eq=False, repr=False)
class _Hole(Value):
    """Between where one player ends and the next begins; ``dip_db`` is what is left in it, None where not known."""

    below: _Player
    above: _Player
    dip_db: float | None
    dip_hz: float


def band_gap(figures: Figures) -> Iterable[Finding]:
    """Between two bands that are played, inside a loudspeaker or on a feed, lies one that is not."""
    rig = figures.rig
    if rig.findings:
        return  # with faults in the text what fills the hole may only be unknown
    found: dict[tuple[Span | None, Span | None], _Hole] = {}
    holes = [hole for players in _by_loudspeaker(figures) for hole in _holes(players)]
    for feed, reached in figures.bands.of_feed.items():
        if feed not in figures.bands.doubtful:
            holes += _holes([_player(band, part) for band, part in reached])
    for hole in holes:
        found.setdefault((hole.below.high.span, hole.above.low.span), hole)
    open_feeds = _open_feeds(figures) if found else frozenset()
    yield from (_gap(hole) for hole in found.values() if hole.above.part.feed not in open_feeds)


def _by_loudspeaker(figures: Figures) -> Iterator[list[_Player]]:
    """The ways of each loudspeaker that is driven in several, where all are driven."""
    ways: dict[str, list[BoxBand]] = {}
    for band in figures.bands.boxes.values():
        if band.way and band.parts:
            ways.setdefault(band.gear.full, []).append(band)
    for bands in ways.values():
        feeds = {part.feed for band in bands for part in band.parts}
        if len(bands) == len(bands[0].gear.ways) and not figures.bands.doubtful & feeds:
            yield [_player(band, band.parts[0]) for band in bands]


def _open_feeds(figures: Figures) -> frozenset[str]:
    """Feeds of which a band ends at an output that nothing hangs on: that is told, and may be what fills the hole."""
    trace, signals = figures.trace, figures.signals
    idle = [run.output for run in trace.runs.values() if run.output.gear.word == "processor" and not run.arrivals]
    return frozenset(part.feed for output in idle for part in signals.at_output(output) if part.filters)


def _player(band: BoxBand, part: Contribution) -> _Player:
    """A loudspeaker with the innermost that bounds it; a filter before an own band that ends at the same place."""
    own, filters = band.own, part.filters
    low = max((each for each in filters if each.high_pass), key=lambda each: each.corner.value, default=None)
    high = min((each for each in filters if not each.high_pass), key=lambda each: each.corner.value, default=None)
    begins = _Edge(low.corner.value, low) if low else _Edge(0.0)
    ends = _Edge(high.corner.value, high) if high else _Edge(float("inf"))
    if own is not None and own.low > begins.hz:
        begins = _Edge(own.low, own=own)
    if own is not None and own.high < ends.hz:
        ends = _Edge(own.high, own=own)
    return _Player(band, part, begins, ends)


def _holes(players: Sequence[_Player]) -> Iterator[_Hole]:
    """What the union of the bands leaves out between the lowest and the highest."""
    open_to: _Player | None = None
    heard = [each for each in players if each.low.hz < each.high.hz]  # what is filtered away altogether is told
    for player in sorted(heard, key=lambda each: each.low.hz):
        if open_to is not None and player.low.hz > open_to.high.hz:
            hole = _hole(open_to, player)
            if hole is not None:
                yield hole
        if open_to is None or player.high.hz > open_to.high.hz:
            open_to = player


def _hole(below: _Player, above: _Player) -> _Hole | None:
    octaves = log2(above.low.hz / below.high.hz)
    middle_hz = (above.low.hz * below.high.hz) ** 0.5
    if below.high.passed is None or above.low.passed is None:
        return _Hole(below, above, None, middle_hz) if octaves > OWN_GAP_OCTAVES * 1.001 else None
    if octaves < GAP_OCTAVES * 0.999:
        return None
    lower, upper = facing(below.part.filters, False), facing(above.part.filters, True)
    if lower is None or upper is None or abs(below.part.delay_s - above.part.delay_s) > SAME_TIME_S:
        return _Hole(below, above, None, middle_hz)
    best = max((crossover_sum(lower, upper, turned) for turned in (False, True)), key=lambda summed: summed.dip_db)
    return _Hole(below, above, best.dip_db, best.dip_hz) if best.dip_db < -DIP_DB else None


def _gap(hole: _Hole) -> Finding:
    below, above = hole.below, hole.above
    ends, begins = hertz(below.high.hz), hertz(above.low.hz)
    octaves = log2(above.low.hz / below.high.hz)
    left = f"{octaves:.2f} octaves"
    if hole.dip_db is not None:
        left = f"{show(hole.dip_db, 'gain')} at {hertz(hole.dip_hz)}"
    span = above.low.span if above.low.passed is not None else above.band.span
    other = below.high.span if below.high.passed is not None else below.band.span
    assert span is not None
    assert other is not None
    told = (span, other)
    return Finding(
        "band-gap",
        span,
        f"nothing plays {ends} to {begins} in full: {below.band.key} ends there and {above.band.key} begins"
        f"{f', and {left} is left between them' if hole.dip_db is not None else ''}",
        label=f"{above.band.key} begins at {begins}: {above.low.text}",
        related=(
            Label(other, f"{below.band.key} ends at {ends}: {below.high.text}"),
            *(
                Label(each.band.span, f"{each.band.key} hangs here")
                for each in (above, below)
                if each.band.span not in told
            ),
        ),
        computed=left,
        allowed=_allowed(hole),
        assumes=(ASSUMED, *taken_for_sums(below.part.filters, above.part.filters))
        if hole.dip_db is not None
        else (SLOPES_UNKNOWN,),
        help=_closer(hole),
        subject=above.band.key,
    )


def _assumes(hole: _Hole) -> tuple[str, ...]:
    if hole.dip_db is None:
        return (SLOPES_UNKNOWN,)
    return (ASSUMED, *taken_for_sums(hole.below.part.filters, hole.above.part.filters))


def _allowed(hole: _Hole) -> str:
    if hole.dip_db is not None:
        return f"a dip of {show(DIP_DB, 'gain')}"
    return "1/3 octave" if hole.below.high.passed is not None and hole.above.low.passed is not None else "1/2 octave"


def _closer(hole: _Hole) -> str:
    """How near one corner has to come to the other, by halving: the dip only grows with the distance."""
    low_pass, high_pass = hole.below.high.passed, hole.above.low.passed
    if hole.dip_db is None or low_pass is None or high_pass is None:
        ends, begins = hertz(hole.below.high.hz), hertz(hole.above.low.hz)
        orders = [f"set the low-pass of {low_pass.key} near {begins}"] if low_pass else []
        orders += [f"set the high-pass of {high_pass.key} near {ends}"] if high_pass else []
        return " or ".join(orders) or f"hang a box on this feed that plays {ends} to {begins}"
    ends_hz, begins_hz = low_pass.corner.value, high_pass.corner.value
    lower, upper = facing(hole.below.part.filters, False) or (), facing(hole.above.part.filters, True) or ()
    near, far = 1.0, begins_hz / ends_hz
    for _ in range(30):
        ratio = (near * far) ** 0.5
        nearer = moved(upper, high_pass, ends_hz * ratio)
        dip_db = max(crossover_sum(lower, nearer, turned).dip_db for turned in (False, True))
        near, far = (ratio, far) if dip_db >= -DIP_DB else (near, ratio)
    lowest_hz, highest_hz = ends_hz * near, begins_hz / near
    orders = []
    # Where the loudspeaker itself ends before that, moving its filter does not fill the hole.
    begins_itself, ends_itself = hole.above.band.own, hole.below.band.own
    if begins_itself is None or _reaches(ends_hz, max(lowest_hz, begins_itself.low), lowest_hz):
        orders.append(f"set the high-pass of {high_pass.key} to {at_most(lowest_hz, 'frequency')} or lower")
    if ends_itself is None or _reaches(min(highest_hz, ends_itself.high), begins_hz, begins_hz / near):
        orders.append(f"set the low-pass of {low_pass.key} to {at_least(highest_hz, 'frequency')} or higher")
    return ", or ".join(orders) or f"hang a box on this feed that plays {hertz(ends_hz)} to {hertz(begins_hz)}"


def _reaches(ends_hz: float, begins_hz: float, wanted_hz: float) -> bool:
    """Is the end that remains the wanted one, or no further from the other than own bands may lie?"""
    return wanted_hz in (ends_hz, begins_hz) or log2(begins_hz / ends_hz) <= OWN_GAP_OCTAVES


_X = (
    "feed f {{ level -8 dBu; peak -4 dBu }}\nprocessor x is cross\namp a is twin\nspeaker h is two-way\nf -> x.a\n"
    "x.1 -> a.1 -> h.low\nx.2 -> a.2 -> h.high\n"
    "x.1 {{ from a; low-pass {} 24 dB/octave linkwitz-riley }}\n"
    "x.2 {{ from a; high-pass {} 24 dB/octave linkwitz-riley }}\n"
)

RULES = (
    Rule(
        name="band-gap",
        severity=Severity.WARNING,
        summary="between two bands that are played lies one that nothing plays",
        reason="what lies in the hole is missing: a voice without body, a bass without attack",
        limit="filters of neighbouring bands leave a dip of 3 dB at most, which is about a third of an octave between"
        " corners of 24 dB/octave; where slopes are not known, a third of an octave between filters, half an octave"
        " beyond a loudspeaker's own band",
        authority="filter theory; the 3 dB: common practice, no source",
        cure="bring the corners together, or put a box between",
        bad=_X.format("900 Hz", "1.4 kHz"),
        good=_X.format("1.2 kHz", "1.3 kHz"),
        check=band_gap,
    ),
)
