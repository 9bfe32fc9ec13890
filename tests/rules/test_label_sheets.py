"""Sheets of labels: every grid that is taken keeps its labels apart and on the paper, and every other is refused."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from app.rules.label_sheets import A4_MM, SLACK_MM, Feed, LabelSheetDetails, check_label_sheet, list_places

TENTH = Decimal("0.1")
USUAL = LabelSheetDetails(
    "Usual", Feed.SHEET, Decimal("63.5"), Decimal("33.9"), 3, 8, Decimal("7.2"), Decimal("12.9"), Decimal("2.6")
)


def tenths(least: int, most: int) -> st.SearchStrategy[Decimal]:
    return st.integers(least, most).map(lambda number: number * TENTH)


@st.composite
def grids(draw: st.DrawFn) -> LabelSheetDetails:
    """A grid that may or may not fit on A4."""
    return LabelSheetDetails(
        "Drawn", Feed.SHEET, draw(tenths(150, 1100)), draw(tenths(80, 1500)), draw(st.integers(1, 9)),
        draw(st.integers(1, 20)), draw(tenths(0, 300)), draw(tenths(0, 300)), draw(tenths(0, 60)), draw(tenths(0, 60)),
        Decimal(0),
    )  # fmt: skip


def needed(sheet: LabelSheetDetails) -> tuple[Decimal, Decimal]:
    """The right and lower edge of the last label, added up one label at a time."""
    x, y = sheet.left_mm, sheet.top_mm
    for _ in range(sheet.columns):
        x += sheet.width_mm + sheet.gap_across_mm
    for _ in range(sheet.rows):
        y += sheet.height_mm + sheet.gap_down_mm
    return x - sheet.gap_across_mm, y - sheet.gap_down_mm


@settings(max_examples=1000)
@given(sheet=grids())
def test_a_grid_is_taken_when_it_fits_and_refused_with_the_reason_when_not(sheet: LabelSheetDetails) -> None:
    """A4 is 210 mm × 297 mm (ISO 216)."""
    right, lower = needed(sheet)
    expected = {"columns"} if right > 210 + SLACK_MM else set()
    expected |= {"rows"} if lower > 297 + SLACK_MM else set()
    assert set(check_label_sheet(sheet)) == expected


@settings(max_examples=1000)
@given(sheet=grids(), data=st.data())
def test_labels_of_a_taken_grid_never_overlap_and_never_leave_the_paper(
    sheet: LabelSheetDetails, data: st.DataObject
) -> None:
    columns = int((210 - sheet.left_mm + sheet.gap_across_mm) / (sheet.width_mm + sheet.gap_across_mm))
    rows = int((297 - sheet.top_mm + sheet.gap_down_mm) / (sheet.height_mm + sheet.gap_down_mm))
    sheet = replace(sheet, columns=min(sheet.columns, columns), rows=min(sheet.rows, rows))
    assume(sheet.columns and sheet.rows)
    assert check_label_sheet(sheet) == {}
    start = data.draw(st.integers(1, sheet.on_one))
    count = sheet.on_one * 2
    places = list(list_places(sheet, count, start))
    assert len(places) == count
    assert places[0].page == 0 and places[-1].page == (start - 1 + count - 1) // sheet.on_one
    boxes: dict[int, list[tuple[Decimal, Decimal]]] = {}
    for place in places:
        boxes.setdefault(place.page, []).append((place.x_mm, place.y_mm))
    for page in boxes.values():
        for number, (x, y) in enumerate(page):
            assert x >= 0 and x + sheet.width_mm <= A4_MM[0] + SLACK_MM
            assert y >= 0 and y + sheet.height_mm <= A4_MM[1] + SLACK_MM
            for other_x, other_y in page[number + 1 :]:
                apart = abs(other_x - x) >= sheet.width_mm or abs(other_y - y) >= sheet.height_mm
                assert apart, "two labels share paper"


def test_labels_run_along_the_rows_from_the_first_free_one() -> None:
    places = list(list_places(USUAL, 3, 3))
    assert [(place.page, place.x_mm, place.y_mm) for place in places] == [
        (0, Decimal("139.4"), Decimal("12.9")),
        (0, Decimal("7.2"), Decimal("46.8")),
        (0, Decimal("73.3"), Decimal("46.8")),
    ]
    assert next(list_places(USUAL, 1, 24)).page == 0
    assert [place.page for place in list_places(USUAL, 2, 24)] == [0, 1]


@pytest.mark.parametrize("start", [0, 25, -1])
def test_a_start_that_is_not_on_the_sheet_is_refused(start: int) -> None:
    with pytest.raises(ValueError, match="labels 1 to 24"):
        list(list_places(USUAL, 1, start))


def test_the_shift_of_the_printer_moves_everything() -> None:
    moved = replace(USUAL, shift_right_mm=Decimal("-0.5"), shift_down_mm=Decimal("1.2"))
    for place, other in zip(list_places(USUAL, 24), list_places(moved, 24), strict=True):
        assert (other.x_mm - place.x_mm, other.y_mm - place.y_mm) == (Decimal("-0.5"), Decimal("1.2"))


def test_from_a_roll_every_label_is_a_page_of_its_own() -> None:
    roll = replace(USUAL, feed=Feed.ROLL)
    assert roll.page_mm == (Decimal("63.5"), Decimal("33.9"))
    places = list(list_places(roll, 3))
    assert [place.page for place in places] == [0, 1, 2]
    assert {(place.x_mm, place.y_mm) for place in places} == {(Decimal(0), Decimal(0))}


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"name": " "}, "name"),
        ({"width_mm": Decimal(0)}, "width_mm"),
        ({"width_mm": Decimal(211)}, "width_mm"),
        ({"height_mm": Decimal(5)}, "height_mm"),
        ({"inset_mm": Decimal(20)}, "inset_mm"),
        ({"shift_down_mm": Decimal(-11)}, "shift_down_mm"),
        ({"columns": 0}, "columns"),
        ({"columns": 4}, "columns"),
        ({"rows": 9}, "rows"),
        ({"left_mm": Decimal(-1)}, "left_mm"),
        ({"gap_down_mm": Decimal(-1)}, "gap_down_mm"),
        ({"gap_down_mm": Decimal(2)}, "rows"),
    ],
)
def test_what_cannot_be_is_named(change: dict[str, object], field: str) -> None:
    assert check_label_sheet(USUAL) == {}
    assert set(check_label_sheet(replace(USUAL, **change))) == {field}  # type: ignore[arg-type]
