"""Figures for people and programs: what each channel sees and gives, what reaches each loudspeaker, what leads cost."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from math import isfinite
from typing import TYPE_CHECKING

from rigspec.show.table import table

if TYPE_CHECKING:
    from rigspec.check import Report
    from rigspec.figures import BoxFigures, ChannelFigures, LeadFigures

CAUTIONS = (
    "Rated figures are not measurements. Powers are for a sine into the rated impedance.",
    "Outputs of large amplifiers are dangerous to touch; mains work is for licensed people under the local code.",
    "Levels that these powers can reach harm hearing.",
)


def _fixed(value: float | None, decimals: int) -> str:
    return "-" if value is None else f"{value:.{decimals}f}"


def _ohm(value: float) -> str:
    return f"{value:.2f}" if value < 100 else f"{value:.0f}"


def _watt(value: float | None) -> str:
    return (
        "-" if value is None else f"{value:.0f}" if value >= 100 else f"{value:.1f}" if value >= 1 else f"{value:.2f}"
    )


def _volt(value: float | None) -> str:
    return "-" if value is None else f"{value:.1f}"


def polarity(box: BoxFigures) -> str:
    """The net polarity of a loudspeaker, and of each driver that is turned inside it."""
    ways = {(len(part.turns) + len(box.own_turns)) % 2 for part in box.parts} or {len(box.own_turns) % 2}
    if len(ways) > 1:
        return "differs by feed"
    inverted = ways.pop() == 1
    words = ("inverted", "normal")
    gear, way = box.box.gear, box.box.way
    given = (gear.way(way) if way else gear.facts).get("drivers")
    drivers = [(ref.name, "inverted" in each.words) for each in given.entries for ref in each.refs] if given else []
    if not any(turned for _, turned in drivers):
        return words[not inverted]
    return ", ".join(f"{name} {words[inverted == turned]}" for name, turned in drivers)


def _turn_count(box: BoxFigures) -> int:
    return max((len(part.turns) for part in box.parts), default=0) + len(box.own_turns)


def figures_text(report: Report) -> str:
    """All figures as tables, with what they assume and the cautions that go with them."""
    worked = report.figures
    parts = [f"{worked.rig.title or report.source.path}\n"]
    if worked.channels:
        parts += [
            "Amplifier channels\n" + _channel_table(worked.channels.values()),
            "Loudspeakers\n" + _box_table(worked.boxes.values()),
        ]
        leads = [lead for channel in worked.channels.values() for lead in channel.leads]
        if leads:
            parts.append("Loudspeaker leads, at the amplifier's rated output\n" + _lead_table(leads))
    for key, why in worked.unknown.items():
        parts.append(f"{key}: no figures, {why}\n")
    if not worked.channels and not worked.unknown:
        parts.append("No loudspeaker hangs on an amplifier here, so there is nothing to compute.\n")
    assumes: dict[str, list[str]] = {}
    for channel in worked.channels.values():
        for text in channel.assumes:
            assumes.setdefault(text, []).append(channel.key)
    if assumes:
        parts.append("Assumed\n" + "".join(f"- {text} ({_few(keys)})\n" for text, keys in assumes.items()))
    parts.append("".join(f"{text}\n" for text in CAUTIONS))
    return "\n".join(parts)


def _few(keys: list[str]) -> str:
    return ", ".join(keys[:4]) + (f" and {len(keys) - 4} more" if len(keys) > 4 else "")


def _channel_table(channels: Iterable[ChannelFigures]) -> str:
    head = ["channel", "sees ohm", "each half", "stands ohm", "rated V", "rated W", "level in dBu", "out V", "peak V"]
    rows, marks = [], {}
    for number, each in enumerate(channels):
        if each.clips:
            marks[number] = "!"
        half = _ohm(min(ohm for _, ohm in each.halves)) if each.halves else "-"
        limit = each.bridge_limit or each.limit
        rows.append(
            [
                each.key,
                _ohm(each.load_ohm),
                half,
                f"{limit.value:g}" if limit else "-",
                _volt(each.rated_volt),
                _watt(each.rated_w),
                _fixed(each.input_dbu, 1),
                _volt(each.nominal_volt),
                _volt(each.peak_volt),
            ]
        )
    note = "! the feed's level asks for more than the rated output\n" if marks else ""
    return table(head, rows, right=range(1, 9), marks=marks) + note


def _box_table(boxes: Iterable[BoxFigures]) -> str:
    head = ["loudspeaker", "on", "polarity", "turns", "loss dB", "rated W", "W at level", "peak W", "stands W", "peak"]
    rows = [
        [
            each.key,
            each.channel,
            polarity(each),
            str(_turn_count(each)),
            _fixed(each.loss_db, 2),
            _watt(each.rated_w),
            _watt(each.nominal_w),
            _watt(each.peak_w),
            _watt(each.continuous.value if each.continuous else None),
            _watt(each.peak.value if each.peak else None),
        ]
        for each in boxes
    ]
    return table(head, rows, right=range(3, 10))


def lead_name(lead: LeadFigures) -> str:
    """What a lead is called: its own name, the box it links to, or how the path describes it."""
    piece = lead.piece
    return piece.name or " ".join(piece.span.text.split())


def _lead_table(leads: list[LeadFigures]) -> str:
    head = ["lead", "line", "on", "ohm there and back", "A", "W lost", "loss dB"]
    worst = max(range(len(leads)), key=lambda number: leads[number].loss_db)
    rows = [
        [
            lead_name(each),
            str(each.piece.span.line),
            each.channel,
            f"{each.loop_ohm:.3f}",
            _fixed(each.ampere, 1),
            _watt(each.watt),
            _fixed(each.loss_db, 2),
        ]
        for each in leads
    ]
    note = "> the costliest lead\n" if len(leads) > 1 else ""
    return table(head, rows, right=(1, 3, 4, 5, 6), marks={worst: ">"} if len(leads) > 1 else {}) + note


def figures_json(report: Report) -> str:
    """All figures with their units in the names, versioned."""
    from rigspec.show.ascii_json import dump

    worked = report.figures
    return dump(
        {
            "format": "rigspec-figures",
            "version": 1,
            "file": report.source.path,
            "title": worked.rig.title,
            "channels": [_channel_json(each) for each in worked.channels.values()],
            "loudspeakers": [_box_json(each) for each in worked.boxes.values()],
            "leads": [_lead_json(lead) for channel in worked.channels.values() for lead in channel.leads],
            "unknown": dict(worked.unknown),
            "cautions": list(CAUTIONS),
        }
    )


def _channel_json(each: ChannelFigures) -> Mapping[str, object]:
    return {
        "channel": each.key,
        "load_ohm": each.load_ohm,
        "least_seen_ohm": each.least_seen_ohm,
        "halves_ohm": dict(each.halves),
        "least_load_ohm": each.limit.value if each.limit else None,
        "least_bridged_load_ohm": each.bridge_limit.value if each.bridge_limit else None,
        "rated_volt": each.rated_volt,
        "rated_watt": each.rated_w,
        "input_dbu": each.input_dbu if each.input_dbu is not None and isfinite(each.input_dbu) else None,
        "nominal_volt": each.nominal_volt,
        "peak_level_volt": each.peak_volt,
        "assumes": list(each.assumes),
    }


def _box_json(each: BoxFigures) -> Mapping[str, object]:
    return {
        "loudspeaker": each.key,
        "channel": each.channel,
        "impedance_ohm": each.box.impedance_ohm,
        "polarity": polarity(each),
        "feeds": [
            {"feed": part.feed, "turns": [turn.text for turn in part.turns + each.own_turns]} for part in each.parts
        ],
        "loss_db": each.loss_db,
        "rated_watt": each.rated_w,
        "nominal_watt": each.nominal_w,
        "peak_watt": each.peak_w,
        "continuous_rating_watt": each.continuous.value if each.continuous else None,
        "peak_rating_watt": each.peak.value if each.peak else None,
    }


def _lead_json(each: LeadFigures) -> Mapping[str, object]:
    return {
        "lead": lead_name(each),
        "line": each.piece.span.line,
        "channel": each.channel,
        "loop_ohm": each.loop_ohm,
        "ampere": each.ampere,
        "lost_watt": each.watt,
        "loss_db": each.loss_db,
    }
