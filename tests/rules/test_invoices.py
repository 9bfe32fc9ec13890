"""From a visit to the lines of its invoice, and what stands against issuing one."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from app.rules.equipment import Kind
from app.rules.firms import LegalForm
from app.rules.invoices import (
    Basis,
    InvoiceFacts,
    InvoiceLine,
    PriceAgreement,
    VisitItem,
    list_visit_lines,
    may_issue_invoice,
    next_payment_date,
    number_invoice,
    total_facts,
)
from app.rules.letterheads import FirmFacts, list_missing_particulars
from app.rules.money import OUTSIDE_SCOPE, Adjustment, Vat, VatCategory
from tests.documents.sample_papers import CUSTOMER, FIRM, invoice

VAT = Vat(VatCategory.STANDARD, Decimal(20))
AGREEMENT = PriceAgreement(Decimal("1.45"), {Kind.EXTENSION_LEAD: Decimal("1.10")})
ITEMS = [VisitItem("0001", Kind.APPLIANCE), VisitItem("0002", Kind.EXTENSION_LEAD), VisitItem("0003", Kind.CHARGER)]


def amounts(lines: tuple[InvoiceLine, ...]) -> list[tuple[Basis, Decimal, Decimal]]:
    return [(line.basis, line.quantity, line.price) for line in lines]


def test_items_are_priced_by_kind_and_traced() -> None:
    lines = list_visit_lines(AGREEMENT, ITEMS, VAT)
    assert amounts(lines) == [
        (Basis.ITEMS, Decimal(2), Decimal("1.45")),
        (Basis.ITEMS, Decimal(1), Decimal("1.10")),
    ]
    assert [line.item_numbers for line in lines] == [("0001", "0003"), ("0002",)]
    assert [line.text for line in lines] == ["Inspection and test", "Inspection and test: extension lead"]


def test_an_untested_item_costs_nothing() -> None:
    lines = list_visit_lines(AGREEMENT, [VisitItem("0001", Kind.APPLIANCE, charged=False), ITEMS[1]], VAT)
    assert [line.item_numbers for line in lines] == [("0002",)]


@pytest.mark.parametrize(
    ("minimum", "call_out", "top_up"),
    [("60", None, "56.00"), ("60", "25", "31.00"), ("4.00", None, None), ("3", "25", None)],
)
def test_a_visit_costs_at_least_the_minimum(minimum: str, call_out: str | None, top_up: str | None) -> None:
    agreement = replace(
        AGREEMENT, minimum_charge=Decimal(minimum), call_out=None if call_out is None else Decimal(call_out)
    )
    lines = list_visit_lines(agreement, ITEMS, VAT)
    bases = [line.basis for line in lines]
    assert (Basis.CALL_OUT in bases) == (call_out is not None)
    tops = [line.price for line in lines if line.basis == Basis.MINIMUM]
    assert tops == ([] if top_up is None else [Decimal(top_up)])
    if tops:
        assert total_facts(facts_with(lines)).net == Decimal(minimum)


def test_a_visit_without_a_tested_item_still_costs_the_minimum() -> None:
    agreement = replace(AGREEMENT, minimum_charge=Decimal(60))
    lines = list_visit_lines(agreement, [VisitItem("0001", Kind.APPLIANCE, charged=False)], VAT)
    assert amounts(lines) == [(Basis.MINIMUM, Decimal(1), Decimal("60.00"))]


def facts_with(lines: tuple[InvoiceLine, ...], firm: FirmFacts = FIRM) -> InvoiceFacts:
    return replace(invoice(3), lines=lines, firm=firm)


def test_a_sound_invoice_may_be_issued() -> None:
    assert may_issue_invoice(invoice()) == ()
    assert may_issue_invoice(invoice(registered=False)) == ()


LINE = InvoiceLine("Repair", Decimal(1), Decimal(5), VAT)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"lines": ()}, "at least one line"),
        ({"customer": replace(CUSTOMER, name=" ")}, "customer has no name"),
        ({"customer": replace(CUSTOMER, address=())}, "address the invoice goes to"),
        ({"due_on": date(2026, 3, 1)}, "due before"),
        ({"lines": (replace(LINE, text=" "),)}, "words that say"),
        ({"lines": (LINE, replace(LINE, price=Decimal(-1)))}, "not negative"),
        ({"lines": (LINE, replace(LINE, vat=OUTSIDE_SCOPE))}, "invoice of its own"),
        ({"lines": (replace(LINE, quantity=Decimal(-1)),)}, "credit note"),
        ({"firm": replace(FIRM, vat_registered=False)}, "must not charge"),
        ({"adjustments": (Adjustment(True, Decimal(5), OUTSIDE_SCOPE),)}, "invoice of its own"),
    ],
)
def test_what_stands_against_issuing(change: dict[str, object], words: str) -> None:
    against = may_issue_invoice(replace(invoice(), **change))  # type: ignore[arg-type]
    assert len(against) == 1
    assert words in against[0]


@pytest.mark.parametrize(
    ("form", "change", "words"),
    [
        (LegalForm.SOLE_TRADER, {"legal_name": ""}, "owner's own name"),
        (LegalForm.PARTNERSHIP, {"legal_name": ""}, "all partners"),
        (LegalForm.LIMITED_COMPANY, {"legal_name": ""}, "registered name"),
        (LegalForm.LIMITED_COMPANY, {"company_number": ""}, "registered number"),
        (LegalForm.LIMITED_COMPANY, {"registered_in": ""}, "part of the United Kingdom"),
        (LegalForm.LLP, {"registered_office": ()}, "registered office"),
        (LegalForm.CHARITY, {"charity_number": ""}, "charity's registered number"),
        (LegalForm.SOLE_TRADER, {"address": ("",)}, "firm's address"),
        (LegalForm.SOLE_TRADER, {"phone": "", "email": ""}, "phone number or an e-mail"),
        (LegalForm.SOLE_TRADER, {"vat_number": ""}, "Enter the VAT number"),
        (LegalForm.SOLE_TRADER, {"vat_number": "12"}, "not a United Kingdom VAT number"),
    ],
)
def test_what_a_legal_form_must_know_of_itself(form: LegalForm, change: dict[str, object], words: str) -> None:
    # SI 2015/17 part 6 (companies); Companies Act 2006 s. 1202 (business names); Charities Act 2011 s. 194 (memory).
    whole = replace(FIRM, legal_form=form, charity_number="0000000")
    assert list_missing_particulars(whole) == ()
    gaps = list_missing_particulars(replace(whole, **change))  # type: ignore[arg-type]
    assert len(gaps) == 1
    assert words in gaps[0]


def test_a_sole_trader_needs_no_company_number() -> None:
    plain = FirmFacts(LegalForm.SOLE_TRADER, "Ines Tarn", ("2 Mill Lane", "Millbeck"), phone="01632 960101")
    assert list_missing_particulars(plain) == ()


def test_numbers_and_dates() -> None:
    assert number_invoice(45) == "INV-000045"
    assert number_invoice(1_000_000, "TA") == "TA-1000000"
    assert next_payment_date(date(2026, 3, 5), 30) == date(2026, 4, 4)
    with pytest.raises(ValueError, match="starts at 1"):
        number_invoice(0)
    with pytest.raises(ValueError, match="Days to pay"):
        next_payment_date(date(2026, 3, 5), -1)
