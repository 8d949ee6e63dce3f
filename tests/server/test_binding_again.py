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

ROUNDS = 12
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


@pytest.mark.parametrize("path", sorted(SAMPLES.glob("**/*-*.rig")), ids=lambda path: path.stem)
def test_an_edited_sample_is_bound_as_if_for_the_first_time(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    _hold(Source(str(path), text), [after for _, after in edits(text, ROUNDS, len(text) + 1)])


@pytest.mark.parametrize("text", LONG.values(), ids=LONG)
def test_a_long_rig_is_bound_as_if_for_the_first_time(text: str) -> None:
    """Of more than one block."""
    _hold(Source("long.rig", text), [after for _, after in edits(text, 3 * ROUNDS, 6)])


def test_a_block_that_meets_something_else_is_bound_anew() -> None:
    """What is declared or wired far away changes what statements mean that nobody touched."""
    text = LONG["parts"]
    whole = "stock speaker reflex-18 { impedance 8 ohm"
    _hold(
        Source("long.rig", text),
        [
            text.replace(whole, whole.replace("8 ohm", "4 ohm")),
            text.replace("amp bass_9 is", "amp bass_8 is"),  # one is gone, and one is there twice
            "feed subs_9 { level 4 dBu }\n" + text,  # a name that a list has
            text + "bass_1.1 -> lead 2.5 mm2 15 m -> sub_9[1]\n",
            "bass_1.1 -> lead 2.5 mm2 15 m -> sub_9[1]\n" + text,  # it is there first
            text + "bass_9 { gain 26 dB }\n",  # settings made later
            text + "speaker sub_9[5..6] is reflex-18\n",  # more members
            text + "amp bass_9 is { twin-900\n",  # not to be read, so a name is in doubt
            text,
        ],
    )


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
