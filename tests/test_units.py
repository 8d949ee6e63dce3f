"""The units of the trade: held against pint, and shown so that people are not misled."""

import subprocess
import sys

import pint
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from rigspec.text import units
from rigspec.text.unit_table import TABLE
from rigspec.text.units import BASE_UNIT, EXAMPLES, UNITS, UnknownUnit, quantity, show, show_pair, units_of

PINT_NAME = {spelling: unit.pint for unit in UNITS for spelling in unit.spellings}
OURS_ALONE = {"gauge", "gain", "level", "sound level", "slope", "rack units", "angle"}  # pint's stock has no such kind
MAGNITUDES = st.floats(min_value=-1e9, max_value=1e9, allow_subnormal=False)


@given(number=MAGNITUDES, spelling=st.sampled_from(sorted(PINT_NAME)))
def test_every_spelling_converts_as_pint_converts(number: float, spelling: str) -> None:
    got = quantity(number, spelling)
    there = units.registry().Quantity(number, PINT_NAME[spelling]).to(units.base_in_registry(got.kind))
    assert got.value == pytest.approx(there.magnitude, rel=1e-12, abs=1e-12)


def test_our_definitions_agree_with_those_that_pint_ships() -> None:
    """An outside check of our own small definitions: pint's stock registry was written by other people."""
    stock: pint.UnitRegistry[float] = pint.UnitRegistry()
    compared = 0
    for spelling, (kind, factor, offset) in TABLE.items():
        if kind not in OURS_ALONE:
            base = units.base_in_registry(kind)
            for number in (0.0, 1.0, 14.0):
                there = stock.Quantity(number, PINT_NAME[spelling]).to(base).magnitude
                assert number * factor + offset == pytest.approx(there, rel=1e-12), spelling
            compared += 1
    assert compared > 70


@pytest.mark.parametrize(
    ("number", "unit", "kind", "value"),
    [
        (14, "degC", "temperature", 287.15),  # 0 degC is 273.15 K: SI brochure
        (50, "degF", "temperature", 283.15),
        (100, "ft", "length", 30.48),  # international yard and pound agreement, 1959
        (10, "lb", "mass", 4.5359237),  # the same
        (-10, "dBV", "level", -7.7815),  # ITU-R V.574: 0 dBV is 1 V, 0 dBu is 0.7746 V
        (2.2, "mohm", "resistance", 0.0022),
        (2.2, "Mohm", "resistance", 2.2e6),
        (4.7, "k\u2126", "resistance", 4700),  # the ohm sign
        (4.7, "k\u03a9", "resistance", 4700),  # the Greek letter
        (10, "%", "ratio", 0.1),
        (12, "AWG", "gauge", 12),
        (97, "dB  SPL", "sound level", 97),
    ],
)
def test_figures_that_are_known_elsewhere(number: float, unit: str, kind: str, value: float) -> None:
    got = quantity(number, unit)
    assert got.kind == kind
    assert got.value == pytest.approx(value, rel=1e-9, abs=5e-5 if unit == "dBV" else 0)


@pytest.mark.parametrize(("one", "other"), [("dB", "dBu"), ("dBu", "dB SPL"), ("dB SPL", "dB"), ("dB", "dB/octave")])
def test_pint_refuses_to_add_gain_level_and_sound_level(one: str, other: str) -> None:
    make = units.registry().Quantity
    with pytest.raises(pint.DimensionalityError):
        make(1, PINT_NAME[one]) + make(1, PINT_NAME[other])


def test_each_spelling_means_one_thing_and_each_kind_has_a_base_unit() -> None:
    spellings = [spelling for unit in UNITS for spelling in unit.spellings]
    assert len(spellings) == len(set(spellings))
    assert {unit.kind for unit in UNITS} | {"number"} == set(BASE_UNIT) == set(EXAMPLES)
    for kind, symbol in BASE_UNIT.items():
        if symbol:
            assert TABLE[symbol] == (kind, 1.0, 0.0)


def test_what_is_proposed_can_be_written() -> None:
    for kind in set(BASE_UNIT) - {"number"}:
        number, unit = EXAMPLES[kind].split(" ", 1)
        assert quantity(float(number), unit).kind == kind
        assert {quantity(1, spelling).kind for spelling in units_of(kind)} == {kind}
    assert units_of("number") == ()


@pytest.mark.parametrize(
    ("slip", "meant"),
    [
        ("ohms", "ohm"),
        ("KHZ", "kHz"),
        ("Watts", "W"),
        ("meter", "m"),
        ("dbu", "dBu"),
        ("mm^2", "mm2"),
        ("kOhm", "kohm"),
    ],
)
def test_an_unknown_unit_proposes_what_was_meant(slip: str, meant: str) -> None:
    with pytest.raises(UnknownUnit) as caught:
        quantity(1, slip)
    assert caught.value.unit == slip
    assert caught.value.nearest[0] == meant


def test_nothing_is_proposed_for_what_resembles_nothing() -> None:
    with pytest.raises(UnknownUnit) as caught:
        quantity(1, "zork")
    assert caught.value.nearest == ()


@pytest.mark.parametrize(
    ("value", "kind", "text"),
    [
        (2.0912, "resistance", "2.09 ohm"),
        (0.02, "resistance", "20 mohm"),
        (1225, "power", "1225 W"),
        (12_345, "power", "12.3 kW"),
        (63.2456, "voltage", "63.2 V"),
        (0.4238, "gain", "0.42 dB"),
        (-0.001, "gain", "0 dB"),
        (4, "level", "+4 dBu"),
        (0, "level", "0 dBu"),
        (-7.7815, "level", "-7.78 dBu"),
        (97.0002, "sound level", "97 dB SPL"),
        (15, "length", "15 m"),
        (287.15, "temperature", "14 degC"),
        (0.0763, "ratio", "7.63 %"),
        (12, "gauge", "12 AWG"),
        (-3, "gauge", "4/0 AWG"),
        (0.00291375, "time", "2.91 ms"),
        (25.06, "number", "25.1"),
        (float("inf"), "number", "infinite"),
    ],
)
def test_a_value_is_shown_as_the_trade_writes_it(value: float, kind: str, text: str) -> None:
    assert show(value, kind) == text


def test_a_value_is_shown_in_the_unit_that_is_asked_for() -> None:
    assert show(30.48, "length", "ft") == "100 ft"
    assert show(283.15, "temperature", "degF") == "50 degF"


@given(value=MAGNITUDES, kind=st.sampled_from(sorted(set(BASE_UNIT) - {"number", "gauge"})))
def test_what_is_shown_reads_back_as_the_value_in_ascii(value: float, kind: str) -> None:
    number, unit = show(value, kind).split(" ", 1)
    assert unit.isascii()
    back = quantity(float(number), unit)
    tolerance = max(0.00501 * abs(value), 0.00501 if "dB" in unit else 0.0, 1.4 if kind == "temperature" else 0.0)
    assert back.kind == kind
    assert abs(back.value - value) <= tolerance


@given(
    allowed=MAGNITUDES,
    step=st.one_of(st.floats(-1, 1), st.sampled_from([0.0, 1e-3, -1e-6, 1e-9, 1e-12, -2.3e-16])),
    kind=st.sampled_from(sorted(BASE_UNIT)),
)
@example(allowed=0.4746942978092303, step=1.2e-16, kind="ratio")  # the same float in percent as its neighbour
def test_values_that_differ_never_look_the_same_beside_each_other(allowed: float, step: float, kind: str) -> None:
    computed = allowed + step * abs(allowed)
    first, second = show_pair(computed, allowed, kind)
    assert (first == second) == (computed == allowed)


def test_a_pair_shows_on_which_side_of_the_limit_a_value_is() -> None:
    assert show_pair(3.9996, 4, "resistance") == ("3.9996 ohm", "4 ohm")
    assert show_pair(0.5004, 0.5, "gain") == ("0.5004 dB", "0.5 dB")
    assert show_pair(950, 1200, "frequency") == ("0.95 kHz", "1.2 kHz")
    assert show_pair(1000.00001, 1000, "frequency") == ("1.00000001 kHz", "1 kHz")


def test_converting_and_showing_do_not_load_pint() -> None:
    program = (
        "import sys; from rigspec.text.units import quantity, show; show(quantity(15, 'ft').value, 'length');"
        "sys.exit('pint' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", program], check=False).returncode == 0
