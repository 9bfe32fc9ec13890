"""What long schedules take in time and memory, as they are issued, beside the bare renderer with a plain table.

Each runs in a process of its own, so that its peak of memory is its own; that of the drawing processes is theirs.
"""

import html
import multiprocessing
import resource
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from app.actions.paper_parts import draw_with_parts
from app.documents.certificate import certificate_from
from app.documents.drawing import DRAWERS
from app.documents.parts import parted_data_from
from tests.documents.sample_papers import certificate

COUNTS = (400, 2_000, 10_000)
BARE_MOST = 2_000  # more in one file takes gigabytes
_KIB = 1024 if sys.platform == "darwin" else 1


def measure() -> Iterator[tuple[str, float]]:
    """Draw each schedule once as it is issued and once bare; both with the same words in the same columns."""
    apart = multiprocessing.get_context("spawn")
    for count in COUNTS:
        for name, work in (("as issued", _issued), ("bare, one plain table", _bare)):
            if work is _bare and count > BARE_MOST:
                continue
            with apart.Pool(1) as pool:
                took, own, others, files = pool.apply(work, (count,))
            yield (
                f"{count:,} rows {name}: {took / count * 1000:.1f} ms a row, {files} files, MiB {own} + {others}",
                took,
            )


def _issued(count: int) -> tuple[float, int, int, int]:
    """Seconds, peak MiB of this process and of the largest that draws, files."""
    data = parted_data_from(certificate_from(certificate(count, failing=count // 50)))
    with tempfile.TemporaryDirectory() as folder:
        began = time.perf_counter()
        _, parts = draw_with_parts(Path(folder), "certificate", "C-000001.pdf", data, None, {})
        took = time.perf_counter() - began
    DRAWERS.end()
    return took, _peak(resource.RUSAGE_SELF), _peak(resource.RUSAGE_CHILDREN), 1 + len(parts.files if parts else ())


def _bare(count: int) -> tuple[float, int, int, int]:
    import weasyprint

    page = _plain_table(certificate_from(certificate(count, failing=count // 50))["schedule"])
    began = time.perf_counter()
    weasyprint.HTML(string=page).write_pdf(pdf_variant="pdf/a-3a")
    return time.perf_counter() - began, _peak(resource.RUSAGE_SELF), 0, 1


def _plain_table(schedule: dict[str, Any]) -> str:
    keys = [column["key"] for column in schedule["columns"]]
    rows = (
        (
            row["number"], f"{row['description']} {row['product']}", row["location"], row["build"],
            *("; ".join(f"{entry['text']} {entry['under']}" for entry in row["cells"][key]) for key in keys),
            row["next_due"], row["word"],
        )
        for row in schedule["rows"]
    )  # fmt: skip
    lines = ("<tr>" + "".join(f"<td>{html.escape(cell)}" for cell in row) for row in rows)
    style = "@page { size: A4 landscape } body { font: 7.5pt sans-serif } table { width: 100% }"
    return f"<!doctype html><html lang=en><title>Items</title><style>{style}</style><table>{''.join(lines)}</table>"


def _peak(whose: int) -> int:
    return resource.getrusage(whose).ru_maxrss // 1024 // _KIB
