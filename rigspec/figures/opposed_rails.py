"""The supplies that fit what is said of one: as it is described, or as its ratings show it, and how far they differ.

What a data sheet leaves open widens the range: which share of the source's resistance both rails have in common, the
tolerances of what is given, and that two supplies may show the same ratings.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache

from attrs import evolve, frozen

from rigspec.figures.supply import SupplyFacts
from rigspec.rig.model import Measure
from rigspec.solve.rails import Mains, peak_volt
from rigspec.solve.supply import LEAST_X, SupplyDraw
from rigspec.solve.supply_fit import Rating, described, fitted, losing, slack_volt
from rigspec.solve.supply_hits import Burst, Hit, hit_peak_volt
from rigspec.text.value import Value

USUAL_SHARE = 0.5
"""Half of the copper in the primary winding, half in the secondary (common practice, no source)."""
_OTHER_SHARES = (0.0, 0.75, 1.0)
_DESCRIBED, _RATED, _LESS_TRIED = 0.015, 0.02, 0.025
"""How far a gain lay at most from a circuit simulation of the same supply, rounded up.

The last goes for small reservoirs, and for half bridges, of which fewer were simulated."""
_FITS = 0.005  # of the peak: a rating that is kept to one percent of its power
_KEPT = 4096
_NOTHING, _LEAST_VOLT = 1e-9, 1.0
COMMON = "half of its source is taken as common to both rails: no `common` is given; the range holds every share"
LEAKAGE = "the leakage reactance of its transformer is taken as 0.3 of the resistance of its source"


@frozen(eq=False, repr=False)
class Swings(Value):
    """The highest peaks in phase and opposed, and the gain as a share with the ends that all supplies that fit give."""

    in_phase_volt: float
    opposed_volt: float
    gain: float
    low: float
    high: float


@frozen(eq=False, repr=False)
class SupplyModel(Value):
    """The supply that is simulated, and others by what leaves them open: each of ``others`` goes for itself."""

    mains: Mains
    others: tuple[tuple[Mains, ...], ...]
    from_rating: bool
    assumes: tuple[str, ...]

    def points(self, x: float) -> float:
        """How far a simulated gain may lie off, as a share of the power."""
        if x < LEAST_X or self.mains.half_bridge:
            return _LESS_TRIED
        return _RATED if self.from_rating else _DESCRIBED

    def swings(self, draw: SupplyDraw, signal: float | Hit | Burst) -> Swings:
        """What a tone, a hit or a burst reaches."""
        in_phase, opposed = _peaks(self.mains, draw, signal)
        gain = (opposed / in_phase) ** 2 - 1
        low = high = gain
        for some in self.others:
            gains = [gain, *(_gain(each, draw, signal, (in_phase, opposed)) for each in some)]
            low, high = low + min(gains) - gain, high + max(gains) - gain
        return Swings(in_phase, opposed, gain, low, high)

    def collapses(self, found: Swings) -> bool:
        """Are these loads so low, or is the source so soft, that no amplifier is made so?"""
        return found.in_phase_volt < max(self.mains.emf_volt / 3, _LEAST_VOLT)

    def with_reservoir(self, times: float) -> SupplyModel:
        """The same supply, and no other, with so many times the reservoir."""
        return evolve(self, mains=evolve(self.mains, farad=self.mains.farad * times), others=())


def as_described(supply: SupplyFacts, rating: Rating | None, mains_hz: float) -> SupplyModel:
    """The supply with its rail and its resistance; what its stages lose of the rail is what its rating leaves."""
    assert supply.rail is not None
    assert supply.ohm is not None
    assert supply.farad is not None
    rail, ohm, farad = supply.rail.value, supply.ohm.value, supply.farad.value
    usual = described(rail, ohm, farad, mains_hz, supply.stage == "half-bridge")
    model, assumes = usual, []
    if rating is not None:
        losing_so = losing(usual, rating)
        if 0 <= losing_so.lost_volt <= rail / 2:
            model = losing_so
        else:
            assumes.append(
                f"the rails as described do not fit {rating.driven_watt:.4g} W with all driven at"
                f" {rating.load_ohm:g} ohm: {usual.lost_volt:g} V of the rail are taken as lost in the stage"
            )
    else:
        assumes.append(f"{usual.lost_volt:g} V of the rail are taken as lost in the output stage")
    others = [
        tuple(evolve(model, farad=each) for each in _ends(supply.farad)),
        tuple(evolve(model, ohm=each) for each in _ends(supply.ohm)),
    ]
    return _model(model, others, supply, from_rating=False, assumes=assumes)


def as_rated(supply: SupplyFacts, rating: Rating, mains_hz: float) -> SupplyModel:
    """The supply that gives its ratings; another that gives them too, where there is one, widens the range."""
    assert supply.farad is not None
    returns = supply.stage == "half-bridge"
    found = _fitted(rating, supply.farad.value, mains_hz, returns)
    at_ends = [_fitted(rating, farad, mains_hz, returns)[0] for farad in _ends(supply.farad)]
    off = abs(slack_volt(found[0], rating, 1)) / rating.alone_volt
    assumes = []
    if off > _FITS:
        assumes.append(
            f"no supply of this sort gives {rating.alone_watt:.4g} W alone and {rating.driven_watt:.4g} W with all"
            f" driven on {supply.farad.text}: the nearest is taken"
        )
    return _model(found[0], [found[1:], tuple(at_ends)], supply, from_rating=True, assumes=assumes)


def _model(
    mains: Mains,
    others: Iterable[tuple[Mains, ...]],
    supply: SupplyFacts,
    *,
    from_rating: bool,
    assumes: Iterable[str],
) -> SupplyModel:
    """With the share of its resistance that both rails have in common: as said, or the usual one and all others."""
    said = supply.common
    share = USUAL_SHARE if said is None else said.value
    ends = _OTHER_SHARES if said is None else _ends(said)
    open_share = "" if said else COMMON
    shares = tuple(evolve(mains, common_share=each) for each in ends)
    at_share = tuple(tuple(evolve(each, common_share=share) for each in some) for some in others if some)
    texts = tuple(text for text in (*assumes, open_share, LEAKAGE) if text)
    others = (shares, *at_share) if shares else at_share
    return SupplyModel(evolve(mains, common_share=share), others, from_rating, texts)


def _ends(measure: Measure) -> tuple[float, ...]:
    return tuple(sorted({measure.low, measure.high} - {measure.value}))


# What a supply gives is a matter of its figures alone; it is kept while an editor asks at every key.
_fitted = lru_cache(maxsize=_KEPT)(fitted)


@lru_cache(maxsize=_KEPT)
def _peaks(mains: Mains, draw: SupplyDraw, signal: float | Hit | Burst) -> tuple[float, float]:
    return _peak(mains, draw.in_phase, signal), _peak(mains, draw, signal)


@lru_cache(maxsize=_KEPT)
def _gain(mains: Mains, draw: SupplyDraw, signal: float | Hit | Burst, near: tuple[float, float]) -> float:
    """The gain of a supply that is not far from one whose peaks are known."""
    in_phase, opposed = _peak(mains, draw.in_phase, signal, near[0]), _peak(mains, draw, signal, near[1])
    return (opposed / in_phase) ** 2 - 1


def _peak(mains: Mains, draw: SupplyDraw, signal: float | Hit | Burst, like: float | None = None) -> float:
    """More than nothing in any case, so that a gain can be told; rails that collapse are refused by their peak."""
    if isinstance(signal, Hit | Burst):
        return max(hit_peak_volt(mains, draw, signal, like), _NOTHING)
    return max(peak_volt(mains, draw, signal, like), _NOTHING)
