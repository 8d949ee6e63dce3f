"""The meter sheet: what an ohm-meter must read at the rack end of every lead, and what it reads where that is wrong."""

from __future__ import annotations

from collections.abc import Iterable
from math import inf

from rigspec.figures.trace import Run
from rigspec.rig.model import Measure, Piece
from rigspec.sheets.basis import Basis
from rigspec.sheets.direct import Behind, Direct, Ohms, copper, rated
from rigspec.sheets.sheet import BLANK, Cell, Row, Sheet, SheetMark, Table, filled
from rigspec.text.finding import few

RUNS = (
    "lead",
    "measure at",
    "boxes behind",
    "expected (ohm)",
    "short at its far end (ohm)",
    "last box missing (ohm)",
    "last box doubled (ohm)",
    "measured (ohm)",
    "read (ohm)",
)
OTHERS = ("lead", "carries", "from", "to", "each conductor (ohm)", "read")
METER_OHM = 0.1  # what a hand-held meter may be off at so few ohms (common practice, no source)


def sheet(basis: Basis) -> Sheet:
    """The meter sheet."""
    figures = basis.figures
    rows: list[Row] = []
    lines: list[Row] = []
    unknown: dict[str, None] = {}
    for run in figures.trace.runs.values():
        if run.output.carries == "power":
            direct = Direct(run, figures.case)
            unknown.update(dict.fromkeys(direct.behind[run.output.joint].unknown))
            rows += _run(basis, run, direct)
            if any(arrival.sink.gear.says("taps") for arrival in run.arrivals):
                lines += _run(basis, run, Direct(run, figures.case, rated))
    tables = (
        Table("runs", "Loudspeaker leads, each at the end towards the rack", RUNS, tuple(rows)),
        Table("lines", "The same on lines, with an impedance meter at 1 kHz", RUNS, tuple(lines)),
        Table(
            "others",
            "All other leads, unplugged at both ends: each conductor from end to end",
            OTHERS,
            tuple(_others(basis)),
        ),
    )
    cautions = (
        "Amplifiers off and unplugged from what is measured: a live output destroys the meter and can hurt you.",
        "Mains leads are read unplugged at both ends, never on the supply; this replaces no test that a code wants.",
        "A meter does not see polarity, nor which of several equal boxes hangs there: see the polarity sheet.",
    )
    intro = (
        "Unplug the near end, with all behind it plugged, and read. An open lead, or a plug that is not in, gives no"
        " reading at all (over range)."
    )
    return Sheet("meter", "Meter sheet", intro, filled(tables), tuple(_notes(basis, unknown)), cautions)


def _notes(basis: Basis, unknown: Iterable[str]) -> list[str]:
    said = "as the air of the rig" if "air" in basis.figures.rig.facts else "as the rig says nothing of its air"
    notes = [
        "Expected: the voice coil's resistance where the stock gives it, else 60 to 85 % of the rated impedance (common"
        f" practice, no source), and the copper there and back at {basis.figures.case.copper_c:.3g} degC, {said}."
        " Metric sizes count with the most that IEC 60228 allows: good leads read a little less.",
        "Missing and doubled: the last box behind the lead is not there, or a second one like it hangs beside it.",
        "Where it says `looks right` the wrong rig can read like the right one: compare with a lead that is alike.",
        "Touch the meter's probes together first and subtract what it reads. Warm coils read more.",
        "A box with a capacitor before all its drivers, as some high ways have, gives no reading and may be sound.",
    ]
    names = list(unknown)
    if names:
        notes.append(
            f"Not known: {few(names)}. A line transformer's primary reads a few ohms to some tens of ohms, and no tap"
            " says how many; so nothing is expected of leads with such a box. A short there still reads as said."
        )
    if any(gear.says("taps") for gear in basis.figures.rig.gear.values()):
        notes.append(
            "At 1 kHz each box on a line is the line voltage squared over the power of its tap. A real line reads up to"
            " a fifth more or less (common practice, no source); so one box of many is not seen: compare leads alike."
        )
    powered = [gear.full for gear in basis.figures.rig.gear.values() if gear.says("powered")]
    if powered:
        notes.append(
            f"Powered: {few(powered)}. There is no coil at their sockets, only an input: nothing is to be read there"
            " but their signal leads."
        )
    return notes


def _run(basis: Basis, run: Run, direct: Direct) -> Iterable[Row]:
    """The leads of one output, in the order of the signal; the socket itself where no single lead comes first."""
    onward = direct.onward.get(run.output.joint, [])
    while len(onward) == 1 and onward[0].what != "lead" and onward[0].b not in direct.sinks:
        onward = direct.onward.get(onward[0].b, [])
    single = onward[0] if len(onward) == 1 and onward[0].what == "lead" else None
    if single is None and direct.behind[run.output.joint].boxes:
        behind = direct.behind[run.output.joint]
        yield "none", f"{run.output.key} out", *_cells(basis, behind, None, run.output.key, None), BLANK
    for piece in direct.pieces:
        if piece.what != "lead" or piece.spec is None:
            continue
        loop = copper(piece.spec, direct.case)
        near = basis.pulled.core_of[piece].near.text
        key = run.output.key if piece is single else ""
        yield basis.numbered(piece), near, *_cells(basis, direct.through(piece), loop, key, piece), BLANK


def _cells(basis: Basis, behind: Behind, loop: Ohms | None, key: str, piece: Piece | None) -> tuple[Cell, ...]:
    """What is behind, expected, shorted, missing, doubled, and measured before."""
    short = "0" if loop is None else ohms(loop)
    measured = _measured(basis, behind, loop, key, piece)
    if not behind.boxes:
        return "nothing", "over range", short, "", "", measured
    many, boxes = len(behind.boxes), behind.boxes
    shown = ", ".join(boxes) if many <= 4 else f"{many} from {boxes[0]} to {boxes[-1]}"
    if behind.expected is None:
        return shown, "not known", short, "not known", "not known", measured
    return (
        shown,
        ohms(behind.expected),
        short,
        _wrong(behind.missing, behind.expected),
        _wrong(behind.doubled, behind.expected),
        measured,
    )


def ohms(reading: Ohms) -> str:
    """A range as a meter shows it."""
    if reading.low_ohm == inf:
        return "over range"
    low, high = f"{reading.low_ohm:.2f}", f"{reading.high_ohm:.2f}"
    return low if low == high else f"{low} to {high}"


def _wrong(wrong: Ohms | None, right: Ohms) -> str:
    if wrong is None:
        return "not known"
    return f"{ohms(wrong)}, looks right" if wrong.meets(right) else ohms(wrong)


def _measured(basis: Basis, behind: Behind, loop: Ohms | None, key: str, piece: Piece | None) -> Cell:
    """What the rig says was measured here: of the output, of the one box behind, or of the lead itself."""
    gear = piece.gear if piece else None
    for reading in basis.figures.rig.readings:
        value, name = reading.value, reading.subject.key
        if not isinstance(value, Measure) or reading.statement.figure != "resistance":
            continue
        if piece is not None and gear is not None and name in (gear.full, piece.name):
            return _judged(value, loop, "lead alone")
        if name == key or (len(behind.boxes) == 1 and name == behind.boxes[0]):
            return _judged(value, behind.expected, name)
    return ""


def _judged(value: Measure, expected: Ohms | None, name: str) -> Cell:
    text = f"{value.value:.4g} ({name})"
    if expected is None or expected.low_ohm - METER_OHM <= value.value <= expected.high_ohm + METER_OHM:
        return text
    return SheetMark(f"{text} DOES NOT FIT")


def _others(basis: Basis) -> Iterable[Row]:
    """Signal leads, mains leads and those in reserve: half of the copper there and back."""
    for lead in basis.pulled.leads:
        if lead.carries != "power" and lead.spec is not None and lead.spec.length is not None:
            loop = copper(lead.spec, basis.figures.case)
            near, far = lead.ends
            yield (
                lead.number,
                lead.carries or "nothing",
                near,
                far,
                ohms(Ohms(loop.low_ohm / 2, loop.high_ohm / 2)),
                BLANK,
            )
