"""Reads a finished PDF with a library that shares no code with the one that wrote it."""

import re

import pypdfium2
import zxingcpp
from PIL.Image import Image


def pages_of(pdf: bytes) -> list[str]:
    """The text of each page, tied spaces as spaces, line ends as single spaces."""
    document = pypdfium2.PdfDocument(pdf)
    texts = [page.get_textpage().get_text_range() for page in document]
    return [re.sub(r"\s+", " ", text.replace("\u200b", "")) for text in texts]


def text_of(pdf: bytes) -> str:
    return " ".join(pages_of(pdf))


def picture_of(pdf: bytes, page: int = 0, dpi: int = 150) -> Image:
    picture: Image = pypdfium2.PdfDocument(pdf)[page].render(scale=dpi / 72).to_pil()
    return picture


def attached(pdf: bytes) -> dict[str, bytes]:
    """The files inside a PDF."""
    document = pypdfium2.PdfDocument(pdf)
    found = [document.get_attachment(place) for place in range(document.count_attachments())]
    return {each.get_name(): bytes(each.get_data()) for each in found}


def codes_on(pdf: bytes, dpi: int = 150) -> list[tuple[str, float]]:
    """What each QR code on the first page says, and how wide it is in mm without its quiet zone."""
    found = zxingcpp.read_barcodes(picture_of(pdf, dpi=dpi))
    return [
        (code.text, (code.position.top_right.x - code.position.top_left.x) / dpi * 25.4)
        for code in found
        if code.format == zxingcpp.BarcodeFormat.QRCode
    ]
