"""The invoice as paper: regulation 14 of the VAT Regulations 1995, the firm's legal form, and no tax from a firm that
is not registered."""

import json
from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from app.documents.invoice import invoice_from
from app.documents.pdf import drawn_from, to_pdf
from app.rules.firms import LegalForm
from app.rules.invoices import InvoiceLine, total_facts
from app.rules.letterheads import FirmFacts
from app.rules.money import Adjustment, Vat, VatCategory
from tests.documents.every_paper import SAMPLES, logo, with_code
from tests.documents.reading_back import codes_on, pages_of, text_of
from tests.documents.sample_papers import CHECK_URL, FIRM, invoice

STANDARD = Vat(VatCategory.STANDARD, Decimal(20))


def text_from(facts: object) -> str:
    return text_of(to_pdf("invoice", invoice_from(facts)))  # type: ignore[arg-type]


TEXT = text_from(invoice())


@pytest.mark.parametrize(
    "words",
    [
        "Invoice",
        "INV-000045",
        "Date of supply 4 March 2026",
        "Tax point 5 March 2026",
        "Invoice date 5 March 2026",
        "Tarn & Alder Electrical Testing",
        "2 Mill Lane, Millbeck, ZZ1 2AB",
        "VAT number GB 999 9999 73",
        "Brackenhow Primary School Fell Road Millbeck ZZ1 4PS",
        "Inspection and test: extension lead",
        "10 items £1.10 20% £11.00",
        "19 items £1.45 20% £27.55",
        "Total without VAT £69.55",
        "VAT £13.91",
        "Total to pay £83.46",
        "Please pay £83.46 by 4 April 2026",
        "Sort code",
        "00-00-00",
        "PO 1188",
        "C-000123",
        "registered in England and Wales, number 00000000",
        "Page 1 of 1",
    ],
)
def test_what_a_full_vat_invoice_must_hold(words: str) -> None:
    assert words in TEXT


def test_the_data_can_be_kept_and_agrees_with_the_rules() -> None:
    facts = invoice()
    data = invoice_from(facts)
    assert json.loads(json.dumps(data)) == data
    totals = total_facts(facts)
    assert data["totals"]["BT-112"] == str(totals.gross)
    assert [line["BT-131"] for line in data["lines"]] == [str(net) for net in totals.line_nets]
    numbers = [number for line in data["lines"] for number in line["item_numbers"]]
    assert len(numbers) == len(set(numbers)) == 39


def test_a_firm_that_is_not_registered_never_mentions_the_tax() -> None:
    # The number stays in the settings; it must not reach the paper.
    facts = replace(invoice(registered=False), paid=Decimal(10), adjustments=(
        Adjustment(False, Decimal(1), invoice(registered=False).lines[0].vat, "Thanks"),
    ))  # fmt: skip
    pdf = to_pdf("invoice", invoice_from(facts))
    text = text_of(pdf)
    for word in ("VAT", "vat", "20%", "20 %", "999", "Tax", "tax", "Net", "scope"):
        assert word not in text
    assert b"VAT" not in pdf
    assert "Please pay £" in text
    # The structured part must say why there is no tax (EN 16931, category O); the paper itself says nothing.
    printed = {name: value for name, value in invoice_from(facts).items() if name != "terms_en16931"}
    assert "BT-110" not in json.dumps(printed)


def test_special_rates_are_said_in_words() -> None:
    lines = (
        InvoiceLine("Test", Decimal(1), Decimal(100), STANDARD),
        InvoiceLine("Wiring", Decimal(1), Decimal(50), Vat(VatCategory.REVERSE_CHARGE, Decimal(0))),
        InvoiceLine("Course", Decimal(2), Decimal(10), Vat(VatCategory.EXEMPT, Decimal(0))),
        InvoiceLine("Book", Decimal(1), Decimal(5), Vat(VatCategory.ZERO, Decimal(0))),
    )
    text = text_from(replace(invoice(), lines=lines))
    assert "Reverse charge: the customer accounts to HMRC for the VAT of £10.00 at 20% on £50.00" in text
    assert "£20.00 is exempt from VAT." in text
    assert "zero rated £5.00 £0.00" in text
    assert "Total to pay £195.00" in text


def test_allowances_payments_and_rounding_are_steps() -> None:
    facts = replace(
        invoice(), adjustments=(Adjustment(False, Decimal("5.00"), STANDARD, "Agreed discount"),),
        paid=Decimal(20), rounding=Decimal("0.04"),
    )  # fmt: skip
    text = text_from(facts)
    for words in (
        "Agreed discount 20% −£5.00", "Sum of lines £69.55", "Allowances −£5.00", "Total without VAT £64.55",
        "VAT £12.91", "Total with VAT £77.46", "Already paid −£20.00", "Rounding £0.04", "To pay £57.50",
    ):  # fmt: skip
        assert words in text


def test_a_paid_invoice_asks_for_nothing() -> None:
    text = text_from(replace(invoice(), paid=Decimal("83.46")))
    assert "To pay £0.00" in text
    assert "Please pay" not in text


def test_a_fractional_price_keeps_its_places() -> None:
    line = InvoiceLine("Labels", Decimal("2.5"), Decimal("0.275"), STANDARD, "m", Decimal(10))
    text = text_from(replace(invoice(), lines=(line,)))
    assert "2.5 m £0.275 for 10" in text


def test_a_long_invoice_repeats_its_head_and_number() -> None:
    facts = invoice()
    pages = pages_of(to_pdf("invoice", invoice_from(replace(facts, lines=facts.lines * 20))))
    assert len(pages) > 2
    for text in pages:
        assert "INV-000045" in text
    assert sum("Unit price" in text for text in pages) >= len(pages) - 1


SOLE = FirmFacts(
    LegalForm.SOLE_TRADER, "Ines Tarn", ("2 Mill Lane", "Millbeck", "ZZ1 2AB"), "Tarn Electrical Testing",
    phone="01632 960101",
)  # fmt: skip
COMPANY_WORDS = ("Registered in", "registered in", "Registered office", "00000000")
FORMS = {
    "sole trader under another name": (
        SOLE,
        ("Tarn Electrical Testing is a trading name of Ines Tarn", "Address for documents: 2 Mill Lane"),
        COMPANY_WORDS,
    ),
    "sole trader under the own name": (replace(SOLE, trading_name=""), ("Ines Tarn",), COMPANY_WORDS),
    "partnership": (
        replace(SOLE, legal_form=LegalForm.PARTNERSHIP, legal_name="Ines Tarn and Joss Alder"),
        ("Tarn Electrical Testing is a partnership of Ines Tarn and Joss Alder", "Address for documents"),
        COMPANY_WORDS,
    ),
    "limited company": (
        FIRM,
        ("a trading name of Tarn & Alder Electrical Testing Ltd, registered in England and Wales, number 00000000",
         "Registered office: 2 Mill Lane, Millbeck, ZZ1 2AB"),
        ("Address for documents", "charity"),
    ),
    "company without another name": (
        replace(FIRM, trading_name=""),
        ("Tarn & Alder Electrical Testing Ltd is registered in England and Wales, number 00000000",),
        ("trading name", "charity"),
    ),
    "LLP": (
        replace(FIRM, legal_form=LegalForm.LLP, legal_name="Tarn & Alder LLP", registered_in="Scotland"),
        ("Tarn & Alder LLP, registered in Scotland, number 00000000", "Registered office"),
        ("charity",),
    ),
    "charity": (
        replace(FIRM, legal_form=LegalForm.CHARITY, legal_name="Millbeck Tool Library", trading_name="",
                charity_number="1000000", company_number=""),
        ("Millbeck Tool Library is a registered charity, number 1000000",),
        ("Registered office",),
    ),
    "charitable company": (
        replace(FIRM, legal_form=LegalForm.CHARITY, legal_name="Millbeck Tool Library", charity_number="1000000"),
        ("a trading name of Millbeck Tool Library, a registered charity, number 1000000",
         "Registered in England and Wales, number 00000000. Registered office"),
        ("Address for documents",),
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", FORMS)
def test_a_legal_form_says_what_it_must(name: str) -> None:
    # SI 2015/17 part 6; Companies Act 2006 s. 1202; Charities Act 2011 s. 194 (memory).
    firm, present, absent = FORMS[name]
    text = text_from(replace(invoice(3), firm=replace(firm, bank=None)))
    for words in present:
        assert words in text
    for words in absent:
        assert words not in text


def test_item_numbers_below_a_line_are_drawn_together() -> None:
    line = InvoiceLine("Test", Decimal(5), Decimal(1), STANDARD, item_numbers=("0003", "0001", "0002", "0009", "A-1"))
    (drawn,) = invoice_from(replace(invoice(), lines=(line,)))["lines"]
    assert drawn["items"] == "Items A-1, 0001 to 0003, 0009"
    many = replace(line, item_numbers=tuple(f"{number:04d}" for number in range(1, 400, 2)))
    (drawn,) = invoice_from(replace(invoice(), lines=(many,)))["lines"]
    assert len(drawn["items"]) < 200
    assert drawn["items"].endswith(f"and {200 - drawn['items'].count(',') - 1} more")


def test_dates_and_terms_are_printed() -> None:
    facts = replace(invoice(), due_on=date(2026, 3, 19), terms="Interest may be claimed on late payment.")
    text = text_from(facts)
    assert "by 19 March 2026" in text
    assert "Interest may be claimed on late payment." in text


@pytest.mark.parametrize("kind", ["invoice", "quote", "credit_note", "claim"])
def test_an_issued_paper_about_money_carries_the_code_of_its_check(kind: str) -> None:
    paper = SAMPLES[kind]()
    [(address, width_mm)] = codes_on(paper)
    assert address == CHECK_URL and width_mm >= 20
    assert "Not for paying." in text_of(paper)


@pytest.mark.parametrize("registered", [True, False])
def test_how_to_pay_stays_on_the_one_page_with_a_code_and_a_logo(registered: bool) -> None:
    for count in (40, 400, 5_000):
        data = with_code(invoice_from(invoice(count, registered=registered)))
        assert drawn_from("invoice", data, logo_png=logo(), only_count=True).pages == 1, count


def test_a_draft_has_no_code() -> None:
    assert codes_on(to_pdf("invoice", invoice_from(replace(invoice(3), number="")))) == []
