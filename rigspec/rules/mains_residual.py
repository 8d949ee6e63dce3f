"""Rules about residual-current devices: what gear leaks to earth, and where one is missing."""

from __future__ import annotations

from collections.abc import Iterable

from rigspec.figures import Figures
from rigspec.figures.mains import PartFigures
from rigspec.rules.mains_words import LOCAL, below, code_note, decides, figure_of, listed, natural
from rigspec.rules.rule import Rule
from rigspec.solve.breaker import (
    RESIDUAL_MAY_TRIP,
    RESIDUAL_STANDING,
)
from rigspec.text.finding import Finding, Label, Severity
from rigspec.text.units import show_pair

_KEEPS = 1.0001  # rounding does not break a limit
SOCKET_AMPERE = 32.0  # IEC 60364-4-41 411.3.3
RESIDUAL_AMPERE = 0.030


# ---- residual-current devices ---------------------------------------------------------------------------------------


def leakage_high(figures: Figures) -> Iterable[Finding]:
    """Standing leakage takes too much of a residual-current device's rating."""
    mains = figures.mains
    for name, part in mains.parts.items():
        residual = part.node.gear.measure("residual", "current")
        if residual is None:
            continue
        limit = RESIDUAL_STANDING * residual.value
        worst, mild = mains.bad.parts[name].total.leakage_ampere, mains.mild.parts[name].total.leakage_ampere
        if worst <= limit * _KEEPS:
            continue
        possible = mild <= limit * _KEEPS
        leaks = worst if possible else part.total.leakage_ampere
        computed, allowed = show_pair(leaks, limit, "current")
        trips = leaks > RESIDUAL_MAY_TRIP * residual.value
        found = sorted(below(mains, name), key=lambda each: -(m.value if (m := each.appliance.leakage) else 0.0))
        labels = [
            Label(each.plug.sink.span, f"{each.key} leaks {each.appliance.leakage.text}")
            for each in found[:3]
            if each.plug is not None and each.appliance.leakage is not None
        ]
        lacking = part.total.without_leakage
        decided = decides(mains, figure_of(name, lambda each: each.total.leakage_ampere)) if possible else None
        yield Finding(
            "leakage-high",
            residual.span,
            f"the gear on {name} {'may leak' if possible else 'leaks'} {computed} to earth, and its residual-current "
            f"device of {residual.text} {'may trip at any moment' if trips else 'has too little left for a fault'}",
            label=f"standing leakage: {computed}",
            related=(*labels, *(decided.labels if decided else ())),
            computed=computed,
            allowed=f"at most {allowed}",
            assumes=(
                "the leakages of all gear add up",
                *([f"the leakage of {listed(lacking)} is not given"] if lacking else []),
            ),
            help="share the gear out over more residual-current devices, one for each circuit",
            subject=name,
            possible=possible,
            decides=decided.text if decided else "",
        )


def residual_missing(figures: Figures) -> Iterable[Finding]:
    """Socket circuits up to 32 A without a residual-current device that protects people; one finding a supply."""
    mains = figures.mains
    plan = mains.plan
    if plan.code == "nec":
        return  # the NEC asks for ground-fault protection by place, which a rig does not say
    guarded: dict[str, bool] = {}
    bare: dict[str, list[PartFigures]] = {}
    for name, part in mains.parts.items():
        own = part.node.gear.measure("residual", "current")
        guarded[name] = guarded.get(part.node.parent, False) or (
            part.node.gear.doubt is not None or (own is not None and own.value <= RESIDUAL_AMPERE * 1.001)
        )  # of a part with a fault it is not known that it has none
        guard = plan.guards[name]
        breaker = plan.nodes[guard].breaker if guard else None
        sockets = part.node.plugs or part.node.gear.says("outlets")
        if sockets and not guarded[name] and (breaker is None or breaker.value <= SOCKET_AMPERE):
            bare.setdefault(part.node.supply.part, []).append(part)
    for parts in bare.values():
        parts.sort(key=lambda part: natural(part.key))
        first, several = parts[0], len(parts) > 1
        weak = first.node.gear.measure("residual", "current")
        names = listed(part.key for part in parts)
        yield Finding(
            "residual-missing",
            first.node.gear.span,
            f"what plugs into {names} has no residual-current device of 30 mA or less before it",
            label=f"only {weak.text} here" if weak else "none here or before it",
            computed=weak.text if weak else "none",
            allowed="30 mA or less",
            assumes=code_note(mains),
            help=f"set `residual 30 mA` on {'them, or on what feeds them,' if several else 'it, or on what feeds it,'} "
            "if one is there; if not, put one in",
            subject=first.key,
            at_most=None if weak else Severity.WARNING,  # one that nobody wrote down may be there all the same
        )


_LEAKS = (
    "stock speaker wet {{ powered; draw 300 W; leakage {} }}\nspeaker a is wet\nspeaker b is wet\n"
    "feed f {{ level 4 dBu }}\nf -> a\nf -> b\n"
    "mains hall {{ supply 230 V; breaker 16 A C; residual 30 mA }}\nhall -> a\nhall -> b\n"
)
_BARE = (
    "stock speaker loud {{ powered; draw 300 W }}\nspeaker a is loud\nfeed f {{ level 4 dBu }}\nf -> a\n"
    "mains hall {{ supply 230 V; {}breaker 16 A C }}\nhall -> a\n"
)

RULES = (
    Rule(
        name="leakage-high",
        severity=Severity.WARNING,
        summary="the standing leakage of the gear takes too much of a residual-current device's rating",
        reason="the device trips from a surge or from one more piece of gear, and all that hangs on it goes dark",
        limit="30 % of its rating; from 50 % on it may trip without a fault",
        authority=f"IEC 60364-5-53 531.3.2 and IEC 61008-1, from memory; {LOCAL}",
        cure="share the gear out over more residual-current devices",
        bad=_LEAKS.format("5 mA"),
        good=_LEAKS.format("1 mA"),
        check=leakage_high,
    ),
    Rule(
        name="residual-missing",
        severity=Severity.ERROR,
        summary="a circuit with sockets has no residual-current device that protects people",
        reason="a fault in a wet lead or a cracked plug kills before a breaker opens",
        limit="30 mA or less on every socket circuit of up to 32 A; not judged under `code nec`. A warning where none"
        " is said, an error where one is that trips later",
        authority=f"IEC 60364-4-41 411.3.3, from memory; {LOCAL}",
        cure="put a residual-current device in, or say the one that is there",
        bad=_BARE.format(""),
        good=_BARE.format("residual 30 mA; "),
        check=residual_missing,
    ),
)
