"""A boundary that a finding names can be done as it is written: there the finding is gone, and a little before not.

Each case is tried from several figures, so that a boundary rounded to the wrong side is met.
"""

import re
from collections.abc import Iterator

import pytest
from attrs import frozen
from rig_checks import FOUND_AT_THE_EDGE, check_example, check_text

from rigspec.rules import RULES
from rigspec.rules.example_stock import EXAMPLE_STOCK
from rigspec.text.finding import Finding
from rigspec.text.units import quantity


@frozen
class Case:
    """A rig with a place ``<x>``, figures for it with which a rule speaks, and the boundary that it then names.

    ``turned``: the boundary is how far to change the figure (``down`` or ``up``), else it is the figure itself.
    ``before`` is how little before the boundary the rule speaks again: a factor, or so much less turned.
    """

    rule: str
    rig: str
    tried: tuple[float, ...]
    says: str
    before: float
    turned: int = 0


_WAYS = (
    "feed f { level -20 dBu; peak -10 dBu }\nprocessor x is cross\nf -> x.a\namp a is twin\nspeaker h is wide\n"
    "x.1 { from a; LOW }\nx.2 { from a; HIGH }\nx.1 -> a.1 -> h.low\nx.2 -> a.2 -> h.high\n"
    "stock speaker wide {\n  low { impedance 8 ohm; band 60 Hz to 18 kHz }\n  high { impedance 8 ohm; BAND }\n}\n"
)


def ways(low: str, high: str, band: str = "band 60 Hz to 18 kHz") -> str:
    return _WAYS.replace("LOW", low).replace("HIGH", high).replace("BAND", band)


_LOW, _HIGH = "low-pass 700 Hz {0}", "high-pass <x> Hz {0}"
_KINDS = ("24 dB/octave linkwitz-riley", "24 dB/octave butterworth", "12 dB/octave linkwitz-riley")
_POWER = (
    "feed f { level LEVEL; peak PEAK }\namp a is twin { attenuator <x> dB }\nspeaker b is firm\nspare a.2\n"
    "f -> a.1 -> lead 2.5 mm2 9 m -> b\nstock speaker firm { impedance 8 ohm; rated RATED }\n"
)


def power(level: str, peak: str, rated: str) -> str:
    return _POWER.replace("LEVEL", level).replace("PEAK", peak).replace("RATED", rated)


_UNEVEN = (
    "feed f { level -20 dBu; peak -10 dBu }\namp a is twin { attenuator <x> dB }\n"
    "amp b is twin { attenuator -9.37 dB }\nspeaker s[1..2] is box\nspare a.2, b.2\ngroup all: s[*]\n"
    "f -> a.1 -> lead 2.5 mm2 3.7 m -> s[1]\nf -> b.1 -> lead 2.5 mm2 8.9 m -> s[2]\n"
)
_LINE = (
    "feed f { level -20 dBu; peak -10 dBu; band 200 Hz to 8 kHz }\namp a is street\nspeaker h is odd { tap <x> W }\n"
    "f -> a.1 -> lead 2.5 mm2 9 m -> h\nspare a.2\n"
    "stock speaker odd { taps <x> W at 100 V; band 200 Hz to 8 kHz }\n"
)
_LOADED = (
    "feed f { level -20 dBu; peak -10 dBu; source 333 ohm }\nspeaker s is heavy\nf -> s\n"
    "stock speaker heavy { powered; input <x> ohm }\n"
)
_GENERATOR = (
    'rig "r" { mains 230 V 50 Hz }\nfeed f { level 4 dBu }\nspeaker s is loud\nf -> s\n'
    "mains g { generator <x> VA; supply 230 V; breaker 63 A C; residual 30 mA }\ng -> lead 16 mm2 2 m -> s\n"
    "stock speaker loud { powered; draw 3337 VA; mains 230 V }\n"
)
_HERTZ = r"the high-pass(?: of \S+)? to ([\d.]+ k?Hz)"
_LOW_HERTZ = r"low-pass(?: of \S+)? to ([\d.]+ k?Hz)"

CASES = [
    *(
        Case("band-gap", ways(_LOW.format(kind), _HIGH.format(kind)), (1250, 1333, 1400), _HERTZ, 1.02)
        for kind in _KINDS
    ),
    *(
        Case(
            "band-gap",
            ways(f"low-pass <x> Hz {kind}", f"high-pass 1777 Hz {kind}"),
            (900, 977, 1011),
            _LOW_HERTZ,
            0.98,
        )
        for kind in _KINDS
    ),
    Case(
        "band-overlap",
        ways("low-pass 977 Hz 18 dB/octave butterworth; inverted", "high-pass <x> Hz 18 dB/octave butterworth"),
        (391, 333),
        _HERTZ,
        0.98,
    ),
    Case(
        "band-overlap",
        ways("low-pass <x> Hz 18 dB/octave butterworth; inverted", "high-pass 444.4 Hz 18 dB/octave butterworth"),
        (977, 1111),
        _LOW_HERTZ,
        1.02,
    ),
    *(
        Case(
            "crossover-null", ways(f"low-pass <x> Hz {kind}", f"high-pass 333 Hz {kind}"), (1011, 1777), _LOW_HERTZ, 2.7
        )
        for kind in _KINDS[:2]
    ),
    *(
        Case("crossover-null", ways(f"low-pass 1999 Hz {kind}", f"high-pass <x> Hz {kind}"), (311, 444), _HERTZ, 0.37)
        for kind in _KINDS[:2]
    ),
    Case(
        "high-pass-weak",
        ways("low-pass 1.2 kHz", "high-pass <x> Hz 12 dB/octave butterworth", "band 1234 Hz to 18 kHz"),
        (640, 700, 777),
        r"corner to ([\d.]+ k?Hz) or higher",
        0.99,
    ),
    *(
        Case("box-over-continuous", power(level, "19 dBu", rated), (0, -0.11, -0.31), r"down by ([\d.]+ dB)", 0.1, -1)
        for level in ("4 dBu", "12.3 dBu")
        for rated in ("211 W continuous, 9000 W peak", "211 W ± 10 % continuous, 9000 W peak")
    ),
    *(
        Case("box-over-peak", power("-20 dBu", peak, rated), (0, -0.11, -0.31), r"down by ([\d.]+ dB)", 0.1, -1)
        for peak in ("3.3 dBu", "12.3 dBu")
        for rated in ("211 W continuous, 444 W peak", "211 W continuous, 444 W ± 10 % peak")
    ),
    Case("group-uneven", _UNEVEN, (0, -1.11, -3.33), r"down by ([\d.]+ dB) or more", 0.1, -1),
    Case("line-full", _LINE, (201, 211.1, 233.3), r"set lower taps, ([\d.]+ W) less", 1, -1),
    Case("output-loaded", _LOADED, (2777, 2999, 3111), r"a load of at least ([\d.]+ k?ohm)", 0.98),
    Case("output-loaded-down", _LOADED, (99, 222), r"a load of at least ([\d.]+ k?ohm)", 0.5),
    Case("generator-small", _GENERATOR, (3000, 3111), r"a generator of ([\d.]+ k?VA) or more", 0.69),
    Case("generator-tight", _GENERATOR, (3777, 4111), r"a generator of ([\d.]+ k?VA) or more", 0.99),
]

ELSEWHERE = {
    "lead-too-short": "test_typed_cures",
    "impedance-below-rated": "test_impedance_cures",
    "least-load-low": "test_impedance_cures",
    "limiter-high": "test_limiter_cures",
    "limiter-idle": "test_limiter_cures",
    "lead-loss-high": "test_cures",
    "damping-low": "outside/test_leads_of_rigs",
    "stage-clips": "test_level_cures",
    "input-overdriven": "test_level_cures",
    "amp-clips": "test_level_cures",
    "headroom-short": "test_level_cures",
    "breaker-order": "no boundary of its own: the next rating of a breaker",
    "mains-lead-thin": "test_mains_cures",
    "mains-drop-high": "test_mains_cures",
}
_BOUNDARY = re.compile(r"\d \S+ or (lower|higher|less|more|thicker)\b|at least \d|at most \d|stands \d")


def found(case: Case, rig: str, figure: float) -> list[Finding]:
    report = check_text(rig.replace("<x>", f"{figure:.6g}") + EXAMPLE_STOCK)
    return [finding for finding in report.findings if finding.rule == case.rule]


def each_try() -> Iterator[object]:
    for case in CASES:
        for figure in case.tried:
            yield pytest.param(case, figure, id=f"{case.rule} {figure:g}")


@pytest.mark.parametrize(("case", "figure"), list(each_try()))
def test_a_boundary_clears_as_it_is_written_and_a_little_less_does_not(case: Case, figure: float) -> None:
    findings = found(case, case.rig, figure)
    assert findings, "the case must provoke its rule"
    said = re.search(case.says, findings[0].help)
    assert said, findings[0].help
    number, _, unit = next(text for text in said.groups() if text).partition(" ")
    named = quantity(float(number), unit).value
    there = figure + case.turned * named if case.turned else named
    almost = there - case.turned * case.before if case.turned else named * case.before
    assert not found(case, case.rig, there), findings[0].help
    assert found(case, case.rig, almost), findings[0].help


def test_every_rule_that_names_a_boundary_is_tried() -> None:
    tried = {case.rule for case in CASES} | ELSEWHERE.keys()
    names = {
        rule.name
        for rule in RULES.values()
        if rule.name not in FOUND_AT_THE_EDGE
        for finding in check_example(rule.bad).findings
        if finding.rule == rule.name and _BOUNDARY.search(finding.help)
    }
    assert names, "the pattern must find some"
    assert sorted(names - tried) == []


_TAPPED = (
    "feed f { level -20 dBu; peak -10 dBu; band 200 Hz to 8 kHz }\namp a is AMP\nspare a.2\n"
    "speaker h[1..3] is odd { tap <x> W }\nf -> a.1 -> lead 2.5 mm2 9 m -> h[1..3] linked 2.5 mm2 9 m\n"
    "stock speaker odd { taps <x> W at 100 V; band 200 Hz to 8 kHz }\n"
    "stock amp lower { channels 2; line 70.7 V; rated 240 W at 70.7 V; gain 38 dB; input 20 kohm }\n"
)
_LEAKING = (
    'rig "r" { mains 230 V 50 Hz }\nfeed f { level 4 dBu }\nspeaker s[1..3] is loud\neach f -> s[1..3]\n'
    "mains m { supply 230 V; breaker 16 A C; residual RESIDUAL }\neach m -> s[1..3]\n"
    "stock speaker loud { powered; draw 100 VA; mains 230 V; leakage <x> mA }\n"
)


@pytest.mark.parametrize(
    ("rule", "rig", "keeps", "says"),
    [
        # Three taps take 240 W of a 100 V line at 80 W each; on one of 70.7 V each takes half of what it says.
        ("load-too-low", _TAPPED.replace("AMP", "street"), (79.9, 80), (80.1, "takes 240.3 W, more than the 240 W")),
        ("load-too-low", _TAPPED.replace("AMP", "lower"), (159.9, 160), (160.2, "takes 240.3 W, more than the 240 W")),
        # 30 % of 30 mA and of 100 mA: three leak 3 mA and 10 mA each.
        ("leakage-high", _LEAKING.replace("RESIDUAL", "30 mA"), (2.99, 3), (3.01, "has too little left for a fault")),
        ("leakage-high", _LEAKING.replace("RESIDUAL", "100 mA"), (9.97, 10), (10.1, "has too little left for a fault")),
    ],
    ids=["a line of 100 V", "a line of 70.7 V", "30 mA", "100 mA"],
)
def test_a_limit_is_kept_at_it_and_broken_just_above(
    rule: str, rig: str, keeps: tuple[float, float], says: tuple[float, str]
) -> None:
    for figure in keeps:
        assert not found(Case(rule, rig, (), "", 1), rig, figure), figure
    (finding,) = found(Case(rule, rig, (), "", 1), rig, says[0])
    assert says[1] in finding.message


@pytest.mark.parametrize(
    ("leakage", "says"), [(4.99, "too little left"), (5, "too little left"), (5.01, "may trip at any moment")]
)
def test_a_residual_device_may_trip_above_half_of_its_rating(leakage: float, says: str) -> None:
    (finding,) = found(Case("leakage-high", "", (), "", 1), _LEAKING.replace("RESIDUAL", "30 mA"), leakage)
    assert says in finding.message
