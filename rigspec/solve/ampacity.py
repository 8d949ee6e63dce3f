"""What a copper conductor carries without overheating: tables of the wiring standards, never read upward.

A size that a table does not list counts as the next thinner one that it lists, an air temperature between two rows as
the warmer row. The figures are for insulation of PVC or plain rubber, the least that leads are made of.
"""

from collections.abc import Mapping
from math import isclose
from typing import TypeAlias

from attrs import frozen

from rigspec.solve.conductor import next_size_up
from rigspec.text.value import Content

Sizes: TypeAlias = Mapping[float, float]  # ampere by mm2 or by gauge

# Ampere by size in mm2 at 30 degC in air, PVC, conductor at 70 degC, copper: IEC 60364-5-52 tables B.52.2 (two loaded
# conductors) and B.52.4 (three), as public pages reproduce them. B2: a cable in conduit; C: a cable that lies open.
_SIZES_MM2 = (1.5, 2.5, 4.0, 6.0, 10.0, 16.0, 25.0, 35.0, 50.0, 70.0, 95.0, 120.0)
_B2_TWO = (16.5, 23.0, 30.0, 38.0, 52.0, 69.0, 90.0, 111.0, 133.0, 168.0, 201.0, 232.0)
_C_TWO = (19.5, 27.0, 36.0, 46.0, 63.0, 85.0, 112.0, 138.0, 168.0, 213.0, 258.0, 299.0)
_B2_THREE = (15.0, 20.0, 27.0, 34.0, 46.0, 62.0, 80.0, 99.0, 118.0, 149.0, 179.0, 206.0)
_C_THREE = (17.5, 24.0, 32.0, 41.0, 57.0, 76.0, 96.0, 119.0, 144.0, 184.0, 223.0, 259.0)
METRIC: Mapping[tuple[str, int], Sizes] = {
    ("B2", 2): dict(zip(_SIZES_MM2, _B2_TWO, strict=True)),
    ("C", 2): dict(zip(_SIZES_MM2, _C_TWO, strict=True)),
    ("B2", 3): dict(zip(_SIZES_MM2, _B2_THREE, strict=True)),
    ("C", 3): dict(zip(_SIZES_MM2, _C_THREE, strict=True)),
}

# The most current for which a flexible cord of this size serves: IEC 60335-1 table 11, as a public manual prints it.
CORDS: Sizes = {0.5: 3.0, 0.75: 6.0, 1: 10.0}

# Factor by air temperature in degC for PVC: IEC 60364-5-52 table B.52.14 (40 to 55 degC as a public page reproduces
# it, the others from memory; each is sqrt((70 - air) / 40) within 0.005).
AIR = {
    10: 1.22, 15: 1.17, 20: 1.12, 25: 1.06, 30: 1.0, 35: 0.94, 40: 0.87, 45: 0.79, 50: 0.71, 55: 0.61, 60: 0.50,
}  # fmt: skip

# Factor by number of circuits that are bunched or lie in one sheath: IEC 60364-5-52 table B.52.17 (from memory; 1 to 8
# as a public page reproduces it).
BUNCHED = {1: 1.0, 2: 0.80, 3: 0.70, 4: 0.65, 5: 0.60, 6: 0.57, 7: 0.54, 8: 0.52, 9: 0.50, 12: 0.45, 16: 0.41, 20: 0.38}

# Ampere by gauge at 30 degC, conductor at 60 degC, up to three loaded: NEC table 310.16. 14, 12 and 10 AWG are also
# the most that NEC 240.4(D) lets a breaker have on them, at any temperature.
GAUGES: Sizes = {
    14: 15, 12: 20, 10: 30, 8: 40, 6: 55, 4: 70, 3: 85, 2: 95, 1: 110, 0: 125, -1: 145, -2: 165, -3: 195,
}  # fmt: skip
SMALL_GAUGES = (14, 12, 10)

# Flexible cords by gauge: NEC table 400.5(A)(1), two loaded (as a public page reproduces it) and three (from memory).
GAUGED_CORDS: Mapping[int, Sizes] = {2: {18: 10, 17: 12, 16: 13}, 3: {18: 7, 16: 10}}

# Factor by air temperature for conductors at 60 degC: NEC table 310.15(B)(1).
AIR_GAUGES = {
    10: 1.29, 15: 1.22, 20: 1.15, 25: 1.08, 30: 1.0, 35: 0.91, 40: 0.82, 45: 0.71, 50: 0.58, 55: 0.41,
}  # fmt: skip

# Factor by number of loaded conductors in one cable: NEC table 310.15(C)(1).
LOADED_GAUGES = {3: 1.0, 6: 0.80, 9: 0.70, 20: 0.50, 30: 0.45, 40: 0.40}

METRIC_HOTTEST_C = 70.0
GAUGE_HOTTEST_C = 60.0


@frozen(eq=False, repr=False)
class Ampacity(Content):
    """The most a conductor carries all the time, how hot it is then, which table says so, and what was taken."""

    ampere: float
    hottest_c: float
    source: str
    assumes: tuple[str, ...]


def ampacity_ampere(
    *,
    area_mm2: float | None = None,
    awg: float | None = None,
    air_c: float = 30.0,
    loaded: int = 2,
    method: str = "C",
    bunched: int = 1,
) -> Ampacity | None:
    """What each conductor of a copper cable of this size carries, in ampere; None where no table reaches.

    ``loaded`` conductors (2 or 3) carry the current of each circuit: 3 for three phases. ``method`` is how a metric
    cable lies, as IEC 60364-5-52 names it: "C" open, "B2" in a conduit, trunking or ramp. ``bunched`` circuits lie in
    one sheath or bundle. ValueError unless there is exactly one size, and for another method or number of loaded ones.
    """
    if (area_mm2 is None) == (awg is None):
        raise ValueError("a conductor has one size: either area_mm2 or awg")
    if (method, loaded) not in METRIC:
        raise ValueError(f"no table for {loaded} loaded conductors by method {method}")
    if awg is not None:
        return _gauge(awg, air_c, loaded, bunched)
    assert area_mm2 is not None  # one of them is given, seen above
    return _metric(area_mm2, air_c, loaded, method, bunched)


def conductor_c(ampere: float, capacity: Ampacity, air_c: float) -> float:
    """How hot a conductor gets in the end, in degC, when it carries ``ampere`` all the time in air of ``air_c``.

    The heat I^2 R is shed in proportion to the rise over the air, and the ampacity is the current that reaches the
    hottest allowed temperature (heat balance; IEC 60287 and IEC 60364-5-52 rest on the same). Where a table is read
    in steps, or a breaker's rule holds the ampacity down (NEC 240.4(D)), the conductor stays cooler than this figure.
    """
    return air_c + max(capacity.hottest_c - air_c, 0.0) * (ampere / capacity.ampere) ** 2


def least_size(
    ampere: float,
    *,
    area_mm2: float | None = None,
    awg: float | None = None,
    air_c: float = 30.0,
    loaded: int = 2,
    method: str = "C",
    bunched: int = 1,
) -> float | None:
    """The next thicker size than this one that carries the current, in the same measure; None if no table has one.

    In mm2 up to 16, in AWG the even gauges and 1/0 (0) to 4/0 (-3), as `conductor.next_size_up` steps.
    """
    area, gauge = area_mm2, awg
    while True:
        if gauge is not None:
            gauge = next_size_up(awg=gauge)
        else:
            area = next_size_up(area_mm2=area)
        if area is None and gauge is None:
            return None
        found = ampacity_ampere(area_mm2=area, awg=gauge, air_c=air_c, loaded=loaded, method=method, bunched=bunched)
        if found is not None and found.ampere >= ampere:
            return area if gauge is None else gauge


def _metric(area_mm2: float, air_c: float, loaded: int, method: str, bunched: int) -> Ampacity | None:
    air = _row(AIR, air_c)
    together = _row(BUNCHED, bunched)
    cord = area_mm2 < 1.5 * (1 - 1e-9)
    table = CORDS if cord else METRIC[method, loaded]
    listed = max((each for each in table if each <= area_mm2 * (1 + 1e-9)), default=None)
    if listed is None or air is None or together is None or area_mm2 > 120 * (1 + 1e-9):
        return None
    assumes = []
    if cord:
        source = "IEC 60335-1 table 11, flexible cords"
        air = min(air, 1.0)  # that table knows no air temperature, so cold air adds nothing
        if air < 1:
            assumes.append("warm air counts for a cord as for PVC cable (IEC 60364-5-52 table B.52.14)")
    else:
        source = f"IEC 60364-5-52 table B.52.{2 if loaded == 2 else 4}, method {method}, copper, PVC"
        assumes.append("the cable lies open" if method == "C" else "the cable lies in a conduit or ramp")
    if not isclose(listed, area_mm2):
        assumes.append(f"{area_mm2:g} mm2 is not in the table and counts as {listed:g} mm2")
    if bunched > 1:
        assumes.append(f"all {bunched} circuits of the bunch are loaded alike (IEC 60364-5-52 table B.52.17)")
    return Ampacity(table[listed] * air * together, METRIC_HOTTEST_C, source, tuple(assumes))


def _gauge(awg: float, air_c: float, loaded: int, bunched: int) -> Ampacity | None:
    air = _row(AIR_GAUGES, air_c)
    together = _row(LOADED_GAUGES, loaded * bunched)
    cord = awg > 14
    table = GAUGED_CORDS[loaded] if cord else GAUGES
    listed = min((gauge for gauge in table if gauge >= awg - 1e-9), default=None)
    if listed is None or air is None or together is None or awg < -3:
        return None
    ampere = table[listed] * air * together
    source = "NEC table 400.5(A)(1), flexible cords" if cord else "NEC table 310.16, copper, 60 degC"
    if listed in SMALL_GAUGES:
        ampere = min(ampere, table[listed])
        source += ", and 240.4(D)"
    assumes = []
    if not isclose(listed, awg, abs_tol=1e-9):
        assumes.append(f"{awg:g} AWG is not in the table and counts as {listed:g} AWG")
    if bunched > 1:
        assumes.append(f"all {loaded * bunched} conductors of the bunch are loaded (NEC table 310.15(C)(1))")
    return Ampacity(ampere, GAUGE_HOTTEST_C, source, tuple(assumes))


def _row(table: Mapping[int, float], at: float) -> float | None:
    """The value of the first row that is not below ``at``: the cautious one in tables that fall."""
    return next((value for key, value in table.items() if key >= at - 1e-9), None)
