"""A drawing as text (SVG), by svg.py; as a picture (PNG) or for a printer (PDF), by cairosvg."""

from __future__ import annotations

from importlib import import_module
from types import ModuleType
from typing import TYPE_CHECKING

from rigspec.cli.trouble import CannotRunError

if TYPE_CHECKING:
    from rigspec.draw.marks import Drawing

PIXELS_PER_PX = 2  # 192 to the inch: sharp on screens, and on A4 good enough to print

NEEDED = ("cairosvg", "cairocffi", "cssselect2", "defusedxml", "tinycss2", "PIL")
SAID = "a drawing as PNG or PDF needs cairosvg, which is not installed: pip install 'rigspec[picture]'"
NO_CAIRO = "cairosvg is installed but finds no cairo on this machine; install it (Debian: libcairo2), or write SVG"


def svg(drawing: Drawing) -> str:
    """The drawing as SVG; raises CannotRunError where what makes it is not installed."""
    try:
        text: str = import_module("rigspec.draw.svg").svg_text(drawing)
    except ModuleNotFoundError as missing:
        if missing.name is None or missing.name.partition(".")[0] != "svg":
            raise
        raise CannotRunError("a drawing needs svg.py, which is not installed: pip install 'rigspec[draw]'") from None
    return text


def png(text: str) -> bytes:
    """The picture of an SVG; raises CannotRunError where what makes it is not installed."""
    return bytes(_cairosvg().svg2png(bytestring=text.encode("utf-8"), scale=PIXELS_PER_PX))


def pdf(text: str) -> bytes:
    """The SVG on one sheet of its own size, with text that can be searched; raises CannotRunError likewise."""
    return bytes(_cairosvg().svg2pdf(bytestring=text.encode("utf-8")))


def _cairosvg() -> ModuleType:
    try:
        return import_module("cairosvg")
    except ModuleNotFoundError as missing:
        if missing.name is None or missing.name.partition(".")[0] not in NEEDED:
            raise
        raise CannotRunError(SAID) from None
    except OSError:  # cairocffi looks for the library when it is imported
        raise CannotRunError(NO_CAIRO) from None
