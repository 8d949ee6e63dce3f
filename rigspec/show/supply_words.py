"""Supplies and opposed drive in words: what a gain is to a listener, how channels stand, what was computed and how."""

from __future__ import annotations

from collections.abc import Sequence

from rigspec.figures.opposed import RESISTANCE, WALK_TEST_HZ, OpposedModel, tones
from rigspec.figures.opposed_hits import HitGain, kick_range
from rigspec.figures.pumped import Pump
from rigspec.figures.supplies import AmpSupply, SupplyPair
from rigspec.figures.supply import SharedSupply
from rigspec.figures.values import ChannelFigures
from rigspec.solve.supply import JUST_HEARD_DB, gain_db
from rigspec.text.units import show
from rigspec.text.value import gathered

UNMEASURED = (
    "Nothing of this was measured on a real amplifier: it was held against circuit simulations of a family of supplies."
)
RELIEF = "The mains see no relief: opposed or in phase, the total draw on lead, fuse and breaker is the same."
_PARTS = (
    (1 / 10, "a tenth"),
    (1 / 7, "a seventh"),
    (1 / 5, "a fifth"),
    (1 / 4, "a quarter"),
    (1 / 3, "a third"),
    (1 / 2, "half"),
    (2 / 3, "two thirds"),
    (1.0, "all"),
)


def heard(share: float) -> str:
    """A gain in power as a part of the least step in level that is just heard, about 1 dB: ``a third``."""
    steps = abs(gain_db(share)) / JUST_HEARD_DB
    if steps < _PARTS[0][0] * 0.7:
        return "next to nothing"
    if steps > 1.2:
        return f"{steps:.1f} times"
    return min(_PARTS, key=lambda each: abs(each[0] / steps - 1))[1]


def loudness(share: float) -> str:
    """What a gain in power is to a listener, in words."""
    part = heard(share)
    if part == "all":
        return "about what one can just hear"
    if part == "next to nothing":
        return f"{part} against what one can just hear"
    return f"{part} what one can just hear" if part.endswith("times") else f"{part} of what one can just hear"


def percent(share: float) -> str:
    """A gain with its sign: ``+7.2 %``."""
    text = f"{100 * share:+.1f} %"
    return "0.0 %" if text[1:] == "0.0 %" else text


def tone(hz: float) -> str:
    return f"{show(hz, 'frequency')}{' walk test' if hz == WALK_TEST_HZ else ''}"


def supply_line(amp: AmpSupply) -> str:
    """What is known of a supply, in one sentence."""
    supply, said = amp.supply, []
    said.append(f"{supply.stage or 'output stages not given'}")
    sort = f"{'regulated ' if supply.regulated else ''}{supply.sort or 'supply of unknown sort'}"
    sharing = {"shared": "shared", "separate": "separate for each channel", "": "sharing not given"}[supply.sharing]
    said.append(f"{sort}, {sharing}")
    said.append(f"{supply.farad.text} on each rail" if supply.farad else "reservoir not given")
    if supply.rail:
        said.append(f"rails of {supply.rail.text}")
    if supply.ohm:
        said.append(f"{supply.ohm.text} in series with each")
    kind = f" is {amp.gear.kind.name}" if amp.gear.kind else ""
    return f"{amp.gear.full}{kind}: {', '.join(said)}"


def state(together: SharedSupply) -> str:
    """How these channels are driven, and whether both inversions are there."""
    keys = together.key
    feeds = " and ".join(together.feeds)
    low = "" if together.low_hz is None else f" from {show(together.low_hz, 'frequency')}"
    high = "" if together.high_hz is None else f" to {show(together.high_hz, 'frequency')}"
    ways = {member.inverted for member in together.members}
    if not together.opposed:
        how = "in phase" if len(ways) == 1 else "in phase, and their boxes push different ways"
    elif len(ways) == 1 and None not in ways:
        how = "opposed, with both inversions there: the boxes move together"
    else:
        how = "opposed, and their boxes push different ways"
    unlike = "".join(f"; {text}" for text in together.differs)
    return f"{keys} carry {feeds}{low}{high}, {how}{unlike}"


def bridged_line(channel: ChannelFigures) -> str:
    """What a bridged pair does to its supply, and what each half of it sees."""
    seen = " and ".join(f"channel {half} sees {show(ohm, 'resistance')}" for half, ohm in channel.halves)
    return (
        f"{channel.key} is bridged: its halves are opposed by nature, each rail feeds one of them at every instant."
        f" {seen[:1].upper()}{seen[1:]}"
    )


def method(made: OpposedModel) -> str:
    """Which computation was used, and what its range holds."""
    if made.method == RESISTANCE or made.supply is None:
        return "Computed from the resistance in series with each rail; a switch-mode supply has no mains ripple."
    if made.supply.from_rating:
        return "Simulated, with a supply that gives the ratings; the range holds all such supplies."
    return "Simulated as the supply is described; the range holds what the description leaves open."


def why_none(made: OpposedModel) -> str:
    """Why there is no number."""
    if made.why:
        return made.why
    return "under these loads its rails collapse" if tones(made.together) else "its band lies above 120 Hz"


def verdict(pair: SupplyPair) -> str:
    """What opposed drive is worth at its best tone, to a listener; or why there is no number."""
    made, best = pair.prospect, pair.best
    if made.none:
        return f"Opposed drive gives nothing: {made.why}."
    if best is None:
        why = why_none(made)
        return (
            f"No number: {why}. {made.direction[:1].upper()}{made.direction[1:]}."
            if made.direction
            else f"No number: {why}."
        )
    if best.gain <= 0:
        return f"Opposed drive costs a little: {percent(best.gain)} at best, {loudness(best.gain)}."
    db = f"{gain_db(best.gain):.2f} dB"
    return f"At best {percent(best.gain)} at {show(best.hz, 'frequency')}: {db}, {loudness(best.gain)}."


def kick_line(hits: Sequence[HitGain]) -> str:
    """What a kick drum gains whose start nobody knows, and why."""
    ends = kick_range(hits)
    if ends is None:
        return ""
    least, most = (percent(each) for each in ends)
    return (
        f"A recording's kick drum gains between {least} and {most}, by its start: a sharp one is over before the mains"
        " has refilled, and each rail gives half of it; a soft one has a second half wave about as high, which takes"
        " the gain back. 120 hits a minute gain as one does."
    )


def nothing_line(amps: Sequence[AmpSupply]) -> str:
    """One line for a rig in which no supply can be relieved; nothing where there is more to say."""
    if not amps:
        return "No amplifier of this rig says what its supply is like: `supply { ... }` in its stock."
    if any(amp.pumps or amp.bridged or not _useless(amp) for amp in amps):
        return ""
    names = gathered(amps, lambda amp: amp.why or amp.pairs[0].prospect.why)
    told = "; ".join(f"{why} ({', '.join(amp.gear.full for amp in some)})" for why, some in names.items())
    return f"Opposed drive has nothing to give here: {told}."


def _useless(amp: AmpSupply) -> bool:
    return bool(amp.why) or all(pair.prospect.none for pair in amp.pairs)


def pump_line(pump: Pump) -> str:
    """How far the rails climb, against the limit."""
    now = pump.rail.value + pump.rise_volt
    at = f"at {show(pump.hz, 'frequency')} and {100 * pump.swing**2:.0f} % of full power"
    worst = ", the worst level" if pump.swing > 0.63 else ", the highest that arrives"
    climb = f"climbs from {pump.rail.text} to {show(now, 'voltage')} {at}{worst}"
    if pump.rise_volt < 0.05:
        climb = f"stays at {pump.rail.text}"
    climb = f"{pump.key}: a resting rail {climb}"
    limit = f"; it protects itself at {pump.trip.text}" if pump.trip else "; no limit of the amplifier is given"
    reached = ", which is reached" if pump.trip and pump.rise_volt >= pump.room_volt else ""
    more = ""
    if pump.together is not None:
        in_phase, opposed = (
            show(pump.rail.value + each, "voltage") for each in (pump.in_phase_volt, pump.opposed_volt)
        )
        more = f". In phase {in_phase}, opposed {opposed}"
    return f"{climb}{limit}{reached}{more}."
