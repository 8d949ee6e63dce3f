"""The rule about an output that is switched off although a path leaves it."""

from __future__ import annotations

from collections.abc import Iterable

from rigspec.figures import Figures
from rigspec.rules.rule import Rule
from rigspec.text.finding import Finding, Label, Severity, few


def muted_in_use(figures: Figures) -> Iterable[Finding]:
    """Outputs that are muted and lead to something."""
    for key, run in figures.trace.runs.items():
        output = run.output
        muted = output.gear.ports.get(output.halves[0], {}).get("muted")
        if muted is None or not run.arrivals or run.doubt or figures.rig.doubt_of(output.gear):
            continue
        yield Finding(
            "muted-in-use",
            muted.span,
            f"{key} is muted, and {few([arrival.sink.key for arrival in run.arrivals])} hangs on it",
            label="switched off here",
            related=(Label(run.arrivals[0].sink.span, "nothing will arrive here"),),
            help=f"take `muted` out; or take the path from {key} out",
            subject=key,
        )


RULES = (
    Rule(
        name="muted-in-use",
        severity=Severity.WARNING,
        summary="an output is muted, and a path leads on from it",
        reason="what hangs on it will be silent, and the fault is sought in leads and amplifiers",
        limit="no output that a path leaves is muted",
        authority="common practice, no source",
        cure="take `muted` out, or take the path out",
        bad="feed l { level 0 dBu }\nprocessor xo is cross\nspeaker m is active\n"
        "l -> xo.a\nxo.1 { from a; muted }\nxo.1 -> m\n",
        good="feed l { level 0 dBu }\nprocessor xo is cross\nspeaker m is active\n"
        "l -> xo.a\nxo.1 { from a }\nxo.2 { from a; muted }\nxo.1 -> m\n",
        check=muted_in_use,
    ),
)
