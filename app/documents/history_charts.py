"""Draws the charts of an item's history as SVG, from where rules/charts.py put the marks."""

from collections.abc import Mapping
from typing import Any
from xml.etree.ElementTree import Element, SubElement, tostring

from app.rules.chart_words import BOTTOM, LEFT, RIGHT, TOP

_SOFT, _HAIR, _LIMIT, _GOOD, _BAD = "#6b6357", "#d8cfbf", "#544d43", "#163b78", "#942709"
_FAILED = ("fail", "conditional-fail")


def chart_files_from(data: Mapping[str, Any]) -> dict[str, bytes]:
    """Give the drawings of a paper's data by the name that the data gives each; most papers have none."""
    return {chart["name"]: chart_svg_from(chart) for chart in data.get("charts", ())}


def chart_svg_from(chart: Mapping[str, Any]) -> bytes:
    """Draw one chart. A mark is a shape first: a disc where the reading passed, an open square where it failed."""
    width, height = chart["width"], chart["height"]
    svg = Element("svg", xmlns="http://www.w3.org/2000/svg", viewBox=f"0 0 {width} {height}")
    _told(svg, font_family="Inter", font_size=10.5)
    for y, word in chart["up"]:
        _add(svg, "line", x1=LEFT, y1=y, x2=width - RIGHT, y2=y, stroke=_HAIR, stroke_width=0.8)
        _add(svg, "text", x=LEFT - 8, y=y + 3.5, fill=_SOFT, text_anchor="end").text = word
    foot = height - BOTTOM
    _add(svg, "line", x1=LEFT, y1=foot, x2=width - RIGHT, y2=foot, stroke=_SOFT, stroke_width=0.8)
    last = len(chart["across"]) - 1
    for place, (x, word) in enumerate(chart["across"]):
        anchor = "middle" if not last else "start" if not place else "end" if place == last else "middle"
        _add(svg, "text", x=x, y=height - 12, fill=_SOFT, text_anchor=anchor).text = word
    if chart["limit"]:
        line = " ".join(f"{x},{y}" for x, y in chart["limit"])
        _add(svg, "polyline", points=line, fill="none", stroke=_LIMIT, stroke_width=1.4, stroke_dasharray="6 4")
        if "words" not in chart:  # a paper of before has the word at the end of its line
            y = chart["limit"][-1][1]
            under = y + 14 if y - 5 < TOP else y - 5
            _add(svg, "text", x=width - RIGHT - 4, y=under, fill=_LIMIT, text_anchor="end").text = "limit"
    for x, _ in chart.get("changes", ()):
        _add(svg, "line", x1=x, y1=TOP, x2=x, y2=foot, stroke=_SOFT, stroke_width=1)
    for mark in chart["marks"]:
        _mark(svg, mark)
    for word in chart.get("words", ()):
        put = _add(svg, "text", x=word["x"], y=word["y"], fill=_LIMIT, text_anchor=word["anchor"])
        put.text = word["text"]
    drawn: bytes = tostring(svg, encoding="utf-8")
    return drawn


def _mark(svg: Element, mark: Mapping[str, Any]) -> None:
    x, y = mark["x"], mark["y"]
    failed = mark["outcome"] in _FAILED
    colour = _BAD if failed else _GOOD
    if failed:
        _add(svg, "rect", x=x - 4, y=y - 4, width=8, height=8, fill="#ffffff", stroke=colour, stroke_width=1.8)
    else:
        _add(svg, "circle", cx=x, cy=y, r=4, fill=colour)
    if mark["bound"]:  # an arrow: more than that, or less
        way = -1 if mark["bound"] == "above" else 1
        path = f"M{x - 4} {y + way * 8} L{x} {y + way * 13} L{x + 4} {y + way * 8}"
        _add(svg, "path", d=path, fill="none", stroke=colour, stroke_width=1.4)


def _add(parent: Element, name: str, **said: float | str) -> Element:
    return _told(SubElement(parent, name), **said)


def _told(element: Element, **said: float | str) -> Element:
    """Set attributes; SVG writes with a hyphen what Python writes with an underscore."""
    for key, value in said.items():
        element.set(key.replace("_", "-"), str(value))
    return element
