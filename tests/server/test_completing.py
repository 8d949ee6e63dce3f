"""What can be written at the cursor: a text with a cursor, what must be proposed there, and what must not."""

from __future__ import annotations

import pytest
from served import RIG, Look

from rigspec.server.completing import completions
from rigspec.server.signature import signature

EXTRA = """\
processor xo is cross-24
speaker top is two-way
feed desk { level 4 dBu }
mains house { supply 230 V }
group subs: sub[*]
"""


@pytest.mark.parametrize(
    ("line", "has", "lacks"),
    [
        ("\u2038", ["amp", "speaker", "expect", "each", "send", "bass"], ["ohm", "twin-900"]),
        ("am\u2038", ["amp"], ["ohm"]),
        ("amp tops is \u2038", ["twin-900"], ["reflex-18", "thick-pair", "bass"]),
        ("speaker x is re\u2038", ["reflex-18", "two-way"], ["twin-900"]),
        ("processor p is \u2038", ["cross-24"], ["twin-900"]),
        ("amp tops \u2038", ["is"], ["ohm", "twin-900", "from"]),
        ("amp tops is twin-900 \u2038", [], ["ohm", "W", "from"]),  # the number is a part of the name
        ("mains pa \u2038", ["from"], []),
        ("send \u2038", ["->"], ["linked"]),
        ("bass.2 -> lead 2.5 mm2 3 m \u2038", ["->", "tinned"], ["thick-pair", "linked"]),
        ("bass.2 -> lead 2.5 mm2 3 m -> sub[1..2] \u2038", ["linked", "->"], ["sub"]),
        ("bass.2 -> lead \u2038", ["thick-pair"], ["->"]),
        ("bass.2 -> \u2038", ["sub", "top", "lead"], ["send", "bass", "xo", "subs", "house"]),  # no load
        ("send -> \u2038", ["bass"], ["subs", "desk", "house"]),
        ("bass.2 -> lead 2.5 mm2 \u2038", ["solid"], ["thick-pair"]),
        ("bass.2 -> lead 2.5 mm2 3 \u2038", ["m", "ft"], ["mm2", "AWG"]),
        ("bass.2 -> lead thick-pair 3 \u2038", ["m"], ["mm2"]),
        ("lead loom 2.5 \u2038", ["mm2", "AWG"], ["ohm"]),  # its own name is no kind
        ("lead loom is thick-pair \u2038", ["tinned"], ["thick-pair"]),
        ("mains pa from \u2038", ["house"], ["bass", "send"]),
        (
            "send -> \u2038",
            ["bass", "xo", "lead", "invert", "pad", "delay", "series", "parallel"],
            ["twin-900", "expect"],
        ),
        ("send -> bass.\u2038", ["1", "2", "1+2"], ["3", "bass"]),
        ("send -> xo.\u2038", ["a", "b", "1", "4"], ["c", "5"]),
        ("bass.2 -> top.\u2038", ["low", "high"], ["1"]),
        ("bass.2 -> sub[\u2038", ["*", "1..2", "1", "2"], ["3"]),
        ("bass.2 -> lead \u2038", ["thick-pair"], ["twin-900", "sub"]),
        ("bass.2 -> lead 2.5 \u2038", ["mm2", "AWG", "m", "ft"], ["ohm", "dB"]),
        ("bass.2 -> lead 2.5 m\u2038", ["mm2", "m", "mm"], ["ohm"]),
        ("send -> pad 6 \u2038", ["dB"], ["dBu", "m"]),
        ("send -> delay 3 \u2038", ["ms", "m"], ["dB"]),
        ("bass { \u2038", ["attenuator", "bridge", "gain"], ["at", "tap", "bass"]),
        ("bass.2 { \u2038", ["attenuator", "muted"], ["bridge"]),
        ("bass { attenuator -3 dB; \u2038", ["gain", "high-pass"], ["dB"]),
        ("bass { attenuator -3 \u2038", ["dB"], ["dBu", "m"]),
        ("xo.1 { high-pass 95 Hz 24 dB/octave \u2038", ["linkwitz-riley", "butterworth"], ["bass"]),
        ("xo.1 { low-pass 95 \u2038", ["Hz", "kHz", "dB/octave"], ["m"]),
        ("xo.1 { from \u2038", ["a", "b"], ["bass", "c"]),
        ("bass { bridge \u2038", ["1+2"], ["2+3", "bass"]),
        ("bass { attenuator -3 dB; \u2038", ["bridge"], ["attenuator"]),  # it is made already
        ("stock amp x { rated 100 W \u2038", ["at", "bridge"], ["to"]),
        ("stock amp x { rated 100 W at 8 ohm \u2038", ["bridge"], ["at"]),
        ("stock amp x { rated 100 W at \u2038", [], ["bridge", "at"]),
        ("xo.1 { low-pass 95 Hz 24 \u2038", ["dB/octave"], ["Hz"]),  # its frequency is said
        ("feed x { band 35 Hz to 95 \u2038", ["Hz"], ["dB"]),
        ("stock speaker x { curve 8 ohm at 50 \u2038", ["Hz"], ["ohm"]),
        ("mix m: desk \u2038", [], ["desk", "send"]),  # a gain or a comma comes next
        ("mix m: desk, \u2038", ["desk", "send"], []),
        ("group g: against \u2038", ["sub"], ["against"]),
        ("stock \u2038", ["amp", "speaker", "lead", "processor", "panel"], ["feed", "bass"]),
        ("stock speaker x { low { \u2038", ["impedance", "sensitivity"], ["taps", "owned"]),
        ('rig "x" { limits { \u2038', ["lead-loss", "spread", "headroom"], ["air"]),
        ("place p { hears \u2038", ["send", "desk", "subs"], ["bass", "xo"]),
        ("expect \u2038", ["load", "loss", "polarity", "headroom"], ["bass", "amp"]),
        ("expect load \u2038", ["of"], ["load", "bass"]),
        ("expect load of \u2038", ["bass", "sub", "subs"], ["twin-900", "load"]),
        ("expect load of bass.1 >= 4 \u2038", ["ohm", "mohm"], ["dB", "m"]),
        ("expect load of bass.1 \u2038", [">=", "<=", "=", "in"], ["bass", "sub"]),
        ("expect load of bass.1, \u2038", ["bass", "xo"], [">="]),
        ("expect load of bass.1 >= \u2038", [], ["normal", "inverted"]),
        ("expect load of bass.1 in \u2038", [], ["bass"]),
        ("expect load of bass.1 in 35 Hz \u2038", ["to"], [">=", "of"]),  # a band has two ends
        ("expect load of bass.1 in 35 Hz to 95 Hz \u2038", [">="], ["to"]),
        ("expect polarity of sub[1] = \u2038", ["normal", "inverted"], ["bass"]),
        ("measured \u2038", ["resistance", "load"], ["bass"]),
        ("allow \u2038", ["lead-loss-high", "load-too-low"], ["syntax", "name-unknown", "bass"]),
        ("allow lead-loss-high \u2038", ["on"], ["load-too-low"]),
        ("allow lead-loss-high on \u2038", ["sub", "bass"], ["load-too-low"]),
        ("allow lead-loss-high on bass.1 \u2038", ["because"], ["bass"]),
        ("stereo main: \u2038", ["send", "desk"], ["bass", "sub"]),
        ("group g: sub[1], \u2038", ["sub", "top", "against"], ["bass", "send"]),
        ("spare \u2038", ["bass", "xo", "sub"], ["twin-900"]),
        ("bass.1 -> lead 2.5 mm2 3 m -> \u2038", ["sub", "top"], ["mm2"]),
        ("# bass \u2038", [], ["bass", "amp"]),
        ('rig "ba\u2038', [], ["bass", "house.rig"]),
    ],
)
def test_what_is_proposed(look: Look, line: str, has: list[str], lacks: list[str]) -> None:
    sight, offset = look(RIG + EXTRA + line + "\nfeed below { level 4 dBu }\n")
    labels = [each.label for each in completions(sight, offset, ["house.rig"])]
    assert [word for word in has if word not in labels] == []
    assert [word for word in lacks if word in labels] == []


def test_the_paths_of_files_are_proposed_behind_use(look: Look, desk: object) -> None:
    sight, offset = look('use "ho\u2038"\n')
    (only,) = completions(sight, offset, ["house.rig"])
    assert (only.label, only.start) == ("house.rig", 5)
    found = [each.label for each in completions(sight, offset, ["hall.rig", "stock/house.rig"])]
    assert found == ["stock/house.rig", "hall.rig"]  # what a rig usually uses


@pytest.mark.parametrize(
    ("line", "first"),
    [
        ("send -> \u2038", "xo"),
        ("send -> xo.\u2038", "a"),
        ("bass.2 -> \u2038", "lead"),
        ("bass.2 -> lead 2.5 mm2 3 m -> \u2038", "sub"),
        ("bass.2 -> lead 2.5 mm2 3 m -> sub[1..2] \u2038", "linked"),
        ("xo.1 -> \u2038", "bass"),
        ("house -> \u2038", "bass"),
        ("amp more is twin-900 { \u2038", "bridge"),  # before what the stock says usually
        ("expect load \u2038", "of"),
        ("expect difference \u2038", "between"),
        ("expect load of bass.1 \u2038", ">="),
        ("expect \u2038", "load"),
        ("expect load of \u2038", "bass"),
        ("expect loss of \u2038", "sub"),
        ("expect polarity of \u2038", "sub"),
        ("expect difference between \u2038", "subs"),
        ("expect share of \u2038", "house"),
        ("expect draw of \u2038", "bass"),
    ],
)
def test_what_usually_comes_next_on_a_path_comes_first(look: Look, line: str, first: str) -> None:
    sight, offset = look(RIG + EXTRA + line + "\n")
    assert completions(sight, offset)[0].label == first


def test_exceptions_begin_with_what_is_found(look: Look) -> None:
    rig = RIG.replace("15 m", "80 m")
    sight, offset = look(rig + "allow \u2038\n")
    assert completions(sight, offset)[0].label == "lead-loss-high"
    sight, offset = look(rig + "allow lead-loss-high on \u2038\n")
    (finding,) = (each for each in sight.report.findings if each.rule == "lead-loss-high")
    first = completions(sight, offset)[0]
    assert (first.label, first.detail) == (finding.subject, finding.message)


def test_what_is_typed_already_is_replaced(look: Look) -> None:
    sight, offset = look(RIG + "amp tops is twin-\u2038")
    (only,) = [each for each in completions(sight, offset) if each.label == "twin-900"]
    assert sight.source.text[only.start : offset] == "twin-"


def test_a_name_from_a_statement_below_is_known_although_this_one_is_not_finished(look: Look) -> None:
    sight, offset = look("send -> \u2038\n" + RIG)
    assert "bass" in [each.label for each in completions(sight, offset)]


BAND = "of THING, ... [in FREQUENCY to FREQUENCY]"


@pytest.mark.parametrize(
    ("line", "label", "active"),
    [
        ("bass { attenuator \u2038", "attenuator GAIN", "GAIN"),
        ("xo.1 { high-pass \u2038", "high-pass FREQUENCY [SLOPE] [butterworth|linkwitz-riley|bessel]", "FREQUENCY"),
        ("stock speaker x { driver { box \u2038", "box sealed|vented [FREQUENCY]", "sealed|vented"),
        (
            "stock amp x { rated 900 W at \u2038",
            "rated POWER [RESISTANCE|VOLTAGE] [alone|bridge], ...",
            "[RESISTANCE|VOLTAGE]",
        ),
        ("feed x { band 35 Hz to \u2038", "band FREQUENCY to FREQUENCY", "FREQUENCY to FREQUENCY"),
        ("stock amp x { rated 900 W \u2038", None, None),
        ("stock speaker x { rated \u2038", "rated POWER continuous|peak, ...", "POWER"),
        ("stock speaker x { rated 600 W \u2038", "rated POWER continuous|peak, ...", "continuous|peak"),
        ("send -> lead \u2038", "lead SIZE|KIND LENGTH", "SIZE|KIND"),
        ("send -> lead 2.5 mm2 \u2038", "lead SIZE|KIND LENGTH", "LENGTH"),
        ("send -> lead thick-pair \u2038", "lead SIZE|KIND LENGTH", "LENGTH"),
        ("send -> bass.1 -> lead 2.5 mm2 3 m -> sub[1..2] linked \u2038", "lead SIZE|KIND LENGTH", "SIZE|KIND"),
        ("send -> pad \u2038", "pad GAIN", "GAIN"),
        ("send -> delay \u2038", "delay TIME|LENGTH", "TIME|LENGTH"),
        ("xo.1 { from \u2038", "from NAME [GAIN], ...", "NAME"),
        ("xo.1 { from a \u2038", "from NAME [GAIN], ...", "[GAIN]"),
        ("expect \u2038", "expect load of bass.1 >= 4 ohm", ""),
        ("expect load of \u2038", f"expect load {BAND} >=|<= RESISTANCE", "of THING, ..."),
        ("expect load of bass.1 in 35 \u2038", f"expect load {BAND} >=|<= RESISTANCE", "[in FREQUENCY to FREQUENCY]"),
        ("expect load of bass.1 >= \u2038", f"expect load {BAND} >=|<= RESISTANCE", ">=|<= RESISTANCE"),
        ("expect headroom \u2038", "expect headroom of THING, ... >=|<= GAIN", "of THING, ..."),
        ("expect difference \u2038", "expect difference between THING, THING >=|<= GAIN|TIME", "between THING, THING"),
        ("expect polarity of sub[1] = \u2038", "expect polarity of THING, ... = normal|inverted", "= normal|inverted"),
        ("measured load of bass.1 \u2038", "measured load of THING RESISTANCE", "RESISTANCE"),
    ],
)
def test_the_help_while_a_setting_is_written(look: Look, line: str, label: str | None, active: str | None) -> None:
    sight, offset = look(RIG + EXTRA + line + "\n")
    found = signature(sight, offset)
    assert found is not None
    if label is None:
        assert found.label.startswith("rated POWER")
        return
    assert found.label == label
    assert (found.parts[found.active] if found.active >= 0 else "") == active


@pytest.mark.parametrize("line", ["\u2038", "# x \u2038", "send \u2038", "bass { nonsense \u2038"])
def test_no_help_where_there_is_nothing_to_help_with(look: Look, line: str) -> None:
    sight, offset = look(RIG + EXTRA + line + "\n")
    assert signature(sight, offset) is None
