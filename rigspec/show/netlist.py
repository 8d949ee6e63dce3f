"""The loudspeaker side as a SPICE netlist, so that anybody can hold our figures against a circuit simulator.

Loudspeakers of rated impedance are resistances, so direct volts give the figures of a sine's rms volts; where all
drivers of an output are known, the same network follows with their circuits, swept over the band.
"""

from __future__ import annotations

from collections.abc import Generator, Iterator, Mapping, Sequence
from math import floor, log10
from typing import TYPE_CHECKING

from attrs import frozen

from rigspec.figures import ChannelFigures, Figures
from rigspec.figures.spectrum import loads_over, prepare
from rigspec.figures.sweep import law_of
from rigspec.show.cells import wrap
from rigspec.show.figures import CAUTIONS
from rigspec.show.netlist_circuit import Circuit, laws_of, legal, plain
from rigspec.show.tables.leads import lead_name
from rigspec.solve.impedance import Driver
from rigspec.solve.tree import solve_tree
from rigspec.text.value import Value

if TYPE_CHECKING:
    from rigspec.check import Report

WIDTH = 100
POINTS = 10  # of a decade, where drivers are swept
ABREAST = 2  # columns that the simulator prints beside each other
_HEAD = (
    "Run it: ngspice -b FILE. It prints figures under the names of the .meas lines; above each of them stands what "
    "rigspec computes.",
    "Direct volts stand for the rms volts of a sine at the rated output: rated impedances are taken as resistances, so "
    "the figures are the same. Each output is a circuit of its own. A bridged pair is two sources, one for each hot "
    "pole.",
    "A negative voltage at a loudspeaker says that it is inverted against its amplifier's output, by what"
    " stands beside "
    "it. Inversions before the amplifier are not in it.",
)


def chosen(figures: Figures, words: Sequence[str]) -> list[ChannelFigures]:
    """The channels of these words, each a channel's key or an amplifier's name; all where there are none.

    KeyError with the word that stands for no channel with a known load.
    """
    channels = figures.channels.values()
    for word in words:
        if not any(word in (channel.key, channel.gear.full) for channel in channels):
            raise KeyError(word)
    return [channel for channel in channels if not words or {channel.key, channel.gear.full} & set(words)]


def netlist(report: Report, channels: Sequence[ChannelFigures], version: str) -> str:
    """The netlist of these channels, ASCII alone; at least one is needed for a simulator to have something to do."""
    figures = report.figures
    title = figures.rig.title or report.source.path
    parts = [f"* {plain(title)}: the loudspeaker side, by rigspec {version} from {plain(report.source.path)}", "*"]
    for text in (*_HEAD, *CAUTIONS):
        parts += _said(text)
    for key, why in figures.unknown.items():
        parts += _said(f"Left out: {key}, {why}.")
    lead = box = 1
    swept: list[_Swept] = []
    for number, channel in enumerate(channels, 1):
        drivers = _drivers(channel) if channel.key in figures.spectrum.channels else {}
        parts += _rated(figures, channel, (number, lead, box), bool(drivers))
        if drivers:
            swept.append(_Swept(channel, number, lead, box, drivers))
        lead, box = lead + len(channel.leads), box + len(channel.boxes)
    parts += _sweep(figures, swept)
    parts += ["", "* The sweep of a source that nothing hangs on: its first point is the state of all outputs above."]
    parts += ["Vsweep sweep 0 dc 0", "Rsweep sweep 0 1", ".dc Vsweep 0 1 1", ".end", ""]
    return "\n".join(parts)


def _said(text: str) -> list[str]:
    return [f"* {plain(line)}" for line in wrap(text, WIDTH - 2)]


def _heading(text: str) -> list[str]:
    return ["", f"* ---- {plain(text)} ----"]


def _figure(value: float) -> str:
    """Six digits, as a simulator prints them."""
    if not value:
        return "0"
    places = 5 - floor(log10(abs(value)))
    return f"{value:.{places}f}" if 0 <= places <= 9 else f"{value:.5e}"


# ---- rated impedances ------------------------------------------------------------------------------------------------


def _rated(figures: Figures, channel: ChannelFigures, numbers: tuple[int, int, int], driven: bool) -> Iterator[str]:
    number, lead, box = numbers
    volt = channel.rated_volt
    circuit = Circuit(channel, figures.trace.runs[channel.key], number, f"n{number}")
    yield from _heading(f"output {number}: {channel.key}")
    kind = channel.gear.kind
    hot, cold = circuit.poles
    poles = f"poles {hot} and 0" if cold == "0" else f"hot poles {hot} and {cold}"
    yield from _said(f"{channel.key}{f' is {kind.name}' if kind else ''}, {poles}")
    if volt is None:
        yield from _said("Its rated output into this load is not known: 1 V stands for it.")
    for text in channel.load_assumes if volt is None else channel.rated_assumes:
        yield from _said(f"Assumed: {text}.")
    if driven:
        yield from _said("Loudspeakers are taken by their rated impedance here, and by their drivers further down.")
    else:
        yield from _not_driven(channel)
    circuit.voltage("dc", 1.0 if volt is None else volt)
    circuit.add_leads(lead, told=True)
    circuit.add_boxes(box, laws_of({}, channel), told=True)
    circuit.tie()
    yield from circuit.lines
    for name, expression, what, value, unit in _readings(circuit):
        yield from _said(f"{what}: {_figure(value)} {unit} by rigspec")
        yield f"B{name} {name} 0 v={expression}"
        yield f".meas dc {name} find v({name}) at=0"


def _not_driven(channel: ChannelFigures) -> Iterator[str]:
    """Why loudspeakers are taken as rated although more is known of them."""
    curved: list[str] = []
    beside: list[str] = []
    for box in channel.boxes:
        law = law_of(box.box)
        if law is not None:
            (curved if law.curve is not None else beside).append(box.key)
    if curved:
        yield from _said(f"Taken as rated, for a measured curve is no circuit of simple elements: {', '.join(curved)}.")
    if beside:
        whole = len(beside) == len(channel.boxes)
        why = "nothing of its band arrives" if whole else "the phase of others on this output is not known"
        yield from _said(f"Taken as rated although the driver is given, for {why}: {', '.join(beside)}.")


def _readings(circuit: Circuit) -> Iterator[tuple[str, str, str, float, str]]:
    """What is measured: its name, the expression, what it is, our figure, the unit."""
    channel, number = circuit.channel, circuit.number
    volt = 1.0 if channel.rated_volt is None else channel.rated_volt
    across = _across(circuit.poles)
    source = f"i(Vout{circuit.mark})"
    yield legal("load", number, channel.key), f"-{across}/{source}", f"load of {channel.key}", channel.load_ohm, "ohm"
    for box, figures in zip(circuit.boxes, channel.boxes, strict=True):
        placed, u = box[1], _across(box[1].near)
        sign = -1.0 if len(figures.own_turns) % 2 else 1.0
        here = sign * volt * figures.share_volt
        yield legal("volt", placed.number, figures.key), u, f"voltage at {figures.key}", here, "V"
        if figures.rated_w is not None:
            watt = legal("watt", placed.number, figures.key)
            yield watt, f"{u}*{u}/{box[0].ohm()!r}", f"power into {figures.key}", figures.rated_w, "W"
    for lead, placed in circuit.leads:
        called = lead_name(lead)
        what = f"lead {placed.number}, {called}"
        near, far = _across(placed.near), _across(placed.far)
        # 1e-30 keeps the logarithm of a lead that carries nothing.
        loss = f"10*log(({near}*{near}+1e-30)/({far}*{far}+1e-30))/log(10)"
        yield legal("loss", placed.number, called), loss, f"loss in {what}", lead.loss_db, "dB"
        ampere = f"i(Vlead{placed.number}{circuit.mark})"
        if lead.ampere is not None and lead.watt is not None:
            yield legal("ampere", placed.number, called), f"abs({ampere})", f"current in {what}", lead.ampere, "A"
            heat = f"{ampere}*{ampere}*{lead.loop_ohm!r}"
            yield legal("heat", placed.number, called), heat, f"heat in {what}", lead.watt, "W"


def _across(pair: tuple[str, str]) -> str:
    a, b = pair
    if b == "0":
        return f"v({a})"
    return f"(-v({b}))" if a == "0" else f"v({a},{b})"


# ---- drivers over frequency ------------------------------------------------------------------------------------------


@frozen(eq=False, repr=False)
class _Swept(Value):
    """An output of which every driver is known, with the numbers of it, of its first lead and of its first box."""

    channel: ChannelFigures
    number: int
    lead: int
    box: int
    drivers: Mapping[str, Driver]


def _drivers(channel: ChannelFigures) -> dict[str, Driver]:
    """The drivers of an output's loudspeakers by key, or nothing where one of them is known by less."""
    found = {}
    for box in channel.boxes:
        law = law_of(box.box)
        if law is None or law.curve is not None or law.driver is None:
            return {}
        found[box.key] = law.driver
    return found


def points(low_hz: float, high_hz: float) -> list[float]:
    """The frequencies of a sweep: so many in each decade, from the lower end of a band as far as the upper."""
    count = floor(POINTS * log10(high_hz / low_hz) + 1e-9)
    return [low_hz * 10 ** (number / POINTS) for number in range(count + 1)]


def _sweep(figures: Figures, swept: Sequence[_Swept]) -> Iterator[str]:
    if not swept:
        return
    bands = [figures.spectrum.channels[each.channel.key] for each in swept]
    hertz = points(min(band.low_hz for band in bands), max(band.high_hz for band in bands))
    columns: list[str] = []
    for each in swept:
        columns += yield from _driven(figures, each, hertz)
    yield from _heading("analysis over frequency")
    yield f".ac dec {POINTS} {hertz[0]!r} {hertz[-1] * (1 + 1e-9)!r}"
    for first in range(0, len(columns), ABREAST):
        yield f".print ac {' '.join(f'vm({name})' for name in columns[first : first + ABREAST])}"


def _driven(figures: Figures, swept: _Swept, hertz: Sequence[float]) -> Generator[str, None, list[str]]:
    """An output with its drivers: once at its rated voltage, once with a current that shows what it sees."""
    channel, number = swept.channel, swept.number
    run = figures.trace.runs[channel.key]
    laws = laws_of(swept.drivers, channel)
    volt = 1.0 if channel.rated_volt is None else channel.rated_volt
    yield from _heading(f"output {number} with the drivers of its loudspeakers: {channel.key}")
    for text in figures.spectrum.channels[channel.key].assumes:
        yield from _said(f"Assumed: {text}.")
    driven = Circuit(channel, run, number, f"d{number}")
    driven.voltage("ac", volt)
    driven.add_leads(swept.lead, told=True)
    driven.add_boxes(swept.box, laws, told=True)
    driven.tie()
    yield from driven.lines
    yield from _said("The same, driven by 1 A: its voltage is what the output sees, in ohms.")
    seen = Circuit(channel, run, number, f"s{number}")
    seen.current()
    seen.add_leads(swept.lead, told=False)
    seen.add_boxes(swept.box, laws, told=False)
    seen.tie()
    yield from seen.lines
    load = f"z{number}"
    columns = [load, *(f"u{placed.number}" for _, placed in driven.boxes)]
    yield f"E{load} {load} 0 {' '.join(seen.poles)} 1"
    for name, (_, placed) in zip(columns[1:], driven.boxes, strict=True):
        yield f"E{name} {name} 0 {' '.join(placed.near)} 1"
    yield from _said(f"{load}: load of {channel.key} in ohm")
    for name, (box, _) in zip(columns[1:], driven.boxes, strict=True):
        yield from _said(f"{name}: voltage at {box.key} in V")
    rows = _over(figures, channel, hertz, volt)
    yield "* By rigspec:"
    for first in range(0, len(columns), ABREAST):
        heads = ["Hz", *columns[first : first + ABREAST]]
        yield f"* {' '.join(f'{head:>13}' for head in heads)}"
        for hz, row in zip(hertz, rows, strict=True):
            cells = [hz, *row[first : first + ABREAST]]
            yield f"* {' '.join(f'{_figure(cell):>13}' for cell in cells)}"
    return columns


def _over(figures: Figures, channel: ChannelFigures, hertz: Sequence[float], volt: float) -> list[list[float]]:
    """What the output sees and the voltage at each of its loudspeakers, at each frequency."""
    prepared = prepare(figures, figures.bands, channel)
    assert prepared is not None  # an output that is swept has figures over frequency
    typical, _ = loads_over(prepared, hertz)
    state = solve_tree(prepared.typical.joints, typical)
    volts = [state.volt[at] for at in prepared.typical.at]
    return [[1 / abs(state.siemens[at]), *(volt * abs(each[at]) for each in volts)] for at in range(len(hertz))]
