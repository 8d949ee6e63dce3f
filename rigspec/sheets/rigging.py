"""Places: where each loudspeaker stands or hangs and where it points, and where people listen."""

from __future__ import annotations

from rigspec.language.words import SettingWord
from rigspec.rig.model import Gear, one
from rigspec.sheets.basis import UNSAID, Basis
from rigspec.sheets.leads import texts
from rigspec.sheets.pack import weight_kg
from rigspec.sheets.sheet import TICK, Cell, Row, Sheet, Table, filled

STANDS = (
    "loudspeaker",
    "kind",
    "label",
    "across (m)",
    "along (m)",
    "up (m)",
    "aim across (deg)",
    "aim up (deg)",
    "weight (kg)",
    "as written",
    "done",
)
LISTENERS = ("place", "label", "across (m)", "along (m)", "up (m)", "ears at (m)", "hears", "as written")
AREAS = ("area", "label", "corners, across and along", "ears at (m)", "hears")


def sheet(basis: Basis) -> Sheet:
    """The places."""
    gears = list(basis.figures.rig.gear.values())
    speakers = [gear for gear in gears if gear.word == "speaker"]
    told = [gear for gear in speakers if gear.says("at") or gear.says("aim")]
    untold = [gear.full for gear in speakers if not gear.says("at")]
    places, areas = ([gear for gear in gears if gear.word == word] for word in ("place", "area"))
    tables = (
        Table("stands", "Where loudspeakers stand or hang, and point", STANDS, tuple(map(_stand, told))),
        Table("listeners", "Where people listen", LISTENERS, tuple(map(_listener, places))),
        Table("areas", "Where the audience is", AREAS, tuple(map(_area, areas))),
    )
    notes = [
        "As seen from the desk: across to the right, so that house left has the smaller figure, along from the stage"
        " into the audience, up. An aim of 0 deg faces the audience, one of 90 deg house right.",
        "All are counted from a point on the stage's front edge that the author of the rig chose: ask which, and mark"
        " it on the ground. An empty cell is not said.",
        "Weights are those of the stock: boxes alone, without frames, shackles and leads.",
    ]
    if untold:
        notes.append(f"The rig does not say where these stand: {', '.join(untold)}.")
    cautions = (
        "Lifting and hanging are for competent people under the local code; nothing here says that a point holds.",
    )
    intro = "Positions and aim as the rig has them."
    return Sheet("places", "Places and aim", intro, filled(tables), tuple(notes), cautions)


def _stand(gear: Gear) -> Row:
    weight = weight_kg(gear)
    return (
        gear.full,
        gear.kind.name if gear.kind else "",
        " ".join(texts(gear, "label")),
        *_measures(gear, "at", 3),
        *_measures(gear, "aim", 2),
        "not given" if weight is None else weight,
        _other_units(gear),
        TICK,
    )


def _listener(gear: Gear) -> Row:
    height = one(gear.facts, "height", "length")
    hears = gear.facts.get("hears")
    names = [ref.span.text for each in hears.entries for ref in each.refs] if hears else []
    return (
        gear.full,
        " ".join(texts(gear, "label")),
        *_measures(gear, "at", 3),
        UNSAID if height is None else height.value,
        ", ".join(names) or UNSAID,
        _other_units(gear),
    )


def _area(gear: Gear) -> Row:
    height = one(gear.facts, "height", "length")
    corner, hears = gear.facts.get("corner"), gear.facts.get("hears")
    said = [each.measures[0].text for each in corner.entries if each.measures] if corner else []
    pairs = [", ".join(said[at : at + 2]) for at in range(0, len(said), 2)]
    names = [ref.span.text for each in hears.entries for ref in each.refs] if hears else []
    return (
        gear.full,
        " ".join(texts(gear, "label")),
        "; ".join(pairs) or UNSAID,
        UNSAID if height is None else height.value,
        ", ".join(names) or UNSAID,
    )


def _measures(gear: Gear, word: SettingWord, count: int) -> list[Cell]:
    given = gear.facts.get(word)
    found: list[Cell] = [each.measures[0].value for each in given.entries if each.measures] if given else []
    return [*found, *([""] * count)][:count]


def _other_units(gear: Gear) -> str:
    """The words of the rig where they are in other units than the table."""
    said = [gear.facts[word] for word in ("at", "aim", "height") if word in gear.facts]
    measures = [measure for given in said for entry in given.entries for measure in entry.measures]
    if all(measure.text.split()[-1:] in (["m"], ["deg"]) for measure in measures):
        return ""
    return "; ".join(" ".join(given.span.text.split()) for given in said)
