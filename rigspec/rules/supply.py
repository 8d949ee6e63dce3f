"""Rules about channels that share a supply: what opposed drive would give, where it costs, and where half of it is."""

from __future__ import annotations

from collections.abc import Iterable

from rigspec.figures import Figures
from rigspec.figures.supply import ALIKE_LOAD, SharedSupply, SupplyMember, half_bridge, mains_hz
from rigspec.rules.halves import half_opposed
from rigspec.rules.opposing import (
    RESISTANCES,
    UNMEASURED,
    WAYS,
    before_turns,
    behind_turns,
    by_switch,
    input_edit,
    lead_edits,
    places,
    turned_members,
    without_turns,
)
from rigspec.rules.polarity import clashing
from rigspec.rules.rule import Rule
from rigspec.text.finding import Edit, Finding, Fix, Label, Severity
from rigspec.text.units import show

WORTH = 0.05
"""A gain in power from which opposed drive is proposed, where even the mild end of its range is a gain.

It costs a crossed lead and the care that this takes, no gear; less than 0.2 dB is not worth that (common practice)."""
COSTS_ABOVE = 1.2  # times the mains frequency


def named(members: Iterable[SupplyMember]) -> str:
    keys = [member.channel.key for member in members]
    return f"{', '.join(keys[:-1])} and {keys[-1]}" if len(keys) > 1 else "".join(keys)


def leads_of(members: list[SupplyMember], one: str, more: str) -> str:
    return one if len(members) == 1 else more


def consistent(together: SharedSupply) -> bool:
    """Do the boxes of all these channels push the same way, so that both inversions are there, or none?"""
    ways = {member.inverted for member in together.members}
    return len(ways) == 1 and None not in ways


def percent(share: float) -> str:
    return f"{100 * share:.1f} %"


# ---- alike bass in phase --------------------------------------------------------------------------------------------


def opposed_drive_gains(figures: Figures) -> Iterable[Finding]:
    """Alike bass runs in phase on one supply, and opposed drive is worth having."""
    for together in figures.together:
        boxes = [box for member in together.members for box in member.channel.boxes]
        alike = together.bass_only and not (together.opposed or together.differs or together.stereo)
        alike = alike and together.supply.stage != "half-bridge"  # `rails-pump` tells what opposing does for these
        even = together.supply.sharing == "shared" and together.load_ratio <= ALIKE_LOAD
        if alike and even and boxes and consistent(together) and not any(box.box.tapped for box in boxes):
            yield from _in_phase(figures, together)


def _in_phase(figures: Figures, together: SharedSupply) -> Iterable[Finding]:
    from rigspec.figures.opposed import prospect, tones, worth

    made = prospect(figures, together)
    best = next((worth(made, hz) for hz in tones(together)), None)  # the deepest tone gains most
    turn = to_turn(together)
    keys, turned, leads = named(together.members), named(turn), leads_of(turn, "its lead", "their leads")
    if best is not None and best.gain >= WORTH and best.low > 0:
        at = show(best.hz, "frequency")
        watt = (
            f", {best.in_phase_w:.0f} W to {best.opposed_w:.0f} W a channel"
            if best.in_phase_w and best.opposed_w
            else ""
        )
        computed = (
            f"{percent(best.gain)} at {at}, from {percent(best.low)} to {percent(best.high)}: {_db(best.gain)}{watt}"
        )
    else:
        return  # `supply` tells of what is less, and of what cannot be computed
    yield Finding(
        "opposed-drive-gains",
        turn[0].channel.output.span,
        f"opposed, {keys} would give {percent(best.gain)} more power at {at}",
        label=f"in phase with {together.members[0].channel.key}",
        related=tuple(places(together)),
        computed=computed,
        allowed=f"less than {100 * WORTH:.0f} % left unused",
        assumes=(*made.assumes, RESISTANCES, UNMEASURED),
        help=_joined(together) or f"invert the input of {turned} ({WAYS}) and cross {leads}: both, or neither",
        choices=opposing_choices(figures, turn),
        subject=together.gear.full,
        aside=True,
    )


def _joined(together: SharedSupply) -> str:
    """What to do where the input switch gives a channel the other's input: it has none of its own to invert."""
    ports = {member.channel.output.port for member in together.members}
    for first, second, _, _ in together.gear.joined("joined"):
        if {str(first), str(second)} <= ports:
            turned = f"{together.gear.full}.{second}"
            return (
                f"write `bridge {first}+{second}` for `joined {first}+{second}` and cross the lead of {turned},"
                f" with nothing across the bridge; or feed {turned} for itself, inverted, and cross its lead"
            )
    return ""


def _db(share: float) -> str:
    from rigspec.solve.supply import gain_db

    return f"{gain_db(share):.2f} dB"


def to_turn(together: SharedSupply) -> list[SupplyMember]:
    """Half of the channels, by load: the largest first, each to the lighter side; the first channel stays as it is."""
    sides: tuple[list[SupplyMember], list[SupplyMember]] = ([], [])
    for member in sorted(together.members, key=lambda each: -each.siemens):
        lighter = sum(m.siemens for m in sides[1]) < sum(m.siemens for m in sides[0])
        sides[lighter].append(member)
    return sides[0] if together.members[0] in sides[1] else sides[1]


def opposing_choices(figures: Figures, turn: list[SupplyMember]) -> tuple[Fix, ...]:
    """Both edits as one, for every channel that is turned: half of it would be worse than nothing.

    The other half of the channels may be turned as well, and in other ways.
    """
    edits: list[Edit] = []
    for member in turn:
        own, leads = input_edit(figures, member), lead_edits(figures, member)
        if own is None or leads is None:
            return ()
        edits += [own, *leads]
    behind = leads_of(turn, "the lead behind it", "the leads behind them")
    return (Fix(f"invert the input of {named(turn)} and cross {behind}", tuple(edits)),)


# ---- opposed for nothing --------------------------------------------------------------------------------------------


def opposed_drive_costs(figures: Figures) -> Iterable[Finding]:
    """Channels are opposed where that gives nothing, or costs a little."""
    for together in figures.together:
        turned = turned_members(together)
        if not turned or together.differs or not consistent(together) or any(map(by_switch, turned)):
            continue
        supply, (mains, assumed) = together.supply, mains_hz(figures.rig.facts)
        low = together.low_hz
        if supply.sharing == "separate":
            why, computed = "each has its own supply", "separate supplies: no gain by construction"
        elif supply.stage == "full-bridge" or (supply.regulated and supply.stage != "half-bridge"):
            why = "its supply is regulated" if supply.regulated else "its stages are full bridges"
            computed = f"{why}: no gain"
        elif supply.sort == "transformer" and low is not None and low >= COSTS_ABOVE * mains:
            why = f"all of their band lies above {show(COSTS_ABOVE * mains, 'frequency')}, where that costs a little"
            computed = f"a band from {show(low, 'frequency')} on mains of {show(mains, 'frequency')}"
        else:
            continue
        edits = without_turns(turned)
        yield Finding(
            "opposed-drive-costs",
            (before_turns(turned[0]) or behind_turns(turned[0]))[0].span,
            f"{named(together.members)} are opposed for nothing: {why}",
            label=f"inverts {turned[0].channel.key}",
            related=tuple(places(together)),
            computed=computed,
            allowed=f"a shared supply that sags, and bass below {show(COSTS_ABOVE * mains, 'frequency')}",
            assumes=tuple(text for text in (assumed, UNMEASURED) if text),
            help=f"take both inversions of {named(turned)} out: every crossed lead is a chance to build the rig wrong",
            fix=Fix(f"take out both inversions of {named(turned)}", tuple(edits)) if edits else None,
            subject=together.gear.full,
        )


# ---- half of it -----------------------------------------------------------------------------------------------------


def opposed_drive_half(figures: Figures) -> Iterable[Finding]:
    """Of the two inversions of opposed drive only one is there."""
    if not figures.together:
        return
    for together, crossed, straight in half_opposed(figures, clashing(figures)):
        first = crossed[0]
        fed = together.opposed
        lacks = "its lead is not crossed" if fed else "its input is not inverted"
        turns = before_turns(first) if fed else behind_turns(first)
        turn = turns[0] if turns else None
        edits = [lead_edits(figures, m) if fed else _listed(input_edit(figures, m)) for m in crossed]
        flat = [edit for each in edits if each for edit in each]
        what = "is driven upside down" if fed else "drives a crossed lead"
        boxes = [box.key for member in crossed for box in member.channel.boxes]
        pushes = f"{boxes[0]} pushes" if len(boxes) == 1 else f"{boxes[0]} and {len(boxes) - 1} more push"
        yield Finding(
            "opposed-drive-half",
            turn.span if turn else first.channel.output.span,
            f"{first.channel.key} {what} but {lacks}, so {pushes} against {straight.channel.boxes[0].key}",
            label="one of the two inversions",
            related=(
                *(Label(box.box.arrival.sink.span, f"{box.key} pushes inward") for box in first.channel.boxes[:1]),
                *places(together),
            ),
            computed="1 inversion",
            allowed="2: at the input and in the lead; or none",
            help=f"{'cross the lead' if fed else 'invert the input'} of {named(crossed)} as well, or take this one out",
            choices=(Fix(f"{'cross the lead' if fed else 'invert the input'} of {named(crossed)}", tuple(flat)),)
            if len(flat) >= len(crossed) and all(edits)
            else (),
            subject=first.channel.key,
        )


def _listed(edit: Edit | None) -> list[Edit] | None:
    return None if edit is None else [edit]


# ---- unlike sides ---------------------------------------------------------------------------------------------------


def opposed_drive_uneven(figures: Figures) -> Iterable[Finding]:
    """Opposed channels carry unlike signals or unlike loads, so that little of it is left."""
    for together in figures.together:
        uneven = together.differs or together.load_ratio > ALIKE_LOAD
        if not (together.opposed and together.supply.sharing == "shared" and together.bass_only and uneven):
            continue
        if not consistent(together) or together.supply.stage == "full-bridge":
            continue
        turned = turned_members(together)
        loads = ", ".join(f"{m.channel.key} {show(m.channel.load_ohm, 'resistance')}" for m in together.members)
        if together.differs:
            why, left = f"their signals are not alike, {together.differs[0]}", "nothing that can be counted on is left"
        else:
            why, left = f"their loads are not alike ({loads})", _left(figures, together)
        yield Finding(
            "opposed-drive-uneven",
            turned[0].channel.output.span,
            f"{named(together.members)} are opposed, but {why}: {left}",
            label="inverted against the other",
            related=tuple(places(together)),
            computed=left,
            allowed=f"the same signal, and loads within a ratio of {ALIKE_LOAD:g}",
            assumes=(RESISTANCES, UNMEASURED),
            help="give both channels the same send at the same level and delay, and as many boxes each",
            subject=together.gear.full,
        )


def _left(figures: Figures, together: SharedSupply) -> str:
    """What unlike loads leave of the gain at the deepest tone, or of the climb of a half-bridge's rails."""
    from rigspec.figures.opposed import prospect, worth
    from rigspec.solve.supply import SupplyDraw

    if half_bridge(together.gear):
        return _climb(figures, together)
    made = prospect(figures, together)
    found = worth(made, together.low_hz) if together.low_hz is not None else None
    if found is None or made.supply is None or together.low_hz is None:
        return "little is left of the effect"
    half = made.draw.total_siemens / 2
    even = made.supply.swings(SupplyDraw(half, half), together.low_hz).gain
    more = f"{percent(found.gain)} more" if found.gain >= 0 else f"{percent(-found.gain)} less"
    return f"they give {more} power instead of {percent(even)} more at {show(together.low_hz, 'frequency')}"


def _climb(figures: Figures, together: SharedSupply) -> str:
    from rigspec.figures.pumped import pumps

    pump = next((each for each in pumps(figures, [together]) if each.together is together), None)
    if pump is None:
        return "the rails climb by what the larger load gives back"
    left, in_phase = show(pump.rise_volt, "voltage"), show(pump.in_phase_volt, "voltage")
    return f"the rails climb by {left} at {show(pump.hz, 'frequency')}, in phase by {in_phase}"


# ---- the rules ------------------------------------------------------------------------------------------------------

_STUDY = "circuit theory, and circuit simulations of a family of supplies; nothing was measured on a real amplifier"
_AMP = """\
amp a is twin {
  rated 900 W at 4 ohm, 550 W at 8 ohm
  rated 980 W at 4 ohm alone
  stage class-ab
  supply { transformer; shared; capacitance 10 mF }
}
"""
_BASS = "feed f { level -8 dBu; band 35 Hz to 95 Hz }\n"
_LEAD = "lead 4 mm2 9 m"
_LEFT = f"f -> a.1 -> {_LEAD} -> s[1..2] linked 2.5 mm2 2 m\n"
_PLAIN = f"f -> a.2 -> {_LEAD} -> s[3..4] linked 2.5 mm2 2 m\n"
_OPPOSED = f"f -> invert -> a.2 -> {_LEAD} -> invert -> s[3..4] linked 2.5 mm2 2 m\n"
_BOXES = "speaker s[1..4] is sub\n"
_GROUP = "group subs: s[*]\n"
RULES = (
    Rule(
        name="opposed-drive-gains",
        severity=Severity.ADVICE,
        summary="alike bass runs in phase on one supply, and opposed drive would give more power",
        reason="in phase both channels pull on one rail at the same instant while the other rests; opposed, each half"
        " of the supply feeds one channel at every instant, the reservoirs sag less, and the outputs swing further",
        limit="a gain of 5 % or more at the deepest tone that is surely a gain, its uncertainty taken off. It is most"
        " in the deepest bass and with small reservoirs. With x = mains frequency x load x capacitance: 1 to 8 % at 40"
        " to 50 Hz where x is 4 to 5 (the trade's few percent, perhaps ten), 12 to 63 % at 30 to 40 Hz where x is 2.4"
        " or less, nothing or a loss of 1 to 9 % above about 1.2 times the mains frequency. Ten percent is 0.4 dB, less"
        " than half of what one just hears. No number where the reservoir is unknown, or where x is below 1.2 and the"
        " source of the supply is not given",
        authority=f"{_STUDY}; the gain worth having is common practice, no source",
        cure=f"invert the input of one channel ({WAYS}), and cross its lead, so that the boxes still move"
        f" together: never"
        " one without the other. A bridged pair is opposed by nature. It does not spare the mains: the total draw is"
        " the same, and lead, fuse and breaker see no relief. It does nothing for separate or regulated supplies,"
        " full-bridge stages, unlike signals, unlike loads and what is not bass. `rigspec supply FILE` shows the gain"
        " tone by tone",
        bad=_BASS + _AMP + _BOXES + _LEFT + _PLAIN + _GROUP,
        good=_BASS + _AMP + _BOXES + _LEFT + _OPPOSED + _GROUP,
        check=opposed_drive_gains,
    ),
    Rule(
        name="opposed-drive-costs",
        severity=Severity.ADVICE,
        summary="channels are opposed where that gives nothing or costs a little",
        reason="each crossed lead is a chance to build the rig wrong, and here nothing stands against it. Above about"
        " 1.2 times the mains frequency the mains refill the reservoirs faster than the tone drains them, and opposed"
        " channels lose 1 to 9 percent; separate and regulated supplies and full-bridge stages gain nothing",
        limit="opposed channels share a supply that sags, and have bass below 1.2 times the mains frequency",
        authority=_STUDY,
        cure="take both inversions out; never one without the other",
        bad="feed f { level -8 dBu; band 80 Hz to 200 Hz }\n" + _AMP + _BOXES + _LEFT + _OPPOSED + _GROUP,
        good="feed f { level -8 dBu; band 80 Hz to 200 Hz }\n" + _AMP + _BOXES + _LEFT + _PLAIN + _GROUP,
        check=opposed_drive_costs,
    ),
    Rule(
        name="opposed-drive-half",
        severity=Severity.ERROR,
        summary="of the two inversions of opposed drive only one is there",
        reason="the boxes of the two channels push against each other, and the bass is gone where the audience stands"
        " between them. Opposed drive inverts a channel's input and crosses its lead: the boxes move as if neither was"
        " done",
        limit="both inversions, or none; where a group says how boxes push, its own rule speaks",
        authority="circuit theory; equal sources of opposite polarity cancel on the line between them",
        cure="add the inversion that lacks, or take the other out",
        bad=_BASS + _AMP + _BOXES + _LEFT + f"f -> invert -> a.2 -> {_LEAD} -> s[3..4] linked 2.5 mm2 2 m\n",
        good=_BASS + _AMP + _BOXES + _LEFT + _OPPOSED,
        check=opposed_drive_half,
    ),
    Rule(
        name="opposed-drive-uneven",
        severity=Severity.WARNING,
        summary="opposed channels carry unlike signals or unlike loads",
        reason="what one channel leaves the other does not take: little is left of the effect, and it may turn into a"
        " loss",
        limit=f"the same feeds at the same level (within 3 dB), delay and band, and loads within a ratio of"
        f" {ALIKE_LOAD:g}",
        authority=f"{_STUDY}; the limits are common practice, no source",
        cure="make the two channels alike, or take both inversions out",
        bad=_BASS + _AMP + _BOXES + _LEFT + f"f -> invert -> a.2 -> {_LEAD} -> invert -> s[3]\nspare s[4]\n",
        good=_BASS + _AMP + _BOXES + _LEFT + _OPPOSED,
        check=opposed_drive_uneven,
    ),
)
