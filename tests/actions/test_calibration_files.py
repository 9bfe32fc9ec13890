"""Which files are kept with a calibration, and in what shape."""

import io

import pytest
from PIL import Image
from PIL.Image import Exif

from app.actions.calibration_files import FILE_BYTES_MOST, PDF, certificate_file_from

# What a file is, is told by how it begins: "%PDF-" and "%%EOF" (ISO 32000-1:2008, 7.5.2 and 7.5.5).
SMALL_PDF = b"%PDF-1.4\n1 0 obj\n<< /Type /Catalog >>\nendobj\ntrailer << /Root 1 0 R >>\n%%EOF\n"


def picture(kind: str, size: tuple[int, int] = (40, 20)) -> bytes:
    """A picture that carries the place where it was taken, a comment and a turn by a quarter."""
    exif = Exif()
    exif[0x0112] = 6
    exif[0x010E] = "Taken at the back door"
    exif.get_ifd(0x8825)[2] = (54.0, 30.0, 0.0)
    out = io.BytesIO()
    Image.new("RGB", size, (200, 30, 30)).save(out, kind, exif=exif, comment=b"secret comment")
    return out.getvalue()


def test_a_pdf_is_kept_as_it_came() -> None:
    assert certificate_file_from(SMALL_PDF) == (PDF, SMALL_PDF)


@pytest.mark.parametrize(("kind", "media_type"), [("JPEG", "image/jpeg"), ("PNG", "image/png")])
def test_a_picture_is_encoded_anew_without_what_it_carried(kind: str, media_type: str) -> None:
    came = picture(kind)
    assert b"back door" in came
    kept_type, kept = certificate_file_from(came + b"<script>alert(1)</script>")
    assert kept_type == media_type
    assert b"back door" not in kept and b"secret comment" not in kept and b"<script>" not in kept
    with Image.open(io.BytesIO(kept)) as shown:
        assert not shown.getexif()
        assert shown.size == (20, 40), "turned as the camera meant it"


def test_a_large_picture_is_made_smaller() -> None:
    with Image.open(io.BytesIO(certificate_file_from(picture("PNG", (4000, 1000)))[1])) as shown:
        assert max(shown.size) == 3000


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"<html><script>alert(1)</script></html>", "must be a PDF, or a PNG or JPEG"),
        (b"GIF89a" + bytes(50), "must be a PDF, or a PNG or JPEG"),
        (b"\x89PNG\r\n\x1a\n" + bytes(50), "must be a PDF, or a PNG or JPEG"),
        (b"hello %PDF-1.4 %%EOF", "must be a PDF, or a PNG or JPEG"),
        (SMALL_PDF[:60], "its end is missing"),
        (SMALL_PDF + bytes(FILE_BYTES_MOST), "larger than 5 MB"),
    ],
)
def test_anything_else_is_refused_in_words(content: bytes, sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence):
        certificate_file_from(content)
