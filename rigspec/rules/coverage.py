"""Rules about what loudspeakers point at: boxes that look away, places that nothing covers, monitors exchanged."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from rigspec.figures import Figures
from rigspec.rules.rule import Rule
from rigspec.rules.space_words import listening, of_place, said_of, views_of, voices_in
from rigspec.text.finding import Finding, Label, Severity, few

if TYPE_CHECKING:
    from rigspec.space.views import Seen, View
    from rigspec.space.voices import Voice

AWAY_DEG = 90.0
UNCOVERED_DB = 12.0  # 1.4 times as far beside its aim as the edge of its coverage, where it is 6 dB down
WEDGE_M = 4.0
PRACTICE = "common practice, no source"


def aim_away(figures: Figures) -> Iterable[Finding]:
    """A full-range box looks away from every place that is meant to hear it."""
    if not listening(figures):
        return
    told: dict[str, tuple[Voice, View, float]] = {}
    for voice, view, deg in _away(views_of(figures)):
        told.setdefault(f"{voice.gear.name}{voice.at}{voice.aim_deg}", (voice, view, deg))
    for voice, view, deg in told.values():
        aim = voice.gear.facts["aim"]
        yield Finding(
            "aim-away",
            aim.span,
            f"{voice.gear.full} looks away from every place that hears it: {view.spot.name}, the nearest to its aim,"
            f" lies {deg:.0f} deg beside",
            label="aims here",
            related=(of_place(view), *said_of(voice)[1]),
            computed=f"{deg:.0f} deg",
            allowed=f"at most {AWAY_DEG:g} deg",
            help=f"aim it at {view.spot.name}: `aim {_toward(voice, view):.0f} deg`; 0 deg faces the audience, 90 deg"
            " house right",
            subject=voice.gear.full,
        )


def _away(found: Sequence[View]) -> Iterator[tuple[Voice, View, float]]:
    """The full-range boxes that look away from all that hears them, with the place that is least beside."""
    told = [view for view in found if view.spot.gear.says("hears")]
    for number, voice in enumerate(voices_in(found)):
        if voice.bass or voice.aim_deg is None:
            continue
        served = [(view, view.seen[number]) for view in told if view.seen[number].meant]
        off = [(abs(each.off_deg[0]), view) for view, each in served if each.off_deg is not None]
        if off and min(deg for deg, _ in off) > AWAY_DEG:
            deg, view = min(off, key=lambda each: (each[0], each[1].spot.name))
            yield voice, view, deg


def _toward(voice: Voice, view: View) -> float:
    from rigspec.solve.sound import off_aim_deg

    return off_aim_deg(voice.at, 0.0, 0.0, view.point)[0]


def place_uncovered(figures: Figures) -> Iterable[Finding]:
    """A place lies outside the coverage of all full-range boxes that it hears."""
    if not listening(figures):
        return
    found = views_of(figures)
    away = {id(voice) for voice, _, _ in _away(found)}
    exchanged = {id(view) for one, _, other, _ in _exchanges(found) for view in (one, other)}
    for view in found:
        full = [each for each in view.meant if not each.voice.bass]
        covering = [each for each in full if each.beside_db < UNCOVERED_DB]
        known = [each for each in full if each.voice.coverage_deg is not None and each.off_deg is not None]
        facing = [each for each in known if each.off_deg is not None and abs(each.off_deg[0]) <= AWAY_DEG]
        if not view.spot.gear.says("hears") or not full or covering or not facing:
            continue
        if id(view) in exchanged or any(id(each.voice) in away for each in full):
            continue  # told by wedge-exchanged or aim-away
        best = min(facing, key=lambda each: (round(each.beside_db, 6), each.voice.key))
        assert best.off_deg is not None
        assert best.voice.coverage_deg is not None
        yield Finding(
            "place-uncovered",
            view.spot.gear.span,
            f"no loudspeaker covers {view.spot.name}: {best.voice.key}, the nearest, points"
            f" {abs(best.off_deg[0]):.0f} deg beside and {abs(best.off_deg[1]):.0f} deg"
            f" {'below' if best.off_deg[1] > 0 else 'above'} it, {best.beside_db:.0f} dB down",
            label="not covered",
            related=said_of(best.voice)[1],
            computed=f"{best.beside_db:.0f} dB down",
            allowed=f"less than {UNCOVERED_DB:g} dB down; 6 dB are the edge of the coverage",
            help=f"aim a box at it, as {best.voice.key} with `aim {_toward(best.voice, view):.0f} deg,"
            f" {_up(best, view):.0f} deg`, or add a fill",
            subject=view.spot.name,
        )


def _up(seen: Seen, view: View) -> float:
    from rigspec.solve.sound import off_aim_deg

    return off_aim_deg(seen.voice.at, 0.0, 0.0, view.point)[1]


def wedge_exchanged(figures: Figures) -> Iterable[Finding]:
    """Two monitors are each where the other is to be heard."""
    if not listening(figures):
        return
    for view, near, other, theirs in _exchanges(views_of(figures)):
        yield _exchanged(view, near, other, theirs)


def _exchanges(views: Sequence[View]) -> Iterator[tuple[View, Seen, View, Seen]]:
    """Two places, each nearest to a box that the other is to hear, and to none that it is."""
    found = [view for view in views if view.spot.gear.says("hears") and not _meant_near(view)]
    for number, view in enumerate(found):
        for other in found[number + 1 :]:
            near, theirs = _nearest(view), _nearest(other)
            if near is None or theirs is None:
                continue
            if id(near.voice) in _meant_voices(other) and id(theirs.voice) in _meant_voices(view):
                yield view, near, other, theirs


def _exchanged(view: View, near: Seen, other: View, theirs: Seen) -> Finding:
    span, labels = said_of(near.voice)
    return Finding(
        "wedge-exchanged",
        span,
        f"{near.voice.gear.full} stands at {view.spot.name} and plays what {other.spot.name} is to hear, and"
        f" {theirs.voice.gear.full} there plays what {view.spot.name} is to hear",
        label=f"for {other.spot.name}",
        related=(*labels, of_place(view), of_place(other), *said_of(theirs.voice)[1]),
        computed=f"{near.voice.gear.full} is nearest to {view.spot.name}",
        allowed="each place is nearest to a box that it hears",
        help=f"exchange what feeds {near.voice.gear.full} and {theirs.voice.gear.full}, or where they stand",
        subject=near.voice.gear.full,
    )


def _close(view: View) -> Iterator[Seen]:
    from rigspec.solve.sound import distance_m

    for each in view.seen:
        if not each.voice.bass and distance_m(each.voice.at, view.point) <= WEDGE_M:
            yield each


def _nearest(view: View) -> Seen | None:
    return max(_close(view), key=lambda each: (round(each.level_db, 6), each.voice.key), default=None)


def _meant_near(view: View) -> bool:
    return any(each.meant for each in _close(view))


def _meant_voices(view: View) -> set[int]:
    return {id(each.voice) for each in view.meant}


def reach_unknown(figures: Figures) -> Iterable[Finding]:
    """Some boxes that places hear do not say where they stand or how loud they are, while others do."""
    if not listening(figures):
        return
    from rigspec.space.scene import scene

    heard = scene(figures)
    lost = {spot.gear: heard.lost_to(spot) for spot in heard.spots if spot.gear.says("hears")}
    found = list(dict.fromkeys(each for unheard in lost.values() for each in unheard))
    if not found or not heard.voices:
        return
    first, names = found[0], [each.gear.full for each in found]
    places = [gear for gear, unheard in lost.items() if first in unheard]
    yield Finding(
        "reach-unknown",
        first.gear.span,
        f"{few(names, 4)} {'is' if len(names) == 1 else 'are'} left out of what places hear: {first.why}",
        label="left out",
        related=(Label(places[0].span, "a place that says what it hears"),),
        help="say `at` of each box and `sensitivity` in its stock (a powered one: `peak-level` and `drive`), or leave"
        " `hears` out",
        subject=first.gear.full,
    )


_HALL = (
    "stock speaker wide {{ impedance 8 ohm; rated 500 W continuous; sensitivity 97 dB SPL at 1 W\n"
    "  coverage 80 deg, 50 deg }}\n"
    "feed f {{ level -6 dBu; peak 6 dBu }}\namp a is twin\nspeaker b is wide {{ at -4 m, 0 m, 3 m; aim {aim} }}\n"
    "f -> a.1 -> lead 2.5 mm2 9 m -> b\nplace desk {{ at {desk}; hears f }}\n"
)
_STAGE = (
    "stock speaker wedge {{ impedance 8 ohm; rated 300 W continuous; sensitivity 97 dB SPL at 1 W }}\n"
    "feed m[1..2] {{ level -6 dBu; peak 6 dBu }}\namp a is twin\n"
    "speaker w[1] is wedge {{ at -3 m, -1 m; aim 180 deg }}\nspeaker w[2] is wedge {{ at 3 m, -1 m; aim 180 deg }}\n"
    "m[1] -> a.1 -> lead 2.5 mm2 9 m -> w[{one}]\nm[2] -> a.2 -> lead 2.5 mm2 9 m -> w[{two}]\n"
    "place singer {{ at -3 m, -3 m; hears m[1] }}\nplace fiddle {{ at 3 m, -3 m; hears m[2] }}\n"
)

RULES = (
    Rule(
        name="aim-away",
        severity=Severity.WARNING,
        summary="a loudspeaker looks away from every place that is to hear it",
        reason="its middle and top go where nobody stands, as when an aim is written the wrong way round",
        limit=f"at most {AWAY_DEG:g} deg beside its aim, for one place at least of those that hear its feeds",
        authority=PRACTICE,
        cure="aim it at them",
        bad=_HALL.format(aim="180 deg", desk="0 m, 20 m"),
        good=_HALL.format(aim="10 deg", desk="0 m, 20 m"),
        check=aim_away,
    ),
    Rule(
        name="place-uncovered",
        severity=Severity.WARNING,
        summary="a place lies outside the coverage of all full-range boxes that it hears",
        reason="it hears bass and murmur, and words are not understood",
        limit=f"less than {UNCOVERED_DB:g} dB down beside the aim, of which 6 dB are the edge of the coverage",
        authority=PRACTICE,
        cure="aim a box at it or add a fill",
        bad=_HALL.format(aim="-10 deg", desk="12 m, 6 m"),
        good=_HALL.format(aim="40 deg", desk="12 m, 6 m"),
        check=place_uncovered,
    ),
    Rule(
        name="wedge-exchanged",
        severity=Severity.WARNING,
        summary="two monitors are each where the other is to be heard",
        reason="each hears the other's mix, at the first note, with the audience there",
        limit=f"of the boxes within {WEDGE_M:g} m of a place one at least carries a feed that it hears",
        authority="the rig's own `hears`",
        cure="exchange the two lines, or the places",
        bad=_STAGE.format(one=2, two=1),
        good=_STAGE.format(one=1, two=2),
        check=wedge_exchanged,
    ),
    Rule(
        name="reach-unknown",
        severity=Severity.ADVICE,
        summary="boxes that places hear are left out, as too little is said of them",
        reason="levels and arrivals at places are worked out without them, and look better or worse than they are",
        limit="each box says where it stands and how loud it is, where others do",
        authority="the rig language, grammar/reference.md",
        cure="say `at` of the box, and `sensitivity` or `peak-level` in its stock",
        bad=_HALL.format(aim="10 deg", desk="0 m, 20 m") + "speaker c is wide\nf -> a.2 -> lead 2.5 mm2 9 m -> c\n",
        good=_HALL.format(aim="10 deg", desk="0 m, 20 m")
        + "speaker c is wide { at 4 m, 0 m, 3 m; aim -10 deg }\nf -> a.2 -> lead 2.5 mm2 9 m -> c\n",
        check=reach_unknown,
    ),
)
