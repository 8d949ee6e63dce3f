"""Rules about ways and horns: each gets its own band, by the right pair of its lead, and nothing far below it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rigspec.figures import BoxFigures, Figures
from rigspec.figures.band import BoxBand, bounds, made_of
from rigspec.figures.crossovers import alignment_taken
from rigspec.figures.signal import Contribution, Passed
from rigspec.rig.model import Gear, Measure, members
from rigspec.rules.bounds import at_least
from rigspec.rules.corners import (
    UNBOUND,
    band_labels,
    band_words,
    corner_for,
    filter_label,
    filter_words,
    hertz,
    slope_for,
)
from rigspec.rules.places import filters
from rigspec.rules.rule import Rule
from rigspec.solve.filter import attenuation_db
from rigspec.text.finding import Edit, Finding, Fix, Label, Severity, few
from rigspec.text.source import Span
from rigspec.text.units import show

OCTAVE = 2.0  # how far below its own band a way may be driven (common practice, no source)
HORN_HZ = 400.0  # a box whose band begins here or above has a small diaphragm (common practice, no source)
LEAST_DOWN_DB = 10.0  # between what 12 and 6 dB/octave at the lower end of a band leave an octave below it
AUDIBLE_HZ = 20.0, 20_000.0


def pairs_swapped(figures: Figures) -> Iterable[Finding]:
    """The low way of a loudspeaker gets the higher band, or pairs 1 and 2 of its lead go to the wrong ways."""
    for gear in figures.rig.gear.values():
        swap = swap_of(figures, gear)
        if swap is not None:
            yield _swapped(figures, gear, *swap)


def swap_of(figures: Figures, gear: Gear) -> tuple[BoxFigures, BoxFigures, str, bool] | None:
    """The low and the high way of a box that are exchanged, how that is seen, and whether by their bands."""
    if gear.word != "speaker" or "high" not in gear.ways or gear.doubt:
        return None
    low, high = figures.boxes.get(f"{gear.full}.low"), figures.boxes.get(f"{gear.full}.high")
    if low is None or high is None:
        return None
    centers = _center(low), _center(high)
    if centers[0] is not None and centers[1] is not None:
        # The bands are known: they decide, whichever pairs carry them.
        if centers[0] <= centers[1]:
            return None
        return (
            low,
            high,
            f"its low way gets {band_words(*bounds(low.parts))}, its high way {band_words(*bounds(high.parts))}",
            True,
        )
    pairs = [_pair_before(figures, box) for box in (low, high)]
    if pairs[0] and pairs[1] and pairs[0][0] is pairs[1][0] and (pairs[0][1], pairs[1][1]) == ("2", "1"):
        return low, high, f"pair 2 of {pairs[0][0].full} goes to its low way and pair 1 to its high way", False
    return None


def _center(box: BoxFigures) -> float | None:
    low, high = bounds(box.parts)
    if low is None and high is None:
        return None
    return float(((low or AUDIBLE_HZ[0]) * (high or AUDIBLE_HZ[1])) ** 0.5)


def _pair_before(figures: Figures, box: BoxFigures) -> tuple[Gear, str] | None:
    """The two-pair lead, and its pair, by which a way is reached."""
    leads = figures.trace.runs[box.channel].leads_to(box.box.arrival.sink.joint)
    for piece in reversed(leads):
        if piece.gear is not None and piece.gear.count("pairs", 1) == 2:
            return piece.gear, piece.name.rpartition(".")[2]
    return None


def _swapped(figures: Figures, gear: Gear, low: BoxFigures, high: BoxFigures, what: str, by_band: bool) -> Finding:
    ports = [box.box.arrival.sink.span for box in (low, high)]
    choices: tuple[Fix, ...] = ()
    if ports[0].text.count(".low") == 1 and ports[1].text.count(".high") == 1:
        edits = (
            Edit(ports[0], ports[0].text.replace(".low", ".high")),
            Edit(ports[1], ports[1].text.replace(".high", ".low")),
        )
        choices = (Fix("exchange `.low` and `.high`", edits),)
    made = [label for box in (low, high) for label in filters(figures, box.channel, box.key)] if by_band else []
    return Finding(
        "pairs-exchanged",
        ports[1],
        f"the low and high pairs of {gear.full} are exchanged: {what}",
        label="bass would reach the high-frequency driver",
        related=(Label(ports[0], "and the other way here"), *dict.fromkeys(made)),
        help="exchange the two ways, or the two crossover outputs, so that the low way gets the low band",
        choices=choices,
        subject=gear.full,
    )


def _guarded(band: BoxBand) -> Measure | None:
    """The own band of a loudspeaker that bass destroys: of a mid or high way, or of a box that begins up there."""
    own = band.own
    if own is None or own.low <= 0 or band.gear.doubt or band.powered:
        return None
    return own if band.way in ("mid", "high") or (not band.way and own.low >= HORN_HZ) else None


def below_band(figures: Figures) -> Iterable[Finding]:
    """A mid or high way, or a horn, is driven more than an octave below its own band."""
    swapped: dict[str, bool] = {}
    for band in figures.bands.boxes.values():
        own = _guarded(band)
        if own is None or not band.parts or _kept(band.low_hz, own):
            continue
        gear = band.gear
        if gear.full not in swapped:
            swapped[gear.full] = swap_of(figures, gear) is not None
        if not swapped[gear.full]:
            yield _below(figures, band, own)


def _kept(low_hz: float | None, own: Measure) -> bool:
    return low_hz is not None and low_hz * OCTAVE >= own.low * 0.999


def _below(figures: Figures, band: BoxBand, own: Measure) -> Finding:
    low = band.low_hz
    bound = "no high-pass on its way" if low is None else f"driven from {hertz(low)} upward"
    begins = hertz(own.low)
    return Finding(
        "below-band",
        band.span,
        f"{band.key} gets {band_words(band.low_hz, band.high_hz)}, and its own band begins at {begins}",
        label=bound,
        related=(
            Label(own.span, f"its band: {own.text}"),
            *band_labels(figures, band),
            Label(band.gear.span, "declared here"),
        ),
        computed=bound,
        allowed=f"nothing below {hertz(own.low / OCTAVE)}",
        assumes=(UNBOUND,) if low is None else (),
        help=f"put a high-pass near {begins} on its way, or give it the crossover output that is made for it",
        subject=band.key,
    )


def high_pass_weak(figures: Figures) -> Iterable[Finding]:
    """The high-pass of a mid or high way, or of a horn, lowers too little an octave below its own band."""
    said: dict[tuple[Span, Span], list[BoxBand]] = {}
    for band in figures.bands.boxes.values():
        own = _guarded(band)
        weak = _weakest(figures, band, own) if own is not None and _kept(band.low_hz, own) else None
        if own is not None and weak is not None:
            last = max((each for each in weak.filters if each.high_pass), key=lambda each: each.corner.value)
            said.setdefault((last.span, own.span), []).append(band)
    for bands in said.values():
        own = bands[0].own
        assert own is not None
        weak = _weakest(figures, bands[0], own)
        assert weak is not None
        yield _weak(bands, weak, own)


def _weakest(figures: Figures, band: BoxBand, own: Measure) -> Contribution | None:
    """The feed that is lowered least an octave below a band, where that is too little; None where it is enough.

    A feed whose own band ends there does no harm, and a filter without a slope tells nothing.
    """
    hz = own.low / OCTAVE
    found: list[tuple[float, Contribution]] = []
    for part in band.parts:
        given = figures.rig.gear[part.feed].measure("band", "frequency")
        made = made_of(part.filters)
        if (given is not None and given.low >= hz * 0.999) or made is None:
            continue
        down_db = attenuation_db(made, hz)
        if down_db < LEAST_DOWN_DB and any(each.high_pass for each in part.filters):
            found.append((down_db, part))
    return min(found, key=lambda each: each[0])[1] if found else None


def _weak(bands: Sequence[BoxBand], part: Contribution, own: Measure) -> Finding:
    band, hz = bands[0], own.low / OCTAVE
    last = max((each for each in part.filters if each.high_pass), key=lambda each: each.corner.value)
    made = made_of(part.filters)
    assert made is not None
    down = show(attenuation_db(made, hz), "gain")
    return Finding(
        "high-pass-weak",
        last.span,
        f"what reaches {band.key} is only {down} down an octave below its band, at {hertz(hz)}",
        label=f"{filter_words(last)}: {down} down at {hertz(hz)}",
        related=(
            Label(own.span, f"its band: {own.text}"),
            *(filter_label(each) for each in part.filters if each is not last),
            Label(band.span, f"{band.key} hangs here{also(bands)}"),
        ),
        computed=f"{down} at {hertz(hz)}",
        allowed=f"at least {show(LEAST_DOWN_DB, 'gain')}",
        assumes=alignment_taken(part.filters),
        help=_stronger(last, hz, own),
        subject=band.key,
    )


def also(bands: Sequence[BoxBand], most: int = 3) -> str:
    """Whom else it concerns, rows in short: ``; so it is with s[2..4], t``; nothing where the first is alone."""
    rows: dict[tuple[str, str], list[Gear]] = {}
    for band in bands[1:]:
        rows.setdefault((band.gear.name, f".{band.way}" if band.way else ""), []).append(band.gear)
    named = [f"{members(gears)}{way}" for (_, way), gears in rows.items()]
    return f"; so it is with {few(named, most)}" if named else ""


def _stronger(last: Passed, hz: float, own: Measure) -> str:
    """What to set at the innermost high-pass, were it alone: its slope, or its corner where that stays in the band."""
    orders = []
    slope, corner = slope_for(last, hz, LEAST_DOWN_DB), corner_for(last, hz, LEAST_DOWN_DB)
    if slope is not None:
        orders.append(f"set a slope of {show(slope, 'slope')} or more at {last.key}")
    if corner is not None and corner <= own.low * 1.26:  # a third of an octave into its band
        orders.append(f"set its corner to {at_least(corner, 'frequency')} or higher")
    return ", or ".join(orders) or f"put the high-pass of {last.key} near {hertz(own.low)}"


_HIGH = "processor x is cross\nx.1 { from a; low-pass 1.2 kHz }\nx.2 { from a; high-pass 1.2 kHz }\nf -> x.a\n"
_BI_AMPED = (
    "feed f { level -8 dBu; peak -4 dBu }\namp a is twin { limit -2 dBu rms }\nspeaker h is two-way\n"
    f"lead w is twin-pair 10 m\n{_HIGH}"
)
_WIRED = f"{_BI_AMPED}x.1 -> a.1 -> w.1 -> h.low\nx.2 -> a.2 -> w.2 -> h.high\n"

RULES = (
    Rule(
        name="pairs-exchanged",
        severity=Severity.ERROR,
        summary="the low and high pairs of a loudspeaker are exchanged",
        reason="the bass destroys the high-frequency driver at once",
        limit="the low way gets the lower band; pair 1 of a four-pole connector is the low way",
        authority="common practice, no source",
        cure="exchange the two ways or the two crossover outputs",
        bad=f"{_BI_AMPED}x.1 -> a.1 -> w.1 -> h.high\nx.2 -> a.2 -> w.2 -> h.low\n",
        good=_WIRED,
        check=pairs_swapped,
    ),
    Rule(
        name="below-band",
        severity=Severity.ERROR,
        summary="a mid or high way, or a horn, is driven far below its own band",
        reason="a small diaphragm that is driven with bass travels too far and is destroyed",
        limit="nothing more than an octave below the band that the way, or a box that begins at 400 Hz or above, is"
        " made for",
        authority="common practice, no source",
        cure="put a high-pass on its way, or give it the right crossover output",
        bad=f"{_BI_AMPED}x.1 -> a.1 -> w.1 -> h.low\nf -> a.2 -> w.2 -> h.high\nspare x.2\n",
        good=_WIRED,
        check=below_band,
    ),
    Rule(
        name="high-pass-weak",
        severity=Severity.WARNING,
        summary="a high-pass lowers too little below the band of a mid or high way, or of a horn",
        reason="what is left below its band moves a small diaphragm too far, the more the louder it plays",
        limit="at least 10 dB an octave below its band: a filter of 12 dB/octave at its lower end leaves 12 dB, one of"
        " 6 dB/octave no more than 7 dB",
        authority="common practice, no source; filter theory",
        cure="set a steeper slope, or a higher corner",
        bad=_WIRED.replace("high-pass 1.2 kHz", "high-pass 1.2 kHz 6 dB/octave butterworth"),
        good=_WIRED.replace("high-pass 1.2 kHz", "high-pass 1.2 kHz 24 dB/octave linkwitz-riley"),
        check=high_pass_weak,
    ),
)
