"""Reads labels back from their pixels, as printer and scanner would: 300 dots in an inch, another decoder."""

from dataclasses import dataclass

import pypdfium2
import zxingcpp
from PIL.Image import Image

DPI = 300
MM = DPI / 25.4
QR, BARS = zxingcpp.BarcodeFormat.QRCode, zxingcpp.BarcodeFormat.Code128


@dataclass(frozen=True)
class SeenCode:
    """A code on a page: what it says, its upper left corner and its size in mm, without the quiet zone."""

    page: int
    bars: bool
    text: str
    x_mm: float
    y_mm: float
    width_mm: float


def pictures_of(pdf: bytes, dpi: int = DPI) -> list[Image]:
    document = pypdfium2.PdfDocument(pdf)
    return [page.render(scale=dpi / 72).to_pil() for page in document]


def codes_of(pdf: bytes, dpi: int = DPI) -> list[SeenCode]:
    """Every code on every page, in the order of the labels: down the rows, then along them."""
    found = []
    for number, picture in enumerate(pictures_of(pdf, dpi)):
        for code in zxingcpp.read_barcodes(picture):
            corner, across = code.position.top_left, code.position.top_right
            mm = dpi / 25.4
            seen = (corner.x / mm, corner.y / mm, (across.x - corner.x) / mm)
            found.append(SeenCode(number, code.format == BARS, code.text, *seen))
    return sorted(found, key=lambda code: (code.page, round(code.y_mm), code.x_mm))


def word_boxes_of(pdf: bytes) -> list[list[tuple[str, float, float, float, float]]]:
    """For each page, each printed letter with its left, top, right and bottom edge in mm from the upper left corner."""
    pages = []
    for page in pypdfium2.PdfDocument(pdf):
        height = page.get_height()
        text = page.get_textpage()
        letters = []
        for place in range(text.count_chars()):
            left, bottom, right, top = text.get_charbox(place)
            edges = (left, height - top, right, height - bottom)
            letter = text.get_text_range(place, 1)
            if letter.strip():
                letters.append((letter, *(edge / 72 * 25.4 for edge in edges)))
        pages.append(letters)
    return pages
