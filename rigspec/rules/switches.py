"""Rules about the switches of an amplifier: bridge and joined inputs, and what they leave for the other channel."""

from __future__ import annotations

from collections.abc import Iterable

from rigspec.figures import Figures
from rigspec.rig.model import Gear, Output
from rigspec.rules.rule import Rule
from rigspec.text.finding import Finding, Label, Severity
from rigspec.text.source import Span

Pairs = dict[tuple[str, str], tuple[str, Span]]  # channels of a pair -> what joins them and where that is said

_SWITCHES: dict[str, str] = {"bridge": "the bridge switch", "joined": "the input switch"}


def switch_conflict(figures: Figures) -> Iterable[Finding]:
    """A pair that is joined in two ways, or whose second input is fed although the switch leaves it out."""
    bridged: dict[str, list[Output]] = {}
    for output in figures.rig.wiring.outputs.values():
        if output.carries == "power" and output.bridged:
            bridged.setdefault(output.gear.full, []).append(output)
    for gear in figures.rig.gear.values():
        if gear.word != "amp" or gear.doubt:
            continue
        pairs, clashes = _pairs(gear, bridged.get(gear.full, []))
        yield from clashes
        for (first, second), (what, span) in pairs.items():
            yield from _second_input(figures, gear, (first, second), what, span)


def _pairs(gear: Gear, outputs: list[Output]) -> tuple[Pairs, list[Finding]]:
    said = [(str(a), str(b), _SWITCHES[word], each.span) for a, b, word, each in gear.joined()]
    for output in outputs:
        first, second = sorted(output.halves, key=int)
        said.append((first, second, f"the bridge {output.key}", output.span))
    pairs: Pairs = {}
    clashes = []
    hung: set[tuple[str, str]] = set()  # pairs that something hangs across
    for first, second, what, span in said:
        earlier = next((known for pair, known in pairs.items() if {first, second} & set(pair)), None)
        bridge_twice = earlier is not None and what.startswith("the bridge") and earlier[0].startswith("the bridge")
        same_switch = bridge_twice and "the bridge switch" in (what, earlier[0] if earlier else "")
        again = (first, second) in hung
        if what.startswith("the bridge") and what != "the bridge switch":
            hung.add((first, second))
        if earlier is not None and (again or not (same_switch and (first, second) in pairs)):
            clashes.append(
                Finding(
                    "switch-conflict",
                    span,
                    f"channels {first} and {second} of {gear.full} are joined twice: by {what} and by {earlier[0]}",
                    label=what,
                    related=(Label(earlier[1], earlier[0]), Label(gear.span, "declared here")),
                    computed="2 ways of joining",
                    allowed="1",
                    help="keep one; what hangs across a bridge goes behind one hop, in parallel if need be",
                    subject=gear.full,
                )
            )
            continue
        pairs.setdefault((first, second), (what, span))
    return pairs, clashes


def _second_input(figures: Figures, gear: Gear, pair: tuple[str, str], what: str, span: Span) -> Iterable[Finding]:
    ways = figures.rig.wiring.arrivals.get(f"{gear.full}.{pair[1]}")
    if not ways:
        return
    tied = what == "the input switch"
    consequence = "ties it to input" if tied else "leaves it out and takes input"
    yield Finding(
        "switch-conflict",
        ways[0].span,
        f"input {pair[1]} of {gear.full} is fed, but {what} {consequence} {pair[0]}",
        label="goes in here",
        related=(Label(span, what), Label(gear.span, "declared here")),
        computed="2 inputs in use",
        allowed="1 input, that of the first channel",
        help=f"feed {gear.full}.{pair[0]} only, or take {what} out",
        subject=f"{gear.full}.{pair[1]}",
    )


RULES = (
    Rule(
        name="switch-conflict",
        severity=Severity.ERROR,
        summary="the switches of an amplifier and the paths do not go together",
        reason="two sources are tied, or a signal goes nowhere and nobody notices until the show",
        limit="a pair is joined in one way, and only the first of its inputs is fed",
        authority="common practice, no source",
        cure="feed the first channel of the pair only, or take the switch out",
        bad="feed f { level 0 dBu }\nfeed g { level 0 dBu }\namp a is twin { joined 1+2 }\nspeaker s[1..2] is sub\n"
        "f -> a.1 -> lead 2.5 mm2 9 m -> s[1]\ng -> a.2 -> lead 2.5 mm2 9 m -> s[2]\n",
        good="feed f { level 0 dBu }\namp a is twin { joined 1+2 }\nspeaker s[1..2] is sub\n"
        "f -> a.1 -> lead 2.5 mm2 9 m -> s[1]\na.2 -> lead 2.5 mm2 9 m -> s[2]\n",
        check=switch_conflict,
    ),
)
