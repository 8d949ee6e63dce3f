"""Rules about what hangs on the mains and how: gear left out, outlets, phases that are not said, draws not given."""

from __future__ import annotations

from collections.abc import Iterable

from rigspec.figures import Figures
from rigspec.figures.inlets import AT_EIGHTH
from rigspec.figures.mains import InletFigures
from rigspec.figures.mains_tree import PHASES, MainsNode
from rigspec.rig.model import Output, members
from rigspec.rules.mains_words import LOCAL, listed, natural
from rigspec.rules.rule import Rule
from rigspec.text.finding import Finding, Label, Severity
from rigspec.text.units import show

_PRACTICE = f"common practice, no source; {LOCAL}"


def mains_missing(figures: Figures) -> Iterable[Finding]:
    """Gear with a mains inlet that nothing feeds, in a rig that writes down the mains of most of its gear."""
    rig, mains = figures.rig, figures.mains
    fed = sum(bool(inlet.part) for inlet in mains.inlets.values())
    if not fed or rig.doubt:
        return
    spared = {part.name for roster in rig.rosters_of("spare") for part in roster.parts if not part.port}
    wired = {sink.gear.full for sink in rig.wiring.sinks.values()}
    wired |= {output.gear.full for output in rig.wiring.outputs.values()}
    rows: dict[tuple[str, int], list[InletFigures]] = {}
    for name, inlet in mains.inlets.items():
        gear = inlet.gear
        if inlet.part or name in spared or name not in wired or rig.doubt_of(gear):
            continue
        if f"{name} inlet" in rig.wiring.sinks:
            continue  # a path leads to it, and what feeds that is doubtful
        rows.setdefault((gear.name, gear.span.start), []).append(inlet)
    if sum(map(len, rows.values())) > fed:
        return  # only a part of the mains is written down, and that is no fault
    for row in rows.values():
        first = row[0].gear
        names, several = members([inlet.gear for inlet in row]), len(row) > 1
        yield Finding(
            "mains-missing",
            first.span,
            f"{names} {'have mains inlets' if several else 'has a mains inlet'}, and no part of the mains feeds "
            f"{'them' if several else 'it'}",
            label="no mains",
            help=f"write a path from a part of the mains: `{_some_part(figures)} -> lead 2.5 mm2 5 m -> {first.full}`",
            subject=first.full,
        )


def _some_part(figures: Figures) -> str:
    """The part with the most current to spare, to propose it."""
    mains = figures.mains
    free = {
        name: (breaker.value if (breaker := part.node.breaker) else 0.0) - (part.ampere(AT_EIGHTH) or 0.0)
        for name, part in mains.parts.items()
        if part.node.plugs
    }
    return max(sorted(free, key=natural), key=lambda name: free[name])


def phase_unsaid(figures: Figures) -> Iterable[Finding]:
    """A part or gear that hangs on several phases without a word about which."""
    for name, part in figures.mains.parts.items():
        node = part.node
        if _phases_in_doubt(figures, node):
            continue
        if node.unsaid:
            parent = figures.mains.parts[node.parent].node
            yield Finding(
                "phase-unsaid",
                node.gear.span,
                f"{name} hangs on {node.parent}, which has {len(parent.phases)} phases, and says none of them",
                label="no phase",
                related=(Label(parent.gear.span, f"{node.parent}: {', '.join(parent.labels)}"),),
                assumes=(f"it counts on {' and '.join(node.labels)}",),
                help=f"say `phase {parent.labels[0]}`, or `phases {len(parent.phases)}` if it takes all",
                subject=name,
            )
        if node.several and node.plugs:
            hung = sorted((plug.sink for plug in node.plugs), key=lambda sink: natural(sink.gear.full))
            names, hang = listed(sink.gear.full for sink in hung), "hang" if len(hung) > 1 else "hangs"
            yield Finding(
                "phase-unsaid",
                hung[0].span,
                f"{names} {hang} on {name}, which has {len(node.phases)} phases, and which of them is not said",
                label="on which phase?",
                related=(Label(node.gear.span, f"{name}: {', '.join(node.labels)}"),),
                assumes=(f"all of it counts on {node.labels[0]}",),
                help=f"declare a part for each phase: `mains NAME from {name} {{ phase {node.labels[0]} }}`, and begin "
                "the path there",
                subject=name,
            )


def _phases_in_doubt(figures: Figures, node: MainsNode) -> bool:
    """Has a part of the mains, or one above it, a fault, so that its phases may be others?"""
    parts = figures.mains.parts
    while not node.gear.doubt:
        above = parts.get(node.parent)
        if above is None:
            return False
        node = above.node
    return True


def phase_absent(figures: Figures) -> Iterable[Finding]:
    """A part that names a phase, or asks for more phases, than what feeds it has."""
    for name, part in figures.mains.parts.items():
        node = part.node
        count = node.gear.measure("phases", "number")
        if count is not None and count.value > len(PHASES):
            yield Finding(
                "phase-absent",
                count.span,
                f"{name} has {count.text} phases, and the mains has three at most",
                label="no such mains",
                help="say `phases 3`, `phases 2` for a split phase, or leave it out for one",
                subject=name,
            )
            continue
        if not node.absent or _phases_in_doubt(figures, node):
            continue
        parent = figures.mains.parts[node.parent].node
        given = node.gear.facts.get("phase" if node.absent.startswith("L") else "phases")
        one = not parent.several
        has = "one phase" if one and parent.labels == ("L",) else f"{' and '.join(parent.labels)} only"
        yield Finding(
            "phase-absent",
            given.span if given else node.gear.span,
            f"{name} wants {node.absent} of {node.parent}, which has {has}",
            label=f"{node.parent} has {has}",
            related=(Label(parent.gear.span, f"{node.parent} is declared here"),),
            help=f"say `phases 3` on {node.parent} if it has them, or name another phase here",
            subject=name,
        )


def outlets_short(figures: Figures) -> Iterable[Finding]:
    """More plugs than outlets, or two plugs in one numbered outlet."""
    plugs: dict[str, list[tuple[Output, int]]] = {}
    for run in figures.trace.runs.values():
        output = run.output
        if output.carries == "mains" and not run.doubt:
            count = sum(piece.a == output.joint for piece in run.pieces)
            count += sum(arrival.sink.joint == output.joint for arrival in run.arrivals)
            plugs.setdefault(output.gear.full, []).append((output, count))
    for name, each in plugs.items():
        gear = each[0][0].gear
        for output, count in each:
            if output.port and count > 1:
                yield _crowded(output.key, output, f"{count} plugs", "1 outlet", name, ())
        outlets = gear.measure("outlets", "number")
        total = sum(count for _, count in each)
        if outlets is not None and total > outlets.value:
            labels = (Label(outlets.span, f"{name} has {outlets.text}"),)
            room = f"{int(outlets.value)} outlet{'s' if outlets.value > 1 else ''}"
            yield _crowded(name, each[-1][0], f"{total} plugs", room, name, labels)


def _crowded(what: str, output: Output, has: str, room: str, name: str, labels: tuple[Label, ...]) -> Finding:
    return Finding(
        "outlets-short",
        output.span,
        f"{what} has {has} and {room}",
        label=has,
        related=labels,
        computed=has,
        allowed=room,
        help="use another part of the mains, or a distribution of its own: `mains NAME from " + name + "`",
        subject=name,
    )


def draw_unknown(figures: Figures) -> Iterable[Finding]:
    """Gear on the mains of which nobody says what it takes, so that its breaker cannot be judged."""
    mains = figures.mains
    for name, part in mains.parts.items():
        if not part.node.parent and part.volt is None and part.total.gear and not part.node.gear.doubt:
            yield Finding(
                "draw-unknown",
                part.node.gear.span,
                f"the voltage of {name} is not said, so no current of what hangs on it is known",
                label="no voltage",
                help="say it here, `supply 230 V`, or for the whole rig: `rig { mains 230 V 50 Hz }`",
                subject=name,
            )
    rows: dict[tuple[str, int], list[InletFigures]] = {}
    for inlet in mains.inlets.values():
        if not inlet.part or inlet.volt is None or inlet.draws[AT_EIGHTH] is not None or inlet.gear.doubt:
            continue
        kind = inlet.gear.kind
        span = kind.span if kind else inlet.gear.span
        rows.setdefault((span.path, span.start), []).append(inlet)
    for row in rows.values():
        row.sort(key=lambda each: natural(each.key))
        inlet = row[0]
        assert inlet.plug is not None  # a part feeds it
        names = listed(each.key for each in row)
        part = mains.parts[inlet.part]
        ampere = part.ampere()
        least = f": {show(ampere, 'current')} is a lower bound" if ampere else ""
        kind = inlet.gear.kind
        yield Finding(
            "draw-unknown",
            inlet.plug.sink.span,
            f"what {names} {'take' if len(row) > 1 else 'takes'} from the mains is not given, so the load of "
            f"{inlet.part} is not known{least}",
            label=inlet.appliance.unknown,
            related=(Label(kind.span, "its data stand here"),) if kind else (),
            help="give `rated`, `idle` and `efficiency` in its stock"
            if inlet.gear.word == "amp"
            else "give its `draw` in its stock, as its plate or data sheet says it",
            subject=inlet.key,
        )


_ACTIVE = (
    "stock speaker loud { powered; draw 300 W }\nspeaker a is loud\nspeaker b is loud\n"
    "feed f { level 4 dBu }\nf -> a\nf -> b\n"
)
_HALL = "mains hall { supply 230 V; breaker 16 A C; residual 30 mA }\n"
_HOUSE = "mains house { supply 230 V; phases 3; breaker 32 A C; residual 30 mA }\n"

RULES = (
    Rule(
        name="mains-missing",
        severity=Severity.WARNING,
        summary="gear has a mains inlet, and no part of the mains feeds it",
        reason="what nobody planned a socket for hangs on whatever is near, and no sum of the mains counts it",
        limit="each piece of gear with a mains inlet hangs on a part of the mains, once half of the gear does",
        authority=_PRACTICE,
        cure="write the path from a part of the mains to it, or list it under `spare`",
        bad=f"{_ACTIVE}{_HALL}hall -> a\n",
        good=f"{_ACTIVE}{_HALL}hall -> a\nhall -> b\n",
        check=mains_missing,
    ),
    Rule(
        name="phase-unsaid",
        severity=Severity.WARNING,
        summary="something on a mains of several phases does not say which it takes",
        reason="breakers, balance and the neutral cannot be judged until it is known",
        limit="below a part with several phases each part says `phase` or `phases`",
        authority=_PRACTICE,
        cure="say `phase L1`, `L2` or `L3`, or `phases 3`",
        bad=f"{_HOUSE}mains side from house {{ breaker 16 A C }}\n",
        good=f"{_HOUSE}mains side from house {{ phase L1; breaker 16 A C }}\n",
        check=phase_unsaid,
    ),
    Rule(
        name="phase-absent",
        severity=Severity.ERROR,
        summary="a part of the mains names a phase that what feeds it has not",
        reason="it cannot be built so, and all sums by phase are wrong",
        limit="the phases of the part that feeds it",
        authority=_PRACTICE,
        cure="name another phase, or say `phases 3` on the part that feeds it",
        bad="mains hall { supply 230 V; phase L1; breaker 32 A C; residual 30 mA }\n"
        "mains side from hall { phase L2; breaker 16 A C }\n",
        good="mains hall { supply 230 V; phases 3; breaker 32 A C; residual 30 mA }\n"
        "mains side from hall { phase L2; breaker 16 A C }\n",
        check=phase_absent,
    ),
    Rule(
        name="outlets-short",
        severity=Severity.WARNING,
        summary="there are more plugs than outlets",
        reason="the crew finds a multiple socket somewhere, which nobody reckoned with",
        limit="the `outlets` of a part of the mains; one plug in each numbered outlet",
        authority=_PRACTICE,
        cure="use another circuit, or add a distribution",
        bad=f"{_ACTIVE}mains hall {{ supply 230 V; breaker 16 A C; residual 30 mA; outlets 1 }}\n"
        "hall -> a\nhall -> b\n",
        good=f"{_ACTIVE}mains hall {{ supply 230 V; breaker 16 A C; residual 30 mA; outlets 2 }}\n"
        "hall -> a\nhall -> b\n",
        check=outlets_short,
    ),
    Rule(
        name="draw-unknown",
        severity=Severity.ADVICE,
        summary="what gear takes from the mains, or the voltage of the mains, is not given",
        reason="a sum with an unknown in it is a lower bound: the breaker may be overloaded and nothing says so",
        limit="an amplifier has ratings, a powered loudspeaker and a processor their `draw`, the rig or its supply a"
        " voltage",
        authority=_PRACTICE,
        cure="give the figure in the stock, as the plate at the inlet says it",
        bad=f"speaker a is active\nfeed f {{ level 4 dBu }}\nf -> a\n{_HALL}hall -> a\n",
        good=f"{_ACTIVE}{_HALL}hall -> a\nhall -> b\n",
        check=draw_unknown,
    ),
)
