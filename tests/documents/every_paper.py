"""One finished paper of every kind and shape that Ohmstead draws, by name. A new kind of paper is added here."""

import io
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from PIL import Image

from app.documents.certificate import certificate_from
from app.documents.invoice import invoice_from
from app.documents.parts import cover_data_from, part_data_from, part_spans_from, parted_data_from, planned_parts_from
from app.documents.pdf import to_pdf
from app.documents.quote import quote_from
from app.documents.story import story_from
from app.rules.equipment import Kind
from app.rules.invoices import PriceAgreement
from app.rules.month_pictures import list_years
from app.rules.papers import Purpose
from app.rules.quotes import QuoteFacts
from app.rules.stories import StoryFacts, StoryYear, describe_story
from tests.documents.sample_item_papers import (
    defect_list_data,
    item_certificate_data,
    item_history_data,
    photo_files,
    photographed,
    register_data,
    whole_customer_data,
)
from tests.documents.sample_money_papers import claim_data, credit_note_data, reminder_data, statement_data
from tests.documents.sample_papers import CHECK_URL, CUSTOMER, FIRM, PREMISES, certificate, invoice

#: Each name begins with the kind of paper, as in app/documents/pdf.py.
SAMPLES: Mapping[str, Callable[[], bytes]] = {
    "certificate, 1 item": lambda: to_pdf("certificate", certificate_from(certificate(1))),
    "certificate, 40 items": lambda: to_pdf("certificate", certificate_from(certificate(40, failing=3, untested=1))),
    "certificate, a correction": lambda: to_pdf(
        "certificate",
        certificate_from(certificate(8, replaces_number="C-000101", replaces_reason="A serial was wrong")),
    ),
    "certificate, with photos": lambda: to_pdf("certificate", photographed(8), photos=photo_files()),
    "item_certificate": lambda: to_pdf("item_certificate", item_certificate_data()),
    "item_certificate, failed": lambda: to_pdf("item_certificate", item_certificate_data(Purpose.RECORD, fail=True)),
    "register": lambda: to_pdf("register", register_data(), logo_png=logo()),
    "register, empty": lambda: to_pdf("register", register_data(0)),
    "register, many items": lambda: to_pdf("register", register_data(60)),
    "register, the cover of one in parts": lambda: to_pdf("register", cover_of(parted_data_from(register_data(9), 4))),
    "register, a part": lambda: to_pdf("register", part_data_from(parted_data_from(register_data(9), 4), 2, 5, 6)),
    "defect_list, a part": lambda: to_pdf(
        "defect_list", part_data_from(parted_data_from(defect_list_data(), 4), 2, 3, 3)
    ),
    "register, other letters": lambda: to_pdf("register", whole_customer_data()),
    "defect_list": lambda: to_pdf("defect_list", defect_list_data(), logo_png=logo()),
    "defect_list, empty": lambda: to_pdf("defect_list", defect_list_data(0)),
    "item_history": lambda: to_pdf("item_history", item_history_data()),
    "item_history, empty": lambda: to_pdf("item_history", item_history_data(0)),
    "certificate, the cover of one in parts": lambda: to_pdf("certificate", cover_of(_in_parts())),
    "certificate, a part": lambda: to_pdf("certificate", part_data_from(_in_parts(), 2, 5, 6)),
    "invoice": lambda: to_pdf("invoice", with_code(invoice_from(invoice())), logo_png=logo()),
    "invoice, not registered": lambda: to_pdf("invoice", invoice_from(invoice(3, registered=False))),
    "invoice, bare": lambda: to_pdf("invoice", invoice_from(replace(invoice(1), premises=None))),
    "quote": lambda: to_pdf("quote", with_code(quote_from(_quote())), logo_png=logo()),
    "credit_note": lambda: to_pdf("credit_note", with_code(credit_note_data()), logo_png=logo()),
    "credit_note, not registered": lambda: to_pdf("credit_note", credit_note_data(registered=False)),
    "claim": lambda: to_pdf("claim", with_code(claim_data())),
    "statement": lambda: to_pdf("statement", statement_data(), logo_png=logo()),
    "statement, long": lambda: to_pdf("statement", statement_data(60)),
    "story": lambda: to_pdf("story", story_data(), logo_png=logo()),
    "reminder": lambda: to_pdf("reminder", reminder_data()),
}


def cover_of(data: dict[str, Any]) -> dict[str, Any]:
    """The cover of a paper whose parts are a page each."""
    pages = [3, *(1 for _ in part_spans_from(data))]
    return cover_data_from(data, list(planned_parts_from(data, data["number"], pages)), sum(pages))


def _in_parts() -> dict[str, Any]:
    """A certificate of a dozen items in three parts, with what failed at the head of each."""
    data = certificate_from(certificate(12, failing=2, untested=1))
    return parted_data_from(data, 4) | {"lists_in_parts": True}


def _quote() -> QuoteFacts:
    """A quote for what the sample invoice bills."""
    billed = invoice()
    agreement = PriceAgreement(Decimal("1.45"))
    until = billed.issued_on + timedelta(days=30)
    return QuoteFacts(
        "Q-000003", billed.firm, billed.customer, PREMISES, billed.issued_on, until, billed.lines, agreement, 40, True
    )


def story_data() -> dict[str, Any]:
    """Three years of a customer with many kinds of equipment and causes."""
    day = date(2026, 3, 5)
    years = tuple(StoryYear(*span, 3, 900, failed) for span, failed in zip(list_years(day), (90, 45, 12), strict=True))
    causes = [
        ("visual", code, item) for item, code in enumerate(("plug-body", "cord-sheath", "case", "heat", "switch"))
    ]
    kinds = [(kind.value, place, 40 + place) for place, kind in enumerate(Kind)]
    due = {day + timedelta(days=20 * place): 10 + place for place in range(-3, 20)}
    facts = StoryFacts(years, causes, kinds, 147, [(day, day)] * 5, due, 950, 4)
    return story_from(FIRM, CUSTOMER, describe_story(facts, day), day)


def with_code(data: dict[str, Any]) -> dict[str, Any]:
    """A paper about money as it is issued; a draft has no code."""
    return data | {"check": {"url": CHECK_URL, "code": "K7QM-2XHD"}}


def logo() -> bytes:
    """A green rectangle as a PNG."""
    file = io.BytesIO()
    Image.new("RGB", (300, 100), (10, 200, 30)).save(file, "PNG")
    return file.getvalue()
