"""Rules about bass boxes: nothing below the band that they can bear, nothing far above the one they are made for."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from attrs import frozen

from rigspec.figures import Figures
from rigspec.figures.band import BoxBand
from rigspec.figures.crossovers import BASS_HZ
from rigspec.figures.signal import Contribution
from rigspec.rig.model import Measure, first
from rigspec.rules.corners import UNBOUND, band_labels, band_words, hertz
from rigspec.rules.crossovers import cancels, overlap
from rigspec.rules.rule import Rule
from rigspec.rules.ways import also
from rigspec.text.finding import Finding, Label, Severity
from rigspec.text.source import Span
from rigspec.text.units import show
from rigspec.text.value import Value

HALF_OCTAVE = 2**0.5
TWO_OCTAVES = 4.0


@frozen(eq=False, repr=False)
class _Floor(Value):
    """Where what a bass box can bear begins: its tuning, where that is said, or the lower end of its band."""

    hz: float
    measure: Measure
    text: str
    vented: bool


def _own(band: BoxBand) -> Measure | None:
    own = band.own
    fit = own is not None and own.low > 0 and own.high <= BASS_HZ and not band.gear.doubt
    return own if fit and not band.powered and band.parts else None  # a powered box guards itself


def _floor(band: BoxBand, own: Measure) -> _Floor | None:
    """None for a sealed box: the air inside it holds its diaphragm."""
    facts = band.gear.way(band.way)
    driver = facts.get("driver")
    entry = first(driver.inner or {}, "box") if driver else None
    if entry is not None and "sealed" in entry.words:
        return None
    tuned = entry.get("frequency") if entry else None
    if tuned is not None and tuned.value > 0:
        return _Floor(tuned.value, tuned, f"{band.gear.full} is tuned to {tuned.text}", True)
    return _Floor(own.low, own, f"its band: {own.text}", entry is not None and "vented" in entry.words)


def bass_below_band(figures: Figures) -> Iterable[Finding]:
    """A bass box gets what lies far below its tuning or its band."""
    said: dict[tuple[Span, ...], list[BoxBand]] = {}
    for band in figures.bands.boxes.values():
        own = _own(band)
        floor = _floor(band, own) if own is not None else None
        if floor is None or (band.low_hz is not None and band.low_hz * HALF_OCTAVE >= floor.hz * 0.999):
            continue
        deepest = _deepest(band)
        feed = figures.rig.gear.get(deepest.feed)
        if feed is not None and feed.doubt:
            continue  # its band may be what cannot be read
        # Where nothing at all is said of bands, as in a rig without a processor, nothing is concluded from that.
        if floor.vented or deepest.filters or deepest.low_hz is not None:
            said.setdefault((floor.measure.span, *(each.span for each in deepest.filters)), []).append(band)
    yield from (_unguarded(figures, bands) for bands in said.values())


def _deepest(band: BoxBand) -> Contribution:
    return min(band.parts, key=lambda part: part.low_hz or 0.0)


def _unguarded(figures: Figures, bands: Sequence[BoxBand]) -> Finding:
    band = bands[0]
    own = _own(band)
    assert own is not None
    floor, part = _floor(band, own), _deepest(band)
    assert floor is not None
    bound = "no high-pass on its way" if band.low_hz is None else f"driven from {hertz(band.low_hz)} upward"
    where = "the band of" if floor.measure is own else "the tuning of"
    gets = band_words(band.low_hz, band.high_hz)
    said = f"its tuning is {hertz(floor.hz)}" if floor.measure is not own else f"its band begins at {hertz(floor.hz)}"
    set_at = f" at {part.filters[-1].key}" if part.filters else " on its way"
    return Finding(
        "bass-below-band",
        band.span,
        f"{band.key} gets {gets}, and {said}",
        label=bound + also(bands),
        related=(
            Label(floor.measure.span, floor.text),
            *band_labels(figures, band, [part]),
            Label(band.gear.span, "declared here"),
        ),
        computed=bound,
        allowed=f"nothing below {hertz(floor.hz / HALF_OCTAVE)}, half an octave below {where} the box",
        assumes=(UNBOUND,) if band.low_hz is None else (),
        help=f"set a high-pass near {hertz(floor.hz)}{set_at}; if what comes in ends there already, give the feed"
        f" {part.feed} its `band`",
        subject=band.key,
    )


def above_band(figures: Figures) -> Iterable[Finding]:
    """A bass box gets what lies far above its band."""
    full_range = _full_range(figures)
    told = {each.low_pass.span for each in figures.bands.crossovers if cancels(each) or overlap(each) is not None}
    said: dict[tuple[Span, ...], list[BoxBand]] = {}
    for band in figures.bands.boxes.values():
        own = _own(band)
        if own is None or (band.high_hz is not None and band.high_hz <= own.high * TWO_OCTAVES):
            continue
        if band.low_hz is not None and band.low_hz > own.high * 2:
            continue  # nothing of its band comes through, which is told
        highest = max(band.parts, key=lambda part: part.high_hz or float("inf"))
        if any(each.span in told for each in highest.filters):
            continue  # told with the box that plays this too, and with a lower low-pass as the cure
        if highest.high_hz is not None or highest.feed in full_range:
            said.setdefault((own.span, *(each.span for each in highest.filters)), []).append(band)
    for bands in said.values():
        own = _own(bands[0])
        assert own is not None
        yield _unlimited(figures, bands, own, full_range)


def _full_range(figures: Figures) -> dict[str, BoxBand]:
    """Feeds that are crossed over somewhere, and of which a box is seen to play the mid: with that box.

    Where no filter is set for a feed at all, its bass boxes may have their own inside, or the desk may.
    """
    found: dict[str, BoxBand] = {}
    crossed = {part.feed for band in figures.bands.boxes.values() for part in band.parts if part.filters}
    for band in figures.bands.boxes.values():
        if band.own is not None and band.own.high >= BASS_HZ * TWO_OCTAVES:
            for part in band.parts:
                if part.high_hz is None and part.feed in crossed:
                    found.setdefault(part.feed, band)
    return found


def _unlimited(figures: Figures, bands: Sequence[BoxBand], own: Measure, full_range: dict[str, BoxBand]) -> Finding:
    band = bands[0]
    highest = max(band.parts, key=lambda part: part.high_hz or float("inf"))
    mid = full_range.get(highest.feed) if highest.high_hz is None else None
    seen = [Label(mid.span, f"{highest.feed} is full range: {mid.key} plays it too")] if mid else []
    bound = "no low-pass on its way" if highest.high_hz is None else f"driven up to {hertz(highest.high_hz)}"
    set_at = f" at {highest.filters[-1].key}" if highest.filters else " on its way"
    return Finding(
        "above-band",
        band.span,
        f"{band.key} gets {band_words(band.low_hz, band.high_hz)}, and its own band ends at {hertz(own.high)}",
        label=bound + also(bands),
        related=(
            Label(own.span, f"its band: {own.text}"),
            *seen,
            *band_labels(figures, band, [highest]),
            Label(band.gear.span, "declared here"),
        ),
        computed=bound,
        allowed=f"nothing above {hertz(own.high * TWO_OCTAVES)}, two octaves above its band",
        assumes=(UNBOUND,) if highest.high_hz is None else (),
        help=f"set a low-pass near {hertz(own.high)}{set_at}, such as {show(24.0, 'slope')} linkwitz-riley",
        subject=band.key,
        at_most=None if highest.high_hz is None else Severity.ADVICE,
        follows=(tuple(("figure-unlikely", each.key) for each in highest.filters),) if highest.filters else (),
    )


_SUB = "feed f { level -8 dBu }\nprocessor x is cross\namp a is twin\nspeaker s is sub\nf -> x.a\n"
_BOTH = (
    "feed f { level -8 dBu; band 40 Hz to 16 kHz }\nprocessor x is cross\namp a is twin\nspeaker s is sub\n"
    "speaker t is box\nx.2 { from a; high-pass 100 Hz }\nf -> x.a\nx.1 -> a.1 -> s\nx.2 -> a.2 -> t\n"
)

RULES = (
    Rule(
        name="bass-below-band",
        severity=Severity.WARNING,
        summary="a bass box is driven far below its tuning or its band",
        reason="below its tuning a vented box no longer holds its diaphragm, which travels far, sounds little and may"
        " strike",
        limit="nothing more than half an octave below the tuning, or below the band where no tuning is given; sealed"
        " boxes are left out",
        authority="common practice, no source; theory of vented boxes (A. N. Thiele, 1961, from memory)",
        cure="set a high-pass near the lower end of its band, or say what band the feed has",
        bad=f"{_SUB}x.1 {{ from a; low-pass 100 Hz }}\nx.1 -> a.1 -> s\n",
        good=f"{_SUB}x.1 {{ from a; low-pass 100 Hz; high-pass 35 Hz }}\nx.1 -> a.1 -> s\n",
        check=bass_below_band,
    ),
    Rule(
        name="above-band",
        severity=Severity.WARNING,
        summary="a bass box is driven far above its band",
        reason="it plays the mid as well, late, rough and narrow, beside the boxes that are made for it",
        limit="nothing more than two octaves above the band that the box is made for; advice where a low-pass is set",
        authority="common practice, no source",
        cure="set a low-pass near the upper end of its band",
        bad=f"x.1 {{ from a }}\n{_BOTH}",
        good=f"x.1 {{ from a; low-pass 100 Hz }}\n{_BOTH}",
        check=above_band,
    ),
)
