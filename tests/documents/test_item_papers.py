"""Registers, lists of defects, papers on one item: what they say, and where the marks of a chart stand."""

import csv
import hashlib
import io
import json
import math
from collections.abc import Callable
from typing import Any
from xml.etree import ElementTree

import pypdfium2
import pytest

from app.documents.history_charts import chart_files_from
from app.documents.paper_tables import paper_tables_from
from app.documents.pdf import to_pdf
from app.rules.chart_words import BOTTOM, HEIGHT, LEFT, RIGHT, TOP, WIDTH
from app.rules.papers import Purpose
from tests.documents.reading_back import pages_of, text_of
from tests.documents.sample_item_papers import (
    NAMES,
    defect_list_data,
    history,
    item_certificate_data,
    item_history_data,
    photo_files,
    photographed,
    register_data,
    register_items,
    whole_customer_data,
)
from tests.documents.sample_papers import certificate

DATA: dict[str, Callable[[], dict[str, Any]]] = {
    "register": lambda: register_data(40),
    "defect_list": defect_list_data,
    "item_certificate": item_certificate_data,
    "item_history": item_history_data,
}
SVG = "{http://www.w3.org/2000/svg}"


@pytest.mark.parametrize("paper", DATA)
def test_the_same_data_gives_the_same_bytes(paper: str) -> None:
    # Kept as JSON in between, as the database keeps it until a paper that a crash left is drawn again.
    kept = json.loads(json.dumps(DATA[paper]()))
    prints = {hashlib.sha256(to_pdf(paper, data)).hexdigest() for data in (DATA[paper](), kept)}
    assert len(prints) == 1


def test_a_certificate_with_photos_gives_the_same_bytes_and_shows_them() -> None:
    drawn = [to_pdf("certificate", photographed(8), photos=photo_files()) for _ in range(2)]
    assert drawn[0] == drawn[1]
    page = pypdfium2.PdfDocument(drawn[0])
    images = [each for sheet in page for each in sheet.get_objects() if each.type == pypdfium2.raw.FPDF_PAGEOBJ_IMAGE]
    assert len(images) == 2


def test_a_register_lists_every_item_once_with_its_days() -> None:
    items = register_items(120)
    pages = pages_of(to_pdf("register", register_data(120)))
    text = " ".join(pages)
    assert "120 items in service." in text
    for item in items:
        assert text.count(f" {item.number} ") == 1, item.number
    assert f"Page {len(pages)} of {len(pages)}" in pages[-1]
    overdue = [item for item in items if item.next_due_on and item.next_due_on.isoformat() < "2026-03-05"]
    assert overdue and text.count("overdue") == len(overdue) + 1  # and once in the sentence on the cover
    assert sum(1 for item in items if item.last_verdict is None) == text.count("not tested yet") - 2


def test_an_empty_register_and_an_empty_list_say_so() -> None:
    assert "No item was in service on this day." in text_of(to_pdf("register", register_data(0)))
    assert "No defect is open." in text_of(to_pdf("defect_list", defect_list_data(0)))
    assert "no test is on record" in text_of(to_pdf("item_history", item_history_data(0)))


def test_a_register_of_all_premises_keeps_them_apart_and_prints_other_letters() -> None:
    text = text_of(to_pdf("register", whole_customer_data()))
    assert "All premises of the customer" in text and "It was drawn up later than the day it shows" in text
    for name in (NAMES[0], NAMES[1], NAMES[2], NAMES[4]):  # Arabic is set from right to left and read back so
        assert name.split()[0] in text, name


def test_a_defect_says_what_puts_it_right_and_who_must_act() -> None:
    text = text_of(to_pdf("defect_list", defect_list_data(7)))
    assert "7 defects are open on 6 items." in text
    assert text.count("Have the cord replaced with one of the same size") == 6  # once an item, also with two defects
    assert "Dutyholder: keep it out of use" in text and "Tarn & Alder Electrical Testing: test it again" in text


def test_the_certificate_of_one_item_says_what_that_of_the_visit_says() -> None:
    data = item_certificate_data(Purpose.SALE)
    text = text_of(to_pdf("item_certificate", data))
    [row] = certificate(1).rows
    assert "Before it is sold second-hand" in text and f"{row.number} {row.description}: passed." in text
    for reading in row.readings:
        assert reading.reading in text and reading.limit in text
    assert "looks it over each time it goes out" in text


def test_what_is_attached_says_what_the_paper_says() -> None:
    data = register_data(40)
    table, whole = paper_tables_from(data)
    rows = list(csv.DictReader(io.StringIO(table.content.decode("utf-8-sig"))))
    items = register_items(40)
    assert [(row["number"], row["next_due_on"]) for row in rows] == [
        (item.number, item.next_due_on.isoformat() if item.next_due_on else "") for item in items
    ]
    assert len(json.loads(whole.content)["items"]) == 40
    document = pypdfium2.PdfDocument(to_pdf("register", data))
    attached = [document.get_attachment(place) for place in range(document.count_attachments())]
    assert {each.get_name(): bytes(each.get_data()) for each in attached} == {
        "register-REG-000007.csv": table.content,
        "register-REG-000007.json": whole.content,
    }


def test_the_marks_of_a_chart_stand_where_the_readings_are() -> None:
    """Height and width worked out here from the axis alone: a share of its length, by even steps or powers of ten."""
    data = item_history_data(5)
    _, (earth, insulation) = history(5)
    drawn = chart_files_from(data)
    for place, readings in ((1, earth), (2, insulation)):
        svg = ElementTree.fromstring(drawn[f"chart-{place}.svg"])
        words = [(text.text or "", float(text.get("y", 0))) for text in svg.iter(f"{SVG}text") if text.get("x") == "56"]
        scale = sorted((float(word), y - 3.5) for word, y in words)
        (low, bottom), (high, top) = scale[0], scale[-1]
        discs = [(float(mark.get("cx", 0)), float(mark.get("cy", 0))) for mark in svg.iter(f"{SVG}circle")]
        squares = [(float(box.get("x", 0)) + 4, float(box.get("y", 0)) + 4) for box in svg.iter(f"{SVG}rect")]
        days = [(point.on - readings.points[0].on).days for point in readings.points]
        for point, day in zip(readings.points, days, strict=True):
            value = float(point.value)
            share = (
                (math.log10(value) - math.log10(low)) / (math.log10(high) - math.log10(low))
                if place == 2
                else (value - low) / (high - low)
            )
            x = LEFT + (WIDTH - LEFT - RIGHT) * day / days[-1]
            y = bottom - share * (bottom - top)
            marks = squares if point.outcome == "fail" else discs
            assert any(abs(x - a) <= 0.1 and abs(y - b) <= 0.1 for a, b in marks), (point, marks)
        assert len(discs) + len(squares) == len(readings.points)
        assert (bottom, top <= TOP + (HEIGHT - TOP - BOTTOM)) == (HEIGHT - BOTTOM, True)
    assert len(squares) == 0 and len(list(svg.iter(f"{SVG}path"))) == sum(1 for p in insulation.points if p.bound)


def test_the_limit_is_drawn_and_the_table_behind_a_chart_is_printed() -> None:
    data = item_history_data(5)
    svg = ElementTree.fromstring(chart_files_from(data)["chart-1.svg"])
    [line] = svg.iter(f"{SVG}polyline")
    heights = {pair.split(",")[1] for pair in (line.get("points") or "").split()}
    assert len(heights) == 1  # one limit, at most 0.139 Ω, over all the years
    text = text_of(to_pdf("item_history", data))
    for group in history(5)[1]:
        for point in group.points:
            assert f"{point.reading_text} {point.limit_text}" in text


def test_markup_in_a_chart_is_text() -> None:
    data = item_history_data(2)
    chart = data["charts"][0] | {"up": [[100.0, "<script>"]], "title": "<img src='app:x'>"}
    assert b"&lt;script&gt;" in chart_files_from({"charts": [chart]})["chart-1.svg"]
    assert "<img src='app:x'>" in text_of(to_pdf("item_history", data | {"charts": [chart]}))
