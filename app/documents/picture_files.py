"""Pictures as SVG files for papers: ink on white, drawn from the places of app/rules/pictures.py."""

from xml.etree import ElementTree

from app.rules.pictures import Drawing, Picture

_INK, _SOFT, _LINE, _PASS, _FAIL = "#1f1c18", "#544d43", "#d8cfbf", "#163b78", "#c63d14"
_FONT = {"font-family": "Inter", "font-size": "11"}


def svg_from(picture: Picture, width: int) -> str:
    """Draw one picture; the words beside the marks are in it, the sentence is not."""
    drawing = picture.drawn(width)
    root = ElementTree.Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "viewBox": f"0 0 {drawing.width} {drawing.height}",
            "width": str(drawing.width),
            "height": str(drawing.height),
        },
    )
    (_rows if drawing.rows else _columns)(root, drawing)
    return ElementTree.tostring(root, encoding="unicode")


def _rows(root: ElementTree.Element, drawing: Drawing) -> None:
    for x, word in drawing.across:
        for placed in drawing.rows:
            _line(root, x, placed.y - 7, x, placed.y + 8, _LINE, "0.7")
        _word(root, x, drawing.height - 6, word, _end_of(x, drawing.width), _SOFT)
    for placed in drawing.rows:
        _word(root, 8, placed.y - 12, placed.row.name, "start", _INK)
        _word(root, drawing.width - 8, placed.y - 12, placed.row.word, "end", _SOFT)
        _line(root, placed.low_x, placed.y, placed.high_x, placed.y, _INK, "1.5")
        for x in (placed.low_x, placed.high_x):
            _line(root, x, placed.y - 4, x, placed.y + 4, _INK, "1.5")
        ElementTree.SubElement(root, "circle", {"cx": str(placed.x), "cy": str(placed.y), "r": "4.5", "fill": _PASS})


def _columns(root: ElementTree.Element, drawing: Drawing) -> None:
    for y, word in drawing.up:
        _line(root, 46, y, drawing.width - 8, y, _LINE, "0.7")
        _word(root, 40, y + 4, word, "end", _SOFT)
    for bar in drawing.bars:
        place = {"x": str(bar.x), "y": str(bar.y), "width": str(bar.width), "height": str(bar.height)}
        drawn = {"fill": "#ffffff", "stroke": _FAIL if bar.late else _PASS, "stroke-width": "1.2"}
        ElementTree.SubElement(root, "rect", place | (drawn if bar.late or bar.series else {"fill": _PASS}))
    for x, word in drawing.across:
        _word(root, x, drawing.height - 6, word, "middle", _SOFT)


def _line(root: ElementTree.Element, x1: int, y1: int, x2: int, y2: int, colour: str, width: str) -> None:
    ends = {"x1": str(x1), "y1": str(y1), "x2": str(x2), "y2": str(y2)}
    ElementTree.SubElement(root, "line", ends | {"stroke": colour, "stroke-width": width})


def _word(root: ElementTree.Element, x: int, y: int, text: str, anchor: str, colour: str) -> None:
    element = ElementTree.SubElement(
        root, "text", {"x": str(x), "y": str(y), "text-anchor": anchor, "fill": colour} | _FONT
    )
    element.text = text


def _end_of(x: int, width: int) -> str:
    return "start" if x < 20 else "end" if x > width - 20 else "middle"
