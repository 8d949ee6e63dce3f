"""The rows of the overview of a rig, from the tables of figures: alike things once, what is unusual marked."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from attrs import evolve, frozen

from rigspec.figures.channel import turned_inside
from rigspec.rules.limiting import TOLD_DB
from rigspec.show.tables import QUESTIONS
from rigspec.show.tables.question import Cells
from rigspec.solve.decibel import ratio_to_gain
from rigspec.text.finding import Severity
from rigspec.text.value import Value

if TYPE_CHECKING:
    from rigspec.check import Report
    from rigspec.figures import Figures

BREAKS, NEAR = "!", ">"
# How near to a limit a row is marked. What is beyond one has a finding.
NEAR_LOAD = 1.02  # of the least load
NEAR_PEAK_DB = 0.5  # from the peaks to the clip
NEAR_SHARE = 90.0  # % of a breaker, of a lead, of an inrush
ALIKE_WATT = 0.05  # powers of the boxes on a channel that differ by less are one

Told = Mapping[str, Cells]
Span = tuple[float, float]


@frozen(eq=False, repr=False)
class Row(Value):
    """One line: what it is of, its figures from the least to the most, its words, its mark and why it has one."""

    keys: tuple[str, ...]
    figures: Mapping[str, Span]
    words: Mapping[str, str]
    mark: str = ""
    why: tuple[str, ...] = ()


def told(figures: Figures, word: str) -> dict[str, list[Told]]:
    """The rows of a table as programs have them, by what stands in its column for channels, else by its first."""
    question = QUESTIONS[word]
    by = next((each for each in question.columns if each.key == "channel"), question.columns[0])
    found: dict[str, list[Told]] = {}
    for row in question.rows(figures):
        cells = {column.key: column.get(row) for column in question.columns if column.programs}
        found.setdefault(str(by.get(row)), []).append(cells)
    return found


def figure(row: Told, key: str) -> float | None:
    value = row.get(key)
    return float(value) if isinstance(value, int | float) else None


def _spans(found: Mapping[str, Iterable[float | None]]) -> dict[str, Span]:
    known = {key: [each for each in values if each is not None] for key, values in found.items()}
    return {key: (min(values), max(values)) for key, values in known.items() if values}


Faults = Mapping[str, Sequence[str]]


def faults_of(report: Report) -> Faults:
    """The rules that errors and warnings name, by the thing that each is about; with those that the rig allows."""
    found: dict[str, list[str]] = {}
    for findings, behind in ((report.findings, ""), (report.excused, ", allowed")):
        for each in findings:
            if each.severity is not Severity.ADVICE and each.subject:
                found.setdefault(each.subject, []).append(f"{each.rule}{behind}")
    return found


# ---- channels and powered loudspeakers -------------------------------------------------------------------------------


def channel_rows(report: Report) -> list[Row]:
    """A row for each channel, and one for each powered loudspeaker."""
    figures = report.figures
    words = ("channels", "speakers", "powers", "clipping", "limiters", "set-limiters")
    tables = {word: told(figures, word) for word in words}
    faults = faults_of(report)
    powered = [
        arrival.sink
        for arrival in figures.trace.arrivals.values()
        if arrival.sink.gear.word == "speaker"
        and arrival.sink.takes == "signal"
        and "powered" in arrival.sink.gear.facts
    ]
    rows = [_channel(key, tables, faults) for key in figures.channels]
    return [*rows, *(_powered(figures, sink.key, tables, faults) for sink in powered)]


def _channel(key: str, tables: Mapping[str, Mapping[str, Sequence[Told]]], faults: Faults) -> Row:
    of: dict[str, Sequence[Told]] = {word: table.get(key, ()) for word, table in tables.items()}
    channel, boxes, chain = of["channels"][0], of["speakers"], _only(of["clipping"])
    load, least, low = _load(channel)
    watts = [watt for each in of["powers"] if (watt := figure(each, "rated_watt")) is not None]
    if watts and min(watts) > max(watts) * (1 - ALIKE_WATT):
        watts = [max(watts)]
    shares = [
        100 * watt / rated
        for each in of["powers"]
        if (watt := figure(each, "rated_watt")) is not None and (rated := figure(each, "continuous_rating_watt"))
    ]
    spans = _spans(
        {
            "load": [load],
            "least": [least],
            "watt": watts,
            "share": [max(shares, default=None)],
            "headroom": [figure(chain, "headroom_db")],
            "loss": [max((loss for each in boxes if (loss := figure(each, "loss_db")) is not None), default=None)],
        }
    )
    limiter = _limiter(_only(of["limiters"]), of["set-limiters"])
    turned = [str(each["polarity"]) for each in boxes]
    near = [*_near_peak(chain), *(["it needs a limiter"] if limiter.startswith("needs") else [])]
    if low is not None and least is not None and low < least * NEAR_LOAD:
        near.append("the least load")
    own = [key, key.partition(".")[0], *(str(each["set_at"]) for each in of["set-limiters"])]
    own += [name for each in boxes for name in _names(str(each["loudspeaker"]))]
    said = {"first": _first(chain, key), "limiter": limiter, "cones": _cones(turned)}
    return _marked(Row((key,), spans, said), own, near, faults)


def _powered(figures: Figures, key: str, tables: Mapping[str, Mapping[str, Sequence[Told]]], faults: Faults) -> Row:
    chain = _only(tables["clipping"].get(key, ()))
    sink = figures.trace.arrivals[key].sink
    own = len(turned_inside(sink.gear, sink.port))
    turns = {(len(part.turns) + own) % 2 for part in figures.signals.at_sink(key)} or {own % 2}
    cones = _cones([("normal", "inverted")[turn] for turn in turns])
    spans = _spans({"headroom": [figure(chain, "headroom_db")]})
    said = {"first": _first(chain, key), "limiter": "", "cones": cones}
    return _marked(Row((key,), spans, said), _names(key), _near_peak(chain), faults)


def _names(key: str) -> list[str]:
    return [key, key.partition(".")[0]]


def _only(rows: Sequence[Told]) -> Told:
    return rows[0] if rows else {}


def _marked(row: Row, own: Sequence[str], near: Sequence[str], faults: Faults) -> Row:
    broken = tuple(dict.fromkeys(rule for name in own for rule in faults.get(name, ())))
    if broken:
        return evolve(row, mark=BREAKS, why=broken)
    return evolve(row, mark=NEAR, why=tuple(near)) if near else row


def _load(channel: Told) -> tuple[float | None, float | None, float | None]:
    """What is seen, the least that is stood, and the lowest that tolerances leave: of each half, or of the pair."""
    half, limit = figure(channel, "half_ohm"), figure(channel, "limit_ohm")
    if half is not None and limit is not None:
        return half, limit, figure(channel, "least_half_ohm")
    if half is not None:
        limit = figure(channel, "bridge_limit_ohm")
    return figure(channel, "load_ohm"), limit, figure(channel, "load_low_ohm")


def _near_peak(chain: Told) -> list[str]:
    left = figure(chain, "room_db")
    return [f"peaks within {NEAR_PEAK_DB:g} dB of the clip"] if left is not None and left < NEAR_PEAK_DB else []


def _first(chain: Told, key: str) -> str:
    """What clips first, from where the row stands: its own output, or another's by name."""
    first = str(chain.get("first") or "")
    return f"its {first.removeprefix(key).strip()}" if first.startswith(f"{key} ") else first


def _limiter(right: Told, limits: Sequence[Told]) -> str:
    """What is set, what is needed, or that none is: dBu where it stands."""
    if limits:
        each = max(limits, key=lambda each: figure(each, "over_db") or 0.0)
        over, needed = figure(each, "over_db"), figure(each, "right_dbu")
        beyond = f" over {needed:.1f}" if over is not None and over > TOLD_DB and needed is not None else ""
        return f"set {figure(each, 'set_dbu'):.1f}{beyond}"
    held, clips = figure(right, "rms_volt"), figure(right, "clip_volt")
    if not held:
        return ""
    if clips is not None and ratio_to_gain(clips / held) <= TOLD_DB:
        return "none needed"
    needed = figure(right, "set_rms_dbu")
    return "needs one" if needed is None else f"needs {needed:.1f}"


def _cones(turned: Sequence[str]) -> str:
    ways = set(turned)
    if len(ways) > 1 or any("," in way for way in ways):
        return "mixed"
    return {"normal": "out", "inverted": "in"}.get(turned[0], turned[0]) if turned else ""


# ---- circuits --------------------------------------------------------------------------------------------------------


def circuit_rows(report: Report) -> list[Row]:
    """A row for each part of the mains."""
    faults = faults_of(report)
    return [_circuit(row, faults) for rows in told(report.figures, "mains").values() for row in rows]


def _circuit(part: Told, faults: Faults) -> Row:
    inrush, holds = figure(part, "inrush_ampere"), figure(part, "holds_ampere")
    shares = {
        "the breaker": figure(part, "used_percent"),
        "the lead": figure(part, "lead_percent"),
        "the generator": figure(part, "generator_percent"),
        "the inrush": 100 * inrush / holds if inrush and holds else None,
    }
    near = [f"{what} at {share:.0f} %" for what, share in shares.items() if share is not None and share >= NEAR_SHARE]
    spans = _spans({key: [figure(part, f"{key}_ampere")] for key in ("eighth", "third", "inrush", "holds")})
    said = {"breaker": str(part["breaker"] or ""), "phase": str(part["phases"])}
    key = str(part["part"])
    return _marked(Row((key,), spans, said), [key], near, faults)


# ---- alike things once -----------------------------------------------------------------------------------------------


def folded(rows: Iterable[Row], likeness: Callable[[Row], Any], joined: str = "") -> list[Row]:
    """Rows that are alike as one, where the first of them stands; words of ``joined`` are put beside each other."""
    found: dict[Any, list[Row]] = {}
    for row in rows:
        found.setdefault((row.mark, row.why, likeness(row)), []).append(row)
    return [_one(same, joined) for same in found.values()]


def _one(same: Sequence[Row], joined: str) -> Row:
    first = same[0]
    if len(same) == 1:
        return first
    figures = {
        key: (min(row.figures[key][0] for row in same), max(row.figures[key][1] for row in same))
        for key in first.figures
    }
    words = dict(first.words)
    if joined:
        words[joined] = " ".join(sorted({row.words[joined] for row in same}))
    return evolve(first, keys=tuple(key for row in same for key in row.keys), figures=figures, words=words)
