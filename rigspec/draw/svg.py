"""A drawing as SVG: text that can be selected and searched, no script, and nothing from outside the file."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape
from typing import TYPE_CHECKING, Any

from rigspec.draw.letters import FAMILY
from rigspec.draw.marks import FILLS, LINES, PX_PER_MM, Drawing, Group, Mark, Outline, Round, Shape, Stroke, Words
from rigspec.draw.shapes import head
from rigspec.show.cells import prose

if TYPE_CHECKING:
    import svg


def svg_text(drawing: Drawing) -> str:
    """The file, which is the same for the same drawing; raises ModuleNotFoundError where the library is not there."""
    import svg

    whole = svg.SVG(
        width=svg.Length(round(drawing.width / PX_PER_MM, 3), "mm"),
        height=svg.Length(round(drawing.height / PX_PER_MM, 3), "mm"),
        viewBox=svg.ViewBoxSpec(0, 0, _short(drawing.width), _short(drawing.height)),
        extra={"role": "img", "font-family": FAMILY},
        elements=[
            svg.Title(text=_safe(drawing.title)),
            svg.Desc(text=_safe(drawing.description)),
            svg.Rect(x=0, y=0, width=_short(drawing.width), height=_short(drawing.height), fill=FILLS["paper"]),
            *_elements(drawing.marks),
        ],
    )
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{whole.as_str()}\n'


def _safe(text: str) -> str:
    """Text as the file may hold it; the library writes what it is given as it is."""
    return escape(prose(text), quote=True)


def _short(number: float) -> float:
    """Hundredths of a pixel are enough, and the same on every machine; whole ones stand without a point."""
    short = round(number, 2)
    return int(short) if short == int(short) else short


def _elements(marks: Iterable[Mark]) -> list[svg.Element]:
    return [element for mark in marks for element in _element(mark)]


def _element(mark: Mark) -> list[svg.Element]:
    import svg

    match mark:
        case Group():
            title = [svg.Title(text=_safe(mark.title))] if mark.title else []
            data: dict[str, Any] | None = {"part": _safe(mark.name)} if mark.name else None
            return [svg.G(data=data, elements=[*title, *_elements(mark.marks)])]
        case Words():
            return [_words(mark)]
        case Stroke():
            return _stroke(mark)
        case Outline():
            look = _look(mark) | ({"rx": _short(mark.round)} if mark.round else {})
            x, y, width, height = map(_short, (mark.x, mark.y, mark.width, mark.height))
            return [svg.Rect(x=x, y=y, width=width, height=height, **look)]
        case Shape():
            return [svg.Polygon(points=_points(mark.points), stroke_linejoin="round", **_look(mark))]
        case Round():
            return [svg.Circle(cx=_short(mark.x), cy=_short(mark.y), r=_short(mark.radius), **_look(mark))]


def _words(mark: Words) -> svg.Element:
    import svg

    return svg.Text(
        x=_short(mark.x),
        y=_short(mark.y),
        font_size=_short(mark.size),
        text_anchor=None if mark.anchor == "start" else mark.anchor,
        font_weight="bold" if mark.strong else None,
        fill=LINES[mark.level],
        text=_safe(mark.text),
    )


def _stroke(mark: Stroke) -> list[svg.Element]:
    import svg

    line = svg.Polyline(
        points=_points(mark.points),
        fill="none",
        stroke=LINES[mark.level],
        stroke_width=_short(mark.width),
        stroke_dasharray=list(map(_short, mark.dash)) or None,
        stroke_linejoin="round",
    )
    corners = head(mark)
    return [line, svg.Polygon(points=_points(corners), fill=LINES[mark.level])] if corners else [line]


def _look(mark: Outline | Shape | Round) -> dict[str, Any]:
    """How an area is filled and bordered."""
    look: dict[str, Any] = {"fill": FILLS[mark.fill]}
    if mark.thick:
        look |= {"stroke": LINES[mark.level], "stroke_width": _short(mark.thick)}
        if mark.dash:
            look["stroke_dasharray"] = list(map(_short, mark.dash))
    return look


def _points(points: Iterable[tuple[float, float]]) -> list[Any]:
    return [_short(each) for point in points for each in point]
