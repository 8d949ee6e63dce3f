"""Every figure of a rig: loads, outputs, leads, levels, bands, limiters, lines, impedance and mains."""

from rigspec.figures.rated import judged, line_volt, rated_points
from rigspec.figures.values import BoxFigures, ChannelFigures, LeadFigures
from rigspec.figures.whole import Figures, figures

__all__ = [
    "BoxFigures",
    "ChannelFigures",
    "Figures",
    "LeadFigures",
    "figures",
    "judged",
    "line_volt",
    "rated_points",
]
