"""The renderer: it opens no address, prints markup as text, survives endless words, repeats itself to the byte."""

import ctypes
import hashlib
import http.server
import io
import threading
import time
from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from enum import Enum
from typing import Any

import pypdfium2
import pytest
import weasyprint
from PIL import Image

from app.documents.certificate import certificate_from
from app.documents.invoice import invoice_from
from app.documents.pdf import OwnAssets, to_pdf
from app.rules.certificates import CertificateFacts
from app.rules.verdicts import Verdict
from tests.documents.reading_back import picture_of, text_of
from tests.documents.sample_papers import certificate, invoice


@pytest.fixture
def watched() -> Iterator[tuple[str, list[str]]]:
    """The address of a web server of this computer, and the paths that anybody asked it for."""
    asked: list[str] = []

    class Watch(http.server.BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            asked.append(self.path)
            self.send_response(404)
            self.end_headers()

        def log_message(self, *_: object) -> None:
            pass

    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Watch)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}", asked
    server.shutdown()
    thread.join()
    server.server_close()


def hostile(address: str) -> str:
    return (
        f"<img src='{address}/img'><link rel=attachment href='file:///etc/passwd'>"
        f"<style>@import url({address}/css);</style>{{{{ 7 * 7 }}}}"
    )


def poisoned(value: Any, text: str) -> Any:
    """The same facts with the text in place of every other text, however deep; codes of ours stay."""
    if isinstance(value, Enum):
        return value
    if isinstance(value, str):
        return text
    if isinstance(value, tuple):
        return tuple(poisoned(each, text) for each in value)
    if is_dataclass(value):
        kept = {"check", "vat_number"}
        changes = {f.name: poisoned(getattr(value, f.name), text) for f in fields(value) if f.name not in kept}
        return replace(value, **changes)  # type: ignore[type-var]
    return value


def mostly_sound(facts: CertificateFacts) -> CertificateFacts:
    """Poison only the first failed, the first passed and the last row: enough to meet every field."""
    sound = certificate(8, failing=2, untested=1).rows
    failed = next(place for place, row in enumerate(sound) if row.verdict == Verdict.FAIL)
    kept = {0, failed, len(sound) - 1}
    return replace(facts, rows=tuple(facts.rows[p] if p in kept else row for p, row in enumerate(sound)))


@pytest.mark.parametrize("paper", ["certificate", "invoice"])
def test_markup_in_any_field_is_text_and_opens_nothing(paper: str, watched: tuple[str, list[str]]) -> None:
    address, asked = watched
    text = hostile(address)
    if paper == "certificate":
        data = certificate_from(mostly_sound(poisoned(certificate(8, failing=2, untested=1), text)))
        data["check"] = {"url": "https://papers.example/check/1", "code": text}
    else:
        data = invoice_from(poisoned(invoice(8), text))
    pdf = to_pdf(paper, data)
    assert asked == []
    document = pypdfium2.PdfDocument(pdf)
    # the readings, or the invoice as structured data, and nothing else
    assert document.count_attachments() == (2 if paper == "certificate" else 1)
    written = text_of(pdf).replace(" ", "")
    assert written.count(f"<imgsrc='{address}/img'>") >= (20 if paper == "certificate" else 10)
    assert "{{7*7}}" in written
    assert "<linkrel=attachment" in written


HOSTILE_PAGES = [
    "<img src='{}/a'>", "<link rel=stylesheet href='{}/a'>", "<style>@import url({}/a);</style>",
    "<style>@font-face{{font-family:x;src:url({}/a)}} p{{font-family:x}}</style><p>x",
    "<p style='background:url({}/a)'>x", "<ul style='list-style-image:url({}/a)'><li>x</ul>",
    "<p style='content:url({}/a)'>x", "<object data='{}/a'></object>", "<embed src='{}/a'>",
    "<link rel=attachment href='{}/a'>", "<a rel=attachment href='{}/a'>x</a>", "<base href='{}/'><img src=a>",
    "<svg xmlns='http://www.w3.org/2000/svg'><image href='{}/a' width='9' height='9'/></svg>",
    "<link rel=attachment href='file:///etc/passwd'>", "<img src='data:image/png;base64,AAAA'>",
]  # fmt: skip


@pytest.mark.parametrize("page", HOSTILE_PAGES)
def test_even_live_markup_could_open_nothing(page: str, watched: tuple[str, list[str]]) -> None:
    # What the fetcher alone holds back, if escaping ever failed.
    address, asked = watched
    pdf = weasyprint.HTML(string=page.format(address), url_fetcher=OwnAssets({}), base_url="app:").write_pdf()
    assert asked == []
    assert pypdfium2.PdfDocument(pdf).count_attachments() == 0


@pytest.mark.parametrize("url", ["app:other.svg", "app:../secret", "file:///etc/passwd", "data:,x", "http://h/x", "x"])
def test_the_fetcher_answers_only_its_own_names(url: str) -> None:
    assets = OwnAssets({"mark.svg": b"<svg/>"})
    assert assets.fetch("app:mark.svg").read() == b"<svg/>"
    with pytest.raises(ValueError, match="open no addresses"):
        assets.fetch(url)


@pytest.mark.parametrize("paper", ["certificate", "invoice"])
def test_the_same_data_gives_the_same_bytes(paper: str) -> None:
    data = certificate_from(certificate(30, failing=2)) if paper == "certificate" else invoice_from(invoice())
    logo = picture((40, 20))
    prints = {hashlib.sha256(to_pdf(paper, data, logo_png=logo)).hexdigest() for _ in range(3)}
    assert len(prints) == 1


def test_drawing_in_two_threads_gives_the_same_bytes() -> None:
    data = [certificate_from(certificate(count)) for count in (3, 9)]
    alone = [to_pdf("certificate", each) for each in data]
    together: dict[int, bytes] = {}

    def draw(place: int) -> None:
        together[place] = to_pdf("certificate", data[place])

    threads = [threading.Thread(target=draw, args=(place,)) for place in (0, 1)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert [together[0], together[1]] == alone


def test_a_word_without_end_is_broken_and_cut() -> None:
    endless = "W" * 100_000
    row = replace(certificate(1).rows[0], description=endless, serial=endless, location=endless, note=endless)
    facts = certificate(8, rows=(row, *certificate(8).rows[1:]))
    began = time.process_time()
    pdf = to_pdf("certificate", certificate_from(facts))
    # A bound far above what it takes (about a second), far below the minutes of an unbroken run.
    assert time.process_time() - began < 60
    assert "WWWWWWWW" in text_of(pdf)


def test_nothing_is_printed_outside_the_page() -> None:
    long = "Extraordinarily-long-hyphenated-name " * 4 + "X" * 59
    facts = mostly_sound(poisoned(certificate(8, failing=2, untested=1), long))
    ours = {"number": "C-000123", "verification_url": "https://papers.example/check/1", "verification_code": "K7QM"}
    data = certificate_from(replace(facts, **ours))  # type: ignore[arg-type]
    for page in pypdfium2.PdfDocument(to_pdf("certificate", data)):
        width, height = page.get_size()
        text = page.get_textpage()
        for place in range(text.count_rects()):
            left, bottom, right, top = text.get_rect(place)
            assert left >= -0.5 and right <= width + 0.5
            assert bottom >= -0.5 and top <= height + 0.5


def test_a_logo_stands_on_the_letterhead() -> None:
    data = invoice_from(invoice(3))
    plain, marked = (picture_of(to_pdf("invoice", data, logo_png=logo)) for logo in (None, picture((300, 100))))
    green = (10, 200, 30)
    assert green not in {colour for _, colour in plain.getcolors(1 << 24) or []}
    assert green in {colour for _, colour in marked.getcolors(1 << 24) or []}


def picture(size: tuple[int, int]) -> bytes:
    file = io.BytesIO()
    Image.new("RGB", size, (10, 200, 30)).save(file, "PNG")
    return file.getvalue()


def test_the_file_says_what_it_is() -> None:
    pdf = to_pdf("certificate", certificate_from(certificate(2)))
    document = pypdfium2.PdfDocument(pdf)
    meta = document.get_metadata_dict()
    assert meta["Title"] == "Certificate of inspection and test C-000123"
    assert meta["Author"] == "Tarn & Alder Electrical Testing"
    assert meta["CreationDate"].startswith("D:20260305")
    assert pypdfium2.raw.FPDFCatalog_IsTagged(document.raw)
    language = (ctypes.c_ushort * 9)()
    pypdfium2.raw.FPDFCatalog_GetLanguage(document.raw, language, ctypes.sizeof(language))
    assert bytes(language).decode("utf-16-le").rstrip("\0") == "en-GB"


def test_an_unknown_paper_is_refused() -> None:
    with pytest.raises(ValueError, match="no paper called"):
        to_pdf("../certificate", {})
