"""Binding after an edit: the rig is that of a new text, and what the edit has left alone is the same object."""

from __future__ import annotations

from pathlib import Path

import attrs
import pytest
from replaying import edits
from speed import field, rig
from test_memory import SAMPLES, Readers

from rigspec.memory import Memory, remembering
from rigspec.parse.reader import Read, parse
from rigspec.resolve import resolve
from rigspec.rig import Gear, Rig, Wiring
from rigspec.rules import RULES
from rigspec.source import Source, Span

ROUNDS = 8
LONG = {"parts": rig(160), "mains": field(60)}


def bound(source: Source, readers: Readers, read: Read, memory: Memory) -> Rig:
    with remembering(memory):
        return resolve(source, readers.load, list(RULES), read)


def shown(value: object) -> object:
    """A value with its parts in their order, places as offsets, and joints numbered as they come."""
    if isinstance(value, Span):
        return value.path, value.start, value.end
    if isinstance(value, Source):
        return value.path, value.text
    if isinstance(value, Wiring):
        return _wiring(value)
    if isinstance(value, dict):
        return [(key, shown(each)) for key, each in value.items()]
    if isinstance(value, tuple | list):
        return [shown(each) for each in value]
    if attrs.has(type(value)):
        return type(value), [shown(getattr(value, each.name)) for each in attrs.fields(type(value))]
    return value


def _wiring(wiring: Wiring) -> object:
    numbers: dict[int, int] = {}
    joints = {"joint", "a", "b", "near", "far"}

    def joint(number: int) -> int:
        return numbers.setdefault(number, len(numbers))

    def part(value: object) -> object:
        if isinstance(value, Gear):
            return value.full  # it is told elsewhere, all of it
        if not attrs.has(type(value)) or isinstance(value, Span):
            return [part(each) for each in value] if isinstance(value, tuple) else shown(value)
        values = {each.name: getattr(value, each.name) for each in attrs.fields(type(value))}
        if "branches" in values:
            values["branches"] = tuple(map(joint, values["branches"]))
        return [(name, joint(each) if name in joints else part(each)) for name, each in values.items()]

    tables = (wiring.outputs, wiring.sinks, wiring.arrivals, wiring.throughs)
    kept = [[(key, part(each)) for key, each in table.items()] for table in tables]
    return kept, part(wiring.pieces), part(wiring.series), part(wiring.ends), sorted(map(joint, wiring.broken))


def _hold(source: Source, texts: list[str]) -> None:
    readers, memory = Readers(), Memory()
    for number, text in enumerate([source.text, *texts]):
        now = Source(source.path, text)
        again, fresh = bound(now, readers, readers.read, memory), bound(now, readers, parse, Memory())
        for each in attrs.fields(Rig):
            assert shown(getattr(again, each.name)) == shown(getattr(fresh, each.name)), (number, each.name)
        wiring = again.wiring
        for each in (*wiring.outputs.values(), *wiring.sinks.values(), *wiring.throughs.values()):
            assert each.gear.word == "mix" or each.gear is again.gear[each.gear.full], (number, each.key)


@pytest.mark.parametrize("path", sorted(SAMPLES.glob("**/*-*.rig")), ids=lambda path: path.stem)
def test_an_edited_sample_is_bound_as_if_for_the_first_time(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    _hold(Source(str(path), text), [after for _, after in edits(text, ROUNDS, len(text) + 1)])


@pytest.mark.parametrize("text", LONG.values(), ids=LONG)
def test_a_long_rig_is_bound_as_if_for_the_first_time(text: str) -> None:
    """Of more than one block."""
    _hold(Source("long.rig", text), [after for _, after in edits(text, 3 * ROUNDS, 6)])


FAR = LONG["parts"] + (
    "stock lead thick { size 4 mm2 }\n"
    "panel tie { lines 4 }\n"
    "amp extra is twin-900\n"
    "amp other is twin-900\n"
    "extra.1 -> lead thick 15 m -> sub_1[1]\n"
    "tie.1 -> other.1\n"
)


@pytest.mark.parametrize(
    "change",
    [
        ("stock speaker reflex-18 { impedance 8 ohm", "stock speaker reflex-18 { impedance 4 ohm"),
        ("stock lead thick { size 4 mm2 }", "stock lead thick { size 6 mm2 }"),
        ("amp bass_1 is", "amp bass_9 is"),  # one is gone, and one is there twice
        ("feed send_1 {", "feed subs_9 {"),  # a name that a list has
        ("group subs_1:", "group subs_9:"),
        ("group subs_1:", "group extra:"),  # a name that a thing has
        ("send_1 ->           bass_1.1 ", "bass_9.1 "),  # it is there first
        ("send_1 ->           bass_1.1 ", "bass_1.1 -> lead 2.5 mm2 3 m -> sub_9[3] "),
        ("group subs_5:", "tie.1 -> other.2\ngroup subs_5:"),  # the same line is left before
        ("group subs_1:", "bass_9 { gain 26 dB }\ngroup subs_1:"),  # settings made later
        ("group subs_1:", "speaker sub_9[5..6] is reflex-18\ngroup subs_1:"),  # more members
        ("group subs_1:", "amp bass_9 is { twin-900\ngroup subs_1:"),  # not to be read, so a name is in doubt
    ],
    ids=lambda change: change[1].split("\n")[0],
)
def test_a_block_that_meets_something_else_is_bound_anew(change: tuple[str, str]) -> None:
    """What is declared or wired far away changes what statements mean that nobody touched."""
    text = FAR.replace("group subs_2:", "feed more { level 4 dBu }\nmore -> tie.1\ngroup subs_2:")
    assert text.count(change[0]) == 1
    _hold(Source("long.rig", text), [text.replace(*change), text])


def test_what_rests_on_a_name_that_is_given_twice_is_not_kept() -> None:
    given = "feed both { level 4 dBu }\n"
    text = f"group both: sub_1[1]\n{given}{FAR}both -> extra.2\n"
    _hold(Source("long.rig", text), [text.replace(given, "")])


def test_what_an_edit_leaves_alone_stays_the_same_object() -> None:
    text = LONG["parts"]
    readers, memory = Readers(), Memory()
    before = bound(Source("long.rig", text), readers, readers.read, memory)
    for _ in range(20):  # what is not asked for singly must not be forgotten
        bound(Source("long.rig", text), readers, readers.read, memory)
    after = text.replace("feed send_12 { level -8 dBu", "feed send_12 { level -9 dBu")
    again = bound(Source("long.rig", after), readers, readers.read, memory)
    assert {name for name, gear in again.gear.items() if before.gear[name] is not gear} == {"send_12"}
    pieces = set(map(id, before.wiring.pieces))
    walked = {piece.span.line for piece in again.wiring.pieces if id(piece) not in pieces}
    named = {number for number, line in enumerate(after.splitlines(), 1) if line.startswith("send_12 ->")}
    assert walked == named
    for of in (lambda rig: rig.rosters, lambda rig: rig.expectations, lambda rig: rig.kinds.values()):
        assert list(map(id, of(before))) == list(map(id, of(again)))
