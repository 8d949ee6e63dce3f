"""Random edits through the server: after each the findings are those of a fresh check, and every answer a fresh one."""

from __future__ import annotations

from pathlib import Path

import pytest
from replaying import edits, replay, told
from session import Session, session
from speed import field, rig

from rigspec.check import check
from rigspec.server.hints import hints
from rigspec.server.outline import folds, symbols
from rigspec.server.paint import paints
from rigspec.server.snapshot import Snapshot
from rigspec.server.workspace import Workspace
from rigspec.text.source import Source, Span

pytestmark = pytest.mark.timeout(300)


@pytest.mark.parametrize(("seed", "text"), [(1, rig(120)), (2, field(40))], ids=["parts", "mains"])
def test_after_each_of_200_edits_the_findings_are_those_of_a_fresh_check(tmp_path: Path, seed: int, text: str) -> None:
    desk = Workspace()
    uri = (tmp_path / "long.rig").as_uri()
    desk.open(uri, text, 1)
    broken = 0
    for number, (_, after) in enumerate(edits(text, 200, seed)):
        desk.change(uri, after, number)
        (found,) = desk.findings().values()
        path = desk.documents[uri].source.path
        fresh = check(Source(path, after), desk.texts.reader(desk.documents[uri].source))
        mine = [(f.rule, f.message, f.span.start, f.span.end, f.severity.value) for f in found]
        assert mine == told(fresh)
        assert [_whole(f) for f in found] == [_whole(f) for f in fresh.findings]
        broken += bool(mine)
    assert 50 < broken <= 200  # the edits do break something, and often


def _whole(value: object) -> object:
    """A finding with all its places as offsets."""
    import attrs

    if isinstance(value, Span):
        return (value.path, value.start, value.end)
    if isinstance(value, tuple):
        return [_whole(each) for each in value]
    if attrs.has(type(value)):
        return [_whole(getattr(value, each.name)) for each in attrs.fields(type(value))]
    return value


def test_the_same_through_the_real_server_at_two_thousand_lines(tmp_path: Path) -> None:
    async def body(here: Session) -> None:
        await replay(here, rig(2_000), 25, 3)

    session(tmp_path, body, "utf-16", seconds=240)


def test_after_edits_every_answer_is_that_of_a_desk_that_sees_the_text_for_the_first_time(tmp_path: Path) -> None:
    desk = Workspace()
    uri = (tmp_path / "long.rig").as_uri()
    text = "# ---- all ----\n" + rig(150)
    desk.open(uri, text, 1)
    for number, (_, after) in enumerate(edits(text, 20, 4)):
        desk.change(uri, after, number)
        fresh = Workspace()
        fresh.open(uri, after, 1)
        mine, new = desk.sight(uri), fresh.sight(uri)
        assert mine is not None
        assert new is not None
        for ask in (_hints, _paints, _outline, _folds):
            assert ask(mine) == ask(new)


def _hints(sight: Snapshot) -> object:
    return hints(sight, 0, len(sight.source.text))


def _paints(sight: Snapshot) -> object:
    return paints(sight, 0, len(sight.source.text))


def _outline(sight: Snapshot) -> object:
    return [_whole(each) for each in symbols(sight.file)]


def _folds(sight: Snapshot) -> object:
    return folds(sight.file)
