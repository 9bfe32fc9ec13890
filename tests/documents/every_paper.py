"""One finished paper of every kind and shape that Ohmstead draws, by name. A new kind of paper is added here."""

import io
from collections.abc import Callable, Mapping
from dataclasses import replace

from PIL import Image

from app.documents.certificate import certificate_from
from app.documents.invoice import invoice_from
from app.documents.pdf import to_pdf
from tests.documents.sample_papers import certificate, invoice

#: Each name begins with the kind of paper, as in app/documents/pdf.py.
SAMPLES: Mapping[str, Callable[[], bytes]] = {
    "certificate, 1 item": lambda: to_pdf("certificate", certificate_from(certificate(1))),
    "certificate, 40 items": lambda: to_pdf("certificate", certificate_from(certificate(40, failing=3, untested=1))),
    "certificate, a correction": lambda: to_pdf(
        "certificate",
        certificate_from(certificate(8, replaces_number="C-000101", replaces_reason="A serial was wrong")),
    ),
    "invoice": lambda: to_pdf("invoice", invoice_from(invoice()), logo_png=logo()),
    "invoice, not registered": lambda: to_pdf("invoice", invoice_from(invoice(3, registered=False))),
    "invoice, bare": lambda: to_pdf("invoice", invoice_from(replace(invoice(1), premises=None))),
}


def logo() -> bytes:
    """A green rectangle as a PNG."""
    file = io.BytesIO()
    Image.new("RGB", (300, 100), (10, 200, 30)).save(file, "PNG")
    return file.getvalue()
