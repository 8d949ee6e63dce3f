"""Rules about loudspeakers driven in several ways: each way gets its own band, by the right pair of its lead."""

from __future__ import annotations

from collections.abc import Iterable

from rigspec.figures import BoxFigures, Figures
from rigspec.finding import Edit, Finding, Fix, Label, Severity
from rigspec.rig import Gear, Measure, one
from rigspec.rules.places import filters
from rigspec.rules.rule import Rule
from rigspec.units import show

OCTAVE = 2.0  # how far below its own band a way may be driven (common practice, no source)
AUDIBLE_HZ = 20.0, 20_000.0


def pairs_swapped(figures: Figures) -> Iterable[Finding]:
    """The low way of a loudspeaker gets the higher band, or pairs 1 and 2 of its lead go to the wrong ways."""
    for gear in figures.rig.gear.values():
        swap = _swap(figures, gear)
        if swap is not None:
            yield _swapped(figures, gear, *swap)


def _swap(figures: Figures, gear: Gear) -> tuple[BoxFigures, BoxFigures, str, bool] | None:
    """The low and the high way of a box that are swapped, how that is seen, and whether by their bands."""
    if gear.word != "speaker" or "high" not in gear.ways or gear.broken:
        return None
    low, high = figures.boxes.get(f"{gear.full}.low"), figures.boxes.get(f"{gear.full}.high")
    if low is None or high is None:
        return None
    centers = _center(low), _center(high)
    if centers[0] is not None and centers[1] is not None:
        # The bands are known: they decide, whichever pairs carry them.
        if centers[0] <= centers[1]:
            return None
        return low, high, f"its low way gets {_band(low)}, its high way {_band(high)}", True
    pairs = [_pair_before(figures, box) for box in (low, high)]
    if pairs[0] and pairs[1] and pairs[0][0] is pairs[1][0] and (pairs[0][1], pairs[1][1]) == ("2", "1"):
        return low, high, f"pair 2 of {pairs[0][0].full} goes to its low way and pair 1 to its high way", False
    return None


def _bounds(box: BoxFigures) -> tuple[float | None, float | None]:
    """The band in which a way is driven; None at an end where nothing bounds it."""
    lows, highs = [part.low_hz for part in box.parts], [part.high_hz for part in box.parts]
    low = None if None in lows else min((hz for hz in lows if hz is not None), default=None)
    high = None if None in highs else max((hz for hz in highs if hz is not None), default=None)
    return low, high


def _center(box: BoxFigures) -> float | None:
    low, high = _bounds(box)
    if low is None and high is None:
        return None
    return float(((low or AUDIBLE_HZ[0]) * (high or AUDIBLE_HZ[1])) ** 0.5)


def _band(box: BoxFigures) -> str:
    low, high = _bounds(box)
    if low is None:
        return "everything" if high is None else f"what is below {show(high, 'frequency')}"
    if high is None:
        return f"what is above {show(low, 'frequency')}"
    return f"{show(low, 'frequency')} to {show(high, 'frequency')}"


def _pair_before(figures: Figures, box: BoxFigures) -> tuple[Gear, str] | None:
    """The two-pair lead, and its pair, by which a way is reached."""
    leads = figures.trace.runs[box.channel].leads_to(box.box.arrival.sink.joint)
    for piece in reversed(leads):
        if piece.gear is not None and piece.gear.count("pairs", 1) == 2:
            return piece.gear, piece.name.rpartition(".")[2]
    return None


def _swapped(figures: Figures, gear: Gear, low: BoxFigures, high: BoxFigures, what: str, by_band: bool) -> Finding:
    ports = [box.box.arrival.sink.span for box in (low, high)]
    fix = None
    if ports[0].text.count(".low") == 1 and ports[1].text.count(".high") == 1:
        edits = (
            Edit(ports[0], ports[0].text.replace(".low", ".high")),
            Edit(ports[1], ports[1].text.replace(".high", ".low")),
        )
        fix = Fix("swap `.low` and `.high`", edits)
    made = [label for box in (low, high) for label in filters(figures, box.channel, box.key)] if by_band else []
    return Finding(
        "pairs-swapped",
        ports[1],
        f"the low and high pairs of {gear.full} are swapped: {what}",
        label="bass would reach the high-frequency driver",
        related=(Label(ports[0], "and the other way here"), *dict.fromkeys(made)),
        help="swap the two ways, or the two crossover outputs, so that the low way gets the low band",
        fix=fix,
        subject=gear.full,
    )


def below_band(figures: Figures) -> Iterable[Finding]:
    """A mid or high way is driven more than an octave below its own band."""
    swapped: dict[str, bool] = {}
    for box in figures.boxes.values():
        gear, way = box.box.gear, box.box.way
        own = one(gear.way(way), "band", "frequency") if way in ("mid", "high") else None
        if own is None or own.low <= 0 or not box.parts:
            continue
        low, _ = _bounds(box)
        if low is not None and low * OCTAVE >= own.low * 0.999:
            continue
        if gear.full not in swapped:
            swapped[gear.full] = _swap(figures, gear) is not None
        if not swapped[gear.full]:
            yield _below(figures, box, own, low)


def _below(figures: Figures, box: BoxFigures, own: Measure, low: float | None) -> Finding:
    bound = "no high-pass on its way" if low is None else f"driven from {show(low, 'frequency')} upward"
    begins = show(own.low, "frequency")
    assumes = ("where a feed has no `band` and no high-pass stands on the way, everything comes through",)
    return Finding(
        "below-band",
        box.box.arrival.sink.span,
        f"{box.key} gets {_band(box)}, and its own band begins at {begins}",
        label=bound,
        related=(
            Label(own.span, f"its band: {own.text}"),
            *dict.fromkeys(filters(figures, box.channel, box.key)),
            Label(box.box.gear.span, "declared here"),
        ),
        computed=bound,
        allowed=f"nothing below {show(own.low / OCTAVE, 'frequency')}",
        assumes=assumes if low is None else (),
        help=f"put a high-pass near {begins} on its way, or give it the crossover output that is made for it",
        subject=box.key,
    )


_HIGH = "processor x is cross\nx.1 { from a; low-pass 1.2 kHz }\nx.2 { from a; high-pass 1.2 kHz }\nf -> x.a\n"
_BI_AMPED = (
    "feed f { level -8 dBu; peak -4 dBu }\namp a is twin\nspeaker h is two-way\nlead w is twin-pair 10 m\n" + _HIGH
)

RULES = (
    Rule(
        "pairs-swapped",
        Severity.ERROR,
        "the low and high pairs of a loudspeaker are swapped",
        "the bass destroys the high-frequency driver at once",
        "the low way gets the lower band; pair 1 of a four-pole connector is the low way",
        "common practice, no source",
        "swap the two ways or the two crossover outputs",
        f"{_BI_AMPED}x.1 -> a.1 -> w.1 -> h.high\nx.2 -> a.2 -> w.2 -> h.low\n",
        f"{_BI_AMPED}x.1 -> a.1 -> w.1 -> h.low\nx.2 -> a.2 -> w.2 -> h.high\n",
        pairs_swapped,
    ),
    Rule(
        "below-band",
        Severity.ERROR,
        "a mid or high way is driven far below its own band",
        "a small diaphragm that is driven with bass travels too far and is destroyed",
        "nothing more than an octave below the band that the way is made for",
        "common practice, no source",
        "put a high-pass on its way, or give it the right crossover output",
        f"{_BI_AMPED}x.1 -> a.1 -> w.1 -> h.low\nf -> a.2 -> w.2 -> h.high\nspare x.2\n",
        f"{_BI_AMPED}x.1 -> a.1 -> w.1 -> h.low\nx.2 -> a.2 -> w.2 -> h.high\n",
        below_band,
    ),
)
