"""Resistance of one conductor: metric sizes, American gauges, stranding and temperature.

Resistance is given for one conductor; a lead has two of them in series, so its loop has twice as much.
"""

from math import isclose, pi

from attrs import frozen

from rigspec.text.value import Content

COPPER_OHM_MM2_PER_M = 1 / 58
"""Resistivity of annealed copper at 20 degC (IEC 60028)."""

COPPER_PER_KELVIN = 0.00393
"""Rise of that resistance with temperature, from its value at 20 degC (IEC 60028)."""

ZERO_C_KELVIN = 273.15
"""0 degC."""

# Greatest DC resistance at 20 degC in ohm/km by size in mm2: IEC 60228, as public pages reproduce its tables.
CLASS_5_PLAIN = {
    0.5: 39.0,
    0.75: 26.0,
    1: 19.5,
    1.5: 13.3,
    2.5: 7.98,
    4: 4.95,
    6: 3.30,
    10: 1.91,
    16: 1.21,
    25: 0.780,
    35: 0.554,
    50: 0.386,
    70: 0.272,
    95: 0.206,
    120: 0.161,
}
CLASS_5_TINNED = {
    0.5: 40.1,
    0.75: 26.7,
    1: 20.0,
    1.5: 13.7,
    2.5: 8.21,
    4: 5.09,
    6: 3.39,
    10: 1.95,
    16: 1.24,
    25: 0.795,
    35: 0.565,
    50: 0.393,
    70: 0.277,
    95: 0.210,
    120: 0.164,
}
CLASS_1_PLAIN = {
    0.5: 36.0,
    0.75: 24.5,
    1: 18.1,
    1.5: 12.1,
    2.5: 7.41,
    4: 4.61,
    6: 3.08,
    10: 1.83,
    16: 1.15,
    25: 0.727,
    35: 0.524,
    50: 0.387,
    70: 0.268,
    95: 0.193,
    120: 0.153,
}
# Class 1 has metal-coated wire up to 16 mm2 only.
CLASS_1_TINNED = {0.5: 36.7, 0.75: 24.8, 1: 18.2, 1.5: 12.2, 2.5: 7.56, 4: 4.70, 6: 3.11, 10: 1.84, 16: 1.16}

THICKEST_PROPOSED_MM2 = 16  # thicker leads are made for distribution, and no plug of a stage takes them
METRIC_SIZES_MM2 = tuple(size for size in CLASS_5_PLAIN if size <= THICKEST_PROPOSED_MM2)
THICKEST_GAUGE = -3  # 4/0 AWG

# The most by which the tables above exceed resistivity over area, rounded up: for sizes that they do not list.
FLEXIBLE_OVER_COPPER = 1.16
SOLID_OVER_COPPER = 1.13
# About the most by which tinned exceeds plain in the class 5 tables: for wire that has no tinned table.
TINNED_OVER_PLAIN = 1.03
# Stranded over solid wire of one gauge; NEC chapter 9 table 8 has 2.0 to 2.6 percent, by size.
STRANDED_GAUGE_OVER_SOLID = 1.02


@frozen(eq=False, repr=False)
class ConductorResistance(Content):
    """Resistance of one conductor per metre, where the figure is from, and what was taken for granted."""

    ohm_per_m: float
    source: str
    assumes: tuple[str, ...]


def awg_area_mm2(awg: float) -> float:
    """Cross-section in mm2 of a gauge (ASTM B258); 1/0, 2/0, 3/0 and 4/0 AWG are 0, -1, -2 and -3."""
    diameter_mm = 0.127 * 92 ** ((36 - awg) / 39)
    return float(pi * diameter_mm**2 / 4)


def conductor_ohm_per_m(
    *,
    area_mm2: float | None = None,
    awg: float | None = None,
    solid: bool = False,
    tinned: bool = False,
    temperature_c: float = 20.0,
) -> ConductorResistance:
    """Resistance of one copper conductor, at direct current, of a size in mm2 or in AWG.

    Wire is stranded (in mm2: flexible, class 5) unless ``solid``. ValueError unless there is exactly one size and it is
    a possible one. Sources: IEC 60228 for sizes in mm2, ASTM B258 with IEC 60028 for AWG, IEC 60028 for temperature.
    """
    if (area_mm2 is None) == (awg is None):
        raise ValueError("a conductor has one size: either area_mm2 or awg")
    if awg is not None:
        cold = _gauge(awg, solid, tinned)
    else:
        assert area_mm2 is not None  # one of them is given, seen above
        cold = _metric(area_mm2, solid, tinned)
    return _at_temperature(cold, temperature_c)


def warm_ohm(cold_ohm: float, temperature_c: float) -> float:
    """A resistance of copper at 20 degC as it is at another temperature (IEC 60028)."""
    return cold_ohm * (1 + COPPER_PER_KELVIN * (temperature_c - 20))


def warmed_c(ampere: float, capacity_ampere: float, air_c: float, hottest_c: float) -> float:
    """The temperature that copper reaches with a current flowing for ever, in degC.

    ``capacity_ampere`` is the current at which it reaches ``hottest_c`` in this air. Heat goes with the square of the
    current and the rise of temperature with the heat (circuit theory; the law behind IEC 60364-5-52 table B.52.14).
    """
    return air_c + (hottest_c - air_c) * (ampere / capacity_ampere) ** 2


def next_size_up(*, area_mm2: float | None = None, awg: float | None = None) -> float | None:
    """The next thicker size that is commonly sold, in the measure of the size given; None above the thickest.

    In mm2 the sizes of the IEC 60228 table; in AWG the even gauges, then 1/0 (0) to 4/0 (-3).
    """
    if (area_mm2 is None) == (awg is None):
        raise ValueError("a conductor has one size: either area_mm2 or awg")
    if area_mm2 is not None:
        return next((float(size) for size in METRIC_SIZES_MM2 if size > area_mm2 * (1 + 1e-9)), None)
    assert awg is not None  # one of them is given, seen above
    gauges = (*range(40, -1, -2), *range(-1, THICKEST_GAUGE - 1, -1))
    return next((float(gauge) for gauge in gauges if gauge < awg), None)


def _gauge(awg: float, solid: bool, tinned: bool) -> ConductorResistance:
    if awg < THICKEST_GAUGE:
        raise ValueError(f"no gauge is thicker than 4/0 AWG: {awg}")
    ohm_per_m = COPPER_OHM_MM2_PER_M / awg_area_mm2(awg)
    assumes = []
    if not solid:
        ohm_per_m *= STRANDED_GAUGE_OVER_SOLID
        assumes.append("stranded wire has 2 % more resistance than solid of its gauge (NEC chapter 9 table 8)")
    if tinned:
        ohm_per_m *= TINNED_OVER_PLAIN
        assumes.append("tinned wire has 3 % more resistance than plain (as in IEC 60228 class 5)")
    return ConductorResistance(ohm_per_m, "ASTM B258 gauge, IEC 60028 copper", tuple(assumes))


def _metric(area_mm2: float, solid: bool, tinned: bool) -> ConductorResistance:
    if area_mm2 <= 0:
        raise ValueError(f"a conductor's area must be positive: {area_mm2}")
    coated, plain = (CLASS_1_TINNED, CLASS_1_PLAIN) if solid else (CLASS_5_TINNED, CLASS_5_PLAIN)
    construction = "class 1" if solid else "class 5"
    assumes = []
    listed = next((size for size in plain if isclose(size, area_mm2)), None)
    tabled = tinned and listed in coated
    table = coated if tabled else plain
    if listed is not None:
        ohm_per_m = table[listed] / 1000
        source = f"IEC 60228 {construction} {'tinned' if tabled else 'plain'} copper, greatest resistance"
    else:
        factor = SOLID_OVER_COPPER if solid else FLEXIBLE_OVER_COPPER
        ohm_per_m = COPPER_OHM_MM2_PER_M / area_mm2 * factor
        source = "IEC 60028 copper"
        assumes.append(
            f"{area_mm2:g} mm2 is not in the table used (IEC 60228, 0.5 to 120 mm2): resistivity over area plus "
            f"{factor - 1:.0%}, the most that any {construction} size of it exceeds that by"
        )
    if tinned and not tabled:
        ohm_per_m *= TINNED_OVER_PLAIN
        assumes.append("tinned wire has 3 % more resistance than plain (as in IEC 60228 class 5)")
    return ConductorResistance(ohm_per_m, source, tuple(assumes))


def _at_temperature(cold: ConductorResistance, temperature_c: float) -> ConductorResistance:
    if temperature_c == 20:
        return cold
    ohm_per_m = warm_ohm(cold.ohm_per_m, temperature_c)
    source = f"{cold.source}, at {temperature_c:g} degC (IEC 60028: 0.393 % per kelvin)"
    return ConductorResistance(ohm_per_m, source, cold.assumes)
