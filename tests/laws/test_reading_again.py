"""A text that is read again after an edit is read as if it were new: statements, tokens, comments, slips and places."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import attrs
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rigspec.parse.again import Rereader
from rigspec.parse.reader import parse
from rigspec.source import Source, Span
from rigspec.syntax import Comment, File, Token

ROOT = Path(__file__).parents[2]
SAMPLES = sorted((ROOT / "samples").rglob("*.rig"))
PIECES = (
    "", " ", "\n", "\n\n", ";", "{", "}", "(", ")", "[", "]", '"', "#", "# c\n", "\r\n", ",", "->", "amp a\n", "a.1 ->",
    "amp", " is ", "\namp x is y {\n", "}\n", "\nsub[1] -> b\n", "\U0001f50a", "\ufeff", "=", "5 m", "\nlead", ":",
)  # fmt: skip


def flat(value: Any, offset: int = 0) -> Any:
    """A value with every place in it as offsets into the whole text."""
    if isinstance(value, Span):
        return ("span", value.start, value.end, value.text)
    if isinstance(value, Token | Comment):
        whole = [getattr(value, each.name) for each in attrs.fields(type(value)) if each.name != "start"]
        return (value.start + offset, [flat(each, offset) for each in whole])
    if isinstance(value, tuple | list):
        return [flat(each, offset) for each in value]
    if attrs.has(type(value)):
        return (type(value).__name__, [flat(getattr(value, each.name), offset) for each in attrs.fields(type(value))])
    return value


def whole(file: File) -> Any:
    statements = [
        (flat(each.node), flat(each.tokens, each.offset), flat(each.after, each.offset)) for each in file.statements
    ]
    return (statements, flat(file.tail), flat(file.slips))


@st.composite
def edits(draw: st.DrawFn, size: int) -> tuple[int, int, str]:
    start = draw(st.integers(0, size))
    end = min(size, start + draw(st.sampled_from((0, 0, 1, 2, 7, 40, 400))))
    return start, end, draw(st.sampled_from(PIECES))


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
@settings(max_examples=8, deadline=None)
@given(st.data())
def test_read_again_is_read_anew(path: Path, data: st.DataObject) -> None:
    text = path.read_text(encoding="utf-8")
    reader = Rereader()
    reader.parse(Source("x.rig", text))
    for _ in range(6):
        start, end, new = data.draw(edits(len(text)))
        text = text[:start] + new + text[end:]
        source = Source("x.rig", text)
        assert whole(reader.parse(source)) == whole(parse(source))


SMALL = st.lists(st.sampled_from(PIECES), max_size=14).map("".join)


@settings(max_examples=300, deadline=None)
@given(SMALL, st.lists(st.tuples(st.floats(0, 1), st.integers(0, 9), st.sampled_from(PIECES)), min_size=1, max_size=5))
def test_read_again_is_read_anew_however_small_and_broken(text: str, changes: list[tuple[float, int, str]]) -> None:
    reader = Rereader()
    reader.parse(Source("x.rig", text))
    for share, length, new in changes:
        start = int(share * len(text))
        text = text[:start] + new + text[start + length :]
        source = Source("x.rig", text)
        assert whole(reader.parse(source)) == whole(parse(source))


def test_statements_far_from_the_edit_are_the_same_objects() -> None:
    text = "".join(f"feed f{number} {{ level 4 dBu }}\n" for number in range(100))
    reader = Rereader()
    before = reader.parse(Source("x.rig", text)).statements
    at = text.index("f50")
    after = reader.parse(Source("x.rig", text[:at] + "longer\n" + text[at:])).statements
    assert sum(a.node is b.node for a, b in zip(before[:45], after[:45], strict=True)) == 45
    assert after[-45].node is before[-45].node
    assert after[-1].start == len(text) + len("longer\n") - len("feed f99 { level 4 dBu }\n")
