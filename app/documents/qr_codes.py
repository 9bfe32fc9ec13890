"""QR codes as SVG, drawn by segno without any file or network."""

import io

import segno


def qr_svg_from(text: str) -> bytes:
    """Draw text as a QR code, error correction M, with the quiet zone of four modules (ISO/IEC 18004)."""
    drawing = io.BytesIO()
    segno.make(text, error="m", micro=False, boost_error=False).save(
        drawing, kind="svg", border=4, xmldecl=False, omitsize=True, dark="#1f1c18", light=None
    )
    return drawing.getvalue()
