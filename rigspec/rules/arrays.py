"""Rules about groups of bass boxes that say what array they are meant to be."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from rigspec.figures import Figures
from rigspec.rules.rule import Rule
from rigspec.text.finding import Finding, Label, Severity
from rigspec.text.units import show

if TYPE_CHECKING:
    from rigspec.space.arrays import ArrayFigures, Member

REJECTION_DB = 6.0
MOST_DB = 25.0  # more is not to be had: 1 dB between two boxes leaves this
WIDE = 4 / 3
PRACTICE = "common practice, no source"


def _arrays(figures: Figures) -> Sequence[ArrayFigures]:
    if not any("array" in roster.facts for roster in figures.rig.rosters_of("group")):
        return ()
    from rigspec.space.arrays import arrays
    from rigspec.space.scene import scene

    return [each for each in arrays(figures, scene(figures)) if not each.lacking]


def array_backwards(figures: Figures) -> Iterable[Finding]:
    """An array that is to be quiet behind is as loud there as in front, or louder."""
    for each in _arrays(figures):
        if each.directed and each.rejection_db <= 0.05:
            yield _directed(figures, each, "array-backwards")


def array_weak(figures: Figures) -> Iterable[Finding]:
    """An array that is to be quiet behind is less than 6 dB softer there."""
    for each in _arrays(figures):
        if each.directed and 0.05 < each.rejection_db < REJECTION_DB:
            yield _directed(figures, each, "array-weak")


def _directed(figures: Figures, each: ArrayFigures, rule: str) -> Finding:
    off, rejection = each.off, each.rejection_db
    louder = rejection < -0.05
    behind = f"{abs(rejection):.1f} dB {'louder' if louder else 'softer'}" if abs(rejection) > 0.05 else "as loud"
    where = off[0].voices[0].band.span if off else each.intent.span
    low, high = (show(hz, "frequency") for hz in each.band_hz)
    return Finding(
        rule,
        where,
        f"the {each.intent.word} array {each.roster.name} is {behind} behind {'than' if behind != 'as loud' else 'as'}"
        f" in front, {low} to {high}" + (f": {_slip(off[0])}" if off else ""),
        label=_slip(off[0]) if off else f"{rejection:.1f} dB",
        related=(Label(each.intent.span, f"{each.roster.name} is meant to be this"), *_where(each)),
        computed=f"{rejection:.1f} dB of rejection",
        allowed=f"at least {REJECTION_DB:g} dB",
        assumes=("boxes that radiate alike all round, far away in the open",),
        help=_cure(figures, each, off),
        subject=off[0].voices[0].gear.full if off else each.members[0].voices[0].gear.full,
    )


def _slip(member: Member) -> str:
    parts = []
    if member.needs.inverted != member.has.inverted:
        parts.append(f"{member.key} is {'not ' if member.needs.inverted else ''}inverted")
    if abs(member.off_s) > 0.0005:
        more = "lacks" if member.off_s > 0 else "has"
        parts.append(
            f"{'it' if parts else member.key} {more} {show(abs(member.off_s), 'time')}"
            f" of delay{'' if member.off_s > 0 else ' too much'}"
        )
    return " and ".join(parts)


def _where(each: ArrayFigures) -> list[Label]:
    first = [member.voices[0].gear for member in each.members[:3]]
    return [Label(gear.facts["at"].span, f"{gear.full} stands here") for gear in first]


def _cure(figures: Figures, each: ArrayFigures, off: Sequence[Member]) -> str:
    from rigspec.space.arrays import best_spacing_m

    if off:
        lines, more = _lines(figures, off)
        over = "over " if each.possible_db > MOST_DB else ""
        gives = f"set {lines}: that gives {over}{min(each.possible_db, MOST_DB):.0f} dB"
        return gives + (f"; {more} more likewise" if more > 0 else "")
    apart = show(best_spacing_m(figures, each), "length")
    return f"stand them {apart} apart, a quarter of a wave in the middle of the band, with the delay for that way"


def _lines(figures: Figures, off: Sequence[Member]) -> tuple[str, int]:
    """The lines that set what members lack, each once, and how many more there are."""
    from rigspec.space.arrays import line_to_set

    lines = list(dict.fromkeys(f"`{line_to_set(figures, member)}`" for member in off))
    return "; ".join(lines[:4]), len(lines) - 4


def array_unset(figures: Figures) -> Iterable[Finding]:
    """A member of an array has another delay or polarity than the array needs."""
    for each in _arrays(figures):
        if not each.off or (each.directed and each.rejection_db < REJECTION_DB):
            continue
        member = each.off[0]
        more = f", and {len(each.off) - 1} more of it are off" if len(each.off) > 1 else ""
        yield Finding(
            "array-unset",
            member.voices[0].band.span,
            f"{_slip(member)} for the {each.intent.word} array {each.roster.name}{more}",
            label=_slip(member),
            related=(Label(each.intent.span, f"{each.roster.name} is meant to be this"), *_where(each)),
            computed=f"{show(member.has.delay_s, 'time')}{', inverted' if member.has.inverted else ''}",
            allowed=f"{show(member.needs.delay_s, 'time')}{', inverted' if member.needs.inverted else ''}; 0.5 ms off",
            assumes=("delays count against the member that needs least",),
            help=f"set {_lines(figures, each.off)[0]}",
            subject=member.voices[0].gear.full,
        )


def array_wide(figures: Figures) -> Iterable[Finding]:
    """Boxes of a line stand so far apart that it sends as much to the sides as to the front."""
    for each in _arrays(figures):
        if not each.widest_m or each.spacing_m <= each.widest_m * WIDE:
            continue
        apart, widest = show(each.spacing_m, "length"), show(each.widest_m, "length")
        top = show(min(each.band_hz[1], 100.0), "frequency")
        nulls = (
            f"; it is silent at {', '.join(f'{deg:.0f}' for deg in each.nulls_deg[:3])} deg" if each.nulls_deg else ""
        )
        again = f", and as loud as in front at {each.again_deg:.0f} deg" if each.again_deg is not None else ""
        yield Finding(
            "array-wide",
            each.intent.span,
            f"boxes of {each.roster.name} stand {apart} apart, more than two thirds of a wave at {top}{nulls}{again}",
            label=f"{apart} apart",
            related=tuple(_where(each)),
            computed=apart,
            allowed=f"{widest}, half a wave; two thirds at most",
            assumes=("boxes that radiate alike all round, far away in the open",),
            help=f"stand them {widest} apart or closer, or let them play no higher than"
            f" {show(each.alone_hz, 'frequency')}",
            subject=each.members[0].voices[0].gear.full,
        )


_SUBS = (
    'rig "field" {{ air 20 degC 50 % }}\n'
    "stock speaker low {{ impedance 8 ohm; rated 600 W continuous; sensitivity 97 dB SPL at 1 W\n"
    "  band 35 Hz to 100 Hz }}\n"
    "feed f {{ level -6 dBu; peak 6 dBu }}\namp a is twin\nspeaker s[1] is low {{ at 0 m, 0 m }}\n"
    "speaker s[2] is low {{ at {at} }}\nf -> a.1 -> lead 2.5 mm2 9 m -> s[1]\n"
    "f -> {way}a.2 -> lead 2.5 mm2 9 m -> s[2]\ngroup subs: s[*] {{ array {array} }}\n"
)
_BEHIND = "0 m, -1 m"

RULES = (
    Rule(
        name="array-backwards",
        severity=Severity.ERROR,
        summary="an array that is to be quiet behind is as loud there as in front",
        reason="the stage shakes and the audience lacks what it was built for",
        limit="softer behind than in front, over its band as noise",
        authority="wave theory: sources in a row, far away",
        cure="set the delay and the polarity that the array needs",
        bad=_SUBS.format(at=_BEHIND, way="delay 2.91 ms -> ", array="gradient"),
        good=_SUBS.format(at=_BEHIND, way="invert -> delay 2.91 ms -> ", array="gradient"),
        check=array_backwards,
    ),
    Rule(
        name="array-weak",
        severity=Severity.WARNING,
        summary="an array that is to be quiet behind is hardly softer there",
        reason="it takes boxes and delays and does not do what they are for",
        limit=f"{REJECTION_DB:g} dB softer behind than in front, over its band as noise",
        authority="wave theory; the limit is common practice, no source",
        cure="set the delay and the polarity that the array needs, or stand the boxes as far apart as the band asks",
        bad=_SUBS.format(at=_BEHIND, way="invert -> delay 0.6 ms -> ", array="gradient"),
        good=_SUBS.format(at=_BEHIND, way="invert -> delay 2.91 ms -> ", array="gradient"),
        check=array_weak,
    ),
    Rule(
        name="array-unset",
        severity=Severity.WARNING,
        summary="a member of an array has another delay or polarity than the array needs",
        reason="it works against the others in a part of the band, or bends the array to one side",
        limit="0.5 ms, and the polarity that the array needs",
        authority="wave theory; the limit is common practice, no source",
        cure="set what the array needs",
        bad=_SUBS.format(at="1.2 m, 0 m", way="delay 3 ms -> ", array="side-by-side"),
        good=_SUBS.format(at="1.2 m, 0 m", way="", array="side-by-side"),
        check=array_unset,
    ),
    Rule(
        name="array-wide",
        severity=Severity.ADVICE,
        summary="boxes of a line stand too far apart for the top of its band",
        reason="beside the middle there are places without bass, and the sides get as much as the front",
        limit="two thirds of a wave at the top of the band; half a wave leaves one main direction",
        authority="wave theory; two thirds are common practice, no source",
        cure="stand them closer, or end their band lower",
        bad=_SUBS.format(at="4 m, 0 m", way="", array="spaced"),
        good=_SUBS.format(at="1.7 m, 0 m", way="", array="spaced"),
        check=array_wide,
    ),
)
