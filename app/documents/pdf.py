"""Draws a paper from its data as a PDF that is PDF/A-3a and PDF/UA-1 at once. The only file that calls WeasyPrint.

The renderer gets nothing but a fixed set of our own names (`app:...`): style sheets, shapes, fonts, the firm's logo
and the QR code, all handed over as data. Whatever else a text may hold, no file and no address is opened for it.
"""

import gc
import threading
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from pathlib import Path
from types import MethodType
from typing import Any
from xml.etree import ElementTree

import weasyprint
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from weasyprint.text.fonts import FontConfiguration
from weasyprint.urls import URLFetcher, URLFetcherResponse

from app.documents.history_charts import chart_files_from
from app.documents.hybrid import FX, hybrid_parts_from
from app.documents.paper_tables import paper_tables_from
from app.documents.parts import parts_files_from
from app.documents.qr_codes import qr_svg_from
from app.documents.readings_files import AttachedFile, readings_files_from
from app.documents.typesetting import set_text_from

TEMPLATE_VERSION = "3"  # kept beside every issued paper; raised when a template or style sheet changes
PAPERS = (
    "certificate", "item_certificate", "register", "defect_list", "item_history",
    "invoice", "quote", "credit_note", "claim", "statement", "reminder", "story",
)  # fmt: skip
#: Papers about money look like the invoice; their own sheet comes after its.
_LIKE_INVOICE = ("credit_note", "claim", "statement", "reminder")
#: And these look like the certificate; that of one item is drawn by its page too.
_LIKE_CERTIFICATE = ("register", "defect_list", "item_history")
_DRAWN_AS = {"item_certificate": "certificate"}

#: The files that travel inside a paper, made from its data.
ATTACHED: Mapping[str, Callable[[Mapping[str, Any]], list[AttachedFile]]] = {
    "certificate": readings_files_from,
    "item_certificate": readings_files_from,
    "register": paper_tables_from,
    "defect_list": paper_tables_from,
    "item_history": paper_tables_from,
}

_ROOT = Path(__file__).resolve().parents[2]
_TEMPLATES = _ROOT / "templates" / "documents"
_FONTS = _ROOT / "static" / "fonts"
_FACES = ("Inter-Regular.woff2", "Inter-SemiBold.woff2")
_SHAPES = ("pass", "fail", "decision", "incomplete")
_TYPES = {".svg": "image/svg+xml", ".woff2": "font/woff2", ".png": "image/png", ".jpg": "image/jpeg"}

_RDF = "http://www.w3.org/1999/02/22-rdf-syntax-ns#"
_UA = "http://www.aiim.org/pdfua/ns/id/"
_EXTENSION = "http://www.aiim.org/pdfa/ns/extension/"
_SCHEMA = "http://www.aiim.org/pdfa/ns/schema#"
_PROPERTY = "http://www.aiim.org/pdfa/ns/property#"

# A drawing takes up to hundreds of megabytes and gains nothing from a second thread.
_one_at_a_time = threading.Lock()


class Address(str):
    """Text that is printed letter by letter as it is, without tied spaces or places to break."""


class OwnAssets(URLFetcher):  # type: ignore[misc]
    """Answers the names it was given and refuses every other address."""

    def __init__(self, assets: Mapping[str, bytes]) -> None:
        super().__init__(allowed_protocols=("app",), allow_redirects=False)
        self._assets = assets

    def fetch(self, url: str, headers: Mapping[str, str] | None = None) -> URLFetcherResponse:
        name = url.removeprefix("app:")
        if name == url or name not in self._assets:
            raise ValueError("Papers open no addresses.")
        kind = _TYPES[Path(name).suffix]
        return URLFetcherResponse(url, self._assets[name], {"Content-Type": kind})


@dataclass(frozen=True)
class Drawn:
    """A drawn file, and on how many pages."""

    content: bytes
    pages: int


def to_pdf(
    paper: str, data: Mapping[str, Any], *, logo_png: bytes | None = None, photos: Mapping[str, bytes] | None = None
) -> bytes:
    """Draw one of PAPERS from what the function of its name gave (certificate_from, invoice_from, statement_from ...).

    logo_png: the firm's logo, already re-encoded as PNG. photos: JPEG files by the name that the data gives them.
    The same data, logo and photos give the same bytes.
    """
    return drawn_from(paper, data, logo_png=logo_png, photos=photos).content


def drawn_from(
    paper: str,
    data: Mapping[str, Any],
    *,
    logo_png: bytes | None = None,
    photos: Mapping[str, bytes] | None = None,
    only_count: bool = False,
) -> Drawn:
    """Draw a paper, its cover or one of its parts, as to_pdf does; only_count: lay it out for its pages alone."""
    if paper not in PAPERS:
        raise ValueError(f"There is no paper called {paper}.")
    with _one_at_a_time, _no_collecting():  # what a drawing was made of is garbage when the collecting begins again
        return _drawn(paper, data, logo_png, dict(photos or {}), only_count)


def _drawn(
    paper: str, data: Mapping[str, Any], logo_png: bytes | None, photos: dict[str, bytes], only_count: bool
) -> Drawn:
    pictures = dict(_pictures()) | photos | chart_files_from(data)
    drawn_as = _DRAWN_AS.get(paper, paper)
    if logo_png:
        pictures["logo.png"] = logo_png
    pictures |= {name: drawing.encode() for name, drawing in data.get("drawings", {}).items()}
    if check := data.get("check"):
        pictures["qr.svg"] = qr_svg_from(check["url"])
    page = "part" if "part" in data else "page"
    html = _environment().get_template(f"{drawn_as}/{page}.html").render(paper=data, has_logo=bool(logo_png))
    sheet, fonts = _style(drawn_as)
    sheets = [sheet, *_numbering(data)]
    source = weasyprint.HTML(string=html, url_fetcher=OwnAssets(pictures), base_url="app:")
    if only_count:
        return Drawn(b"", len(source.render(stylesheets=sheets, font_config=fonts, pdf_variant="pdf/a-3a").pages))
    inside = hybrid_parts_from(data)
    attached = parts_files_from if "parts" in data else ATTACHED.get(paper, _no_files)
    files = [_attachment(file) for file in attached(data)]
    files += [weasyprint.Attachment(**each) for each in inside.attachments]
    document = source.render(stylesheets=sheets, font_config=fonts, pdf_variant="pdf/a-3a", attachments=files)
    _declare_in_xmp(document.metadata, (_UA_BLOCK.replace(_MORE_SCHEMAS, inside.xmp_schemas), *inside.xmp_marks))
    pdf: bytes = document.write_pdf(pdf_variant="pdf/a-3a", attachments=files)
    return Drawn(pdf, len(document.pages))


def _numbering(data: Mapping[str, Any]) -> list[weasyprint.CSS]:
    """A sheet for a file whose pages are numbered on from others, "Page 31 of 240"; a part has no letterhead's foot."""
    if not (numbering := data.get("numbering")):
        return []
    first, of = int(numbering["first"]), int(numbering["of"])
    margin = "16mm" if "schedule" in data else "21mm"  # a schedule stands on its side
    foot = f"margin-bottom: {margin}; @bottom-left {{ content: string(paper-name) }}" if "part" in data else ""
    return [
        weasyprint.CSS(
            string=f"@page :first {{ counter-set: page {first}; {foot} }}"
            f'@page {{ @bottom-right {{ content: "Page " counter(page) " of {of:,}" }} }}'
        )
    ]


def label_pdf_from(data: Mapping[str, Any]) -> bytes:
    """Draw labels or their test page from what labels_from or label_test_page_from gave.

    A plain PDF: it goes to the printer and is not kept, so it is no PDF/A.
    """
    width, height = Decimal(data["width"]), Decimal(data["height"])
    with _one_at_a_time, _no_collecting():
        html = _environment().get_template("labels/page.html").render(paper=data)
        sheet, fonts = _style("labels", shared=False)
        size = weasyprint.CSS(
            string=f"@page {{ size: {width}mm {height}mm; margin: 0 }} .page {{ height: {height}mm }}"
        )
        source = weasyprint.HTML(string=html, url_fetcher=OwnAssets({}), base_url="app:")
        pdf: bytes = source.render(stylesheets=[sheet, size], font_config=fonts).write_pdf()
    return pdf


def _no_files(data: Mapping[str, Any]) -> list[AttachedFile]:
    return []


def _attachment(file: AttachedFile) -> weasyprint.Attachment:
    return weasyprint.Attachment(
        string=file.content,
        name=file.name,
        description=file.description,
        relationship=file.relationship,
        created=file.made_at,
        modified=file.made_at,
    )


@contextmanager
def _no_collecting() -> Iterator[None]:
    """Hold back the search for circular garbage: a drawing makes a million objects and none of it, so it costs a third
    of the time for nothing."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


@cache
def _pictures() -> dict[str, bytes]:
    return {f"{name}.svg": (_TEMPLATES / "shapes" / f"{name}.svg").read_bytes() for name in _SHAPES}


@cache
def _style(paper: str, shared: bool = True) -> tuple[weasyprint.CSS, FontConfiguration]:
    """Read a paper's style sheets and unpack the fonts once; both serve every later drawing."""
    fonts = FontConfiguration()
    files = {name: (_FONTS / name).read_bytes() for name in _FACES}
    sheets = [
        *(["shared.css"] if shared else []),
        *(["invoice/style.css"] if paper in _LIKE_INVOICE else []),
        *(["certificate/style.css"] if paper in _LIKE_CERTIFICATE else []),
        f"{paper}/style.css",
    ]
    text = "".join((_TEMPLATES / name).read_text("utf-8") for name in sheets)
    sheet = weasyprint.CSS(string=text, url_fetcher=OwnAssets(files), font_config=fonts, base_url="app:")
    return sheet, fonts


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=FileSystemLoader(_TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_set,
    )
    environment.filters["address"] = Address
    return environment


def _set(value: object) -> object:
    """Every text that a template prints goes through the typesetter; numbers get their thousands."""
    if isinstance(value, int) and not isinstance(value, bool):
        return f"{value:,}"
    if type(value) is str:
        return set_text_from(value)
    return value


def _declare_in_xmp(metadata: Any, blocks: Sequence[str]) -> None:
    """Add blocks to the XMP: the PDF/UA identification with the extension schema that PDF/A wants for it, and what an
    attached invoice asks for.

    WeasyPrint writes one variant a file; both standards allow the other's mark.
    """
    plain: Callable[..., bytes] = metadata.generate_rdf_metadata

    def both(self: Any, *variant: Any) -> bytes:
        rdf = ElementTree.fromstring(plain(*variant))
        for block in blocks:
            rdf.extend(list(ElementTree.fromstring(block)))
        written: bytes = ElementTree.tostring(rdf, encoding="utf-8")
        return written

    metadata.generate_rdf_metadata = MethodType(both, metadata)


for _prefix, _uri in (
    ("pdfuaid", _UA), ("pdfaExtension", _EXTENSION), ("pdfaSchema", _SCHEMA), ("pdfaProperty", _PROPERTY),
    ("fx", FX),
):  # fmt: skip
    ElementTree.register_namespace(_prefix, _uri)

_MORE_SCHEMAS = "<!-- more -->"
_UA_BLOCK = f"""<rdf:RDF xmlns:rdf="{_RDF}" xmlns:ua="{_UA}"
 xmlns:e="{_EXTENSION}" xmlns:s="{_SCHEMA}" xmlns:p="{_PROPERTY}">
<rdf:Description rdf:about=""><ua:part>1</ua:part></rdf:Description>
<rdf:Description rdf:about=""><e:schemas><rdf:Bag><rdf:li rdf:parseType="Resource">
<s:schema>PDF/UA identification</s:schema><s:namespaceURI>{_UA}</s:namespaceURI><s:prefix>pdfuaid</s:prefix>
<s:property><rdf:Seq><rdf:li rdf:parseType="Resource"><p:name>part</p:name><p:valueType>Integer</p:valueType>
<p:category>internal</p:category><p:description>The part of ISO 14289 that this file follows</p:description>
</rdf:li></rdf:Seq></s:property></rdf:li>{_MORE_SCHEMAS}</rdf:Bag></e:schemas></rdf:Description></rdf:RDF>"""
