"""A curve or a driver of a loudspeaker behind a line transformer is not counted, and whatever rests on that says so."""

from __future__ import annotations

import json

import pytest
from rig_checks import check_text

from rigspec.check import Report
from rigspec.rules.example_stock import EXAMPLE_STOCK
from rigspec.show.figures import figures_json
from rigspec.why import derive
from rigspec.why.working import assumptions

DRIVER = "driver { dc-resistance 6 ohm; resonance 90 Hz; mechanical-q 4; electrical-q 0.6 }"
CURVE = "curve 6 ohm at 100 Hz, 30 ohm at 200 Hz, 7 ohm at 1 kHz, 12 ohm at 8 kHz"
SAID = "the `{}` of pole is not counted: behind a line transformer its tap stands for it"


def line(data: str, taps: int = 2, more: str = "") -> Report:
    return check_text(
        "stock speaker pole {\n  impedance 8 ohm; taps 30 W at 100 V; rated 30 W continuous; band 200 Hz to 8 kHz\n"
        f"  {data}\n}}\nfeed f {{ level -20 dBu; peak -10 dBu; band 200 Hz to 8 kHz }}\namp a is street\nspare a.2\n"
        f"speaker s[1..{taps}] is pole {{ tap 30 W }}\n"
        f"f -> a.1 -> lead 2.5 mm2 9 m -> s[1..{taps}] linked 2.5 mm2 9 m\n" + more + EXAMPLE_STOCK
    )


@pytest.mark.parametrize(
    ("data", "words"), [(CURVE, "curve"), (DRIVER, "driver"), (f"{CURVE}\n  {DRIVER}", "curve` and `driver")]
)
def test_tables_say_so(data: str, words: str) -> None:
    report = line(data)
    for table in ("channels", "speakers", "lines", "taps", "dips"):
        assert SAID.format(words) in json.dumps(json.loads(figures_json(report, (table,)))), table


@pytest.mark.parametrize(("taps", "rule"), [(9, "load-too-low"), (7, "line-full")])
def test_findings_about_the_line_say_so(taps: int, rule: str) -> None:
    (found,) = [finding for finding in line(CURVE, taps).findings if finding.rule == rule]
    assert SAID.format("curve") in found.assumes
    (plain,) = [finding for finding in line("", taps).findings if finding.rule == rule]
    assert "not counted" not in " ".join(plain.assumes)


@pytest.mark.parametrize(("word", "key"), [("least-impedance", "a.1"), ("least-impedance", "s[1]")])
def test_workings_say_so(word: str, key: str) -> None:
    step = derive(line(CURVE).figures, word, key)
    assert step is not None
    assert SAID.format("curve") in "; ".join(assumptions(step))


@pytest.mark.parametrize(
    "promise", ["load of a.1 in 200 Hz to 8 kHz >= 90 ohm", "loss of s[1] in 1 kHz to 2 kHz <= 1 dB"]
)
def test_a_promise_in_a_band_is_not_judged_and_says_why(promise: str) -> None:
    (found,) = [each for each in line(CURVE, more=f"expect {promise}\n").findings if each.rule == "expect-unjudged"]
    assert SAID.format("curve") in found.message


def test_where_nothing_is_left_out_nothing_is_said() -> None:
    assert "not counted: behind" not in figures_json(line(""), ("channels", "speakers", "lines", "taps", "dips"))
