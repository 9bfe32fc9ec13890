"""Pictures for tests, drawn by code, with whatever a camera would put in the file beside the picture."""

import io

from PIL import Image, ImageDraw

ORIENTATION, MAKER, GPS = 0x0112, 0x010F, 0x8825


def photo(width: int = 800, height: int = 600, kind: str = "JPEG", turned: bool = False) -> bytes:
    """A picture whose left upper corner is red and the rest blue; turned: as a camera held on its side keeps it.

    A JPEG carries a position, a maker's name, a comment and a thumbnail-like block.
    """
    picture = Image.new("RGB", (width, height), "#2040a0")
    ImageDraw.Draw(picture).rectangle((0, 0, width // 3, height // 3), fill="#d02010")
    exif = Image.Exif()
    exif[MAKER] = "Invented camera"
    exif[GPS] = {1: "N", 2: (54.0, 30.0, 12.0), 3: "W", 4: (3.0, 5.0, 44.0)}
    if turned:
        exif[ORIENTATION] = 6  # to be turned a quarter clockwise to stand upright (CIPA DC-008, Exif 2.32)
        picture = picture.transpose(Image.Transpose.ROTATE_90)
    out = io.BytesIO()
    beside = {"exif": exif} | ({"comment": b"taken at 54.5 N"} if kind == "JPEG" else {})
    picture.save(out, kind, **beside)
    return out.getvalue()


def jpeg_segments(content: bytes) -> list[str]:
    """The names of the marker segments of a JPEG before its picture data (ITU-T T.81, annex B)."""
    assert content[:2] == b"\xff\xd8"
    place = 2
    found: list[str] = []
    while True:
        marker = content[place + 1]
        if marker == 0xDA:
            return found
        found.append(f"APP{marker - 0xE0}" if 0xE0 <= marker <= 0xEF else "COM" if marker == 0xFE else f"{marker:02X}")
        place += 2 + int.from_bytes(content[place + 2 : place + 4], "big")
