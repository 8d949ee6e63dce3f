"""What can be written at the cursor: names by their place, kinds, units, settings, figures, rules, files."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from attrs import evolve, frozen

from rigspec.check import EXCUSABLE
from rigspec.language.chunk import STATEMENT_WORDS
from rigspec.language.fields import LEAD_SPEC, Field
from rigspec.language.settings import STOCK_SORTS, TABLES
from rigspec.language.slips import READING
from rigspec.language.syntax import Thing
from rigspec.language.tables import WORDS
from rigspec.rig.model import Gear, runs
from rigspec.rig.names import CALLED, MOST_MEMBERS
from rigspec.rig.ports import input_letters, ports_of
from rigspec.rig.relations import FIGURES, POLARITIES
from rigspec.rules import RULES
from rigspec.server.conversions import kind_of
from rigspec.server.place import CursorPlace, CursorSetting, lead_so_far, place, setting
from rigspec.server.snapshot import Snapshot
from rigspec.text.units import UNITS
from rigspec.text.value import Content
from rigspec.why import DERIVED

THING, KIND, WORD, SETTING, UNIT, FIGURE, RULE, FILE, PORT, CHOICE = (
    "thing",
    "kind",
    "word",
    "setting",
    "unit",
    "figure",
    "rule",
    "file",
    "port",
    "choice",
)


@frozen(eq=False, repr=False)
class Completion(Content):
    """One word that can be written from ``start`` on to the cursor. A lower ``rank`` comes first in the list."""

    label: str
    sort: str
    start: int
    detail: str = ""
    about: str = ""
    rank: int = 0


# What can come next in a path, by what came last: the words of things, most usual first.
_NEXT = {
    "": ("feed", "mix", "processor", "amp", "split", "mains", "panel", "lead", "speaker"),
    "feed": ("processor", "amp", "split", "speaker", "panel", "lead"),
    "split": ("processor", "amp", "split", "speaker", "panel", "lead"),
    "processor": ("amp", "processor", "speaker", "split", "lead", "panel"),
    "amp": ("speaker", "lead", "panel"),
    "speaker": ("speaker", "lead", "panel"),
    "mains": ("amp", "processor", "speaker", "split", "panel", "lead"),
}
_NEXT["mix"] = _NEXT["feed"]
_LISTS = {
    "stereo": ("feed",),
    "mix": ("feed", "processor", "split"),
    "group": ("speaker",),
    "rack": ("amp", "processor", "panel", "split", "speaker", "lead"),
    "spare": ("amp", "processor", "split", "panel", "lead", "speaker"),
}
_MEANT = ("feed", "stereo", "mix", "group", "speaker")  # what a place can hear
_SUBJECTS = ("amp", "speaker", "group", "lead", "processor", "mains", "stereo", "rack", "place", "split", "panel")
# What things are called where it is said what has a figure.
_CALLED_IN_FIGURES = {
    "amp": "channel",
    "speaker": "loudspeaker",
    "group": "group",
    "lead": "lead",
    "mains": "part of the mains",
}
# Words of the language, the most usual first where several can stand.
_USUAL = ("of", "invert", "pad", "delay", "series", "parallel")


def completions(sight: Snapshot, offset: int, files: Sequence[str] = ()) -> list[Completion]:
    """All that can be written at an offset. ``files`` are the paths that `use` could take in from here."""
    at = place(sight, offset)
    match at.what:
        case "comment":
            found: Iterable[Completion] = ()
        case "text":
            # what is called stock is what a rig uses
            ranked = ((path, 0 if "stock" in path.lower() else 1) for path in files)
            found = (Completion(path, FILE, 0, rank=rank) for path, rank in ranked) if at.first == "use" else ()
        case "index":
            found = _members(sight, at.name)
        case "port":
            found = _ports(sight, at)
        case "unit":
            found = _units(sight, at)
        case _:
            found = _words(sight, at)
    unique = {each.label: each for each in reversed([evolve(each, start=at.start) for each in found])}
    return sorted(unique.values(), key=lambda each: (each.rank, each.label))


# ---- behind a name or a number ---------------------------------------------------------------------------------------


def _members(sight: Snapshot, name: str) -> Iterator[Completion]:
    row = sight.names.rows.get(name)
    if row is None or not row.numbered:
        return
    numbers = sorted(number for number in row.members if number is not None)
    yield Completion("*", PORT, 0, f"all of {name}", rank=0)
    if len(numbers) > 1:
        yield Completion(runs(numbers), PORT, 0, f"all of {name} by number", rank=1)
    for number in numbers:
        yield Completion(str(number), PORT, 0, f"{name}[{number}]", rank=2)


def _ports(sight: Snapshot, at: CursorPlace) -> Iterator[Completion]:
    row = sight.names.rows.get(at.name)
    gear = next(iter(row.members.values()), None) if row is not None else None
    if gear is None:
        return
    ports = ports_of(gear)
    for number, port in enumerate(ports):
        label = gear.ports.get(port, {}).get("label")
        said = label.entries[0].texts[0] if label is not None and label.entries and label.entries[0].texts else ""
        yield Completion(port, PORT, 0, said or f"{CALLED[gear.word]}, {at.name}.{port}", rank=number)
    if gear.word == "processor":
        first = -100 if at.previous is not None and at.previous.kind == "ARROW" else 100  # a path ends at an input
        for number, letter in enumerate(input_letters(gear)):
            yield Completion(letter, PORT, 0, f"input of {at.name}", rank=first + number)
    if gear.word == "amp" and len(ports) > 1:
        for first in range(1, len(ports), 2):
            yield Completion(f"{first}+{first + 1}", PORT, 0, "bridged", rank=200 + first)


def _units(sight: Snapshot, at: CursorPlace) -> Iterator[Completion]:
    kinds = _kinds_here(sight, at)
    for number, unit in enumerate(UNITS):
        if kinds is None or unit.kind in kinds:
            rank = (list(kinds).index(unit.kind) if kinds else 0) * 100 + number
            yield Completion(unit.spellings[0], UNIT, 0, unit.kind, rank=rank)


def _kinds_here(sight: Snapshot, at: CursorPlace) -> Sequence[str] | None:
    """The kinds of figure that can stand here; None where it is not known."""
    inside = setting(at.before, sight.words)
    if inside is not None:
        return _kinds_left(inside, inside.field) if inside.field is not None else None
    lead = lead_so_far(at)
    if lead is not None:
        sizes = () if lead.kind or lead.size else ("area", "gauge")
        return (*sizes, *(() if lead.length else ("length",)))
    previous = at.previous.text if at.previous is not None else ""
    if previous == "pad" or (at.first == "mix"):
        return ("gain",)
    if previous == "delay":
        return ("time", "length")
    if at.first in ("expect", "measured") and len(at.before) > 1:
        if any(token.text == "in" for token in at.before):
            return ("frequency",)
        return FIGURES.get(at.before[1].text)
    return None


def _kinds_left(inside: CursorSetting, field: Field) -> Sequence[str]:
    """The kinds of figure that an item has not yet; behind `to` that of the figure before it."""
    written = [kind_of(token.text) for token in inside.atoms if token.kind == "FIGURE"]
    if written and inside.atoms[-1].text == "to":
        return (written[-1],)
    groups = [group.split("|") for group in (*field.need, *field.may)]
    left = [kind for group in groups if not set(group) & set(written) for kind in group]
    return left or [kind for group in groups for kind in group]


# ---- words -----------------------------------------------------------------------------------------------------------


def _words(sight: Snapshot, at: CursorPlace) -> Iterator[Completion]:
    if not at.before:
        yield from _statement_starts(sight)
        return
    inside = setting(at.before, sight.words)
    if inside is not None:
        yield from _in_braces(sight, at, inside)
        return
    if at.first == "expect" and len(at.before) > 2 and at.before[-2].text == "in":
        yield Completion("to", WORD, 0, "a band has two ends")
        return
    if "NAME" in at.terminals:
        yield from _names(sight, at)
    for word, terminal in WORDS.items():
        if terminal in at.terminals and _suits(sight, at, word):
            yield Completion(word, WORD, 0, "", rank=_rank(at, word, _came_from(sight, at)))
    if "ARROW" in at.terminals and at.before[-1].text not in ("lead", "linked"):
        yield Completion("->", WORD, 0, "on the way goes on", rank=200)
    if at.first == "expect" and "COMPARE" in at.terminals and at.before[-1].kind in ("NAME", "INDEX", "PORT", "FIGURE"):
        yield from (
            Completion(sign, WORD, 0, "a comparison", rank=number) for number, sign in enumerate((">=", "<=", "="))
        )


def _suits(sight: Snapshot, at: CursorPlace, word: str) -> bool:
    """Is a word that the grammar would take here one that can mean something?"""
    if word == "linked":  # from box to box of a row
        last = next((token.text for token in reversed(at.before) if token.kind == "NAME"), "")
        return sight.words.get(last) == "speaker"
    if word == "from":  # the only things with something above them
        return at.first == "mains"
    if word == "to":  # of a range of figures
        return at.before[-1].kind == "FIGURE"
    return True


def _rank(at: CursorPlace, word: str, came_from: str) -> int:
    """Where a word of the language stands in the list: a lead comes first behind what drives loudspeakers."""
    if word == "lead" and came_from in ("amp", "speaker"):
        arrows = [number for number, token in enumerate(at.before) if token.kind == "ARROW"]
        led = len(arrows) > 1 and any(token.text == "lead" for token in at.before[arrows[-2] : arrows[-1]])
        return 40 if led else -1
    if word == "linked" or (word == "between" and at.before[1].text == "difference"):
        return 100
    return 500 + _USUAL.index(word) if word in _USUAL else 600


def _statement_starts(sight: Snapshot) -> Iterator[Completion]:
    for word in sorted(STATEMENT_WORDS):
        called, example = READING.get(word, ("", ""))
        yield Completion(word, WORD, 0, called, example, rank=100)
    yield from _things(sight, _NEXT[""])


def _things(sight: Snapshot, usual: Sequence[str], only: bool = False) -> Iterator[Completion]:
    """The names of things, those of the usual sorts first."""
    declared = _declared(sight)
    for name, word in sight.words.items():
        if only and word not in usual:
            continue
        detail = _head(declared[name]) if name in declared else word
        yield Completion(name, THING, 0, detail, rank=usual.index(word) if word in usual else 50)


def _declared(sight: Snapshot) -> dict[str, list[Thing]]:
    """The declarations of each thing by its name; read from the text, as names are asked for at every word."""
    found: dict[str, list[Thing]] = {}
    for file in sight.files.values():
        for statement in file.statements:
            if isinstance(statement.node, Thing):
                found.setdefault(statement.node.name, []).append(statement.node)
    return found


def _head(things: Sequence[Thing]) -> str:
    """How all members of a row would be declared at once: `speaker sub[1..4] is reflex-18`."""
    first = things[0]
    pairs = [pair for thing in things if thing.index is not None for pair in thing.index.numbers or ()]
    numbers = {number for low, high in pairs for number in range(low, min(high, MOST_MEMBERS) + 1)}
    many = f"[{runs(sorted(numbers))}]" if numbers else ""
    return f"{first.word} {first.name}{many}{f' is {first.kind.name}' if first.kind is not None else ''}"


def _kinds(sight: Snapshot, sort: str) -> Iterator[Completion]:
    for name, stock in sight.kinds.items():
        if stock.sort == sort:
            yield Completion(name, KIND, 0, f"stock {sort}", " ".join(stock.span.text.split())[:300])


def _names(sight: Snapshot, at: CursorPlace) -> Iterator[Completion]:
    previous = at.previous
    assert previous is not None
    if at.first in ("expect", "measured") and len(at.before) == 1:
        for rank, word in enumerate(word for word in FIGURES if word in DERIVED):  # as they are usually asked for
            yield Completion(word, FIGURE, 0, _spoken_of(word), DERIVED[word][0].says, rank)
    elif at.first == "allow" and len(at.before) == 1:
        here = {finding.rule for finding in sight.report.findings}
        for rule in RULES.values():
            if rule.name in EXCUSABLE:
                rank = 0 if rule.name in here else 1
                yield Completion(rule.name, RULE, 0, rule.severity.value, rule.summary, rank)
    elif at.first == "stock":
        if len(at.before) == 1:
            yield from (Completion(sort, WORD, 0, "a sort of gear") for sort in STOCK_SORTS)
    elif previous.text == "is":
        yield from _kinds(sight, at.first)
    elif at.first == "mains" and previous.text == "from":
        yield from _things(sight, ("mains",), only=True)
    elif previous.kind == "COMPARE":
        if not FIGURES.get(at.before[1].text):
            yield from (Completion(word, CHOICE, 0, "a polarity") for word in POLARITIES)
    elif (at.first in _LISTS and any(token.kind == "COLON" for token in at.before)) or at.first == "spare":
        if previous.kind in ("COLON", "COMMA") or previous.text in ("spare", "against"):
            yield from _things(sight, _LISTS[at.first], only=True)
        if at.first == "group" and previous.kind in ("COLON", "COMMA"):
            yield Completion("against", WORD, 0, "what follows pushes the other way", rank=60)
    elif (lead := lead_so_far(at)) is not None:
        if not (lead.kind or lead.size):
            yield from _kinds(sight, "lead")
        yield from (Completion(word, CHOICE, 0, "of a lead", rank=20) for word in LEAD_SPEC.words)
    elif at.first in ("expect", "measured", "allow"):
        if previous.text in ("of", "at", "between", "on") or previous.kind == "COMMA":
            yield from _found_there(sight, at)
            of = _spoken_of(at.before[1].text) if at.first != "allow" else ""
            called = {word: of.find(_CALLED_IN_FIGURES.get(word, "?")) for word in _SUBJECTS}
            first = sorted((word for word in _SUBJECTS if called[word] >= 0), key=lambda word: called[word])
            yield from _things(sight, (*first, *(word for word in _SUBJECTS if word not in first)), only=True)
    elif at.first not in STATEMENT_WORDS or at.first == "each":
        yield from _things(sight, _NEXT.get(_came_from(sight, at), _NEXT["amp"]), only=True)


def _spoken_of(figure: str) -> str:
    """What has a figure, in words."""
    return " or ".join(dict.fromkeys(each.of for each in DERIVED.get(figure, ())))


def _found_there(sight: Snapshot, at: CursorPlace) -> Iterator[Completion]:
    """What the rule of an exception is found at now."""
    if at.first == "allow":
        for finding in sight.report.findings:
            if finding.rule == at.before[1].text and finding.subject:
                yield Completion(finding.subject, THING, 0, finding.message, rank=-1)


def _came_from(sight: Snapshot, at: CursorPlace) -> str:
    """The word of the last thing on the path that is neither a lead nor a panel."""
    last = ""
    for token in at.before:
        word = sight.words.get(token.text, "") if token.kind == "NAME" else ""
        if word and word not in ("lead", "panel"):
            last = word
    return last


# ---- in braces -------------------------------------------------------------------------------------------------------


def _in_braces(sight: Snapshot, at: CursorPlace, inside: CursorSetting) -> Iterator[Completion]:
    table = TABLES.get(inside.table, {})
    if not inside.word:
        of_stock = TABLES.get(f"stock {inside.table}", {})  # what is usually said there comes after the rest
        for number, field in enumerate(table.values()):
            if field.again or field.word not in inside.made:
                rank = number + (100 if field.word in of_stock else 0)
                yield Completion(field.word, SETTING, 0, field.example, field.says, rank=rank)
        return
    known = inside.field
    if known is not None:
        yield from _values(sight, at, inside, known)


def _set_on(sight: Snapshot, at: CursorPlace) -> Gear | None:
    """The thing, or the first of the row, that the settings at hand are made on."""
    row = next((sight.names.rows[token.text] for token in at.before if token.text in sight.names.rows), None)
    return next(iter(row.members.values()), None) if row is not None else None


def _values(sight: Snapshot, at: CursorPlace, inside: CursorSetting, field: Field) -> Iterator[Completion]:
    last = inside.atoms[-1] if inside.atoms else None
    if last is not None and last.text in ("at", "to"):
        return  # a figure comes next
    yield from (Completion(word, CHOICE, 0, field.says) for word in field.words)
    if field.word == "hears":
        yield from _things(sight, _MEANT, only=True)
    elif field.word == "from" and (gear := _set_on(sight, at)) is not None:
        inputs = enumerate(input_letters(gear))
        yield from (Completion(letter, PORT, 0, "an input", rank=number) for number, letter in inputs)
    elif field.pairs and (gear := _set_on(sight, at)) is not None:
        firsts = range(1, gear.count("channels", 0), 2)
        yield from (Completion(f"{first}+{first + 1}", PORT, 0, "two channels", rank=first) for first in firsts)
    if last is not None and last.kind == "FIGURE":
        if field.ranges:
            yield Completion("to", WORD, 0, "up to another figure", rank=30)
        if " at " in field.example and all(token.text != "at" for token in inside.atoms):
            yield Completion("at", WORD, 0, field.example, rank=-1)
