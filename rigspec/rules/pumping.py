"""A rule about the rails of half-bridge stages, which climb with what the load gives back."""

from __future__ import annotations

from collections.abc import Iterable

from rigspec.figures import ChannelFigures, Figures
from rigspec.figures.supply import SharedSupply, half_bridge
from rigspec.rules.certainty import Dominant, dominant
from rigspec.rules.opposing import UNMEASURED, WAYS, places
from rigspec.rules.rule import Rule
from rigspec.rules.supply import consistent, leads_of, named, opposing_choices, to_turn
from rigspec.text.finding import Finding, Label, Severity
from rigspec.text.units import show


def rails_pump(figures: Figures) -> Iterable[Finding]:
    """The rails of half-bridge stages climb to where the amplifier protects itself, or by more than a tenth."""
    if not any(half_bridge(channel.gear) for channel in figures.channels.values()):
        return
    from rigspec.figures.pumped import pumps

    for pump in pumps(figures, figures.together):
        if pump.high_volt < pump.room_volt or _told(pump.together):
            continue  # what is left of the climb of opposed channels is told by `opposed-drive-uneven`
        possible = pump.low_volt < pump.room_volt
        decides = dominant(pump.moved) if possible else Dominant()
        together = pump.together
        cure = together is not None and not together.opposed and consistent(together)
        turn = to_turn(together) if together is not None and cure else []
        top = pump.rail.value + (pump.high_volt if possible else pump.rise_volt)
        limit = (
            Label(pump.trip.span, f"it protects itself at {pump.trip.text}")
            if pump.trip
            else Label(pump.rail.span, f"its rail: {pump.rail.text}")
        )
        past = show(pump.rail.value + pump.room_volt, "voltage")
        limit_said = (
            f"past the {past} at which it protects itself" if pump.trip else f"past a tenth above {pump.rail.text}"
        )
        gone = "none of it opposed" if pump.opposed_volt < 0.05 else f"{show(pump.opposed_volt, 'voltage')} opposed"
        left = f", {gone}" if cure else ""
        help = "raise the high-pass, lower the level, or hang fewer boxes on it"
        if cure:
            crossing = (
                f"invert the input of {named(turn)} ({WAYS}) and cross {leads_of(turn, 'its lead', 'their leads')}"
            )
            help = f"{crossing}: then each takes what the other gives back; or {help}"
        yield Finding(
            "rails-pump",
            pump.channels[0].output.span,
            f"the rails of {pump.gear.full} {'may ' if possible else ''}climb to {show(top, 'voltage')} at"
            f" {show(pump.hz, 'frequency')}, {limit_said}",
            label=f"{_all(pump.channels)} into half-bridge stages",
            related=(
                limit,
                Label(pump.farad.span, f"its reservoir: {pump.farad.text}"),
                *(places(together) if together else ()),
                *decides.labels,
            ),
            computed=f"{show(pump.rail.value, 'voltage')} and {show(pump.rise_volt, 'voltage')} of climb{left}",
            allowed=f"up to {show(pump.rail.value + pump.room_volt, 'voltage')}",
            assumes=(*pump.assumes, UNMEASURED),
            help=help,
            choices=opposing_choices(figures, turn) if turn else (),
            subject=pump.gear.full,
            possible=possible,
            decides=decides.text,
        )


def _told(together: SharedSupply | None) -> bool:
    """Are these channels opposed, so that the rule about unlike sides tells what is left?"""
    return together is not None and together.opposed and together.bass_only


def _all(channels: Iterable[ChannelFigures]) -> str:
    return " and ".join(channel.key for channel in channels)


_LEAD = "lead 4 mm2 9 m"
_RIG = f"""\
feed f {{ level -8 dBu; band 35 Hz to 95 Hz }}
speaker s[1..4] is sub
group subs: s[*]
amp a is twin {{
  stage half-bridge
  supply {{ switch-mode; shared; capacitance 3 mF; rail 100 V; trip 120 V }}
}}
f -> a.1 -> {_LEAD} -> s[1..2] linked 2.5 mm2 2 m
"""

RULES = (
    Rule(
        name="rails-pump",
        severity=Severity.WARNING,
        summary="the rails of half-bridge stages climb too far",
        reason="a half-bridge stage gives part of what it takes from one rail back to the other, and the supply cannot"
        " take it away: the resting rail climbs, most at 40 % of full power in the deepest bass, until the amplifier"
        " protects itself in the middle of the show. Two channels opposed on equal loads take what the other gives"
        " back; full-bridge stages do not pump",
        limit="the limit of the amplifier, or a tenth of the rail where none is given; with two in phase: rail / (pi^2"
        " x frequency x load x capacitance)",
        authority="International Rectifier RD-0617 and IRAUDAMP1 describe it and its cure; the formula is circuit"
        " theory, held against circuit simulations; a tenth of the rail after EN 50160, from memory",
        cure="oppose two channels that carry the same bass: invert one input and cross its lead; or raise"
        " the high-pass",
        bad=_RIG + f"f -> a.2 -> {_LEAD} -> s[3..4] linked 2.5 mm2 2 m\n",
        good=_RIG + f"f -> invert -> a.2 -> {_LEAD} -> invert -> s[3..4] linked 2.5 mm2 2 m\n",
        check=rails_pump,
    ),
)
