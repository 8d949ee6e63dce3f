"""Rules about how places are balanced: fills against mains, the sides of a stereo pair, bass against tops."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import isfinite
from typing import TYPE_CHECKING

from rigspec.figures import Figures
from rigspec.rig.model import members
from rigspec.rules.rule import Rule
from rigspec.rules.space_words import listening, of_place, said_of, views_of, voices_in
from rigspec.text.finding import Finding, Label, Severity
from rigspec.text.units import show
from rigspec.text.value import gathered

if TYPE_CHECKING:
    from rigspec.space.views import Seen, View

SIDES_DB, SIDES_S = 3.0, 0.001
MIDDLE_M = 0.5
FILL_OVER_DB = 1.0
SUBS_UNDER_DB = 6.0
PRACTICE = "common practice, no source"


def fill_loud(figures: Figures) -> Iterable[Finding]:
    """A group rules at a place that is not meant to hear it, and nowhere it is meant for."""
    if not listening(figures):
        return
    from rigspec.solve.sound import level_db
    from rigspec.space.scene import scene

    heard, found = scene(figures), views_of(figures)
    told = [view for view in found if view.spot.gear.says("hears")]
    full = [number for number, voice in enumerate(voices_in(found)) if not voice.bass]
    powers = [[10 ** (view.seen[number].level_db / 10) for number in full] for view in told]
    every = voices_in(found)
    for name, inside in gathered(full, lambda number: heard.called(every[number])).items():
        own = set(inside)
        over: list[tuple[float, View, bool]] = []
        for view, power in zip(told, powers, strict=True):
            rest = sum(p for n, p in zip(full, power, strict=True) if n not in own and view.seen[n].meant)
            mine = sum(p for n, p in zip(full, power, strict=True) if n in own)
            if rest > 0 and mine > 0:
                over.append((level_db(mine / rest), view, any(view.seen[number].meant for number in inside)))
        spilt = [each for each in over if not each[2] and isfinite(each[0]) and each[0] > FILL_OVER_DB]
        rules = [each for each in over if each[2] and each[0] > -FILL_OVER_DB]
        served = any(view.seen[number].meant for view in told for number in inside)
        if not spilt or rules or not served or any(_only(view, full, own) for view in told):
            continue
        most, view, _ = max(spilt, key=lambda each: (round(each[0], 6), each[1].spot.name))
        span, labels = said_of(every[inside[0]])
        yield Finding(
            "fill-loud",
            span,
            f"{name} is {most:.0f} dB louder at {view.spot.name} than all that {view.spot.name} is to hear, and softer"
            " than the others where it is meant to be heard",
            label=f"{most:.0f} dB over at {view.spot.name}",
            related=(*labels, of_place(view)),
            computed=f"{most:.1f} dB louder",
            allowed="softer than what the place is meant to hear",
            assumes=heard.assumes[:3],
            help=f"aim {name} at the places that hear it, or turn it down by {most + 6:.0f} dB; or let {view.spot.name}"
            " hear it",
            subject=every[inside[0]].gear.full,
        )


def _only(view: View, full: Sequence[int], own: set[int]) -> bool:
    """Does a place hear these alone?"""
    meant = [number for number in full if view.seen[number].meant]
    return bool(meant) and own.issuperset(meant)


def stereo_unlike(figures: Figures) -> Iterable[Finding]:
    """At a place in the middle, the two sides of a stereo pair are not equally loud, or not there together."""
    if not listening(figures) or any(gear.doubt for gear in figures.rig.gear.values()):
        return  # what is missing may be the thing with the fault
    from rigspec.space.views import together_db

    found = views_of(figures)
    for roster in figures.rig.rosters_of("stereo"):
        names = [part.name for part in roster.parts]
        for view in found if len(names) == 2 else ():
            sides = [_side(view, names[at], names[1 - at]) for at in (0, 1)]
            nearest = [min(side, key=lambda each: each.arrival_s, default=None) for side in sides]
            left, right = nearest
            if left is None or right is None:
                continue
            ways = [each.arrival_s - each.voice.late_s for each in (left, right)]
            if abs(ways[0] - ways[1]) * _metre(figures) > MIDDLE_M:
                continue
            apart_db, apart_s = together_db(sides[0]) - together_db(sides[1]), left.arrival_s - right.arrival_s
            if not isfinite(apart_db) or (abs(apart_db) <= SIDES_DB and abs(apart_s) <= SIDES_S):
                continue
            late = abs(apart_s) > SIDES_S
            worse = (left if apart_s > 0 else right) if late else (right if apart_db > 0 else left)
            by = f"{show(abs(apart_s), 'time')} later" if late else f"{abs(apart_db):.1f} dB softer"
            span, labels = said_of(worse.voice)
            yield Finding(
                "stereo-unlike",
                span,
                f"in the middle, at {view.spot.name}, the side of {worse.voice.key} is {by} than the other side of"
                f" {roster.name}",
                label=by,
                related=(*labels, of_place(view), Label(roster.span, f"the pair {roster.name}")),
                computed=by,
                allowed=f"within {SIDES_DB:g} dB and {1000 * SIDES_S:g} ms",
                help="make delays, levels and boxes of both sides alike",
                subject=worse.voice.key,
            )
            break


def _metre(figures: Figures) -> float:
    from rigspec.space.scene import scene

    return scene(figures).sound_m_per_s


def _side(view: View, own: str, other: str) -> list[Seen]:
    """The full-range boxes that a place hears of one side of a pair, and of that side only."""

    def feeds(each: Seen) -> set[str]:
        return {part.feed for part, _ in each.voice.shares}

    return [
        each
        for each in view.meant
        if not each.voice.bass and own in feeds(each) and other not in feeds(each) and isfinite(each.level_db)
    ]


def _most_db(seen: Iterable[Seen]) -> float:
    """The energy of some boxes at the most that each gives."""
    from rigspec.solve.sound import level_db

    total = 0.0
    for each in seen:
        nominal, most = each.voice.level_db("nominal"), each.voice.level_db("most")
        over = 0.0 if nominal is None or most is None else most - nominal
        total += 10 ** ((each.level_db + over) / 10)
    return level_db(total)


def subs_behind(figures: Figures) -> Iterable[Finding]:
    """The most that the bass boxes give at a place is far below what the tops give there."""
    if not listening(figures):
        return
    from rigspec.solve.sound import BANDS_HZ, Field
    from rigspec.space.scene import scene
    from rigspec.space.voices import noise

    heard = scene(figures)
    worst: tuple[float, View, list[Seen]] | None = None
    for view in views_of(figures):
        bass = [each for each in view.meant if each.voice.bass]
        tops = [each for each in view.meant if not each.voice.bass]
        if not bass or not tops or any(each.voice.level_db("most") is None for each in (*bass, *tops)):
            continue
        most_bass, most_tops = (_most_db(side) for side in (bass, tops))
        if most_tops - most_bass <= SUBS_UNDER_DB:
            continue
        waves = Field(noise([each.voice for each in bass], "most"), BANDS_HZ, heard.air).level_db(view.point)
        behind = most_tops - max(most_bass, waves)
        if isfinite(behind) and behind > SUBS_UNDER_DB and (worst is None or behind > worst[0]):
            worst = behind, view, bass
    if worst is None:
        return
    behind, view, bass = worst
    names = members({each.voice.gear.full: each.voice.gear for each in bass}.values())
    yield Finding(
        "subs-behind",
        bass[0].voice.band.span,
        f"{names} cannot keep up: at {view.spot.name} the most of all bass boxes is {behind:.0f} dB below the most of"
        " what plays above them",
        label=f"{behind:.0f} dB behind",
        related=(of_place(view),),
        computed=f"{behind:.1f} dB below",
        allowed=f"at most {SUBS_UNDER_DB:g} dB below",
        assumes=heard.assumes[:3],
        help="more bass boxes (twice as many in one place are 6 dB), more power to them, or limit the tops",
        subject=bass[0].voice.gear.full,
    )


_FILLS = (
    "stock speaker wide {{ impedance 8 ohm; rated 500 W continuous; sensitivity 97 dB SPL at 1 W\n"
    "  coverage 80 deg, 50 deg }}\n"
    "feed f {{ level -6 dBu; peak 6 dBu }}\nfeed g {{ level -6 dBu; peak 6 dBu }}\namp a is twin\n"
    "speaker main is wide {{ at 0 m, 0 m, 3 m; aim 0 deg }}\n"
    "speaker side is wide {{ at 6 m, 6 m, 3 m; aim {aim} deg }}\n"
    "f -> a.1 -> lead 2.5 mm2 9 m -> main\ng -> a.2 -> lead 2.5 mm2 9 m -> side\n"
    "place desk {{ at 0 m, 16 m; hears f }}\nplace porch {{ at 10 m, 30 m; hears f, g }}\n"
)
_PAIR = (
    "stock speaker wide {{ impedance 8 ohm; rated 500 W continuous; sensitivity 97 dB SPL at 1 W }}\n"
    "feed l {{ level -6 dBu; peak 6 dBu }}\nfeed r {{ level -6 dBu; peak 6 dBu }}\nstereo main: l, r\namp a is twin\n"
    "speaker b[1] is wide {{ at -4 m, 0 m, 3 m }}\nspeaker b[2] is wide {{ at 4 m, 0 m, 3 m }}\n"
    "l -> a.1 -> lead 2.5 mm2 9 m -> b[1]\nr -> {way}a.2 -> lead 2.5 mm2 9 m -> b[2]\n"
    "place desk {{ at 0 m, 16 m; hears main }}\n"
)
_BASS = (
    "stock speaker top {{ impedance 8 ohm; rated 500 W continuous; sensitivity 101 dB SPL at 1 W\n"
    "  band 100 Hz to 16 kHz }}\n"
    "stock speaker low {{ impedance 8 ohm; rated 600 W continuous; sensitivity {sensitivity} dB SPL at 1 W\n"
    "  band 35 Hz to 110 Hz }}\n"
    "feed f {{ level -6 dBu; peak 6 dBu }}\namp a is twin\namp c is twin\n"
    "speaker t[1..2] is top {{ at 0 m, 0 m, 2 m }}\nspeaker s is low {{ at 0 m, 0 m }}\n"
    "f -> a.1 -> lead 2.5 mm2 9 m -> t[1]\nf -> a.2 -> lead 2.5 mm2 9 m -> t[2]\n"
    "f -> c.1 -> lead 2.5 mm2 9 m -> s\nplace desk {{ at 0 m, 16 m; hears f }}\n"
)

RULES = (
    Rule(
        name="fill-loud",
        severity=Severity.ADVICE,
        summary="a fill rules where it is not meant to be heard, and nowhere it is meant for",
        reason="it disturbs those who have their own sound, and does not help those it was put up for",
        limit=f"{FILL_OVER_DB:g} dB over all that a place is to hear, and softer than the others where it is meant",
        authority=PRACTICE,
        cure="aim it at its own places or turn it down",
        bad=_FILLS.format(aim=-32),
        good=_FILLS.format(aim=10),
        check=fill_loud,
    ),
    Rule(
        name="stereo-unlike",
        severity=Severity.WARNING,
        summary="in the middle, the sides of a stereo pair are unlike",
        reason="the picture leans to one side for everybody, and what is in the middle of the mix does not stand there",
        limit=f"{SIDES_DB:g} dB and {1000 * SIDES_S:g} ms between the sides, where both are equally far",
        authority=PRACTICE,
        cure="make delays, levels and boxes of both sides alike",
        bad=_PAIR.format(way="delay 5 ms -> "),
        good=_PAIR.format(way=""),
        check=stereo_unlike,
    ),
    Rule(
        name="subs-behind",
        severity=Severity.ADVICE,
        summary="the bass boxes cannot keep up with what plays above them",
        reason="at full level the music loses its ground, and somebody turns the bass up until it breaks",
        limit=f"the most of all bass boxes at most {SUBS_UNDER_DB:g} dB below the most of the others, at a place that"
        " hears both; music has more in the bass than that",
        authority=PRACTICE,
        cure="more bass boxes or more power to them, or a lower limit for the tops",
        bad=_BASS.format(sensitivity=90),
        good=_BASS.format(sensitivity=101),
        check=subs_behind,
    ),
)
