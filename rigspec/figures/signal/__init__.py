"""What signal stands at every output and input: whose, how loud, and what it costs to drive what hangs there."""

from rigspec.figures.signal.amplifier import (
    Gain,
    amplifier_gain,
    amplifier_gain_db,
    gains_by_sensitivity,
    input_of,
    switched_input,
)
from rigspec.figures.signal.feeds import Feeds
from rigspec.figures.signal.filters import Passed, filters_set
from rigspec.figures.signal.limits import limits_said
from rigspec.figures.signal.loading import Loading
from rigspec.figures.signal.part import Contribution, Level, LimiterCeiling
from rigspec.figures.signal.signals import SignalLoop, Signals

__all__ = [
    "Contribution",
    "Feeds",
    "Gain",
    "Level",
    "LimiterCeiling",
    "Loading",
    "Passed",
    "SignalLoop",
    "Signals",
    "amplifier_gain",
    "amplifier_gain_db",
    "filters_set",
    "gains_by_sensitivity",
    "input_of",
    "limits_said",
    "switched_input",
]
