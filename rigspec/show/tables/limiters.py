"""Tables about limiters: where they have to stand, and where those that are set stand."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from attrs import frozen

from rigspec.figures import Figures
from rigspec.figures.limiters import SetLimiter
from rigspec.figures.protection import ChannelProtection, PoweredProtection
from rigspec.show.tables.question import Column, Question
from rigspec.show.tables.touch import touch_notes
from rigspec.solve.decibel import dbu_to_volt
from rigspec.solve.limiter import SINE_CREST_FACTOR
from rigspec.text.finding import few
from rigspec.text.value import Value

Row = ChannelProtection | PoweredProtection

# ---- where they have to stand ---------------------------------------------------------------------------------------


def rows(figures: Figures) -> Sequence[Row]:
    protection = figures.protection
    known = [each for each in protection.channels.values() if each.rms is not None or each.peak is not None]
    return [*known, *protection.powered.values()]


def _key(row: Row) -> str:
    return row.channel.key if isinstance(row, ChannelProtection) else row.key


def _weakest(row: Row) -> str:
    if isinstance(row, PoweredProtection):
        return "its own amplifier"
    keys = dict.fromkeys(each.box.key for each in (row.rms, row.peak) if each is not None)
    return ", ".join(keys)


def _output_volt(row: Row, watches: str) -> float | None:
    if isinstance(row, PoweredProtection):
        return None
    found = row.rms if watches == "rms" else row.peak
    return found.volt if found is not None else None


def _input_dbu(row: Row, watches: str) -> float | None:
    if isinstance(row, PoweredProtection):
        return row.drive_dbu if watches == "peak" else None
    return row.at_input_dbu(watches)


def _input_volt(row: Row, watches: str) -> float | None:
    dbu = _input_dbu(row, watches)
    return None if dbu is None else dbu_to_volt(dbu) * (SINE_CREST_FACTOR if watches == "peak" else 1.0)


def _place(row: Row) -> str:
    return row.points[0].output.key if row.points else "its input"


def _there_dbu(row: Row, watches: str) -> float | None:
    """The threshold at the last processor on the way, or at the input where there is none."""
    if not row.points:
        return _input_dbu(row, watches)
    if isinstance(row, PoweredProtection):
        return row.at_point_dbu if watches == "peak" else None
    return row.at_point_dbu(watches)


def _clip_volt(row: Row) -> float | None:
    return row.channel.rated_volt if isinstance(row, ChannelProtection) else None


def _ms(row: Row) -> tuple[float | None, float | None]:
    times = row.times if isinstance(row, ChannelProtection) else None
    return (None, None) if times is None else (times.attack_s * 1e3, times.release_s * 1e3)


def _times(row: Row) -> str | None:
    attack, release = _ms(row)
    return None if attack is None else f"{attack:g}/{release:g}"


def _excess_db(row: Row) -> float:
    """How far the amplifier's rated output goes beyond its weakest loudspeaker."""
    if isinstance(row, PoweredProtection) or row.rms is None or row.clip_dbu is None:
        return 0.0
    return row.clip_dbu - row.rms.dbu


def _notes(figures: Figures) -> list[str]:
    notes = [
        "Set at: the last processor output before it, else the amplifier's or powered box's own input.",
        "Peak V are instantaneous; peaks in dBu are the level of the sine that has them.",
        "Attack/release by band: common practice, no source. Against heat one for the mean may take seconds.",
    ]
    found = figures.protection.channels.values()
    early = [each.channel.key for each in found if each.rms is not None and _excess_db(each) < 0]
    if early:
        notes.append(
            f"Clips before its loudspeakers are in danger, so a limiter above its clip never acts: {few(early)}."
        )
    return [*notes, *touch_notes(figures, lines=False)]


def _assumes(figures: Figures) -> Iterator[tuple[str, str]]:
    for each in figures.protection.channels.values():
        if each.peak is not None and each.peak.assumed:
            text = "no peak rating is given: four times the continuous one stands for it (crest factor 2, from memory)"
            yield text, each.peak.box.key
        if each.rms is not None:
            for key in each.unrated:
                yield "no continuous rating is given: it is left out where the weakest is looked for", key


# ---- those that are set ---------------------------------------------------------------------------------------------


@frozen(eq=False, repr=False)
class _Set(Value):
    """A limiter before one channel."""

    protection: ChannelProtection
    limiter: SetLimiter

    @property
    def volt(self) -> float:
        crest = SINE_CREST_FACTOR if self.limiter.watches == "peak" else 1.0
        return dbu_to_volt(self.limiter.output_dbu) * crest

    @property
    def acts(self) -> bool:
        return all(self.limiter.output_dbu <= dbu + 1e-6 for dbu, _ in self.protection.ceilings)


def set_rows(figures: Figures) -> list[_Set]:
    return [_Set(each, limiter) for each in figures.protection.channels.values() for limiter in each.limiters]


def _ms_of(row: _Set, word: str) -> float | None:
    measure = row.limiter.attack if word == "attack" else row.limiter.release
    return None if measure is None else measure.value * 1e3


def _set_notes(figures: Figures) -> list[str]:
    notes = ["dBu at the output of a processor or at the input of an amplifier; V at the output of the amplifier."]
    if any(not row.limiter.worded for row in set_rows(figures)):
        notes.append("A limiter that says neither `rms` nor `peak` is taken for one that watches peaks.")
    return notes


QUESTIONS: tuple[Question, ...] = (
    Question(
        word="limiters",
        title="Limiters: where they have to stand, so that the weakest loudspeaker keeps its ratings",
        columns=(
            Column("channel", "before", _key).says("the amplifier channel or bridged pair, by its full name"),
            Column("weakest", "weakest", _weakest).says("the loudspeaker that reaches its rating first"),
            Column("rms_volt", "rms V", lambda r: _output_volt(r, "rms")).says(
                "the voltage (rms) at the output at which it reaches its continuous rating"
            ),
            Column("peak_volt", "peak V", lambda r: _output_volt(r, "peak")).says(
                "the instantaneous voltage at the output at which it reaches its peak rating"
            ),
            Column("clip_volt", "clips V", _clip_volt).says(
                "the rated output as the voltage (rms) of a sine, beyond which the amplifier clips"
            ),
            Column("input_rms_volt", "in rms V", lambda r: _input_volt(r, "rms"), people=False).says(
                "`rms_volt` as a voltage (rms) at the channel's input"
            ),
            Column("input_peak_volt", "in peak V", lambda r: _input_volt(r, "peak"), people=False).says(
                "`peak_volt` as an instantaneous voltage at the channel's input"
            ),
            Column("input_rms_dbu", "in rms dBu", lambda r: _input_dbu(r, "rms"), people=False).says(
                "`rms_volt` as a level at the channel's input"
            ),
            Column("input_peak_dbu", "in peak dBu", lambda r: _input_dbu(r, "peak"), people=False).says(
                "`peak_volt` as the level of the sine with such peaks, at the channel's input"
            ),
            Column("set_at", "set at", _place).says(
                "where thresholds are to be set: the last processor output before it, else its own input"
            ),
            Column("set_rms_dbu", "rms dBu", lambda r: _there_dbu(r, "rms"), 1).says(
                "the threshold there for a limiter that watches the mean"
            ),
            Column("set_peak_dbu", "peak dBu", lambda r: _there_dbu(r, "peak"), 1).says(
                "the threshold there for a limiter that watches peaks"
            ),
            Column("times", "attack/release ms", _times, programs=False),
            Column("attack_ms", "attack ms", lambda r: _ms(r)[0], people=False).says("how fast the limiter acts"),
            Column("release_ms", "release ms", lambda r: _ms(r)[1], people=False).says("how fast the limiter lets go"),
        ),
        rows=rows,
        worst=_excess_db,
        mark="its amplifier goes furthest beyond what the weakest loudspeaker stands for long",
        note=_notes,
        assumes=_assumes,
    ),
    Question(
        word="set-limiters",
        title="Limiters that are set, and how far they stand from the right threshold",
        columns=(
            Column("set_at", "set at", lambda r: r.limiter.output.key).says(
                "the output or input at which the limiter is set"
            ),
            Column("channel", "before", lambda r: r.protection.channel.key).says("the channel behind it"),
            Column("watches", "watches", lambda r: r.limiter.watches).says("what it watches: rms or peak"),
            Column("set_dbu", "set dBu", lambda r: r.limiter.dbu, 1).says("its threshold, as a level where it is"),
            Column("right_dbu", "right dBu", lambda r: r.limiter.right_there_dbu, 1).says(
                "the threshold that the loudspeakers behind it ask for"
            ),
            Column("over_db", "over dB", lambda r: r.limiter.over_db, 1).says(
                "how far it is set above that; below 0 it is set lower"
            ),
            Column("output_volt", "V out", lambda r: r.volt).says(
                "the voltage at the channel's output at its threshold"
            ),
            Column("acts", "acts", lambda r: "yes" if r.acts else "never", programs=False),
            Column("can_act", "can act", lambda r: r.acts, people=False, holds="flag").says(
                "false where the amplifier clips before"
            ),
            Column("attack_ms", "attack ms", lambda r: _ms_of(r, "attack")).says("how fast the limiter acts"),
            Column("release_ms", "release ms", lambda r: _ms_of(r, "release")).says("how fast the limiter lets go"),
            Column("usual", "usual ms", lambda r: _times(r.protection)).says(
                "attack and release that are usual in this band (common practice, no source)"
            ),
        ),
        rows=set_rows,
        worst=lambda r: max(r.limiter.over_db or 0.0, 0.0),
        mark="furthest above the right threshold",
        note=_set_notes,
    ),
)
