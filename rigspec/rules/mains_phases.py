"""Rules about the phases of the mains and their neutral."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rigspec.figures import Figures
from rigspec.figures.inlets import AT_EIGHTH
from rigspec.figures.mains import MainsFigures, PartFigures
from rigspec.figures.mains_tree import PHASES
from rigspec.rules.mains_words import LOCAL, decides, figure_of, natural, rests_on, takers
from rigspec.rules.rule import Rule
from rigspec.solve.breaker import (
    unevenness,
)
from rigspec.text.finding import Finding, Severity
from rigspec.text.units import show, show_pair

_KEEPS = 1.0001  # rounding does not break a limit
UNEVEN = 1 / 3  # the most loaded phase over the mean of all (common practice, no source)
UNEVEN_FROM = 0.5  # and only where that phase is half used, since moving gear about gains nothing before


# ---- phases ---------------------------------------------------------------------------------------------------------


def phases_uneven(figures: Figures) -> Iterable[Finding]:
    """One phase carries far more than the others while it is at least half used; the innermost part tells."""
    mains = figures.mains
    told: set[str] = set()
    for name in reversed(list(mains.parts)):
        part = mains.parts[name]
        if name in told:
            told.add(part.node.parent)
            continue
        amperes, limit = part.amperes, _phase_limit(part)
        if not part.node.several or amperes is None or limit is None:
            continue
        eighth = [round(ampere, 6) for ampere in amperes[AT_EIGHTH]]
        if max(eighth) < UNEVEN_FROM * limit or unevenness(eighth) <= UNEVEN:
            continue
        told.add(part.node.parent)
        yield _uneven(mains, part, eighth, limit)


def _phase_limit(part: PartFigures) -> float | None:
    """What each phase of a part may carry: by its breaker, else by its generator."""
    node = part.node
    if node.breaker is not None:
        return node.breaker.value
    size = node.gear.measure("generator", "apparent power")
    return size.value / len(node.phases) / part.volt if size and part.volt else None


def _uneven(mains: MainsFigures, part: PartFigures, eighth: Sequence[float], limit: float) -> Finding:
    name, labels = part.key, part.node.labels
    heavy = eighth.index(max(eighth))
    told = ", ".join(f"{label} {show(each, 'current')}" for label, each in zip(labels, eighth, strict=True))
    return Finding(
        "phases-uneven",
        part.node.gear.span,
        f"{labels[heavy]} of {name} carries {show(unevenness(eighth), 'ratio')} more than the mean of its phases",
        label=told,
        related=tuple(takers(mains, name)),
        computed=show(max(eighth), "current"),
        allowed=f"within {show(UNEVEN, 'ratio')} of the mean, {show(sum(eighth) / len(eighth), 'current')}, "
        f"from {show(UNEVEN_FROM * limit, 'current')} on",
        assumes=rests_on(mains, name),
        help=_move(mains, part, eighth),
        subject=name,
    )


def _move(mains: MainsFigures, part: PartFigures, eighth: Sequence[float]) -> str:
    """The one part or piece of gear whose going to another phase lowers the most loaded phase most."""
    node = part.node
    heavy = eighth.index(max(eighth))
    takes = {}
    for child in sorted(node.children, key=natural):
        other = mains.parts[child]
        if other.node.phases == (node.phases[heavy],) and (ampere := other.ampere()):
            takes[child] = ampere
    best, to, peak = "", 0, max(eighth)
    for child, ampere in takes.items():
        for phase in range(len(eighth)):
            if phase == heavy:
                continue
            after = list(eighth)
            after[heavy] -= ampere
            after[phase] += ampere
            if max(after) < peak * 0.999:
                best, to, peak = child, phase, max(after)
    if not best:
        return "share what hangs on the most loaded phase out over circuits on the others"
    from_to = f"from {PHASES[node.phases[heavy]]} to {PHASES[node.phases[to]]}"
    return f"move {best} {from_to}: no phase then carries more than {show(peak, 'current')}"


def neutral_overloaded(figures: Figures) -> Iterable[Finding]:
    """The third harmonics of supplies without correction may load a neutral beyond what its lead or breaker stands."""
    mains = figures.mains
    for name, part in mains.bad.parts.items():
        node, ampere = part.node, part.ampere()
        capacity = part.lead.capacity if part.lead else None
        limit = capacity.ampere if capacity else node.breaker.value if node.breaker else None
        bound = part.neutral_bound_ampere
        if len(node.phases) != 3 or limit is None or ampere is None or bound <= max(limit, ampere) * _KEEPS:
            continue
        typical = mains.parts[name].neutral_bound_ampere
        possible = mains.mild.parts[name].neutral_bound_ampere <= limit * _KEEPS
        computed, allowed = show_pair(bound if possible else typical, limit, "current")
        decided = decides(mains, figure_of(name, lambda each: each.neutral_bound_ampere)) if possible else None
        size = part.lead.spec.area_mm2 or part.lead.spec.awg if part.lead else None
        vector = mains.parts[name].neutral_ampere
        yield Finding(
            "neutral-overloaded",
            size.span if size else node.gear.span,
            f"the neutral of {name} may carry {computed}, and its {'lead' if capacity else 'breaker'} stands {allowed}",
            label=f"with sines it would be {show(vector, 'current') if vector > 0.005 else 'nothing'}",
            related=(*takers(mains, name), *(decided.labels if decided else ())),
            computed=computed,
            allowed=f"at most {allowed}",
            assumes=(
                *rests_on(mains, name),
                "supplies without correction draw pulses at the crests of their own phase, which do not cancel",
                "the neutral is as thick as the phases",
            ),
            help="use a thicker lead, gear with power-factor correction, or fewer amplifiers on this feed: it does not "
            "help to make the phases equal",
            subject=name,
            possible=possible,
            decides=decided.text if decided else "",
        )


_LOUD = "stock speaker loud { powered; draw 2100 VA; power-factor 0.7 }\nfeed f { level 4 dBu }\n"
_THREE = (
    f"{_LOUD}speaker a is loud\nspeaker b is loud\nspeaker c is loud\nf -> a\nf -> b\nf -> c\n"
    "mains house { supply 230 V; phases 3; breaker 32 A C; residual 30 mA }\n"
)
_HUNG = "side[1] -> a\nside[2] -> b\nside[3] -> c\n"
_NINE = (
    "stock speaker loud {{ powered; draw 6 kVA; power-factor 0.65 }}\nfeed f {{ level 4 dBu }}\nspeaker a is loud\n"
    "speaker b is loud\nspeaker c is loud\nf -> a\nf -> b\nf -> c\n"
    "mains house {{ supply 230 V; phases 3; breaker 32 A C; residual 30 mA; lead {} 9 m }}\n"
    "mains side[1] from house {{ phase L1 }}\nmains side[2] from house {{ phase L2 }}\n"
    "mains side[3] from house {{ phase L3 }}\nside[1] -> a\nside[2] -> b\nside[3] -> c\n"
)

RULES = (
    Rule(
        name="phases-uneven",
        severity=Severity.ADVICE,
        summary="one phase carries far more than the others",
        reason="the most loaded phase decides how much the feed gives, and the neutral carries the difference",
        limit="a third over the mean of the phases, once the most loaded one is half used, at 1/8 of rated power",
        authority=f"common practice, no source; {LOCAL}",
        cure="move a circuit to the phase that the finding names",
        bad=f"{_THREE}mains side[1..2] from house {{ phase L1 }}\nmains side[3] from house {{ phase L2 }}\n{_HUNG}",
        good=f"{_THREE}mains side[1] from house {{ phase L1 }}\nmains side[2] from house {{ phase L2 }}\n"
        f"mains side[3] from house {{ phase L3 }}\n{_HUNG}",
        check=phases_uneven,
    ),
    Rule(
        name="neutral-overloaded",
        severity=Severity.WARNING,
        summary="the neutral of three phases may carry more than it stands",
        reason="supplies without correction draw pulses that add up in the neutral, where no breaker sees them",
        limit="the ampacity of the lead, else the rating of the breaker, for the sum of the phases by energy",
        authority=f"circuit theory; IEC 60364-5-52 annex E, from memory; {LOCAL}",
        cure="use a thicker lead, gear with power-factor correction, or fewer amplifiers on this feed",
        bad=_NINE.format("6 mm2"),
        good=_NINE.format("16 mm2"),
        check=neutral_overloaded,
    ),
)
