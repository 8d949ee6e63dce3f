"""The checks before power-up: what has to be so before and while the rig is switched on, as far as it applies."""

from __future__ import annotations

from collections.abc import Iterable
from math import sqrt

from rigspec.figures.mains import PartFigures
from rigspec.sheets.basis import Basis
from rigspec.sheets.channels import bridges, spares
from rigspec.sheets.sheet import BLANK, TICK, Row, Sheet, SheetMark, Table, filled, number
from rigspec.text.finding import few

HEADS = ("no", "when", "check", "must be", "done", "by")
FIRST = ("channel", "these play and no others", "fed from", "done")
CAUTIONS = (
    "Mains work, earthing and the test of the installation are for licensed people under the local code, which comes"
    " before this sheet. So are rigging and lifting.",
    "Outputs of large amplifiers are dangerous to touch while they play.",
    "Levels that this rig may reach harm hearing: protect the ears of all who stand near.",
    "Stop at the first check that fails. Switch off before you look for the cause.",
)


def sheet(basis: Basis) -> Sheet:
    """The checks before power-up."""
    found = [*_mains(basis), *_cold(basis), *_settings(basis), *_power(basis)]
    rows = tuple((at, when, what, must, TICK, BLANK) for at, (when, what, must) in enumerate(found, 1))
    tables = (
        Table("checks", "In this order", HEADS, rows),
        Table("first", "First sound, one channel at a time", FIRST, tuple(_first(basis))),
    )
    notes = ("These checks come from what the rig says; what it does not say is not checked here.",)
    intro = "Go through it from top to bottom; whoever checked signs."
    return Sheet("checks", "Checks before power-up", intro, filled(tables), notes, CAUTIONS)


def _mains(basis: Basis) -> Iterable[tuple[str, str, str]]:
    mains = basis.figures.mains
    when = "mains"
    if not mains.inlets:
        return
    yield when, "the installation is inspected and tested as the local code wants", "signed by a licensed person"
    yield when, "distribution, plugs and couplings", "dry, off the ground, not under tension, none damaged"
    roots = [part for part in mains.parts.values() if not part.node.parent]
    for part in roots:
        if part.node.gear.measure("generator", "apparent power") is not None:
            yield when, f"generator of {part.key}: earth and neutral", "as the local code wants, signed"
        yield from _voltages(part, mains.plan.tolerance)
    if not roots:
        said = mains.plan.mains
        share = f"{number(100 * mains.plan.tolerance)} %"
        volt = f"{said.text} within {share}" if said else "what the gear is made for; the rig does not say"
        yield when, "voltage at each outlet, before gear is plugged", volt
    guarded = [part.key for part in mains.parts.values() if part.node.gear.measure("residual", "current")]
    if guarded:
        yield when, f"test button of the residual-current device of {', '.join(guarded)}", "each trips at once"
    if mains.parts:
        yield when, "breakers, phases and leads of all circuits", "as on the mains sheet, all ticked"
    unsaid = [name for name, inlet in mains.inlets.items() if not inlet.gear.says("mains")]
    if unsaid:
        yield when, f"voltage that is on the plate of {', '.join(unsaid)}", "that of the outlet: the stock does not say"


def _voltages(part: PartFigures, tolerance: float) -> Iterable[tuple[str, str, str]]:
    volt = part.node.supply.volt
    where = f"at {part.key}, before gear is plugged"
    if volt is None:
        yield "mains", f"voltage {where}", "what the gear is made for; the rig does not say"
        return
    share = f"{number(100 * tolerance)} %"
    span = f"{number(volt * (1 - tolerance))} to {number(volt * (1 + tolerance))} V ({number(volt)} V within {share})"
    yield "mains", f"voltage {'of each phase to neutral ' if part.node.several else ''}{where}", span
    if part.node.supply.phases == 3:
        yield "mains", f"voltage from phase to phase {where}", f"near {number(volt * sqrt(3))} V, all three alike"


def _cold(basis: Basis) -> Iterable[tuple[str, str, str]]:
    when = "cold"
    links = basis.pulled.plugging.links
    yield when, "the patch list", "each connection ticked, at both ends"
    crossed = sum(bool(lead.crossings) for lead in basis.pulled.leads)
    bare = sum(link.turns > 0 for link in basis.pulled.bare)
    if crossed or bare:
        more = f", and {bare} connections for which no lead is described" if bare else ""
        yield (
            when,
            "leads and adapters marked CROSSED",
            f"{crossed} leads{more}: no more and no fewer, each in its place",
        )
    else:
        yield when, "leads and adapters that are crossed", "none in this rig"
    if any(link.carries == "power" for link in links):
        yield when, "the meter sheet, amplifiers off and unplugged", "each reading in its range, no short"
    for key in bridges(basis):
        must = "bridge switch set, load between the two hot poles, no pole of it to earth or to another output"
        yield when, f"the bridged pair {key}", must
    if any(gear.says("taps") for gear in basis.figures.rig.gear.values() if gear.word == "speaker"):
        yield when, "taps of all boxes on lines", "as on the channel sheet; then no short from line to earth"
    spare = sorted(spares(basis))
    if spare:
        yield when, f"spares: {', '.join(spare)}", "nothing plugged"


def _settings(basis: Basis) -> Iterable[tuple[str, str, str]]:
    when = "settings"
    figures = basis.figures
    yield when, "the channel sheet", "each channel and output ticked"
    unlimited = [key for key, each in figures.protection.channels.items() if not each.limiters]
    if unlimited:
        yield (
            when,
            f"no limiter is set in the rig before {few(unlimited, 6)}",
            "set as PROPOSED on the channel sheet, or left out knowingly",
        )
    yield when, "all feeds and all gain controls", "down"


def _power(basis: Basis) -> Iterable[tuple[str, str, str]]:
    when = "power"
    amps = [gear for gear in basis.figures.rig.gear.values() if gear.word == "amp"]
    if any(gear.word == "processor" for gear in basis.figures.rig.gear.values()):
        yield when, "desks and processors on first", "all run, with the settings of this rig"
    surges = [part for part in basis.figures.mains.parts.values() if part.inrush_ampere and part.node.breaker]
    worst = max(surges, key=lambda part: part.inrush_ampere, default=None)
    told = "" if worst is None else f"; all of {worst.key} at once would draw a peak of {number(worst.inrush_ampere)} A"
    if amps:
        yield when, f"amplifiers on one after the other{told}", "no breaker trips, no amplifier shows a fault"
        yield when, "hum and noise, controls still down, then opened", "none that is heard at the nearest place"
    yield when, "first sound, below: quietly, one channel at a time", "each ticked"
    yield when, "the polarity sheet", "each driver ticked"
    if basis.figures.mains.parts:
        yield when, "current of each circuit in programme", "written on the mains sheet, below its breaker"
    if basis.figures.rig.expectations:
        yield when, "the promises", "each kept, and what can be read is read"
    yield when, "switching off, later", "amplifiers first, then processors and desks"


def _first(basis: Basis) -> Iterable[Row]:
    signals = basis.figures.signals
    for run in basis.figures.trace.runs.values():
        boxes = [arrival.sink.key for arrival in run.arrivals if arrival.sink.gear.word == "speaker"]
        if run.output.carries == "mains" or not boxes:
            continue
        feeds = list(dict.fromkeys(part.feed for part in signals.at_output(run.output)))
        yield run.output.key, ", ".join(boxes), ", ".join(feeds) if feeds else SheetMark("NO FEED KNOWN"), TICK
