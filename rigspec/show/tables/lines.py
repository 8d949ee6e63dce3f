"""Tables about distributed lines: what they put on their amplifiers, and what each loudspeaker takes."""

from __future__ import annotations

from collections.abc import Iterator

from attrs import frozen

from rigspec.figures import Figures
from rigspec.figures.lines import LineChannel, TapFigures, least_line_ohm, taps_alone
from rigspec.show.tables.question import Column, Question
from rigspec.show.tables.touch import touch_notes
from rigspec.solve.line import HEADROOM
from rigspec.text.finding import few
from rigspec.text.value import Value


@frozen(eq=False, repr=False)
class _Row(Value):
    """A line, with the least impedance that is solved for the table alone."""

    line: LineChannel
    least_ohm: float | None


def rows(figures: Figures) -> list[_Row]:
    return [_Row(line, least_line_ohm(figures, line)) for line in figures.lines.channels.values()]


def tap_rows(figures: Figures) -> list[TapFigures]:
    return list(figures.lines.taps.values())


def _alone(figures: Figures) -> Iterator[tuple[str, str]]:
    for key, line in figures.lines.channels.items():
        for text in taps_alone(tap.box.box for tap in line.taps):
            yield text, key


def _alone_at_taps(figures: Figures) -> Iterator[tuple[str, str]]:
    for key, tap in figures.lines.taps.items():
        for text in taps_alone([tap.box.box]):
            yield text, key


def _notes(figures: Figures) -> list[str]:
    notes = [
        f"{HEADROOM:.0%} free: common practice, no source. Least: each loudspeaker at 80 % of its load (IEC 60268-5).",
    ]
    return [*notes, *touch_notes(figures, lines=True)]


def _tap_notes(figures: Figures) -> list[str]:
    notes = ["Takes W: what the line gives to the transformer, behind the leads, with the line at its full voltage."]
    without = [tap.box.key for tap in figures.lines.taps.values() if tap.insertion is None]
    if without:
        notes.append(
            f"No `insertion-loss` is given for {few(without)}: what the transformer costs is not"
            " counted; about 1 dB is common (common practice, no source)."
        )
    return notes


QUESTIONS: tuple[Question, ...] = (
    Question(
        word="lines",
        title="Distributed lines: the sum of their taps against the amplifier, their load, the worst loss",
        columns=(
            Column("channel", "channel", lambda r: r.line.channel.key).says(
                "the amplifier channel or bridged pair, by its full name"
            ),
            Column("line_volt", "line V", lambda r: r.line.line_volt, 1).says("the voltage of the line"),
            Column("taps", "taps", lambda r: len(r.line.taps), holds="number").says(
                "how many loudspeakers with taps hang on it"
            ),
            Column("taps_watt", "taps W", lambda r: r.line.taps_w).says("the sum of the taps at the line's voltage"),
            Column("rated_watt", "rated W", lambda r: r.line.rated_w).says("the rated output of the amplifier"),
            Column("free_percent", "free %", lambda r: None if r.line.free is None else 100 * r.line.free, 0).says(
                "how much of that is free"
            ),
            Column("taps_ohm", "taps ohm", lambda r: r.line.taps_ohm, people=False).says(
                "the line voltage squared over the sum of the taps"
            ),
            Column("load_ohm", "sees ohm", lambda r: r.line.channel.load_ohm).says("the load with its leads"),
            Column("least_ohm", "least ohm", lambda r: r.least_ohm).says(
                "the load with each loudspeaker at 80 % of its rated one (IEC 60268-5)"
            ),
            Column("low_hz", "from Hz", lambda r: r.line.low_hz, 0).says(
                "where the band begins that filters let onto the line"
            ),
            Column("worst", "worst", lambda r: r.line.worst.box.key).says("the loudspeaker with the most loss"),
            Column("worst_loss_db", "loss dB", lambda r: r.line.worst.box.loss_db, 2).says(
                "what the leads take from it"
            ),
        ),
        rows=rows,
        worst=lambda r: 1 - r.line.free if r.line.free is not None else 0.0,
        mark="the fullest line",
        note=_notes,
        assumes=_alone,
    ),
    Question(
        word="taps",
        title="Loudspeakers on distributed lines: loss of the leads, and what reaches each at full voltage",
        columns=(
            Column("loudspeaker", "loudspeaker", lambda t: t.box.key).says("the loudspeaker, by its full name"),
            Column("channel", "on", lambda t: t.box.channel).says("the channel that it hangs on"),
            Column("tap_watt", "tap W", lambda t: t.tap_w).says("the power that its transformer is set to"),
            Column("made_for_volt", "made for V", lambda t: t.made_for_volt, 1).says(
                "the line voltage that its taps are said for"
            ),
            Column("tap_ohm", "ohm", lambda t: t.box.box.impedance_ohm).says("that voltage squared over the power"),
            Column("loss_db", "loss dB", lambda t: t.box.loss_db, 2).says(
                "what the leads take from the level, against the same without leads"
            ),
            Column("volt", "V here", lambda t: t.volt, 1).says(
                "the voltage behind the leads, the line at its full voltage"
            ),
            Column("takes_watt", "takes W", lambda t: t.takes_w).says("what the line gives to its transformer there"),
            Column(
                "insertion_loss_db", "transformer dB", lambda t: abs(t.insertion.value) if t.insertion else None
            ).says("what its transformer costs"),
            Column("behind_watt", "W behind it", lambda t: t.behind_w).says("what is left behind its transformer"),
        ),
        rows=tap_rows,
        worst=lambda t: t.box.loss_db,
        mark="the greatest loss",
        note=_tap_notes,
        assumes=_alone_at_taps,
    ),
)
