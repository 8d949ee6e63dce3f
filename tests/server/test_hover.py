"""What is shown of the thing under the cursor."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest
from served import RIG, Look

from rigspec.language.reader import parse
from rigspec.language.slips import READING
from rigspec.rig.declare import HOP_WORDS
from rigspec.server.conversions import said_otherwise
from rigspec.server.hover import WORDS as HOVER_WORDS
from rigspec.server.hover import Hover, fenced, hover
from rigspec.server.wire import Wire
from rigspec.text.source import Source


def said(look: Look, text: str) -> str:
    sight, offset = look(text)
    found = hover(sight, offset)
    return found.text if found is not None else ""


@pytest.mark.parametrize(
    ("before", "after", "pieces"),
    [
        ("-> bass.1", "-> ba\u2038ss.1", ["an amplifier, `twin-900`", "**bass.1**: load 4.", "2 * l * r", "IEC 60228"]),
        ("-> bass.1", "-> bass.\u20381", ["**bass.1**: load 4."]),
        ("amp bass", "amp ba\u2038ss", ["**bass.1**: load 4."]),
        ("-> sub[1..2]", "-> su\u2038b[1..2]", ["**sub[1]**: power", "**sub[2]**: power", "loss 0."]),
        ("is twin-900", "is tw\u2038in-900", ["rated 900 W at 4 ohm", "house.rig, line 1"]),
        ("lead 2.5 mm2 15 m", "lead 2.5 mm2 1\u20385 m", ["49.2 ft", "lead of bass.1", "loop 0.2", "43.7 ms"]),
        ("attenuator -12", "atten\u2038uator -12", ["its gain controls, all alike", "attenuator -6 dB"]),
        ("level 4 dBu", "level 4\u2038 dBu", ["1.23 V rms", "dBV"]),
        ("amp bass", "a\u2038mp bass", ["an amplifier", "amp bass is twin-900"]),
        ("lead 2.5 mm2 15 m", "le\u2038ad 2.5 mm2 15 m", ["- **lead of bass.1**: loop 0.2", "a lead of this size and"]),
        ("spare bass.2", "l\u2038ead w is thick-pair\nspare bass.2", ["**lead**: a named lead"]),
        ("linked", "link\u2038ed", ["from each box of a row to the next", "lead of bass.1", "loop 31.9 mohm"]),
        ("-12 dB", "-1\u20382 dB", ["a gain", "`attenuator`: its gain controls, all alike"]),
        ('"house.rig"', '"ho\u2038use.rig"', ["1 stock amp, 2 stock speaker, 1 stock lead, 1 stock processor"]),
        ("send ->", "send -> inv\u2038ert ->", ["the two conductors are crossed"]),
        ("is twin-900", "i\u2038s twin-900", ["which kind of gear it is"]),
    ],
)
def test_what_is_said_of_the_thing_under_the_cursor(look: Look, before: str, after: str, pieces: list[str]) -> None:
    assert before in RIG
    text = said(look, RIG.replace(before, after, 1))
    for piece in pieces:
        assert piece in text


def test_a_rule_is_explained_where_it_is_named(look: Look) -> None:
    text = said(look, RIG + 'allow lead-\u2038loss-high on sub[1] because "once"\n')
    explained = subprocess.run(
        [sys.executable, "-m", "rigspec", "explain", "lead-loss-high"], capture_output=True, text=True, check=True
    )
    title, *facts = [" ".join(part.split()) for part in re.split(r"\n +(?=\w+: )", explained.stdout)]
    assert title.replace("warning lead-loss-high", "**warning lead-loss-high**") in text
    assert len(facts) == 4
    assert [fact for fact in facts[:3] if fact not in text] == []
    assert "lead 4 mm2 30 m" in text  # the right example


MORE = """\
processor xo is cross-24
xo.2 { from b; high-pass 95 Hz 24 dB/octave linkwitz-riley }
send -> xo.b
group subs: sub[1], against sub[2]
measured load of bass.1 4.2 ohm
"""


@pytest.mark.parametrize(
    ("word", "at", "pieces"),
    [
        ("from b", 5, ["**xo**: a processor", "**xo.b**: level +4 dBu"]),
        ("linkwitz-riley", 3, ["**high-pass**: ", "high-pass 95 Hz 24 dB/octave linkwitz-riley"]),
        ("subs", 1, ["**subs**: a group", "group subs: sub[1], against sub[2]"]),
        ("against", 2, ["pushes the other way"]),
        ("load of bass.1 4.2", 1, ["**load of bass.1**: 4.25 ohm", "load: ohm"]),
    ],
)
def test_what_is_said_in_settings_and_lists(look: Look, word: str, at: int, pieces: list[str]) -> None:
    text = RIG + MORE
    place = text.index(word) + at
    shown = said(look, text[:place] + "\u2038" + text[place:])
    assert [piece for piece in pieces if piece not in shown] == []


def test_every_word_of_the_language_is_explained(look: Look) -> None:
    assert {*HOP_WORDS, "against"} | {"is", "from", "because"} <= {*READING, *HOVER_WORDS}
    for word, (_, example) in HOVER_WORDS.items():
        assert re.search(rf"\b{word}\b", example), word
        assert parse(Source("", example + "\n")).slips == (), word


def test_the_figure_that_is_asked_for_most_is_worked_out_first_and_keys_stand_in_order(look: Look) -> None:
    text = RIG.replace("spare bass.2\n", "bass.2 -> lead 2.5 mm2 5 m -> sub[10]\nbass.2 -> sub[9]\n")
    text = text.replace("speaker sub[1..2] is", "speaker sub[3..10] is reflex-18\nspeaker sub[1..2] is")
    text = text.replace("send -> bass.1", "send -> ba\u2038ss.1", 1)
    of_amp = said(look, text.replace("ba\u2038ss.1", "bass.1").replace("amp bass", "amp ba\u2038ss"))
    assert of_amp.partition("```text\n")[2].partition("\n")[0].split(": ")[1].startswith("load of bass.1 = 4.25")
    of_boxes = said(look, text.replace("ba\u2038ss.1", "bass.1").replace("speaker sub", "speaker su\u2038b", 1))
    assert re.findall(r"^- \*\*(.*?)\*\*", of_boxes, re.MULTILINE) == ["sub[1]", "sub[2]", "sub[9]", "sub[10]"]


def test_the_working_is_that_of_the_command_line(look: Look, tmp_path: Path) -> None:
    (tmp_path / "hall.rig").write_text(RIG, encoding="utf-8")
    command = [sys.executable, "-m", "rigspec", "figures", "hall.rig", "--why", "load of bass.1"]
    told = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=True)
    shown = said(look, RIG.replace("-> bass.1", "-> bass.\u20381"))
    assert f"```text\n{told.stdout.rstrip()}\n```" in shown
    long = said(look, RIG.replace("sub[1..2]", "sub[1..9]").replace("-> bass.1", "-> bass.\u20381"))
    assert '\n...\n`rigspec figures hall.rig --why "load of bass.1"` shows all of it\n```' in long


def test_a_promise_shows_the_figure_that_it_is_about(look: Look) -> None:
    text = said(look, RIG + "expect lo\u2038ss of sub[*] <= 1 dB\n")
    assert "**loss of sub[1]**: 0.5 dB" in text
    assert "**loss of sub[2]**: 0.54 dB" in text


def test_as_plain_text_it_is_the_same_without_marks(look: Look) -> None:
    sight, offset = look(RIG.replace("-> bass.1", "-> bass.\u20381"))
    found = hover(sight, offset)
    assert found is not None
    plain = found.plain.splitlines()
    assert plain[0] == "bass: an amplifier, `twin-900`"
    assert plain[2].startswith("- bass.1: load 4.25 ohm, ")
    assert plain[4] == "Z: load of bass.1 = 4.25 ohm"
    assert [line for line in plain if "```" in line] == []
    quoted = Hover(f"**a**\n\n{fenced('x ** y')}\n\n**b**\n\n{fenced('```')}", found.span)  # what is quoted stays
    assert quoted.plain == "a\n\nx ** y\n\nb\n\n```"


def test_what_is_wrong_here_is_said_with_its_cure(look: Look) -> None:
    text = said(look, RIG.replace("15 m", "8\u20380 m"))
    assert "lead-loss-high" in text
    (finding,) = (each for each in look(text_of_eighty())[0].report.findings if each.rule == "lead-loss-high")
    assert f"**warning lead-loss-high**: {finding.message}" in text
    for word, said_of in (("computed", finding.computed), ("why", finding.reason), ("change", finding.help)):
        assert f"{word}: {said_of}" in text
    assert f"allowed: {finding.allowed} ({finding.authority})" in text


def test_what_is_wrong_stands_before_the_working_which_is_long(look: Look) -> None:
    text = said(look, RIG.replace("-> bass.1", "-> bass.\u20381").replace("sub[1..2]", "sub[1..4]"))
    places = [
        text.index(each) for each in ("an amplifier", "- **bass.1**: load 2.", "**error load-too-low**", "```text")
    ]
    assert places == sorted(places)
    text = said(look, RIG + "expect lo\u2038ad of bass.1 >= 5 ohm\n")
    places = [
        text.index(each) for each in ("**load of bass.1**: 4.25 ohm", "**error expect-unmet**", "R + Z", "load: ohm")
    ]
    assert places == sorted(places)


def test_a_fix_is_the_editors_own_affair(look: Look) -> None:
    text = said(look, RIG.replace("-> bass.1", "-> ba\u2038s.1"))
    assert "**error name-unknown**" in text
    assert "--fix" not in text


def test_a_finding_brings_its_places_and_what_the_protocol_has_no_place_for(look: Look) -> None:
    sight, _ = look(text_of_eighty())
    (finding,) = (each for each in sight.report.findings if each.rule == "lead-loss-high")
    told = Wire("utf-16", str).diagnostic(finding).related_information or []
    heads = [each.message.partition(":")[0] for each in told]
    assert heads[-3:] == ["allowed", "assumes", "change"]
    assert [each.message for each in told][:-3] == [finding.label, *(label.text for label in finding.related)]


def text_of_eighty() -> str:
    return RIG.replace("15 m", "80 m")


def test_nothing_is_said_where_there_is_nothing(look: Look) -> None:
    assert said(look, "# a comm\u2038ent\n" + RIG) == ""
    assert said(look, "\u2038") == ""


@pytest.mark.parametrize(
    ("figure", "others"),
    [  # American wire gauges: ASTM B258; 1 ft = 0.3048 m exactly; 343.2 m/s at 20 degC: ISO 9613-1
        ("12 AWG", "3.31 mm2"),
        ("2/0 AWG", "67.4 mm2"),
        ("2.5 mm2", "between 14 AWG (2.08 mm2) and 13 AWG (2.62 mm2)"),
        ("100 ft", "= 30.5 m; sound takes 88.8 ms in air of 20 degC"),
        ("40 m", "= 131 ft; sound takes 117 ms in air of 20 degC"),
        ("-4 m", "= -13.1 ft"),  # a place: sound needs no time to be somewhere
        ("10 mm", "= 0.394 in"),
        ("14 degC", "= 57.2 degF"),
        ("20 kg", "= 44.1 lb"),
        ("1 kHz", "a wave of 0.343 m in air of 20 degC"),
        ("-6 dB", "a factor of 0.5012 in voltage, 0.2512 in power"),  # 10^(-6/20), 10^(-6/10)
        ("100 ohm", ""),  # nothing that moves the point alone
        ("230 V", ""),
        ("90 min", "= 1.5 h"),
        ("1e9 dB", ""),  # nobody means that
        ("999999 AWG", ""),
    ],
)
def test_a_figure_is_said_otherwise(figure: str, others: str) -> None:
    title, _, rest = said_otherwise(figure).partition("\n\n")
    assert title.startswith(f"**{figure}**: a")
    assert rest == others
