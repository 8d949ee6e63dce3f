"""How loud several signals are together: what is surely in step adds by voltage, everything else by energy.

A share is one way of one feed to one place. Shares of one feed are in step where their delays differ by less than a
twelfth of a period at the top of the band that they have in common: two equal ones then lose at most 0.3 dB against
their sum (2 cos 15 degrees, wave theory). With a greater delay they comb: by energy on the whole, by voltage at the
worst tone. Feeds that belong together in a stereo pair are partly alike: by energy on the whole, by voltage where a
voice or the bass stands in the middle. In bass they are alike (common practice, no source). Feeds that have nothing to
do with each other add by energy, and their highest peaks are taken not to meet.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import inf, sqrt

from attrs import frozen

from rigspec.text.value import Content, gathered

IN_STEP = 1 / 12  # of a period
BASS_HZ = 120.0  # below it both sides of a stereo pair carry the same (common practice, no source)
TOP_HZ = 20_000.0  # of a band that nothing bounds


@frozen(eq=False, repr=False)
class Share(Content):
    """One way of a feed to a place. ``volt`` (rms) is below 0 where it arrives turned.

    ``alike`` names the set of feeds that this one may be alike with; the feed alone where there is no such set.
    ``high_hz`` is the top of the band that is left, None where nothing bounds it.
    """

    volt: float
    feed: str
    alike: str
    delay_s: float = 0.0
    high_hz: float | None = None


def together_volt(shares: Sequence[Share]) -> tuple[float, float]:
    """The voltage of several shares, on the whole and at the worst; the same where nothing is in doubt."""
    if len(shares) == 1:
        volt = abs(shares[0].volt)
        return volt, volt
    groups = gathered(shares, lambda share: share.alike)
    whole = worst = 0.0
    for group in groups.values():
        energy, high = _group(group)
        whole += energy
        worst += high * high
    return sqrt(whole), sqrt(worst)


def _group(shares: Sequence[Share]) -> tuple[float, float]:
    """The energy of shares that may be alike, and the voltage at the worst."""
    common_hz = min(TOP_HZ if share.high_hz is None else share.high_hz for share in shares)
    energy = worst = 0.0
    for slot in _slots(shares, IN_STEP / common_hz if common_hz > 0 else inf):
        volts: dict[str, float] = {}
        for share in slot:
            volts[share.feed] = volts.get(share.feed, 0.0) + share.volt
        in_step = abs(sum(volts.values()))
        apart = sum(volt * volt for volt in volts.values())
        energy += in_step * in_step if common_hz <= BASS_HZ else apart
        worst += in_step if common_hz <= BASS_HZ else max(in_step, sqrt(apart))
    return energy, worst


def _slots(shares: Iterable[Share], width_s: float) -> list[list[Share]]:
    """Shares whose delays lie within a width of the first of them."""
    slots: list[list[Share]] = []
    for share in sorted(shares, key=lambda share: share.delay_s):
        if slots and share.delay_s - slots[-1][0].delay_s <= width_s:
            slots[-1].append(share)
        else:
            slots.append([share])
    return slots
