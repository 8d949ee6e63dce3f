"""Rules about supplies: the voltage of the mains, and what a generator gives."""

from __future__ import annotations

from collections.abc import Iterable

from rigspec.figures import Figures
from rigspec.figures.inlets import AT_EIGHTH
from rigspec.figures.mains import InletFigures, MainsFigures, PartFigures, Solved
from rigspec.rig.model import Measure
from rigspec.rules.bounds import at_least
from rigspec.rules.mains_words import LOCAL, at_most, decides, listed, natural, rests_on, takers
from rigspec.rules.rule import Rule
from rigspec.solve.breaker import (
    GENERATOR_MEAN,
    GENERATOR_POWER_FACTOR,
    generator_share,
)
from rigspec.text.finding import Finding, Label, Severity
from rigspec.text.units import show, show_pair

_KEEPS = 1.0001  # rounding does not break a limit


# ---- voltage --------------------------------------------------------------------------------------------------------


def mains_voltage(figures: Figures) -> Iterable[Finding]:
    """Gear that is made for another mains voltage than the one that feeds it; one finding for each kind and supply.

    Gear that does not say what it is made for may be made for the rig's own mains.
    """
    mains = figures.mains
    found: dict[tuple[bool, str, int, float], list[tuple[InletFigures, Measure]]] = {}
    for inlet in mains.inlets.values():
        own = inlet.gear.measure("mains", "voltage")
        made = own or (mains.plan.mains if inlet.part else None)
        if made is None or inlet.volt is None or inlet.gear.doubt:
            continue
        slack = mains.plan.tolerance
        if made.low * (1 - slack) <= inlet.volt <= made.high * (1 + slack):
            continue
        found.setdefault((own is None, made.span.path, made.span.start, inlet.volt), []).append((inlet, made))
    for (unsaid, *_, volt), each in found.items():
        each.sort(key=lambda one: natural(one[0].key))
        yield _unsuited(mains, each, volt, unsaid=unsaid)


def _unsuited(mains: MainsFigures, found: list[tuple[InletFigures, Measure]], volt: float, *, unsaid: bool) -> Finding:
    inlet, made = found[0]
    names, slack, shown = listed(one.key for one, _ in found), mains.plan.tolerance, show(volt, "voltage")
    said = mains.plan.nodes[inlet.part].supply.measure if inlet.part else mains.plan.mains
    where = f"{inlet.part} has" if inlet.part else "the mains here has"
    is_made = "may be" if unsaid else "is" if len(found) == 1 else "are"
    it = "it" if len(found) == 1 else "they"
    cure = "set its voltage selector, put a transformer before it, or correct the figure"
    if unsaid:
        cure = f"say the `mains` that {it} {'is' if it == 'it' else 'are'} made for, or correct the voltage of "
        cure += f"{inlet.part} or of the rig"
    return Finding(
        "mains-voltage",
        inlet.plug.sink.span if inlet.plug else inlet.gear.span,
        f"{names} {is_made} made for {f'the {made.text} of this rig' if unsaid else made.text}, and {where} {shown}",
        label=f"{shown} here",
        related=(
            Label(made.span, "the mains of this rig" if unsaid else "what it is made for"),
            *([Label(said.span, "the supply")] if said else []),
        ),
        computed=shown,
        allowed=f"{show(made.low, 'voltage')} to {show(made.high, 'voltage')}"
        if made.low != made.high
        else f"{show(made.value, 'voltage')} within {show(slack, 'ratio')}",
        help=f"do not switch it on: {cure}" if volt > made.high else cure,
        subject=inlet.key,
        possible=unsaid,
        decides=f"what {it} {'is' if it == 'it' else 'are'} made for decides, and nothing says that" if unsaid else "",
    )


# ---- generators -----------------------------------------------------------------------------------------------------


def generator_small(figures: Figures) -> Iterable[Finding]:
    """A generator that gives less than the rig takes."""
    yield from _generators(figures, "generator-small")


def generator_tight(figures: Figures) -> Iterable[Finding]:
    """A generator that is loaded more than it may be on average."""
    yield from _generators(figures, "generator-tight")


def _generators(figures: Figures, rule: str) -> Iterable[Finding]:
    mains = figures.mains
    for name, part in mains.parts.items():
        size = part.node.gear.measure("generator", "apparent power")
        if size is None or part.volt is None:
            continue
        used, worst = _used(mains, name), _used(mains.bad, name)
        small = worst > _KEEPS
        if (rule == "generator-small") != small or (not small and used <= GENERATOR_MEAN * _KEEPS):
            continue
        possible = small and _used(mains.mild, name) <= _KEEPS
        yield _generator(mains, part, rule, size, worst if possible else used, possible=possible)


def _used(solved: Solved, name: str) -> float:
    part = solved.parts[name]
    size = part.node.gear.measure("generator", "apparent power")
    if size is None or part.amperes is None or part.volt is None:
        return 0.0
    phases = [ampere * part.volt for ampere in part.amperes[AT_EIGHTH]]
    total = part.total
    return generator_share(total.apparent_va[AT_EIGHTH], total.power_w[AT_EIGHTH], phases, size.value)


def _generator(
    mains: MainsFigures, part: PartFigures, rule: str, size: Measure, used: float, *, possible: bool
) -> Finding:
    name, total = part.key, part.total
    limit = 1.0 if rule == "generator-small" else GENERATOR_MEAN
    amperes = part.amperes
    assert amperes is not None
    eighth = [round(ampere, 6) for ampere in amperes[AT_EIGHTH]]
    worst_phase = max(eighth) * (part.volt or 0.0) * len(eighth)
    taken, real = total.apparent_va[AT_EIGHTH], total.power_w[AT_EIGHTH]
    if used > max(taken / size.value, real / (GENERATOR_POWER_FACTOR * size.value)) * 1.001 and len(eighth) > 1:
        label = part.node.labels[eighth.index(max(eighth))]
        what = f"{label} alone takes {show(worst_phase / len(eighth), 'apparent power')} of its third"
    elif real / GENERATOR_POWER_FACTOR > taken:
        what = f"the rig takes {show(real, 'power')}, and a generator gives 0.8 of its rating as power"
    else:
        what = f"the rig takes {show(taken, 'apparent power')}"
    decided = decides(mains, lambda each: _used(each, name)) if possible else None
    computed, allowed = show_pair(used, limit, "ratio")
    whole = f"its {size.text}"
    if real / GENERATOR_POWER_FACTOR > taken and used <= real / (GENERATOR_POWER_FACTOR * size.value) * 1.001:
        whole = f"the {show(GENERATOR_POWER_FACTOR * size.value, 'power')} that {whole} give"
    message = f"the generator of {name} {'may be' if possible else 'is'} loaded with {computed} of {whole}"
    needed = used * size.value / GENERATOR_MEAN
    return Finding(
        rule,
        size.span,
        message,
        label=what,
        related=(*takers(mains, name), *(decided.labels if decided else ())),
        computed=computed,
        allowed=f"at most {allowed}",
        assumes=rests_on(mains, name),
        help=f"take a generator of {at_least(needed, 'apparent power')} or more, or hang less on it",
        subject=name,
        at_most=at_most(mains, name),
        possible=possible,
        decides=decided.text if decided else "",
    )


_FAR = (
    "stock speaker far {{ powered; draw 200 W; mains {} V to 240 V }}\nspeaker a is far\nfeed f {{ level 4 dBu }}\n"
    "f -> a\nmains hall {{ supply 120 V; breaker 16 A C; residual 30 mA }}\nhall -> a\n"
)
_LOUD = "stock speaker loud { powered; draw 2100 VA; power-factor 0.7 }\nfeed f { level 4 dBu }\n"
_POWERED = (
    f"{_LOUD}speaker a is loud\nspeaker b is loud\nf -> a\nf -> b\n".replace("{", "{{").replace("}", "}}")
    + "mains truck {{ supply 230 V; generator {}; residual 30 mA }}\ntruck -> a\ntruck -> b\n"
)

RULES = (
    Rule(
        name="mains-voltage",
        severity=Severity.ERROR,
        summary="gear is made for another mains voltage than the one that feeds it",
        reason="too much voltage burns its supply, too little leaves it dead or without power",
        limit="what the gear says of its `mains`, or else the rig's own mains, with the tolerance of the mains: 10 %"
        " by IEC 60038, 5 % by ANSI C84.1",
        authority=f"the gear's data sheet, as the stock gives it; IEC 60038 and ANSI C84.1, from memory; {LOCAL}",
        cure="set its voltage selector, put a transformer before it, or correct the figure",
        bad=_FAR.format(220),
        good=_FAR.format(100),
        check=mains_voltage,
    ),
    Rule(
        name="generator-small",
        severity=Severity.ERROR,
        summary="a generator gives less than the rig takes",
        reason="it stalls or drops its voltage in the middle of the show",
        limit="its rating in VA, 0.8 of it in W, and a third of it on each phase; with all gear at 1/8 of rated power",
        authority=f"ISO 8528-1, from memory; {LOCAL}",
        cure="take a larger generator, or hang less on it",
        bad=_POWERED.format("3 kVA"),
        good=_POWERED.format("12 kVA"),
        check=generator_small,
    ),
    Rule(
        name="generator-tight",
        severity=Severity.WARNING,
        summary="a generator is loaded with more than it may give on average",
        reason="nothing is left for the crests of bass, which then sag, and for gear that is switched on",
        limit="70 % of its rating; with all gear at 1/8 of rated power",
        authority=f"ISO 8528-1 (mean over a day of prime power), from memory; {LOCAL}",
        cure="take a larger generator, or hang less on it",
        bad=_POWERED.format("5 kVA"),
        good=_POWERED.format("12 kVA"),
        check=generator_tight,
    ),
)
