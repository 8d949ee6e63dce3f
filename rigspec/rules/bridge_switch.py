"""Rules about the bridge switch with a load on each channel: it opposes the two by itself, and wants nothing beside."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from rigspec.figures import ChannelFigures, Figures
from rigspec.figures.trace import Turn
from rigspec.rules.rule import Rule
from rigspec.text.finding import Finding, Label, Severity
from rigspec.text.source import Span

Switched = tuple[ChannelFigures, ChannelFigures, Span]  # the first channel, the one that the switch turns, its place


def _switched(figures: Figures) -> Iterator[Switched]:
    """Pairs under a bridge switch with a load on each channel."""
    for gear in figures.rig.gear.values():
        for first, second, _, each in gear.joined("bridge") if gear.word == "amp" and not gear.doubt else ():
            one = figures.channels.get(f"{gear.full}.{first}")
            other = figures.channels.get(f"{gear.full}.{second}")
            if one is not None and other is not None:
                yield one, other, each.span


def bridge_and_halves(figures: Figures) -> Iterable[Finding]:
    """Something hangs across a bridge of which each half has a load of its own."""
    for one, other, span in _switched(figures):
        pair = f"{one.output.port}+{other.output.port}"
        swapped = f"{other.output.port}+{one.output.port}"
        across = figures.channels.get(f"{one.gear.full}.{pair}") or figures.channels.get(f"{one.gear.full}.{swapped}")
        if across is None:
            continue
        yield Finding(
            "bridge-and-halves",
            across.output.span,
            f"something hangs across the bridge of {one.gear.full}, and on each of its channels too",
            label="across both hot poles: twice the voltage of a channel",
            related=(
                Label(span, "the bridge switch"),
                Label(one.output.span, f"{one.key} has a load of its own"),
                Label(other.output.span, f"{other.key} has a load of its own"),
            ),
            computed="3 loads on one pair",
            allowed="one across the bridge, or one on each channel",
            help=f"take what hangs on {across.key} to another amplifier, or leave {one.key} and {other.key} free",
            subject=one.gear.full,
        )


def bridge_switch_undone(figures: Figures) -> Iterable[Finding]:
    """A second inversion takes back what the bridge switch does to channel 2."""
    for one, other, span in _switched(figures):
        if not one.parts or not other.parts:
            continue
        extra = [turn for turn in other.parts[0].turns if turn not in one.parts[0].turns]
        undoing = next((turn for turn in extra if not _by_switch(turn)), None)
        if undoing is None or len(extra) % 2 or not _move_together(one, other):
            continue
        yield Finding(
            "bridge-switch-undone",
            undoing.span,
            f"{other.key} is turned twice, by the bridge switch and once more, so {one.key} and {other.key} draw in"
            " phase",
            label="turns it back",
            related=(Label(span, "the bridge switch turns it"), Label(other.output.span, "drives this")),
            computed=f"{len(extra)} inversions between the input and {other.key}",
            allowed="the bridge switch alone, and a crossed lead behind it",
            help=f"take this inversion out and cross the lead of {other.key}; or switch the bridge off",
            subject=other.key,
        )


def _by_switch(turn: Turn) -> bool:
    return turn.text.startswith("the bridge switch")


def _move_together(one: ChannelFigures, other: ChannelFigures) -> bool:
    """Do the boxes of both push the same way? Where they do not, that is told by the rules about polarity."""
    ways = {
        (len(part.turns) + len(box.own_turns)) % 2
        for channel in (one, other)
        for box in channel.boxes
        for part in box.parts
    }
    return len(ways) == 1


_SWITCH = (
    "feed f { level -8 dBu; band 35 Hz to 95 Hz }\nspeaker s[1..3] is sub\n"
    "amp a is twin { bridge 1+2; least-load 2 ohm }\n"
)
_EACH = "f -> a.1 -> lead 4 mm2 9 m -> s[1]\na.2 -> lead 4 mm2 9 m -> invert -> s[2]\n"

RULES = (
    Rule(
        name="bridge-and-halves",
        severity=Severity.ERROR,
        summary="a load hangs across a bridge whose channels have loads of their own",
        reason="across the bridge stands twice the voltage of a channel, and each channel drives its own load and half"
        " of that one: too much for the box, too little for the amplifier",
        limit="one load across the bridge, or one on each channel",
        authority="circuit theory",
        cure="leave the bridge free where each channel has its load",
        bad=_SWITCH + _EACH + "a.1+2 -> lead 4 mm2 9 m -> s[3]\n",
        good=_SWITCH + _EACH + "spare s[3]\n",
        check=bridge_and_halves,
    ),
    Rule(
        name="bridge-switch-undone",
        severity=Severity.WARNING,
        summary="another inversion takes back what the bridge switch does",
        reason="the bridge switch turns the second channel inside, so that the two draw on opposite halves of the"
        " supply; turned once more they draw in phase again, and who builds the rig by the switch crosses a lead for"
        " nothing",
        limit="the bridge switch is the only inversion between the input and the second channel",
        authority="circuit theory",
        cure="take the other inversion out and cross the lead behind the second channel",
        bad=_SWITCH
        + "a.2 { inverted }\nf -> a.1 -> lead 4 mm2 9 m -> s[1]\na.2 -> lead 4 mm2 9 m -> s[2]\nspare s[3]\n",
        good=_SWITCH + _EACH + "spare s[3]\n",
        check=bridge_switch_undone,
    ),
)
