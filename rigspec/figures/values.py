"""The figures of channels, loudspeakers and leads, as values."""

from __future__ import annotations

from collections.abc import Mapping

from attrs import frozen

from rigspec.figures.load import Box, Corner
from rigspec.figures.signal import Contribution, Level, Signals
from rigspec.figures.trace import Trace, Turn
from rigspec.rig.model import Gear, Measure, Output, Piece, Rig
from rigspec.text.value import Value


@frozen(eq=False, repr=False)
class BoxFigures(Value):
    """What reaches a loudspeaker or one way of it. Powers are watts into the rated impedance, None where not known.

    ``rated_w``: with the amplifier at its rated output for this load. ``nominal_w``: at the level that the feed
    delivers, never above the amplifier's rated output. ``peak_w``: the instantaneous peak at the feed's peak level.
    ``nominal_wanted_w`` and ``peak_wanted_w`` are the same without the amplifier's limit: what the feed asks for.
    ``share_volt`` is the voltage here for one volt at the amplifier; ``least_power`` to ``most_power`` is how far the
    power for a given voltage there may be from that, as factors, by tolerances and ranges. ``loss_db`` is what the
    leads cost, from ``loss_low_db`` to ``loss_high_db`` by the same. ``damping`` is the damping factor here: rated
    impedance over everything that lies before it, None where the amplifier's own is not known. ``parts`` are the feeds
    that it carries; ``in_doubt``: what is fed to its channel lies behind a fault.
    """

    box: Box
    channel: str
    share_volt: float
    least_power: float
    most_power: float
    loss_db: float
    loss_low_db: float
    loss_high_db: float
    damping: float | None
    rated_w: float | None
    nominal_w: float | None
    peak_w: float | None
    nominal_wanted_w: float | None
    peak_wanted_w: float | None
    parts: tuple[Contribution, ...]
    in_doubt: bool
    own_turns: tuple[Turn, ...]
    continuous: Measure | None
    peak: Measure | None

    @property
    def key(self) -> str:
        return self.box.key


@frozen(eq=False, repr=False)
class LeadFigures(Value):
    """A lead: ohms there and back, and what it carries and burns at the amplifier's rated output.

    ``capacity_ampere`` is the current that its conductors carry for ever in this air, None where no table reaches;
    ``copper_c`` the temperature that its conductors would reach with ``ampere`` flowing for ever.
    """

    piece: Piece
    channel: str
    loop_ohm: float
    ampere: float | None
    watt: float | None
    loss_db: float
    capacity_ampere: float | None
    copper_c: float | None


@frozen(eq=False, repr=False)
class ChannelFigures(Value):
    """What an amplifier channel or a bridged pair sees and gives.

    ``load_ohm`` holds leads of typical length; ``least_seen_ohm`` to ``most_seen_ohm`` is the range that tolerances and
    ranges leave. ``halves`` gives for each channel of a bridged pair what that half sees, ``least_halves`` the same at
    the low end of the range. ``limit`` is the least load each half stands, where it was said, ``bridge_limit`` that of
    the pair. ``source_ohm`` is the impedance of the output, from its damping factor. ``volt_limit`` and
    ``ampere_limit`` are the most that the ratings show it to give, of voltage (rms) and of current; ``limited_by`` says
    which of them binds here: ``voltage``, ``current``, ``supply`` (between two rated points) or nothing. ``gain_db`` is
    its gain with its control and its bridge. ``level`` and ``peak`` are the levels at the output that the feeds ask for
    behind all limiters, whatever it can give. ``alone_w`` is what it gives into this load while the other channels
    rest, where the stock says that. ``load_assumes`` is what the load rests on, ``rated_assumes`` what the
    rated output rests on, ``level_assumes`` what the levels do.
    """

    output: Output
    load_ohm: float
    least_seen_ohm: float
    most_seen_ohm: float
    halves: tuple[tuple[str, float], ...]
    least_halves: tuple[tuple[str, float], ...]
    limit: Measure | None
    limit_assumed: str
    bridge_limit: Measure | None
    source_ohm: float | None
    volt_limit: float | None
    ampere_limit: float | None
    limited_by: str
    gain_db: float | None
    rated_volt: float | None
    rated_w: float | None
    alone_w: float | None
    input_dbu: float | None
    level: Level | None
    peak: Level | None
    nominal_volt: float | None
    peak_volt: float | None
    clips: bool
    boxes: tuple[BoxFigures, ...]
    leads: tuple[LeadFigures, ...]
    parts: tuple[Contribution, ...]
    load_assumes: tuple[str, ...]
    rated_assumes: tuple[str, ...]
    level_assumes: tuple[str, ...]

    @property
    def assumes(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(self.rated_assumes + self.level_assumes))

    @property
    def key(self) -> str:
        return self.output.key

    @property
    def gear(self) -> Gear:
        return self.output.gear


@frozen(eq=False, repr=False)
class BaseFigures(Value):
    """What all further figures are made from: the loudspeaker side of every channel, and what feeds it.

    ``channels`` and ``boxes`` go by the key of the channel or loudspeaker; ``unknown`` says why a channel has none.
    ``case`` is as the rig is: typical figures, copper at the temperature of the air. ``aside`` are channels with a
    fault in a setting that their load does not rest on: of these nothing but load and leads is to be judged.
    """

    rig: Rig
    trace: Trace
    signals: Signals
    channels: Mapping[str, ChannelFigures]
    boxes: Mapping[str, BoxFigures]
    unknown: Mapping[str, str]
    case: Corner
    aside: Mapping[str, ChannelFigures]
