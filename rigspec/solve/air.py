"""What air does to sound: how fast it goes, and what it loses on its way, by ISO 9613-1 at 101.325 kPa."""

from __future__ import annotations

from functools import lru_cache
from math import exp, sqrt

from attrs import frozen

from rigspec.solve.conductor import ZERO_C_KELVIN
from rigspec.text.value import Content

SOUND_M_PER_S = 343.2  # at 20 degC
_REFERENCE_KELVIN = 293.15
_TRIPLE_POINT_KELVIN = 273.16


@frozen(eq=False, repr=False)
class Air(Content):
    """The air between loudspeakers and ears."""

    air_c: float = 20.0
    humidity_percent: float = 50.0


def sound_m_per_s(air_c: float) -> float:
    """The speed of sound in air (ISO 9613-1); humidity adds 0.6 % at most, at 40 degC, and is left out."""
    return SOUND_M_PER_S * sqrt((air_c + ZERO_C_KELVIN) / _REFERENCE_KELVIN)


@lru_cache(maxsize=256)
def loss_db_per_m(air: Air, hz: float) -> float:
    """What air takes from a tone on each metre (ISO 9613-1, from 50 Hz; taken for less too, where it is next to 0)."""
    kelvin = air.air_c + ZERO_C_KELVIN
    warm = kelvin / _REFERENCE_KELVIN
    saturated = 10 ** (-6.8346 * (_TRIPLE_POINT_KELVIN / kelvin) ** 1.261 + 4.6151)
    water = air.humidity_percent * saturated  # molar concentration in percent
    oxygen_hz = 24 + 4.04e4 * water * (0.02 + water) / (0.391 + water)
    nitrogen_hz = warm**-0.5 * (9 + 280 * water * exp(-4.170 * (warm ** (-1 / 3) - 1)))
    relaxing = 0.01275 * exp(-2239.1 / kelvin) / (oxygen_hz + hz**2 / oxygen_hz)
    relaxing += 0.1068 * exp(-3352 / kelvin) / (nitrogen_hz + hz**2 / nitrogen_hz)
    return float(8.686 * hz**2 * (1.84e-11 * sqrt(warm) + warm**-2.5 * relaxing))
