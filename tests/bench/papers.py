"""How long the renderer takes for a certificate of 1, 40 and 400 items."""

import time
from collections.abc import Iterator

from app.documents.certificate import certificate_from
from app.documents.pdf import to_pdf
from tests.documents.sample_papers import certificate


def measure() -> Iterator[tuple[str, float]]:
    """Draw each certificate once; the first also loads fonts and style sheets."""
    for count in (1, 40, 400):
        data = certificate_from(certificate(count, failing=count // 20))
        began = time.perf_counter()
        pdf = to_pdf("certificate", data)
        yield f"certificate of {count} items, {len(pdf) // 1024} KiB", time.perf_counter() - began
