"""Arrays of bass boxes for people and programs: what each member needs beside what is set, and the pattern."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from rigspec.show.cells import prose, wrap
from rigspec.show.table import table
from rigspec.space.arrays import ArrayFigures, Member

WIDTH = 100
FLOOR_DB = -25.0
MOST_MEMBERS = 12


def arrays_text(found: Sequence[ArrayFigures]) -> str:
    """Each array: its members, its pattern over the band, and for lines what their spacing allows."""
    return "\n".join(_array(each) for each in found)


def _array(each: ArrayFigures) -> str:
    name = each.called
    if each.lacking:
        return _prose(f"{name}: nothing to say, {each.lacking}.")
    rows = [_member(member) for member in each.members[:MOST_MEMBERS]]
    head = [name, "across m", "along m", "needs ms", "set ms", "needs", "set", ""]
    text = table(head, rows, right=range(1, 5), width=WIDTH)
    tones = [
        [said, *(f"{_floored(value):.0f}" for value in values)]
        for said, values in (
            ("front, against one box", [tone.front_db for tone in each.patterns]),
            ("louder side", [tone.side_db for tone in each.patterns]),
            ("rear", [tone.rear_db for tone in each.patterns]),
        )
    ]
    text += "\n" + table(
        ["dB against the front, at Hz", *(tone.name for tone in each.patterns)], tones, right=range(1, 7), width=WIDTH
    )
    if each.directed:
        text += _prose(
            f"{_rejection(each.rejection_db)} behind than in front over its band; set as needed: "
            f"{_rejection(each.possible_db)}."
        )
    if each.widest_m:
        text += _prose(
            f"At most {each.spacing_m:.2f} m apart; {each.widest_m:.2f} m is half a wave at the top of its band. No "
            f"second direction up to {each.alone_hz:.0f} Hz."
        )
    return text


def _rejection(level: float) -> str:
    if level > -FLOOR_DB:
        return f"over {-FLOOR_DB:.0f} dB softer"
    return f"{abs(level):.1f} dB {'softer' if level >= 0 else 'louder'}"


def _floored(level: float) -> float:
    return max(level, FLOOR_DB)


def _member(member: Member) -> list[str]:
    count = f" and {len(member.voices) - 1} there" if len(member.voices) > 1 else ""
    wrong = member.needs.inverted != member.has.inverted or abs(member.off_s) > 0.0005
    return [
        member.key + count,
        f"{member.at[0]:g}",
        f"{member.at[1]:g}",
        f"{1000 * member.needs.delay_s:.2f}",
        f"{1000 * member.has.delay_s:.2f}",
        _polarity(member.needs.inverted),
        _polarity(member.has.inverted),
        "off" if wrong else "",
    ]


def _polarity(inverted: bool) -> str:
    return "inverted" if inverted else "normal"


def _prose(text: str) -> str:
    return "".join(f"{line}\n" for line in wrap(prose(text), WIDTH))


def arrays_json(found: Sequence[ArrayFigures]) -> list[dict[str, Any]]:
    """The same as data; levels are null where nothing is left."""
    return [
        {
            "group": each.roster.name,
            "array": each.intent.word,
            "toward_deg": each.intent.toward_deg,
            "why": each.lacking or None,
            "members": [
                {
                    "loudspeakers": [voice.key for voice in member.voices],
                    "across_m": member.at[0],
                    "along_m": member.at[1],
                    "needs_ms": 1000 * member.needs.delay_s,
                    "set_ms": 1000 * member.has.delay_s,
                    "needs_inverted": member.needs.inverted,
                    "set_inverted": member.has.inverted,
                }
                for member in each.members
            ],
            "patterns": [
                {
                    "tone_hz": tone.hz,
                    "front_db": _said(tone.front_db),
                    "side_db": _said(tone.side_db),
                    "rear_db": _said(tone.rear_db),
                    "round_db": [_said(level) for level in tone.round_db],
                }
                for tone in each.patterns
            ],
            "rejection_db": _said(each.rejection_db) if each.members else None,
            "spacing_m": each.spacing_m or None,
            "widest_m": each.widest_m or None,
        }
        for each in found
    ]


def _said(level: float) -> float | None:
    return level if -200 < level < 200 else None
