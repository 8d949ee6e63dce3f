"""Rules about filters that cannot be, bands of which nothing is left, holes between bands, and bands that overlap."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from math import log2

from rigspec.figures import Figures
from rigspec.figures.band import BoxBand, made_of
from rigspec.figures.bands import Crossover
from rigspec.figures.signal import Contribution, Passed, filters_set
from rigspec.rig.model import Facts, Gear
from rigspec.rules.bounds import at_least, at_most
from rigspec.rules.corners import filter_label, filter_words, hertz
from rigspec.rules.crossovers import ASSUMED, cancels, overlap
from rigspec.rules.rule import Rule
from rigspec.rules.ways import swap_of
from rigspec.solve.filter import BUTTERWORTH, MOST_ORDER, POLE_DB, ImpossibleFilter, attenuation_db, order_of
from rigspec.text.finding import Finding, Label, Severity
from rigspec.text.source import Span
from rigspec.text.units import show

THIRD_OCTAVE = 2 ** (1 / 3)
OWN_ENDS = "a loudspeaker plays half an octave beyond its own band; common practice, no source"


def _settings(figures: Figures) -> Iterator[tuple[str, Facts]]:
    """Everything that may hold filters: the outputs of processors, amplifiers and their channels; each place once."""
    seen: set[tuple[Span, ...]] = set()
    settable = [gear for gear in figures.rig.gear.values() if gear.word in ("processor", "amp") and not gear.doubt]
    for gear in sorted(settable, key=lambda each: (each.name, each.number or 0)):
        for key, facts in _blocks(gear):
            places = tuple(facts[word].span for word in ("high-pass", "low-pass") if word in facts)
            if places and places not in seen:
                seen.add(places)
                yield key, facts


def _blocks(gear: Gear) -> Iterator[tuple[str, Facts]]:
    whole = gear.facts if gear.word == "amp" else {}
    yield gear.full, whole
    for port, facts in sorted(gear.ports.items(), key=lambda item: item[0]):
        yield f"{gear.full}.{port}", {**whole, **facts} if whole else facts


# ---- filters that cannot be -----------------------------------------------------------------------------------------


def filter_impossible(figures: Figures) -> Iterable[Finding]:
    """A filter has a slope that its alignment cannot have."""
    said: set[Span] = set()
    for key, facts in _settings(figures):
        for each in filters_set(facts, key):
            if each.slope is not None and each.made is None and each.span not in said:
                said.add(each.span)
                yield from _impossible(each)


def _impossible(each: Passed) -> Iterator[Finding]:
    assert each.slope is not None
    if each.slope.value > MOST_ORDER * POLE_DB:
        return  # such steep filters are made otherwise, and are not computed
    alignment = each.alignment or BUTTERWORTH
    try:
        order_of(each.slope.value, alignment)
    except ImpossibleFilter as refused:
        nearest = " or ".join(show(slope, "slope") for slope in refused.nearest)
        orders = [f"set {nearest}"]
        if alignment != BUTTERWORTH and each.slope.value % POLE_DB == 0:
            orders.append(f"say `{BUTTERWORTH}`, which can have {show(each.slope.value, 'slope')}")
        yield Finding(
            "filter-impossible",
            each.slope.span,
            f"{each.key} cannot have this {each.word}: {str(refused).partition(':')[0]}",
            label="no such slope",
            related=(filter_label(each),),
            computed=show(each.slope.value, "slope"),
            allowed=nearest,
            help=", or ".join(orders),
            subject=each.key,
        )


# ---- bands of which nothing is left ---------------------------------------------------------------------------------


def band_empty(figures: Figures) -> Iterable[Finding]:
    """The high-pass on a way lies above its low-pass, or a feed's band outside both, so that nothing comes through."""
    said: set[Span] = set()
    for key, facts in _settings(figures):
        passed = filters_set(facts, key)
        if len(passed) == 2 and passed[0].corner.value >= passed[1].corner.value and not _both(passed) & said:
            said |= _both(passed)
            yield _empty(key, passed[0], passed[1], passed)
    swapped: dict[str, bool] = {}
    for band in figures.bands.boxes.values():
        if not _narrow(band):
            continue
        found = [_closed(figures, part) or _beside(figures, band, part) for part in band.parts]
        first = found[0] if found and all(found) else None
        if first is None or band.gear.doubt or said & {label.span for label in first[:2]}:
            continue
        if band.gear.full not in swapped:
            swapped[band.gear.full] = swap_of(figures, band.gear) is not None
        if not swapped[band.gear.full]:
            said |= {label.span for label in first[:2]}
            yield _nothing(band, *first)


def _narrow(band: BoxBand) -> bool:
    """May every part of what reaches a loudspeaker be closed off, or lie beside its own band? Else nothing is asked."""
    own = band.own
    return all(
        (part.low_hz is not None and part.high_hz is not None and part.low_hz > part.high_hz)
        or (own is not None and (part.low_hz or own.high) > own.high * 2)
        or (own is not None and (part.high_hz or own.low) * 2 < own.low)
        for part in band.parts
    )


def _both(passed: Iterable[Passed]) -> set[Span]:
    return {each.span for each in passed}


def _empty(key: str, high_pass: Passed, low_pass: Passed, passed: tuple[Passed, ...]) -> Finding:
    corners = f"{hertz(high_pass.corner.value)} and {hertz(low_pass.corner.value)}"
    loudest = _loudest(passed)
    return Finding(
        "band-empty",
        high_pass.span,
        f"no band is left at {key}: its high-pass is at {hertz(high_pass.corner.value)}, its low-pass at"
        f" {hertz(low_pass.corner.value)}",
        label=f"passes what is above {hertz(high_pass.corner.value)}",
        related=(Label(low_pass.span, f"passes what is below {hertz(low_pass.corner.value)}"),),
        computed=loudest or f"corners at {corners}",
        allowed="a high-pass below the low-pass",
        help="exchange the two, or correct the one that is wrong",
        subject=key,
    )


def _loudest(passed: tuple[Passed, ...]) -> str:
    """The loudest that filters leave, which lies between their corners; nothing where a slope is not known."""
    made = made_of(passed)
    if made is None:
        return ""
    low, high = min(each.corner_hz for each in made), max(each.corner_hz for each in made)
    places = [low * (high / low) ** (step / 24) for step in range(25)]
    down_db, hz = min((attenuation_db(made, hz), hz) for hz in places)
    return f"at most {show(-down_db, 'gain')}, at {hertz(hz)}"


def _closed(figures: Figures, part: Contribution) -> tuple[Label, Label, str] | None:
    """What bounds a feed from below and from above, where the first lies above the second, and both in words."""
    if part.low_hz is None or part.high_hz is None:
        return None
    low, high = (_bound(figures, part, high_pass) for high_pass in (True, False))
    # A feed's own band has soft ends, so that a third of an octave beyond it is still something.
    room = THIRD_OCTAVE if low[1] or high[1] else 1.0
    if part.low_hz <= part.high_hz * room:
        return None
    words = f"{low[0].text} is at {hertz(part.low_hz)}, {high[0].text} at {hertz(part.high_hz)}"
    return (low[0], high[0], words)


def _beside(figures: Figures, band: BoxBand, part: Contribution) -> tuple[Label, Label, str] | None:
    """What bounds a feed on the far side of the band that a loudspeaker is made for, more than an octave off."""
    own = band.own
    if own is not None and part.low_hz is not None and part.low_hz > own.high * 2:
        low, _ = _bound(figures, part, True)
        words = f"{low.text} is at {hertz(part.low_hz)}, and its own band ends at {hertz(own.high)}"
        return low, Label(own.span, f"its band: {own.text}"), words
    if own is not None and part.high_hz is not None and part.high_hz * 2 < own.low:
        high, _ = _bound(figures, part, False)
        words = f"{high.text} is at {hertz(part.high_hz)}, and its own band begins at {hertz(own.low)}"
        return high, Label(own.span, f"its band: {own.text}"), words
    return None


def _bound(figures: Figures, part: Contribution, high_pass: bool) -> tuple[Label, bool]:
    corner = part.low_hz if high_pass else part.high_hz
    for each in part.filters:
        if each.high_pass == high_pass and each.corner.value == corner:
            return filter_label(each), False
    given = figures.rig.gear[part.feed].measure("band", "frequency")
    assert given is not None  # nothing else bounds a part
    return Label(given.span, f"the {'lower' if high_pass else 'upper'} end of the feed {part.feed}"), True


def _nothing(band: BoxBand, low: Label, high: Label, words: str) -> Finding:
    return Finding(
        "band-empty",
        band.span,
        f"nothing comes through to {band.key}: {words}",
        label="gets nothing",
        related=(low, high),
        computed=words,
        allowed="a high-pass below the low-pass, and both within an octave of the band of the box",
        help="correct the filter that is wrong, or feed the box from another output",
        subject=band.key,
    )


# ---- bands that overlap ---------------------------------------------------------------------------------------------


def band_overlap(figures: Figures) -> Iterable[Finding]:
    """Two neighbouring bands, both limited by filters, share more than an octave."""
    said: set[tuple[Span, Span]] = set()
    for each in figures.bands.crossovers:
        place = each.low_pass.span, each.high_pass.span
        shared = None if cancels(each) else overlap(each)  # where they cancel, that is told, with the same cure
        if shared is not None and place not in said and not _alike(each):
            said.add(place)
            yield _overlap(each, *shared)


def _alike(each: Crossover) -> bool:
    return each.lower.gear.kind is each.upper.gear.kind and each.lower.way == each.upper.way


def _overlap(each: Crossover, first: float, last: float) -> Finding:
    octaves = log2(last / first)
    summed = each.wired
    own = (first, last) != (each.high_pass.corner.value, each.low_pass.corner.value)
    rises = f", where their sum rises by up to {show(summed.bump_db, 'gain')}" if summed and summed.bump_db > 0 else ""
    return Finding(
        "band-overlap",
        each.high_pass.span,
        f"{each.lower.key} and {each.upper.key} both play {hertz(first)} to {hertz(last)}, {octaves:.1f} octaves",
        label=f"{each.upper.key} begins here: {filter_words(each.high_pass)}",
        related=(
            Label(each.low_pass.span, f"{each.lower.key} ends here: {filter_words(each.low_pass)}"),
            Label(each.upper.span, f"{each.upper.key} hangs here"),
            Label(each.lower.span, f"{each.lower.key} hangs here"),
        ),
        computed=f"{octaves:.2f} octaves{rises}",
        allowed="1 octave",
        assumes=((ASSUMED,) if rises else ()) + ((OWN_ENDS,) if own else ()),
        help=f"bring the corners together: the high-pass to {at_least(last / 2, 'frequency')} or higher, or the"
        f" low-pass to {at_most(first * 2, 'frequency')} or lower",
        subject=each.upper.key,
    )


_X = "feed f {{ level -8 dBu; peak -4 dBu }}\nprocessor x is cross\namp a is twin\nf -> x.a\nx.1 {{ from a; {} }}\n"
_SUB = f"{_X}speaker s is sub\nx.1 -> a.1 -> s\n"
_TWO = (
    f"{_X}x.2 {{{{ from a; high-pass {{}} }}}}\nspeaker s is deep\nspeaker t is box\nx.1 -> a.1 -> s\nx.2 -> a.2 -> t\n"
    "stock speaker deep {{ impedance 8 ohm; rated 600 W continuous; band 35 Hz to 250 Hz }}\n"
)

RULES = (
    Rule(
        name="filter-impossible",
        severity=Severity.ERROR,
        summary="a filter has a slope that its alignment cannot have",
        reason="no processor can be set so: somebody will set something else when the rig is up",
        limit="slopes are multiples of 6 dB/octave, 6 for each pole; Linkwitz-Riley filters are two equal Butterworth"
        " filters, so multiples of 12",
        authority="filter theory; S. Linkwitz, JAES 24 (1976), from memory",
        cure="set a slope that is possible, or another alignment",
        bad=_SUB.format("high-pass 35 Hz; low-pass 100 Hz 18 dB/octave linkwitz-riley"),
        good=_SUB.format("high-pass 35 Hz; low-pass 100 Hz 18 dB/octave butterworth"),
        check=filter_impossible,
    ),
    Rule(
        name="band-empty",
        severity=Severity.ERROR,
        summary="filters leave nothing of the band",
        reason="the loudspeaker stays silent, or plays a faint rest",
        limit="on every way the high-pass lies below the low-pass, and what is between them no more than an octave"
        " beside the band of the loudspeaker",
        authority="filter theory",
        cure="exchange the two, or correct the one that is wrong",
        bad=_SUB.format("high-pass 100 Hz; low-pass 35 Hz"),
        good=_SUB.format("high-pass 35 Hz; low-pass 100 Hz"),
        check=band_empty,
    ),
    Rule(
        name="band-overlap",
        severity=Severity.ADVICE,
        summary="two neighbouring bands share more than an octave",
        reason="what two boxes play alike adds up in one place and cancels in the next (a comb), and is too loud on"
        " the axis",
        limit="neighbouring bands overlap by an octave at most, by their filters and to half an octave beyond what the"
        " loudspeakers are made for; where the two cancel, that is the finding",
        authority="common practice, no source",
        cure="bring the corners together",
        bad=_TWO.format("high-pass 35 Hz; low-pass 200 Hz", "80 Hz"),
        good=_TWO.format("high-pass 35 Hz; low-pass 100 Hz", "100 Hz"),
        check=band_overlap,
    ),
)
