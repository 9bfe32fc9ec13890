"""A thousand labels of every kind: drawn, turned into dots, 300 to the inch, and read back by another decoder."""

import time
from collections.abc import Iterator

from app.documents.label_arrangement import arrangement_from
from app.documents.labels import labels_from
from app.documents.pdf import label_pdf_from
from app.rules.label_sheets import Codes, list_places
from tests.documents.label_reading import codes_of
from tests.documents.test_labels import A4_24, A4_65, A4_UPRIGHT, FIRM, ROLL_BOTH, label

LABELS = {
    "24 on A4": (A4_24, 480),
    "65 on A4": (A4_65, 260),
    "36 upright on A4": (A4_UPRIGHT, 180),
    "roll": (ROLL_BOTH, 80),
}


def measure() -> Iterator[tuple[str, float]]:
    """Draw and read each kind; stop at a label that is not read or is not in its place, within 0.5 mm."""
    right = began_at = 0
    for name, (sheet, count) in LABELS.items():
        labels = [label(place) for place in range(began_at, began_at + count)]
        began_at += count
        began = time.perf_counter()
        pdf = label_pdf_from(labels_from(sheet, labels, FIRM))
        yield f"{count} labels drawn, {name}", time.perf_counter() - began
        began = time.perf_counter()
        seen = codes_of(pdf)
        for bars in (False, True) if sheet.codes == Codes.BOTH else (False,):
            found = [code for code in seen if code.bars == bars]
            for each, place, code in zip(labels, list_places(sheet, count), found, strict=True):
                mark = next(mark for mark in arrangement_from(sheet, each, FIRM) if "path" in mark)
                assert code.text == (each.number if bars else each.address), f"{code.text} is not {each}"
                in_place = bars or (
                    abs(code.x_mm - float(place.x_mm) - mark["x"]) < 0.5
                    and abs(code.y_mm - float(place.y_mm) - mark["y"]) < 0.5
                )
                assert in_place, f"{each.number} is off its place"
        right += count
        yield f"{right} of {began_at} read right and in place", time.perf_counter() - began
