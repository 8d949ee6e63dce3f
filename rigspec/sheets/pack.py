"""The pack list: gear, leads and adapters with weights and rack units where the stock gives them, and their sums."""

from __future__ import annotations

from collections.abc import Iterable

from rigspec.language.words import SettingWord
from rigspec.rig.model import Gear, members, one
from rigspec.sheets.basis import Basis
from rigspec.sheets.leads import SheetLead, texts
from rigspec.sheets.pull import totals
from rigspec.sheets.sheet import TICK, Cell, Row, Sheet, SheetMark, Table, filled, number
from rigspec.text.units import FigureKind, show
from rigspec.text.value import gathered

SORTS = {"amp": "amplifier", "processor": "processor", "panel": "panel", "speaker": "loudspeaker", "split": "split"}
MOUNTED = ("amp", "processor")  # what is made for racks
GEAR = ("sort", "kind", "names", "count", "each (kg)", "together (kg)", "each (U)", "owned", "left over", "packed")
RACKS = ("rack", "holds", "together (U)", "together (kg)", "not given")
LEADS = ("kind", "size (mm2)", "length (m)", "count", "packed")
SUMS = ("sort", "count", "together (kg)", "weight not given of", "together (U)", "height not given of")
MORE = ("what", "for", "count", "packed")


def sheet(basis: Basis) -> Sheet:
    """The pack list."""
    gears = [gear for gear in basis.figures.rig.gear.values() if gear.word in SORTS]
    leads = [(each.kind, each.size, each.length, each.used + each.reserve, TICK) for each in totals(basis.pulled.leads)]
    tables = (
        Table("gear", "Gear", GEAR, tuple(_gear_rows(gears))),
        Table("sums", "Totals by sort", SUMS, tuple(_sum_rows(gears, basis.pulled.leads))),
        Table("racks", "Racks", RACKS, tuple(_rack_rows(basis))),
        Table("leads", "Leads, in use and in reserve", LEADS, tuple(leads)),
        Table("more", "Adapters and what the rig does not describe", MORE, tuple(_more_rows(basis))),
    )
    notes = [_together(gears, basis.pulled.leads), "Weights and rack units are those of the stock, without cases."]
    intro = (
        "Everything that has to be on the lorry for this rig. Nothing is added for breakage but what is a spare there."
    )
    return Sheet("pack", "Pack list", intro, filled(tables), tuple(notes))


def weight_kg(gear: Gear) -> float | None:
    """What a thing weighs, None where nobody says."""
    said = gear.measure("weight", "mass")
    return None if said is None else said.value


def _groups(gears: Iterable[Gear]) -> list[list[Gear]]:
    """Things that are alike, of one kind, weight and height, by their sort."""
    found: dict[tuple[object, ...], list[Gear]] = {}
    for gear in gears:
        kind = gear.kind.name if gear.kind else ""
        found.setdefault((kind, weight_kg(gear), _units(gear), "" if kind else gear.full), []).append(gear)
    return sorted(found.values(), key=lambda alike: list(SORTS).index(alike[0].word))


def _gear_rows(gears: Iterable[Gear]) -> Iterable[Row]:
    groups = _groups(gears)
    taken: dict[str, int] = {}
    for group in groups:
        if group[0].kind:
            taken[group[0].kind.name] = taken.get(group[0].kind.name, 0) + len(group)
    for group in groups:
        first = group[0]
        names = gathered(group, lambda gear: gear.name)
        each = weight_kg(first)
        units = _units(first)
        owned = one(first.kind.facts, "owned", "number") if first.kind else None
        left: Cell = ""
        if owned is not None and first.kind:
            over = int(owned.value) - taken[first.kind.name]
            left = over if over >= 0 else SheetMark(f"{-over} TOO FEW")
        yield (
            SORTS[first.word],
            first.kind.name if first.kind else _made(first),
            ", ".join(map(members, names.values())) + _labels(group),
            len(group),
            "not given" if each is None else each,
            "not given" if each is None else each * len(group),
            ("not given" if first.word in MOUNTED else "") if units is None else units,
            "" if owned is None else int(owned.value),
            left,
            TICK,
        )


def _made(gear: Gear) -> str:
    """How a thing without a kind is made, as its braces say it."""
    how = [word for word in ("passive", "transformer", "active") if word in gear.facts]
    loss = gear.measure("loss", "gain")
    return ", ".join([*how, f"{gear.count('legs', 2)} legs", *([f"loss {loss.text}"] if loss else [])])


def _labels(gears: Iterable[Gear]) -> str:
    """The labels of things, in brackets; nothing where none has one."""
    found = [f'{gear.full} "{" ".join(texts(gear, "label"))}"' for gear in gears if gear.says("label")]
    return f" ({', '.join(found)})" if found else ""


def _units(gear: Gear) -> float | None:
    said = gear.measure("height", "rack units")
    return None if said is None else said.value


def _rack_rows(basis: Basis) -> Iterable[Row]:
    gear = basis.figures.rig.gear
    for roster in basis.figures.rig.rosters_of("rack"):
        held = [gear[part.name] for part in roster.parts if part.name in gear]
        lacking = []
        for what, get in (("height", _units), ("weight", weight_kg)):
            names = [each.full for each in held if get(each) is None]
            lacking += [f"{what} of {', '.join(names)}"] if names else []
        heights = sum(_units(each) or 0.0 for each in held)
        weights = sum(weight_kg(each) or 0.0 for each in held)
        yield roster.name, ", ".join(each.full for each in held), heights, weights, "; ".join(lacking)


def _more_rows(basis: Basis) -> Iterable[Row]:
    links = basis.pulled.plugging.links
    crossed: dict[str, int] = {}
    pads: dict[str, int] = {}
    for link in links:
        for piece in link.items:
            if piece.what == "invert":
                crossed[link.carries] = crossed.get(link.carries, 0) + 1
            elif piece.what == "pad":
                pads[show(-piece.gain_db, "gain")] = pads.get(show(-piece.gain_db, "gain"), 0) + 1
            elif piece.what == "delay":
                pads[f"{show(piece.delay_s, 'time')} delay"] = pads.get(f"{show(piece.delay_s, 'time')} delay", 0) + 1
    words = {"power": "loudspeakers", "": "fed by nothing"}
    for carries, count in crossed.items():
        yield SheetMark("CROSSED adapter"), f"{words.get(carries, carries)}, or cross the plug of a lead", count, TICK
    for what, count in pads.items():
        yield (what if what.endswith("delay") else f"pad {what}"), "signal", count, TICK
    couplers = sum(max(len(link.leads) - 1, 0) for link in links)
    if couplers:
        yield "coupler, lead to lead", "leads that follow each other", couplers, TICK
    outputs: dict[str, int] = {}
    for link in links:
        if link.source.gear is not None and link.source.gear_word not in ("mains", "speaker"):
            outputs[link.source.text] = outputs.get(link.source.text, 0) + 1
    for source, count in outputs.items():
        if count > 1:
            yield f"Y, 1 to {count}", f"{source}, unless the socket has a link", 1, TICK
    for junction in basis.pulled.plugging.junctions:
        loops = f"series, {' and '.join(map(str, junction.circuits))} loads" if junction.circuits else "parallel"
        yield f"junction box, {loops}", junction.name, 1, TICK
    bare = [link for link in basis.pulled.bare if link.source.gear is not None]
    for carries in dict.fromkeys(link.carries for link in bare):
        count = sum(link.carries == carries for link in bare)
        yield "lead that the rig does not describe", words.get(carries, carries), count, TICK
    yield from _distribution(basis)


_SAID: dict[SettingWord, FigureKind] = {"residual": "current", "generator": "apparent power", "outlets": "number"}


def _distribution(basis: Basis) -> Iterable[Row]:
    """Parts of the mains that are alike, as what has to be in the distribution."""
    alike: dict[str, list[Gear]] = {}
    for part in basis.figures.mains.parts.values():
        gear, node = part.node.gear, part.node
        words = [f"{len(node.labels)} phases" if len(node.labels) > 1 else "1 phase"]
        words += [f"breaker {node.breaker.text} {node.curve}".strip()] if node.breaker else []
        for word, kind in _SAID.items():
            given = gear.measure(word, kind)
            words += [f"{word} {given.text}"] if given else []
        alike.setdefault(", ".join(words), []).append(gear)
    for what, gears in alike.items():
        names = gathered(gears, lambda gear: gear.name)
        yield f"part of the mains: {what}", ", ".join(map(members, names.values())), len(gears), TICK


def _sum_rows(gears: Iterable[Gear], leads: Iterable[SheetLead]) -> Iterable[Row]:
    """Weights and rack units by sort, with how many things each sum lacks; then all together."""
    of: dict[str, list[tuple[float | None, float | None]]] = {}
    for gear in gears:
        of.setdefault(SORTS[gear.word], []).append((weight_kg(gear), _units(gear)))
    for lead in leads:
        of.setdefault("lead", []).append((lead.weight_kg, None))
    ordered = [word for word in (*SORTS.values(), "lead") if word in of]
    for word in (*ordered, "all together"):
        things = of.get(word) or [thing for each in of.values() for thing in each]
        kilos, units = ([found for thing in things if (found := thing[at]) is not None] for at in (0, 1))
        racked = word in [SORTS[each] for each in MOUNTED]
        yield (
            word,
            len(things),
            sum(kilos) if kilos else "not given",
            len(things) - len(kilos),
            sum(units) if units else "not given" if racked else "",
            len(things) - len(units) if racked else "",
        )


def _together(gears: Iterable[Gear], leads: Iterable[SheetLead]) -> str:
    """The sum of all weights, and what it lacks."""
    counts: dict[str, int] = {}
    known = 0.0
    found = [(SORTS[gear.word], weight_kg(gear)) for gear in gears] + [("lead", lead.weight_kg) for lead in leads]
    for word, weight in found:
        known += weight or 0.0
        if weight is None:
            counts[word] = counts.get(word, 0) + 1
    text = f"All weights that are given come to {number(known)} kg."
    if not counts:
        return text
    missing = ", ".join(f"{count} {word}{'s' if count > 1 else ''}" for word, count in counts.items())
    return f"{text} No weight is given of {missing}: the load weighs more."
