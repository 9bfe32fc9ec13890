"""Labels as they come out of the printer: codes that another decoder reads, in their places, and words inside them."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from random import Random

import pypdfium2
import pytest
import zxingcpp
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageChops

from app.documents.bars import bars_length_from
from app.documents.label_arrangement import arrangement_from
from app.documents.label_test_pages import label_test_page_from
from app.documents.labels import labels_from
from app.documents.pdf import label_pdf_from
from app.documents.text_widths import cut_from, width_from
from app.rules.label_sheets import Codes, Dots, Feed, LabelSheetDetails, list_places
from app.rules.labels import LabelFacts, Standing, describe_label_address
from tests.documents.label_reading import MM, codes_of, pictures_of, word_boxes_of
from tests.documents.reading_back import pages_of, text_of

FIRM = ("Tarn & Alder Electrical Testing, 01632 960101", "01632 960101")
A4_24 = LabelSheetDetails(
    "24", Feed.SHEET, Decimal("63.5"), Decimal("33.9"), 3, 8, Decimal("7.2"), Decimal("12.9"), Decimal("2.6")
)
A4_65 = LabelSheetDetails(
    "65", Feed.SHEET, Decimal("38.1"), Decimal("21.2"), 5, 13, Decimal("4.7"), Decimal("10.7"), Decimal("2.5")
)
A4_UPRIGHT = replace(A4_24, width_mm=Decimal(32), height_mm=Decimal(45), columns=6, rows=6, gap_across_mm=Decimal(1))
ROLL_203 = LabelSheetDetails("Roll", Feed.ROLL, Decimal(50), Decimal(25), dots=Dots.ROLL_203)
ROLL_BOTH = replace(ROLL_203, width_mm=Decimal(62), height_mm=Decimal(40), codes=Codes.BOTH, shows_next=True)
ROLL_BARS = replace(ROLL_203, width_mm=Decimal(57), height_mm=Decimal(19), codes=Codes.BARS)
KINDS = {
    "24 on A4": A4_24,
    "65 on A4": A4_65,
    "upright": A4_UPRIGHT,
    "a roll": ROLL_203,
    "a roll with both codes": ROLL_BOTH,
    "bars alone": ROLL_BARS,
}
WORDS = ("Kettle", "Extension lead with four sockets, orange, by the garden shed", "Drill", "Ω µ ≤ é ŵ ✓", "")


def label(place: int, number: str = "") -> LabelFacts:
    number = number or f"{place + 1:04d}"
    standing = list(Standing)[place % 3]
    tested = standing != Standing.NUMBER_ONLY
    return LabelFacts(
        number,
        describe_label_address("https://office.tarn-alder.example", 12, number),
        WORDS[place % len(WORDS)],
        standing,
        standing == Standing.DO_NOT_USE,
        date(2026, 9, 28) if tested else None,
        "JA" if tested else "",
        date(2027, 9, 28) if standing == Standing.PASS else None,
    )


@pytest.mark.parametrize("kind", KINDS)
def test_every_code_is_read_right_and_stands_in_its_place(kind: str) -> None:
    """Decoded by zxing-cpp, which shares no code with what drew them, from 300 dots in an inch; within 0.5 mm."""
    sheet = KINDS[kind]
    labels = [label(place) for place in range(sheet.on_one + 3)]
    start = min(3, sheet.on_one)
    pdf = label_pdf_from(labels_from(sheet, labels, FIRM, start))
    places = list(list_places(sheet, len(labels), start))
    seen = codes_of(pdf)
    for bars in (False, True):
        wanted = [each.number if bars else each.address for each in labels]
        if sheet.codes in (Codes.BOTH, Codes.BARS if bars else Codes.QR):
            assert [code.text for code in seen if code.bars == bars] == wanted
    for bars in {code.bars for code in seen}:
        for each, place, code in zip(labels, places, [code for code in seen if code.bars == bars], strict=True):
            mark = next(mark for mark in arrangement_from(sheet, each, FIRM) if _is(mark, bars))
            assert code.page == place.page
            assert abs(code.x_mm - float(place.x_mm) - mark["x"]) < 0.5
            if not bars:  # of bars the decoder names the line that it read, not their upper edge
                assert abs(code.y_mm - float(place.y_mm) - mark["y"]) < 0.5


def _is(mark: dict[str, object], bars: bool) -> bool:
    return "path" in mark and (len(str(mark["path"])) < 1500) == bars


@pytest.mark.parametrize("kind", KINDS)
def test_no_letter_leaves_its_label(kind: str) -> None:
    sheet = KINDS[kind]
    count = min(sheet.on_one + 3, 30)
    labels = [label(place, f"WWW-{place:04d}" if place % 2 else "") for place in range(count)]
    if sheet.codes != Codes.QR:
        labels = [label(place) for place in range(count)]
    pages = word_boxes_of(label_pdf_from(labels_from(sheet, labels, FIRM)))
    boxes: dict[int, list[tuple[float, float]]] = {}
    for place in list_places(sheet, count):
        boxes.setdefault(place.page, []).append((float(place.x_mm), float(place.y_mm)))
    width, height = float(sheet.width_mm), float(sheet.height_mm)
    for number, letters in enumerate(pages):
        assert letters
        for letter, left, top, right, bottom in letters:
            inside = [
                (x, y)
                for x, y in boxes[number]
                if x <= left and right <= x + width and y <= top and bottom <= y + height
            ]
            assert len(inside) == 1, f"{letter!r} at {left:.1f}, {top:.1f} mm stands on no label"


@pytest.mark.parametrize(("dots", "dpi"), [(Dots.ROLL_203, 203), (Dots.ROLL_300, 300), (Dots.OFFICE_600, 600)])
def test_quiet_zones_are_blank_and_modules_even(dots: Dots, dpi: int) -> None:
    """ISO/IEC 18004: 4 modules on all sides. ISO/IEC 15417: 10 X on both. Measured in the dots of the printer."""
    sheet = replace(ROLL_BOTH, dots=dots)
    pdf = label_pdf_from(labels_from(sheet, [label(1)], FIRM))
    dark = darkness_of(pictures_of(pdf, dpi)[0])
    code, bars = (mark for mark in arrangement_from(sheet, label(1), FIRM) if "path" in mark)
    module = round(code["size"] / 25.4 * dpi)
    x, y = (round(code[side] / 25.4 * dpi) for side in ("x", "y"))
    side, quiet = 29 * module, 4 * module
    assert dark.crop((x, y, x + 7 * module, y + module)).getextrema() == (255, 255), "whole dots, from its corner on"
    assert x >= quiet and y >= quiet
    around = dark.crop((x - quiet, y - quiet, x + side + quiet, y + side + quiet))
    edges = zip(around.getbbox() or (), (quiet, quiet, quiet + side, quiet + side), strict=True)
    assert all(abs(seen - meant) <= 1 for seen, meant in edges), "the quiet zone is blank, but for a part of a dot"
    step = round(bars["size"] / 25.4 * dpi)
    left, top = (round(bars[name] / 25.4 * dpi) for name in ("x", "y"))
    length = bars_length_from(label(1).number) * step
    row = dark.crop((left - 10 * step, top + 9, left + length + 10 * step, top + 12))
    assert left + length + 10 * step <= dark.width
    box = row.getbbox()
    assert box is not None and abs(box[0] - 10 * step) <= 1 and abs(box[2] - 10 * step - length) <= 1


def darkness_of(picture: Image.Image) -> Image.Image:
    """255 where it is dark."""
    return picture.convert("L").point(lambda value: 255 if value < 128 else 0)


def test_codes_survive_a_smaller_print_and_a_dirty_one() -> None:
    pdf = label_pdf_from(labels_from(A4_24, [label(place) for place in range(24)], FIRM))
    assert len([code for code in codes_of(pdf, 270) if not code.bars]) == 24  # printed at 90 %
    page = pictures_of(pdf)[0].convert("L")
    chance = Image.frombytes("L", page.size, Random(7).randbytes(page.width * page.height))
    spots = chance.point(lambda value: 255 if value < 13 else 0)  # 5 % of the dots
    dirty = Image.composite(ImageChops.invert(page), page, spots)
    assert {code.text for code in zxingcpp.read_barcodes(dirty)} == {label(place).address for place in range(24)}


def test_a_label_says_what_stands() -> None:
    passed, failed = (pages_of(label_pdf_from(labels_from(A4_24, [label(place)], FIRM)))[0] for place in (1, 2))
    assert "0002" in passed and "Pass" in passed and "Tested 28 Sep 2026, JA" in passed and "DO NOT USE" not in passed
    assert "0003" in failed and "DO NOT USE" in failed and "Failed 28 Sep 2026, JA" in failed
    assert "Pass" not in failed and "Next" not in failed
    plain = text_of(label_pdf_from(labels_from(A4_24, [label(0)], FIRM)))
    assert "0001" in plain and "01632 960101" in plain and "Pass" not in plain and "2026" not in plain


def test_the_next_test_stands_only_where_the_firm_wants_it() -> None:
    for wanted in (False, True):
        sheet = replace(A4_24, shows_next=wanted)
        words = text_of(label_pdf_from(labels_from(sheet, [label(1)], FIRM)))
        assert ("Next test 28 Sep 2027" in words) == wanted
    looked_at = replace(label(1), looked_at_next=True)
    assert "Inspect 28 Sep 2027" in text_of(label_pdf_from(labels_from(sheet, [looked_at], FIRM)))


@settings(max_examples=150, deadline=None)
@given(
    width=st.integers(26, 90), height=st.integers(13, 60),
    description=st.text(st.characters(codec="latin-1"), max_size=90),
    number=st.from_regex(r"[A-Z0-9]{1,14}", fullmatch=True), standing=st.sampled_from(list(Standing)),
    shows_next=st.booleans(),
)  # fmt: skip
def test_words_are_cut_and_shrunk_and_a_number_never(
    width: int, height: int, description: str, number: str, standing: Standing, shows_next: bool
) -> None:
    sheet = replace(ROLL_203, width_mm=Decimal(width), height_mm=Decimal(height), shows_next=shows_next)
    facts = replace(
        label(1, number), description=description, standing=standing, failed=standing == Standing.DO_NOT_USE
    )
    try:
        marks = arrangement_from(sheet, facts, FIRM)
    except ValueError as refused:
        assert "label" in str(refused)
        return
    texts = [mark for mark in marks if "text" in mark]
    assert texts[0]["text"] == number, "the number is whole or the label is refused"
    if standing == Standing.DO_NOT_USE:
        assert texts[1]["text"] == "DO NOT USE"
    for mark in texts:
        wide = width_from(mark["text"], mark["weight"] == 600) * mark["size"]
        assert mark["size"] >= 1.5
        assert mark["x"] >= 1.49 and mark["x"] + wide <= width - 1.49
        assert mark["y"] - 0.75 * mark["size"] >= 1.45 and mark["y"] + 0.24 * mark["size"] <= height - 1.45
        if mark["text"].endswith("…"):
            assert description.startswith(mark["text"][:3])


def test_the_widths_of_words_are_those_on_paper() -> None:
    """Measured against the letters' boxes in the drawn PDF."""
    pdf = label_pdf_from(labels_from(replace(A4_24, left_mm=Decimal(0), top_mm=Decimal(0)), [label(1)], FIRM))
    mark = next(m for m in arrangement_from(A4_24, label(1), FIRM) if str(m.get("text", "")).startswith("Tested"))
    letters = [box for box in word_boxes_of(pdf)[0] if abs(box[4] - mark["y"]) < 0.5]
    drawn = max(box[3] for box in letters) - min(box[1] for box in letters)
    assert abs(drawn - width_from(mark["text"]) * mark["size"]) < 0.05 * drawn


def test_a_word_is_cut_with_an_ellipsis() -> None:
    assert cut_from("Kettle", 99) == "Kettle"
    cut = cut_from("Extension lead, orange", width_from("Extension lead,…"))
    assert cut == "Extension lead…"
    assert cut_from("Kettle", 0.5) == ""


@pytest.mark.parametrize(
    ("sheet", "number", "says"),
    [
        (replace(ROLL_203, height_mm=Decimal(9)), "0001", "QR code with your address needs"),
        (replace(ROLL_BARS, width_mm=Decimal(30)), "PREM-000123", "Bars for the number PREM-000123 need"),
        (replace(ROLL_BARS, height_mm=Decimal(12)), "0001", "Bars and words need"),
        (replace(ROLL_203, width_mm=Decimal(28), height_mm=Decimal(15)), "W" * 20, "no room"),
    ],
)
def test_what_has_no_room_is_refused_and_not_squeezed(sheet: LabelSheetDetails, number: str, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        labels_from(sheet, [label(1, number)], FIRM)


def test_a_roll_has_one_label_on_a_page_of_its_size() -> None:
    document = pypdfium2.PdfDocument(label_pdf_from(labels_from(ROLL_203, [label(0), label(1)], FIRM)))
    assert len(document) == 2
    for page in document:
        assert [round(side / 72 * 25.4, 2) for side in page.get_size()] == [50, 25]


def test_a_sheet_is_a4() -> None:
    document = pypdfium2.PdfDocument(label_pdf_from(labels_from(A4_24, [label(0)], FIRM)))
    assert [round(side / 72 * 25.4, 1) for side in document[0].get_size()] == [210, 297]


@pytest.mark.parametrize("shift", [Decimal(0), Decimal("1.5")])
def test_the_test_page_has_frames_crosses_and_rulers_where_they_say(shift: Decimal) -> None:
    sheet = replace(A4_24, shift_right_mm=shift)
    pdf = label_pdf_from(label_test_page_from(sheet))
    assert len(pypdfium2.PdfDocument(pdf)) == 1
    assert "The rulers must be 100 mm long" in text_of(pdf) and " 24" in text_of(pdf)
    dark = darkness_of(pictures_of(pdf)[0])
    for place in list_places(sheet, 24):
        # The arms of the cross reach 2 mm beyond the corner.
        x, y = float(place.x_mm), float(place.y_mm)
        for across, down in ((-1.5, 0.0), (0.0, -1.5)):
            spot = [(x + across - 0.3) * MM, (y + down - 0.3) * MM, (x + across + 0.4) * MM, (y + down + 0.4) * MM]
            assert dark.crop([round(edge) for edge in spot]).getbbox(), f"no cross at {x}, {y}"  # type: ignore[arg-type]
    # The long line of the ruler across, in the middle of the page.
    rows = range(round(98.5 * MM) - 8, round(98.5 * MM) + 8)
    runs = [_longest_run(dark.crop((0, row, dark.width, row + 1)).tobytes()) for row in rows]
    assert abs(max(runs) / MM - 100) < 0.5


def _longest_run(row: bytes) -> int:
    return max(len(run) for run in row.split(b"\0"))


def test_markup_on_a_label_is_text() -> None:
    facts = replace(label(1), description="<image href='file:///etc/passwd'/>")
    pdf = label_pdf_from(labels_from(A4_24, [facts], ("<script>", "x")))
    assert "<image" in text_of(pdf)
    assert pypdfium2.PdfDocument(pdf).count_attachments() == 0
