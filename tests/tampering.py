"""Makes false copies of a paper: a changed byte, something appended, another page order, a page from another paper."""

import io
import random
from collections.abc import Iterator

import pypdfium2
from pyhanko.pdf_utils import generic
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter


def false_copies(pdf: bytes, count: int, seed: int = 1) -> Iterator[tuple[str, bytes]]:
    """So many false copies, each with what was done to it. Most have one byte changed somewhere."""
    chance = random.Random(seed)
    yield "an update appended", with_update(pdf)
    yield "the last page moved first", with_pages(pdf, turned=True)
    yield "saved anew", with_pages(pdf, turned=False)
    yield "a byte at the end", pdf + b"\n"
    yield "cut short", pdf[:-1]
    yield "empty", b""
    for _ in range(count - 6):
        place, change = chance.randrange(len(pdf)), 1 << chance.randrange(8)
        yield f"byte {place} changed", pdf[:place] + bytes([pdf[place] ^ change]) + pdf[place + 1 :]


def with_update(pdf: bytes) -> bytes:
    """The paper with an incremental update that gives it another title, as an editor saves one."""
    writer = IncrementalPdfFileWriter(io.BytesIO(pdf))
    title = {generic.pdf_name("/Title"): generic.pdf_string("Another paper")}
    writer.set_info(generic.DictionaryObject(title))  # type: ignore[no-untyped-call]
    out = io.BytesIO()
    writer.write(out)  # type: ignore[no-untyped-call]
    return out.getvalue()


def with_pages(pdf: bytes, *, turned: bool) -> bytes:
    """The paper saved anew by another program, with its pages in order or the last one first."""
    old, new = pypdfium2.PdfDocument(pdf), pypdfium2.PdfDocument.new()
    pages = list(range(len(old)))
    new.import_pages(old, pages[-1:] + pages[:-1] if turned else pages)
    out = io.BytesIO()
    new.save(out)
    return out.getvalue()
