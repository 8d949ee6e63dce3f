"""Rules about the bridge switch with a load on each channel: it opposes the two by itself, and wants nothing beside."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from rigspec.figures import ChannelFigures, Figures
from rigspec.figures.rated import judged
from rigspec.figures.trace import Turn
from rigspec.rules.rule import Rule
from rigspec.text.finding import Edit, Finding, Fix, Label, Severity
from rigspec.text.source import Span
from rigspec.text.units import show

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


def bridge_and_half(figures: Figures) -> Iterable[Finding]:
    """Something hangs across a bridge, and on one half of it too: legal where every limit holds, and seldom meant."""
    for across in _across(figures):
        loaded = [figures.channels.get(f"{across.gear.full}.{half}") for half in across.output.halves]
        own = [each for each in loaded if each is not None]
        if len(own) != 1:
            continue
        half = own[0]
        sees = dict(across.halves).get(half.output.port)
        if sees is not None and across.limit is not None and sees < judged(across.limit):
            continue  # told as a load too low
        yield Finding(
            "bridge-and-half",
            half.output.span,
            f"{half.key} has a load of its own, and half of what hangs across {across.key} too",
            label="on one half of the bridge",
            related=(Label(across.output.span, "across both"),),
            computed="" if sees is None else f"this half sees {show(sees, 'resistance')}",
            allowed="" if across.limit is None else f"at least {across.limit.text}",
            help=f"take what hangs on {half.key} to another channel, or keep it and allow this",
            subject=half.key,
        )


def bridge_unsaid(figures: Figures) -> Iterable[Finding]:
    """A load across two channels that nothing has bridged: both would carry what their own inputs carry."""
    for across in _across(figures):
        first, second = sorted(map(int, across.output.halves))
        if any({one, two} == {first, second} for one, two, _, _ in across.gear.joined("bridge")):
            continue
        gear = across.gear.full
        line = across.output.span.source.text.find("\n", across.output.span.end)
        end = len(across.output.span.source.text) if line < 0 else line
        yield Finding(
            "bridge-unsaid",
            across.output.span,
            f"{across.boxes[0].key if across.boxes else 'a load'} hangs across {across.key}, and {gear} is not bridged",
            label="across two channels",
            related=(Label(across.gear.span, f"no `bridge {first}+{second}` here"),),
            help=f"write `bridge {first}+{second}` in the braces of {gear}, and set the switch on its back",
            fix=Fix(
                f"say that {gear} is bridged",
                (Edit(Span(across.output.span.source, end, end), f"\n{gear} {{ bridge {first}+{second} }}"),),
            ),
            subject=across.key,
        )


def bridge_half_free(figures: Figures) -> Iterable[Finding]:
    """A bridge switch is on, and only one of the two channels has a load."""
    for gear in figures.rig.gear.values():
        for first, second, _, each in gear.joined("bridge") if gear.word == "amp" and not gear.doubt else ():
            keys = [f"{gear.full}.{first}", f"{gear.full}.{second}"]
            loaded = [key for key in keys if key in figures.channels]
            across = f"{gear.full}.{first}+{second}", f"{gear.full}.{second}+{first}"
            if len(loaded) != 1 or any(key in figures.trace.runs for key in across):
                continue
            free = next(key for key in keys if key not in loaded)
            if free in figures.trace.runs:
                continue  # something is there, and other rules tell what
            yield Finding(
                "bridge-half-free",
                each.span,
                f"{gear.full} is bridged, and only {loaded[0]} has a load",
                label="joins both channels",
                related=(Label(figures.channels[loaded[0]].output.span, "the one load"),),
                computed=f"nothing on {free} nor across {first}+{second}",
                allowed="a load on each channel, or one across both",
                help=f"switch the bridge off; or hang what is meant for {free} there, its lead crossed",
                subject=gear.full,
            )


def _across(figures: Figures) -> list[ChannelFigures]:
    """What hangs across two channels."""
    return [channel for channel in figures.channels.values() if channel.output.bridged]


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
            f"{other.key} is inverted twice, by the bridge switch and once more, so {one.key} and {other.key} draw in"
            " phase",
            label="inverts it back",
            related=(Label(span, "the bridge switch inverts it"), Label(other.output.span, "drives this")),
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
    "feed f { level -8 dBu; peak -2 dBu; band 35 Hz to 95 Hz }\nspeaker s[1..3] is sub\n"
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
        name="bridge-and-half",
        severity=Severity.WARNING,
        summary="a load hangs across a bridge, and one on one of its channels",
        reason="that channel drives its own load and half of the one across: it carries the most current, clips and"
        " protects itself first, and the box across loses one half of its drive with it",
        limit="one load across the bridge, or one on each channel",
        authority="circuit theory",
        cure="leave the channels free where something hangs across them",
        bad=_SWITCH + "f -> a.1+2 -> lead 4 mm2 9 m -> s[1]\na.1 -> lead 4 mm2 9 m -> s[2]\nspare s[3]\n",
        good=_SWITCH + "f -> a.1+2 -> lead 4 mm2 9 m -> s[1]\nspare s[2..3]\n",
        check=bridge_and_half,
    ),
    Rule(
        name="bridge-unsaid",
        severity=Severity.ERROR,
        summary="a load hangs across two channels, and nothing says that they are bridged",
        reason="without the switch both channels carry what stands at their own inputs: a box across them hears their"
        " difference, which is nothing where they are fed alike",
        limit="what hangs across two channels stands on a pair whose switch is set",
        authority="circuit theory",
        cure="say `bridge 1+2` of the amplifier, and set the switch on its back",
        bad=_SWITCH.replace("bridge 1+2; ", "") + "f -> a.1+2 -> lead 4 mm2 9 m -> s[1]\nspare s[2..3]\n",
        good=_SWITCH + "f -> a.1+2 -> lead 4 mm2 9 m -> s[1]\nspare s[2..3]\n",
        check=bridge_unsaid,
    ),
    Rule(
        name="bridge-half-free",
        severity=Severity.WARNING,
        summary="an amplifier is bridged, and only one of its channels has a load",
        reason="a bridge switch serves a load across both channels, or one on each; with one channel free either the"
        " switch is left over from another night or a lead is missing",
        limit="one load across the bridge, or one on each channel",
        authority="common practice, no source",
        cure="switch the bridge off, or plug in what is missing",
        bad=_SWITCH + "f -> a.1 -> lead 4 mm2 9 m -> s[1]\nspare s[2..3], a.2\n",
        good=_SWITCH + _EACH + "spare s[3]\n",
        check=bridge_half_free,
    ),
    Rule(
        name="bridge-switch-undone",
        severity=Severity.WARNING,
        summary="another inversion takes back what the bridge switch does",
        reason="the bridge switch inverts the second channel inside, so that the two draw on opposite halves of the"
        " supply; inverted once more they draw in phase again, and who builds the rig by the switch crosses a lead for"
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
