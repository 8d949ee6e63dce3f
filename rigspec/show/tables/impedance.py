"""The table about impedance as it is: channels and loudspeakers over the band, where curves or drivers are given."""

from __future__ import annotations

from collections.abc import Iterator

from attrs import frozen

from rigspec.figures import ChannelFigures, Figures
from rigspec.figures.lines import taps_alone
from rigspec.figures.over_band import OverBand, least_load
from rigspec.figures.spectrum import Extreme
from rigspec.show.tables.question import Column, Question
from rigspec.text.value import Value


@frozen(eq=False, repr=False)
class _Row(Value):
    """A channel, or a loudspeaker on it, over the band that reaches it."""

    key: str
    by: str
    low_hz: float
    high_hz: float
    rated_ohm: float | None
    least: Extreme | None
    most: Extreme | None
    loss: Extreme | None
    real: Extreme | None
    rating: Extreme | None

    @property
    def percent(self) -> float | None:
        """The least over the rated impedance."""
        return None if self.least is None or not self.rated_ohm else 100 * self.least.value / self.rated_ohm


def _rows(figures: Figures) -> list[_Row]:
    """Every channel that was solved over frequency, each followed by its loudspeakers."""
    rows = []
    for key, channel in figures.spectrum.channels.items():
        load = figures.channels[key].load_ohm
        low, high = channel.low_hz, channel.high_hz
        rows.append(_Row(key, "load", low, high, load, channel.least, channel.most, None, channel.lead_watt, None))
        for box in channel.boxes:
            rated = figures.boxes[box.key].box.impedance_ohm
            by = "rated" if box.law is None else box.law.what
            low, high = box.low_hz, box.high_hz
            rows.append(
                _Row(box.key, by, low, high, rated, box.least, box.most, box.loss, box.real_watt, box.rating_watt)
            )
    return rows


def _value(extreme: Extreme | None) -> float | None:
    return None if extreme is None else extreme.value


def _at(extreme: Extreme | None) -> float | None:
    return None if extreme is None else extreme.hz


def _assumes(figures: Figures) -> Iterator[tuple[str, str]]:
    for key, channel in figures.spectrum.channels.items():
        for text in channel.assumes:
            yield text, key


def _notes(figures: Figures) -> list[str]:
    if not figures.spectrum.channels:
        return []
    return [
        "Least, loss and W are the worst of the band. W is what becomes heat and sound, of a channel in its leads; "
        "rating W is the voltage squared over the rated impedance, which a power rating is held against. Both are at "
        "the voltage of the amplifier's rated output, held over the band."
    ]


IMPEDANCE = Question(
    word="impedance",
    title="Impedance over the band that reaches each loudspeaker, where its curve or driver is given",
    columns=(
        Column("thing", "of", lambda row: row.key).says("the channel or loudspeaker"),
        Column("by", "by", lambda row: row.by).says(
            "load for a channel; for a loudspeaker what it is known by: curve, driver or rated"
        ),
        Column("low_hz", "from Hz", lambda row: row.low_hz, 0).says("the low end of the band that is looked at"),
        Column("high_hz", "to Hz", lambda row: row.high_hz, 0).says("the high end of that band"),
        Column("rated_ohm", "rated ohm", lambda row: row.rated_ohm).says("the rated impedance"),
        Column("least_ohm", "least ohm", lambda row: _value(row.least)).says("the least impedance in the band"),
        Column("least_hz", "at Hz", lambda row: _at(row.least), 0).says("where it is least"),
        Column("least_percent", "%", lambda row: row.percent, 0).says("the least in percent of the rated impedance"),
        Column("most_ohm", "most ohm", lambda row: _value(row.most), people=False).says(
            "the greatest impedance in the band"
        ),
        Column("most_hz", "at Hz", lambda row: _at(row.most), 0, people=False).says("where it is greatest"),
        Column("loss_db", "loss dB", lambda row: _value(row.loss), 2).says(
            "the most that the leads take over the band"
        ),
        Column("loss_hz", "at Hz", lambda row: _at(row.loss), 0, people=False).says("where they take it"),
        Column("real_watt", "W", lambda row: _value(row.real), 0).says(
            "the most real power in the band at the rated output: heat and sound, of a channel in its leads"
        ),
        Column("real_hz", "W at Hz", lambda row: _at(row.real), 0).says("where it takes that"),
        Column("rating_watt", "rating W", lambda row: _value(row.rating), 0).says(
            "the most power of its rating, the voltage squared over the rated impedance"
        ),
        Column("rating_hz", "at Hz", lambda row: _at(row.rating), 0, people=False).says("where that is so"),
    ),
    rows=_rows,
    worst=lambda row: max(0.0, 100.0 - row.percent) if row.percent is not None else 0.0,
    mark="falls furthest below its rated impedance",
    note=_notes,
    assumes=_assumes,
)


@frozen(eq=False, repr=False)
class _Dip(Value):
    """How low the load of a channel may fall, beside its rated load and what the amplifier stands."""

    channel: ChannelFigures
    found: OverBand

    @property
    def percent(self) -> float | None:
        """The least load in percent of the least that the amplifier, or both halves of a pair, stand."""
        limit, least = self.channel.limit, self.found.low
        if limit is None or least is None:
            return None
        return 100 * least.value / limit.value / (2 if self.channel.halves else 1)


def _dips(figures: Figures) -> list[_Dip]:
    found = ((channel, least_load(figures, channel)) for channel in figures.channels.values())
    return [_Dip(channel, least) for channel, least in found if least is not None]


def _dips_assume(figures: Figures) -> Iterator[tuple[str, str]]:
    for key, channel in figures.channels.items():
        for text in taps_alone(box.box for box in channel.boxes):
            yield text, key


DIPS = Question(
    word="dips",
    title="How low each load may fall: by curve or driver in its band, else every box at 80 % of its rated",
    columns=(
        Column("channel", "channel", lambda dip: dip.channel.key).says(
            "the amplifier channel or bridged pair, by its full name"
        ),
        Column("rated_ohm", "rated ohm", lambda dip: dip.channel.load_ohm, 2).says("the load from rated impedances"),
        Column("least_ohm", "least ohm", lambda dip: _value(dip.found.low), 2).says(
            "how low the load may fall over frequency"
        ),
        Column("least_hz", "at Hz", lambda dip: _at(dip.found.low) or None, 0).says("where it is so low"),
        Column("stands_ohm", "stands ohm", lambda dip: dip.channel.limit.value if dip.channel.limit else None).says(
            "the least load that the amplifier stands"
        ),
        Column("least_percent", "% of that", lambda dip: dip.percent, 0).says(
            "the lowest load in percent of what it stands"
        ),
    ),
    rows=_dips,
    worst=lambda dip: max(0.0, 100.0 - dip.percent) if dip.percent is not None else 0.0,
    mark="falls furthest below what its amplifier stands",
    note=lambda figures: (
        [
            "80 %: IEC 60268-5. A limit on a data sheet is meant for rated loads, so that down to 80 % of it is usual.",
        ]
        if figures.channels
        else []
    ),
    assumes=_dips_assume,
)

QUESTIONS: tuple[Question, ...] = (DIPS, IMPEDANCE)
