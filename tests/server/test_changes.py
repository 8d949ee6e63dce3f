"""Fixes, exceptions, the canonical form, and what a text is made of."""

from __future__ import annotations

import itertools

import pytest
from served import RIG, Look

from rigspec.check import check
from rigspec.files.fixing import applied, texts_with
from rigspec.language.format import canonical
from rigspec.server.actions import actions
from rigspec.server.formatting import format_edits
from rigspec.server.outline import folds, symbols
from rigspec.server.paint import paints
from rigspec.server.wire import Wire
from rigspec.server.workspace import Workspace
from rigspec.text.source import Source

SLIP = RIG.replace("-> sub[1..2]", "-> subb[1..2]")


def test_a_fix_that_cures_is_offered_and_cures(look: Look, desk: Workspace) -> None:
    sight, _ = look(SLIP)
    (offered,) = [each for each in actions(sight, 0, len(SLIP)) if each.mechanical]
    assert desk.refusal(offered.finding, offered.fix) == ""
    ((source, text),) = texts_with(offered.fix).items()
    assert (source.path, text) == ("hall.rig", RIG)


def test_a_fix_is_offered_only_where_its_finding_is(look: Look) -> None:
    sight, _ = look(SLIP)
    assert actions(sight, 0, 5) == []
    at = SLIP.index("subb")
    assert [each.fix.title for each in actions(sight, at, at)] == ["write `sub`"]


def test_a_fix_that_would_bring_another_finding_is_refused_as_on_the_command_line(look: Look, desk: Workspace) -> None:
    text = SLIP.replace("15 m", "80 m")  # once the name is right, the lead costs too much
    sight, _ = look(text)
    (offered,) = [each for each in actions(sight, 0, len(text)) if each.mechanical]
    assert "lead-loss-high" in desk.refusal(offered.finding, offered.fix)


def test_whether_a_fix_cures_is_found_out_once_for_a_text(look: Look, desk: Workspace) -> None:
    sight, _ = look(SLIP)
    (offered,) = [each for each in actions(sight, 0, len(SLIP)) if each.mechanical]
    assert desk.refusal(offered.finding, offered.fix) == ""
    checks = desk.checks
    assert desk.refusal(offered.finding, offered.fix) == ""
    assert desk.checks == checks
    sight, _ = look(SLIP.replace("15 m", "80 m"))
    (offered,) = [each for each in actions(sight, 0, len(SLIP)) if each.mechanical]
    assert "lead-loss-high" in desk.refusal(offered.finding, offered.fix)


@pytest.mark.parametrize("end", ["\n", ""])
def test_an_exception_is_written_behind_the_statement_and_waits_for_its_reason(
    look: Look, desk: Workspace, end: str
) -> None:
    text = RIG.replace("15 m", "80 m").rstrip("\n") + end
    sight, _ = look(text)
    (offered,) = actions(sight, 0, len(text))
    assert not offered.mechanical
    assert desk.refusal(offered.finding, offered.proof) == ""
    ((source, now),) = texts_with(offered.fix).items()
    added = [line for line in now.splitlines() if line not in text.splitlines()]
    assert added == [f'allow lead-loss-high on {offered.finding.subject} because ""']
    assert now.splitlines().index(added[0]) == 5  # right behind the path, line 5
    left = check(Source("hall.rig", now), desk.texts.reader(source))
    assert {finding.rule for finding in left.findings} == {"lead-loss-high", "allow-unknown"}  # nothing is excused yet
    report = check(Source("hall.rig", now.replace('""', '"one night only"')), desk.texts.reader(source))
    assert report.findings == ()
    assert len(report.excused) == 1


def test_an_exception_that_waits_for_its_reason_is_not_offered_again(look: Look) -> None:
    text = RIG.replace("15 m", "80 m")
    (offered,) = actions(look(text)[0], 0, len(text))
    ((_, now),) = texts_with(offered.fix).items()
    sight, _ = look(now)
    assert "lead-loss-high" in {finding.rule for finding in sight.report.findings}
    assert actions(sight, 0, len(now)) == []


def test_an_exception_on_the_last_line_without_an_end_gets_a_line_of_its_own(look: Look, desk: Workspace) -> None:
    text = RIG.replace("15 m", "80 m").replace("spare bass.2\n", "").rstrip("\n")
    sight, _ = look(text)
    (excuse,) = [each for each in actions(sight, 0, len(text)) if "lead-loss" in each.fix.title]
    ((_, now),) = texts_with(excuse.fix).items()
    assert now.startswith(text + "\nallow lead-loss-high on ")
    wire = Wire("utf-8", str)  # where the reason is to be written, in the text as it is then
    command = wire.action(excuse, desk.edits_by_uri(excuse.fix.edits), leads=True).command
    last = now.splitlines()[-1]
    assert command is not None
    assert command.arguments == ["hall.rig", len(now.splitlines()) - 1, last.index('""') + 1]
    assert wire.action(excuse, desk.edits_by_uri(excuse.fix.edits), leads=False).command is None


UNTIDY = "# \U0001f50a first\n" + RIG.replace("amp bass is", "amp   bass is").replace(
    "linked 2.5 mm2", "linked  2.5mm2"
)


@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_the_edits_make_the_canonical_form_and_touch_no_more(look: Look, desk: Workspace, end: str) -> None:
    text = UNTIDY.replace("\n", end)
    sight, _ = look(text)
    edits = format_edits(sight.source, desk.texts.reader(sight.source))
    assert applied(sight.source, edits) == canonical(Source("x", UNTIDY)).replace("\n", end)
    assert sum(len(edit.text) + edit.span.end - edit.span.start for edit in edits) <= 10


def test_a_part_is_formatted_alone(look: Look, desk: Workspace) -> None:
    sight, _ = look(UNTIDY)
    at = UNTIDY.index("amp   bass")
    edits = format_edits(sight.source, desk.texts.reader(sight.source), at, at + 3)
    assert applied(sight.source, edits) == UNTIDY.replace("amp   bass", "amp bass")


def test_what_has_slips_or_is_canonical_is_left_alone(look: Look, desk: Workspace) -> None:
    for text in (UNTIDY + "amp\n", canonical(Source("x", UNTIDY))):
        sight, _ = look(text)
        assert format_edits(sight.source, desk.texts.reader(sight.source)) == []


OUTLINE = """\
rig "hall" { mains 230 V 50 Hz }
# ---- what is driven ----
amp bass is twin-900 {
  attenuator -12 dB
}
# one
# two
speaker sub[1..2] is reflex-18
# ---- paths --------
bass.1 -> sub[1..2]
expect load of bass.1 >= 4 ohm
"""


def test_symbols_stand_under_their_headings(look: Look) -> None:
    sight, _ = look(OUTLINE)
    found = symbols(sight.file)
    assert [(each.name, each.sort) for each in found] == [
        ("hall", "rig"),
        ("what is driven", "section"),
        ("paths", "section"),
    ]
    assert [(each.name, each.detail) for each in found[1].children] == [
        ("bass", "amp is twin-900"),
        ("sub[1..2]", "speaker is reflex-18"),
    ]
    assert [each.name for each in found[2].children] == ["bass.1 -> sub[1..2]", "expect load of bass.1 >= 4 ohm"]
    for each in (*found, *found[1].children):
        assert each.span.start <= each.name_span.start
        assert each.name_span.end <= each.span.end


def test_statements_comments_and_sections_fold(look: Look) -> None:
    sight, _ = look(OUTLINE)

    def line(offset: int) -> int:
        return OUTLINE.count("\n", 0, offset) + 1

    found = [(each.what, line(each.start), line(each.end)) for each in folds(sight.file)]
    assert found == [("statement", 3, 5), ("comment", 6, 7), ("section", 2, 8), ("section", 9, 11)]


def test_every_word_has_its_colour(look: Look) -> None:
    text = RIG + 'amp at is twin-900\nstereo x: send, send  # twice\nallow lead-loss-high on at because "x"\n'
    sight, _ = look(text)
    found = [(text[each.start : each.end], each.type, each.declares) for each in paints(sight, 0, len(text))]
    for expected in (
        ("use", "keyword", False),
        ('"house.rig"', "string", False),
        ("amp", "keyword", False),
        ("bass", "variable", True),
        ("twin-900", "type", False),
        ("attenuator", "property", False),
        ("-12 dB", "number", False),
        ("->", "operator", False),
        ("bass", "variable", False),
        (".1", "parameter", False),
        ("lead", "keyword", False),
        ("at", "variable", True),  # a word of the language, here a name
        ("lead-loss-high", "decorator", False),
        ("# twice", "comment", False),
    ):
        assert expected in found
    places = [(each.start, each.end) for each in paints(sight, 0, len(text))]
    assert places == sorted(places)
    assert all(a[1] <= b[0] for a, b in itertools.pairwise(places))


def test_colours_of_a_part_are_those_of_the_whole_in_it(look: Look) -> None:
    sight, _ = look(RIG)
    start = RIG.index("amp bass")
    some = paints(sight, start, start + 8)
    assert some
    assert all(each in paints(sight, 0, len(RIG)) for each in some)
