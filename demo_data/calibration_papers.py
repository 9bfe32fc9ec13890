"""Invented calibration certificates for the demo: a page of plain text as a PDF, made by its own few bytes."""

from collections.abc import Sequence


def invent_calibration_paper(lines: Sequence[str]) -> bytes:
    """Make a PDF of one A4 page with these lines in the reader's own Helvetica (ISO 32000-1:2008, 7.5 and 9.6.2.2)."""
    shown = [line.replace("\\", r"\\").replace("(", r"\(").replace(")", r"\)") for line in lines]
    text = "BT /F1 12 Tf 72 760 Td 18 TL\n" + "\n".join(f"({line}) Tj T*" for line in shown) + "\nET"
    drawn = text.encode("cp1252")
    parts = [
        b"<< /Type /Catalog /Pages 2 0 R >>",
        b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
        b"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 595 842] /Contents 4 0 R "
        b"/Resources << /Font << /F1 5 0 R >> >> >>",
        b"<< /Length %d >>\nstream\n%s\nendstream" % (len(drawn), drawn),
        b"<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica /Encoding /WinAnsiEncoding >>",
    ]
    out, places = bytearray(b"%PDF-1.4\n"), []
    for number, part in enumerate(parts, 1):
        places.append(len(out))
        out += b"%d 0 obj\n%s\nendobj\n" % (number, part)
    start = len(out)
    out += b"xref\n0 %d\n0000000000 65535 f \n" % (len(parts) + 1)
    out += b"".join(b"%010d 00000 n \n" % place for place in places)
    out += b"trailer << /Size %d /Root 1 0 R >>\nstartxref\n%d\n%%%%EOF\n" % (len(parts) + 1, start)
    return bytes(out)
