"""Rules about when loudspeakers arrive at places: too early, as an echo, as a comb."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import combinations
from math import inf, isfinite, log10
from typing import TYPE_CHECKING

from rigspec.figures import Figures
from rigspec.rules.rule import Rule
from rigspec.rules.space_words import listening, of_place, said_of
from rigspec.text.finding import Finding, Severity
from rigspec.text.units import show
from rigspec.text.value import once

if TYPE_CHECKING:
    from rigspec.space.views import Seen, View

EARLY_S = 0.003
FAR_M = 8.0  # nearer to its main loudspeakers nobody delays a fill (common practice, no source)
HEARD_WITHIN_DB = 15.0
ECHO_WITHIN_DB = 6.0
SPEECH_S, MUSIC_S = 0.030, 0.050
COMB_WITHIN_DB = 4.0
COMB_S = 0.001, 0.020
PRACTICE = "common practice, no source"


@once
def _pairs(view: View) -> list[tuple[Seen, Seen]]:
    """Two loudspeakers that carry a feed in common to a place that both are meant for, the earlier first.

    Bass boxes, ways of one box, boxes of one row across the stage and what is lost beside others are no such pairs.
    """
    from rigspec.space.views import feeds_in_common, one_row

    meant = [each for each in view.meant if not each.voice.bass and isfinite(each.level_db)]
    top = max((each.level_db for each in meant), default=0.0)
    of_spot: dict[object, Seen] = {}
    for each in meant:  # of boxes of one kind at one spot the loudest speaks for all
        spot = each.voice.gear.kind, each.voice.at, each.voice.late_s, each.voice.band.way
        if each.level_db >= max(top - HEARD_WITHIN_DB, of_spot[spot].level_db if spot in of_spot else -inf):
            of_spot[spot] = each
    found = []
    for one, other in combinations(of_spot.values(), 2):
        apart = one.voice.gear is not other.voice.gear and not one_row(one.voice, other.voice)
        if apart and feeds_in_common(one.voice, other.voice) and _bands_meet(one, other):
            found.append((one, other) if one.arrival_s <= other.arrival_s else (other, one))
    return found


def _bands_meet(one: Seen, other: Seen) -> bool:
    """Do two loudspeakers play an octave or more in common?"""
    low = max(one.voice.range_hz[0], other.voice.range_hz[0])
    return min(one.voice.range_hz[1], other.voice.range_hz[1]) >= 2 * low


def _each_once(found: Iterable[tuple[float, Seen, Seen, View]], figures: Figures) -> Iterator[tuple[Seen, Seen, View]]:
    """Of all pairs between two groups the worst, whatever the place."""
    from rigspec.space.scene import scene

    heard = scene(figures)
    worst: dict[tuple[str, str], tuple[float, Seen, Seen, View]] = {}
    for each in found:
        names = sorted((heard.called(each[1].voice), heard.called(each[2].voice)))
        key = names[0], names[1]
        if key not in worst or round(each[0], 9) > round(worst[key][0], 9):
            worst[key] = each
    yield from ((one, other, view) for _, one, other, view in worst.values())


def earlies(figures: Figures) -> Iterator[tuple[Seen, Seen, View]]:
    """Loudspeakers that come before the main ones, each with these and the place at which it is worst."""
    from rigspec.space.scene import scene
    from rigspec.space.views import views

    heard = scene(figures)
    found = []
    for view in views(heard):
        for first, later in _pairs(view):
            early_s = later.arrival_s - first.arrival_s
            way_s = later.arrival_s - later.voice.late_s
            if early_s > EARLY_S and way_s * heard.sound_m_per_s >= FAR_M and _is_main(way_s, first, later):
                found.append((early_s, first, later, view))
    yield from _each_once(found, figures)


def arrival_early(figures: Figures) -> Iterable[Finding]:
    """A fill or a delayed loudspeaker is heard before the main ones from which the sound is to come."""
    if not listening(figures):
        return
    from rigspec.space.scene import scene
    from rigspec.space.views import delay_to_set

    heard = scene(figures)
    for first, later, view in earlies(figures):
        early_s = later.arrival_s - first.arrival_s
        told = show(early_s, "time")
        set_to = delay_to_set(figures, first.voice, early_s)
        span, label = said_of(first.voice)
        yield Finding(
            "arrival-early",
            span,
            f"{first.voice.key} is heard at {view.spot.name} {told} before {later.voice.key}, so that all seems to come"
            f" from it",
            label=f"{told} early",
            related=(*label, of_place(view), *said_of(later.voice)[1]),
            computed=f"{show(first.arrival_s, 'time')} against {show(later.arrival_s, 'time')}",
            allowed="5 to 15 ms after the main loudspeakers; 3 ms before at most",
            assumes=heard.assumes[:3],
            help=f"delay it to {show(set_to.least_s, 'time')} to {show(set_to.most_s, 'time')}: `{set_to.line}`",
            subject=first.voice.key,
        )


def _is_main(way_s: float, first: Seen, later: Seen) -> bool:
    """Is the later one that from which the sound is to come: the farther away, and the stronger at its own place?"""
    nearer_s = first.arrival_s - first.voice.late_s
    strength = later.level_db - first.level_db + 20 * log10(way_s / max(nearer_s, 1e-6))
    return way_s > nearer_s + EARLY_S and strength > 0


def _delayed_on_purpose(first: Seen, later: Seen) -> bool:
    """Is the later one the nearer, and behind the other by what precedence asks for?"""
    from rigspec.solve.timing import PRECEDENCE_S

    nearer = later.arrival_s - later.voice.late_s < first.arrival_s - first.voice.late_s
    return nearer and PRECEDENCE_S[0] <= later.arrival_s - first.arrival_s <= PRECEDENCE_S[1]


def echo_heard(figures: Figures) -> Iterable[Finding]:
    """The same sound comes again so late and so loud that it is heard as an echo."""
    if not listening(figures):
        return
    from rigspec.space.scene import scene
    from rigspec.space.views import views

    heard = scene(figures)
    found = [
        (later.arrival_s - first.arrival_s, first, later, view)
        for view in views(heard)
        for first, later in _pairs(view)
        if later.arrival_s - first.arrival_s > SPEECH_S
        and later.level_db >= first.level_db - ECHO_WITHIN_DB
        and not _is_main(later.arrival_s - later.voice.late_s, first, later)  # told by arrival-early
    ]
    for first, later, view in _each_once(found, figures):
        late_s = later.arrival_s - first.arrival_s
        only_speech = late_s <= MUSIC_S
        told, below = show(late_s, "time"), first.level_db - later.level_db
        span, label = said_of(later.voice)
        yield Finding(
            "echo-heard",
            span,
            f"at {view.spot.name} {later.voice.key} comes {told} after {first.voice.key} and"
            f" {abs(below):.0f} dB {'softer' if below > 0 else 'louder'}: an echo"
            + (" for speech" if only_speech else ""),
            label=f"{told} late",
            related=(*label, of_place(view), *said_of(first.voice)[1]),
            computed=f"{told}, {-below:+.0f} dB",
            allowed="30 ms for speech, 50 ms for music, within 6 dB",
            assumes=heard.assumes[:3],
            help=f"turn {later.voice.key} away from {view.spot.name} or down, or delay {first.voice.key} to it; or say"
            f" by `hears` that it is not meant for {view.spot.name}",
            subject=later.voice.key,
            possible=only_speech,
        )


def comb_heard(figures: Figures) -> Iterable[Finding]:
    """Two unlike groups with one feed are equally loud and a little apart in time: tones are missing."""
    if not listening(figures):
        return
    from rigspec.solve.timing import notch_hz
    from rigspec.space.scene import scene
    from rigspec.space.views import views

    heard = scene(figures)
    found = []
    for view in views(heard):
        for first, later in _pairs(view):
            apart_s = later.arrival_s - first.arrival_s
            near = abs(first.level_db - later.level_db) <= COMB_WITHIN_DB
            if apart_s > EARLY_S and _is_main(later.arrival_s - later.voice.late_s, first, later):
                continue  # told by arrival-early
            if _delayed_on_purpose(first, later):
                continue
            if near and COMB_S[0] <= apart_s <= COMB_S[1] and heard.called(first.voice) != heard.called(later.voice):
                found.append((-abs(first.level_db - later.level_db), first, later, view))
    for first, later, view in _each_once(found, figures):
        apart_s = later.arrival_s - first.arrival_s
        inverted = first.voice.inverted != later.voice.inverted
        notch = show(next(notch_hz(apart_s, inverted)), "frequency")
        told = show(apart_s, "time")
        span, label = said_of(later.voice)
        yield Finding(
            "comb-heard",
            span,
            f"at {view.spot.name} {first.voice.key} and {later.voice.key} are equally loud and {told} apart: a comb,"
            f" its first notch at {notch}",
            label=f"{told} apart",
            related=(*label, of_place(view), *said_of(first.voice)[1]),
            computed=f"{told} and {abs(first.level_db - later.level_db):.0f} dB apart",
            allowed="over 4 dB, or under 1 ms, or over 20 ms apart",
            assumes=heard.assumes[:3],
            help="turn one of them down by 6 dB or away from there, so that one rules at each place",
            subject=later.voice.key,
        )


_FIELD = (
    'rig "field" {{ air 15 degC 60 % }}\n'
    "stock speaker main {{ impedance 8 ohm; rated 900 W continuous; sensitivity 101 dB SPL at 1 W }}\n"
    "stock speaker small {{ impedance 8 ohm; rated 300 W continuous; sensitivity 95 dB SPL at 1 W }}\n"
    "feed f {{ level -6 dBu; peak 6 dBu }}\namp a is twin\n"
    "speaker big is main {{ at 0 m, 0 m, 4 m }}\nspeaker fill is small {{ at 0 m, 30 m, 4 m }}\n"
    "f -> a.1 -> lead 4 mm2 9 m -> big\nf -> {delay}a.2 -> lead 4 mm2 30 m -> fill\n"
    "place back {{ at 0 m, {along} m; hears f }}\n"
)

RULES = (
    Rule(
        name="arrival-early",
        severity=Severity.WARNING,
        summary="a fill is heard before the loudspeakers that the sound is to come from",
        reason="people look to where they hear it first, and the late sound of the main loudspeakers smears the speech",
        limit=f"3 ms before at most, for loudspeakers that share a feed and a place, of which the main ones are"
        f" {FAR_M:g} m away or more",
        authority="precedence effect (H. Haas, 1951); 3 ms is common practice, no source",
        cure="delay the fill by the way between them and 5 to 15 ms more",
        bad=_FIELD.format(delay="", along=40),
        good=_FIELD.format(delay="delay 98 ms -> ", along=40),
        check=arrival_early,
    ),
    Rule(
        name="echo-heard",
        severity=Severity.WARNING,
        summary="a loudspeaker is heard as an echo of another",
        reason="words are not understood, and music plays twice",
        limit="30 ms for speech, 50 ms for music, where the later one is no more than 6 dB softer; one feed, and a"
        " place that both are meant for",
        authority=PRACTICE,
        cure="delay the earlier one to the later, or turn the later one down or away",
        bad=_FIELD.format(delay="delay 160 ms -> ", along=40),
        good=_FIELD.format(delay="delay 98 ms -> ", along=40),
        check=echo_heard,
    ),
    Rule(
        name="comb-heard",
        severity=Severity.ADVICE,
        summary="two unlike groups are equally loud at a place and a little apart in time",
        reason="tones at even steps are missing there, and return a step to the side",
        limit=f"within {COMB_WITHIN_DB:g} dB and 1 to 20 ms, for loudspeakers of unlike groups that share a feed",
        authority="wave theory; the limits are common practice, no source",
        cure="let one of them rule: 6 dB apart, or turned away",
        bad=_FIELD.format(delay="delay 90 ms -> ", along=46),
        good=_FIELD.format(delay="delay 90 ms -> ", along=40),
        check=comb_heard,
    ),
)
