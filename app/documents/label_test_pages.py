"""The test page of a label sheet: where each label should be, crosses at their corners, and rulers to measure by."""

from typing import Any

from app.rules.label_sheets import Feed, LabelSheetDetails, list_places

ARM_MM = 2.0
HAIR_MM, LINE_MM = 0.1, 0.2


def label_test_page_from(sheet: LabelSheetDetails) -> dict[str, Any]:
    """Give the page. It is drawn with the printer's shift in it, as labels are."""
    wide, high = (float(side) for side in sheet.page_mm)
    width, height = float(sheet.width_mm), float(sheet.height_mm)
    marks: list[dict[str, Any]] = []
    places = [(float(place.x_mm), float(place.y_mm)) for place in list_places(sheet, sheet.on_one)]
    for number, (x, y) in enumerate(places, 1):
        marks.append({"frame": "yes", "x": x, "y": y, "width": width, "height": height, "stroke": HAIR_MM})
        size = min(6.0, height / 3)
        marks.append(_text(str(number), x + 3.0, y + height / 2 + size / 3, size, 600))
    marks += _rulers(sheet, wide, high)
    for x, y in places:  # over everything else, since they are what is measured
        for across, down in ((x, y), (x + width, y), (x, y + height), (x + width, y + height)):
            marks += [_line(across - ARM_MM, down, across + ARM_MM, down, LINE_MM)]
            marks += [_line(across, down - ARM_MM, across, down + ARM_MM, LINE_MM)]
    return {
        "title": f"Test page, {sheet.name}", "width": f"{sheet.page_mm[0]:f}", "height": f"{sheet.page_mm[1]:f}",
        "pages": [[_rounded(mark) for mark in marks]],
    }  # fmt: skip


def _rulers(sheet: LabelSheetDetails, wide: float, high: float) -> list[dict[str, Any]]:
    """A ruler across and one down: through the middle of a sheet, along the edges of a single label."""
    on_sheet = sheet.feed == Feed.SHEET
    across, down = (100, 100) if on_sheet else (int(wide) - 4, int(high) - 4)
    left, top = ((wide - across) / 2, (high - down) / 2) if on_sheet else (2.0, 2.0)
    marks = [*_ruler(left, top, across, along=True), *_ruler(left, top, down, along=False)]
    if on_sheet:
        says = (
            "Print this at 100 %, without fitting to the page, on plain paper. The rulers must be 100 mm long.",
            "Then hold it with a sheet of labels against the light: frames and labels should be in one place.",
            "If all are off by as much, write that under “printer prints off by”, and print this page again.",
        )
        for row, text in enumerate(says):
            marks.append({"box": "yes", "x": left + 14, "y": top + 11.6 + row * 5, "width": 134.0, "height": 5.0})
            marks.append(_text(text, left + 15, top + 15 + row * 5, 2.7, 400))
    return marks


def _ruler(x: float, y: float, length: int, along: bool) -> list[dict[str, Any]]:
    marks = [_line(x, y, x + length, y, LINE_MM) if along else _line(x, y, x, y + length, LINE_MM)]
    for mm in range(length + 1):
        tick = 4.0 if mm % 10 == 0 else 2.8 if mm % 5 == 0 else 1.6
        marks.append(
            _line(x + mm, y, x + mm, y + tick, LINE_MM) if along else _line(x, y + mm, x + tick, y + mm, LINE_MM)
        )
        if mm and mm % 10 == 0:
            marks.append(
                _text(str(mm), x + mm - 1.4, y + 7, 2.4, 400)
                if along
                else _text(str(mm), x + 4.6, y + mm + 0.9, 2.4, 400)
            )
    return marks


def _line(x: float, y: float, to_x: float, to_y: float, stroke: float) -> dict[str, Any]:
    return {"line": "yes", "x": x, "y": y, "to_x": to_x, "to_y": to_y, "stroke": stroke}


def _text(text: str, x: float, y: float, size: float, weight: int) -> dict[str, Any]:
    return {"text": text, "x": x, "y": y, "size": size, "weight": weight}


def _rounded(mark: dict[str, Any]) -> dict[str, Any]:
    return {name: round(value, 3) if isinstance(value, float) else value for name, value in mark.items()}
