"""Rules about circuit-breakers: what they carry, what they hold when all is switched on, and what they protect."""

from __future__ import annotations

from collections.abc import Iterable

from rigspec.figures import Figures
from rigspec.figures.inlets import AT_EIGHTH, AT_THIRD
from rigspec.figures.mains import MainsFigures, PartFigures
from rigspec.rig.model import Measure
from rigspec.rules.bounds import at_least
from rigspec.rules.mains_words import (
    LOCAL,
    at_most,
    below,
    breaker_text,
    code_note,
    decides,
    figure_of,
    rests_on,
    size_for,
    takers,
)
from rigspec.rules.rule import Rule
from rigspec.solve.breaker import (
    CONTINUOUS,
    INSTANT,
    RATINGS_AMPERE,
    THERMAL,
    counted_ampere,
    holds_ampere,
    next_rating,
    trips_ampere,
)
from rigspec.text.finding import Finding, Label, Severity
from rigspec.text.units import show, show_pair

_KEEPS = 1.0001  # rounding does not break a limit


# ---- too much current -----------------------------------------------------------------------------------------------


def breaker_overloaded(figures: Figures) -> Iterable[Finding]:
    """What hangs on a breaker takes more than it is rated for."""
    mains = figures.mains
    for name, part in mains.parts.items():
        breaker = part.node.breaker
        worst = _counted(mains, mains.bad.parts[name])
        if breaker is None or worst is None or worst <= breaker.value * _KEEPS:
            continue
        mild = _counted(mains, mains.mild.parts[name]) or 0.0
        yield _overloaded(mains, part, breaker, worst, possible=mild <= breaker.value * _KEEPS)


def _counted(mains: MainsFigures, part: PartFigures) -> float | None:
    ampere = part.ampere(AT_EIGHTH)
    return None if ampere is None else counted_ampere(ampere, mains.plan.code)


def _overloaded(mains: MainsFigures, part: PartFigures, breaker: Measure, worst: float, *, possible: bool) -> Finding:
    name = part.key
    typical = _counted(mains, part) or 0.0
    ampere = worst if possible else typical
    computed, allowed = show_pair(ampere, breaker.value, "current")
    least = " at least" if part.unknown else ""
    counts = f", which counts for {computed} as a continuous load" if mains.plan.code == "nec" else ""
    flows = show(ampere / CONTINUOUS, "current") if counts else computed
    decided = decides(mains, figure_of(name, lambda each: each.ampere())) if possible else None
    what = f"what hangs on {name} {'may take' if possible else 'takes'}{least} {flows}{_on_phase(part)}{counts}"
    return Finding(
        "breaker-overloaded",
        breaker.span,
        f"{what}, and its breaker is rated {breaker.text}",
        label=f"{breaker_text(part.node.gear)}, loaded with {computed}",
        related=(*takers(mains, name), *(decided.labels if decided else ())),
        computed=computed,
        allowed=f"at most {allowed}",
        assumes=(*rests_on(mains, name), *code_note(mains)),
        help=_unload(mains, part, breaker, ampere),
        subject=name,
        authority=f"{_LOAD_RULE[mains.plan.code]}; {LOCAL}",
        at_most=at_most(mains, name),
        possible=possible,
        decides=decided.text if decided else "",
    )


_LOAD_RULE = {
    "iec": "IEC 60364-4-43 (load current <= rating <= ampacity), from memory",
    "nec": "NEC 210.20(A): 125 % of a continuous load, three hours or more",
}


def _on_phase(part: PartFigures) -> str:
    amperes = part.amperes
    if not part.node.several or amperes is None:
        return ""
    eighth = [round(ampere, 6) for ampere in amperes[AT_EIGHTH]]
    return f" on {part.node.labels[eighth.index(max(eighth))]}"


def _unload(mains: MainsFigures, part: PartFigures, breaker: Measure, ampere: float) -> str:
    """The least piece of gear whose going clears it, and the next breaker with the lead that it needs."""
    excess = ampere - breaker.value
    found = below(mains, part.key)
    factor = ampere / max(part.ampere() or ampere, 1e-9)
    enough = [each for each in found if (each.amperes[AT_EIGHTH] or 0.0) * factor >= excess]
    some = f"move {at_least(excess, 'current')} of it elsewhere"
    move = f"move {enough[-1].key} to another circuit" if enough else some
    rating = next_rating(ampere, mains.plan.code)
    if rating is None:
        return f"{move}, or take a larger supply"
    lead = part.lead
    if lead is None or (lead.capacity and rating <= lead.capacity.ampere):
        return f"{move}, or use a breaker of {show(rating, 'current')}"
    return f"{move}, or use a breaker of {show(rating, 'current')} on {size_for(mains, lead, rating)}"


def breaker_close(figures: Figures) -> Iterable[Finding]:
    """A breaker that holds at 1/8 of rated power trips within the hour at 1/3."""
    mains = figures.mains
    for name, part in mains.parts.items():
        breaker, third, worst = part.node.breaker, part.ampere(AT_THIRD), _counted(mains, mains.bad.parts[name])
        if breaker is None or third is None or worst is None or worst > breaker.value * _KEEPS:
            continue
        trips = breaker.value * THERMAL[mains.plan.code][1]
        if third <= trips:
            continue
        computed, allowed = show_pair(third, trips, "current")
        yield Finding(
            "breaker-close",
            breaker.span,
            f"driven into continual clipping, {name} takes {computed}, and its breaker trips within the hour",
            label=f"{breaker_text(part.node.gear)} trips within an hour at {allowed}",
            related=tuple(takers(mains, name, AT_THIRD)),
            computed=computed,
            allowed=f"less than {allowed}",
            assumes=(*rests_on(mains, name, drive=_THIRD), *code_note(mains)),
            help=f"leave it so if the limiters hold the level down; else {_spread(mains, part, third - trips)}",
            subject=name,
        )


_THIRD = "all gear at 1/3 of its rated output into its load: a convention for music in continual clipping"


def _spread(mains: MainsFigures, part: PartFigures, excess: float) -> str:
    enough = [each for each in below(mains, part.key) if (each.amperes[AT_THIRD] or 0.0) >= excess]
    return f"move {enough[-1].key} to another circuit" if enough else f"spread {at_least(excess, 'current')} of it"


# ---- switching on ---------------------------------------------------------------------------------------------------


def inrush_high(figures: Figures) -> Iterable[Finding]:
    """All that hangs on a breaker, switched on at once, may trip it; what a part below causes is said there."""
    mains = figures.mains
    told: set[str] = set()
    for name in reversed(list(mains.parts)):
        part = mains.parts[name]
        node = part.node
        if name in told:
            told.add(node.parent)
        parent = mains.parts.get(node.parent)
        if node.breaker is None or not node.curve or (parent or part).node.gear.doubt or node.gear.doubt:
            continue
        holds = holds_ampere(node.breaker.value, node.curve)
        if mains.bad.parts[name].inrush_ampere <= holds * _KEEPS:
            continue
        if name not in told:
            yield _surge(mains, part, node.breaker, holds)
        told.add(node.parent)


def _surge(mains: MainsFigures, part: PartFigures, breaker: Measure, holds: float) -> Finding:
    name, curve = part.key, part.node.curve
    worst, mild = mains.bad.parts[name].inrush_ampere, mains.mild.parts[name].inrush_ampere
    possible = mild <= holds * _KEEPS
    ampere = worst if possible else part.inrush_ampere
    computed, allowed = show_pair(ampere, holds, "current")
    surely = ampere >= trips_ampere(breaker.value, curve)
    pieces = sorted(below(mains, name), key=lambda each: -(m.value if (m := each.appliance.inrush) else 0.0))
    labels = [
        Label(each.plug.sink.span, f"{each.key} draws {each.appliance.inrush.text}")
        for each in pieces[:3]
        if each.plug is not None and each.appliance.inrush is not None
    ]
    lacking = part.total.without_inrush
    decided = decides(mains, figure_of(name, lambda each: each.inrush_ampere)) if possible else None
    return Finding(
        "inrush-high",
        breaker.span,
        f"switched on at once, what hangs on {name} {'may draw' if possible else 'draws'} a peak of {computed}, "
        f"which {'trips' if surely else 'may trip'} its breaker",
        label=f"{breaker_text(part.node.gear)} surely holds {allowed}",
        related=(*labels, *(decided.labels if decided else ())),
        computed=computed,
        allowed=f"at most {allowed}",
        assumes=(
            "peaks count as though all came at one crest, and against the breaker's r.m.s. multiples",
            *([f"the inrush of {lacking[0]} and {len(lacking) - 1} more is not given"] if len(lacking) > 1 else []),
            *([f"the inrush of {lacking[0]} is not given"] if len(lacking) == 1 else []),
        ),
        help=_switch_in_turn(mains, part, breaker, ampere, holds),
        subject=name,
        possible=possible,
        decides=decided.text if decided else "",
    )


def _switch_in_turn(mains: MainsFigures, part: PartFigures, breaker: Measure, ampere: float, holds: float) -> str:
    ways = []
    largest = max((m.value for each in below(mains, part.key) if (m := each.appliance.inrush)), default=0.0)
    if largest <= holds:
        ways.append(f"switch on one by one and say `sequence` (the largest alone draws {show(largest, 'current')})")
    curve = next((curve for curve in INSTANT if holds_ampere(breaker.value, curve) >= ampere), "")
    if curve:
        ask = ", if whoever answers for the supply agrees: it needs twice the fault current to trip" * (curve == "D")
        ways.append(f"use curve {curve}, which holds {show(holds_ampere(breaker.value, curve), 'current')}{ask}")
    return ", or ".join([*ways, "spread the gear over more circuits"])


def breaker_order(figures: Figures) -> Iterable[Finding]:
    """A breaker that is not smaller than the one before it."""
    mains = figures.mains
    for name, part in mains.parts.items():
        breaker = part.node.breaker
        before = mains.plan.guards.get(part.node.parent, "")
        upper = mains.plan.nodes[before].breaker if before else None
        if breaker is None or upper is None or breaker.value < upper.value * 0.9999:
            continue
        own, theirs = show_pair(breaker.value, upper.value, "current")
        below_it = max((each for each in RATINGS_AMPERE[mains.plan.code] if each < upper.value), default=None)
        yield Finding(
            "breaker-order",
            breaker.span,
            f"a fault behind {name} may open the breaker of {before} first, and all that hangs on it goes dark",
            label=f"{own}, not smaller than the one before it",
            related=(Label(upper.span, f"the breaker of {before}: {theirs}"),),
            computed=own,
            allowed=f"less than {theirs}",
            help=f"use {show(below_it, 'current')} or less here" if below_it else "use a smaller one here",
            subject=name,
        )


_BIG = "stock speaker loud { powered; draw 2100 VA }\nspeaker a is loud\nspeaker b is loud\n"
_SIGNAL = "feed f { level 4 dBu }\nf -> a\nf -> b\n"
_SURGE = _BIG.replace("2100 VA", "900 VA; inrush 45 A")
_CLOSE = (
    "stock amp hot {{\n  channels 2\n  rated 2400 W at 4 ohm\n  stage full-bridge\n  idle 50 W\n  efficiency 85 %\n"
    "  power-factor 0.65\n}}\n"
    "stock speaker pair {{ impedance 4 ohm; rated 2400 W continuous, 9600 W peak }}\n"
    "amp amps[1..2] is hot\nspeaker s[1..4] is pair\n"
    "amps[1].1 -> s[1]\namps[1].2 -> s[2]\namps[2].1 -> s[3]\namps[2].2 -> s[4]\n"
    "mains main {{ supply 230 V; breaker 16 A C; residual 30 mA }}\n{}\n"
)
_OTHER = "main -> amps[1]\nmains other { supply 230 V; breaker 16 A C; residual 30 mA }\nother -> amps[2]"

RULES = (
    Rule(
        name="breaker-overloaded",
        severity=Severity.ERROR,
        summary="what hangs on a circuit-breaker takes more than it is rated for",
        reason="the breaker opens in the middle of the show, and all that hangs on it goes dark",
        limit="the breaker's rating, for the current at 1/8 of rated power; by the NEC the current counts for 125 %",
        authority=f"IEC 60364-4-43, from memory, or NEC 210.20(A) where the rig says `code nec`; {LOCAL}",
        cure="move gear to another circuit, or use a breaker and a lead that carry it",
        bad=f"{_BIG}{_SIGNAL}mains hall {{ supply 230 V; breaker 16 A C; residual 30 mA }}\nhall -> a\nhall -> b\n",
        good=f"{_BIG}{_SIGNAL}mains hall[1..2] {{ supply 230 V; breaker 16 A C; residual 30 mA }}\n"
        "hall[1] -> a\nhall[2] -> b\n",
        check=breaker_overloaded,
    ),
    Rule(
        name="breaker-close",
        severity=Severity.WARNING,
        summary="a breaker that holds ordinary programme trips in continual clipping",
        reason="an eighth of rated power is programme at the edge of clipping; a crowd that wants more takes a third",
        limit="1.45 times the rating within an hour (UL 489: 1.35 times)",
        authority=f"IEC 60898-1 table 7, from memory; the third is an older convention; {LOCAL}",
        cure="spread the gear over more circuits, or let limiters hold the level down",
        bad=_CLOSE.format("each main -> amps[1..2]"),
        good=_CLOSE.format(_OTHER),
        check=breaker_close,
    ),
    Rule(
        name="inrush-high",
        severity=Severity.WARNING,
        summary="all that hangs on a breaker, switched on at once, may trip it",
        reason="the reservoirs of all supplies fill at once, and the rig does not come up",
        limit="3 times the rating for curve B, 5 for C, 10 for D; all peaks together, or the largest with `sequence`",
        authority=f"IEC 60898-1 table 2, from memory; {LOCAL}",
        cure="switch on one by one, use a slower curve, or spread the gear over more circuits",
        bad=f"{_SURGE}{_SIGNAL}mains hall {{ supply 230 V; breaker 25 A B; residual 30 mA }}\nhall -> a\nhall -> b\n",
        good=f"{_SURGE}{_SIGNAL}mains hall {{ supply 230 V; breaker 25 A B; residual 30 mA; sequence }}\n"
        "hall -> a\nhall -> b\n",
        check=inrush_high,
    ),
    Rule(
        name="breaker-order",
        severity=Severity.ADVICE,
        summary="a breaker is not smaller than the one before it",
        reason="of two alike either may open first, and the one before it takes more of the rig with it",
        limit="smaller than the breaker before it",
        authority=f"IEC 60364-5-53 (selectivity), from memory; {LOCAL}",
        cure="use a smaller breaker here, or a larger one before it on a lead that carries it",
        bad="mains house { supply 230 V; breaker 16 A C; residual 30 mA }\nmains side from house { breaker 16 A C }\n",
        good="mains house { supply 230 V; breaker 32 A C; residual 30 mA }\nmains side from house { breaker 16 A C }\n",
        check=breaker_order,
    ),
)
