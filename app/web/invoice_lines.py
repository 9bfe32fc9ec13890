"""Editing the lines of a draft invoice, with the totals as they are typed. A line left empty is no line."""

import re
from dataclasses import replace
from decimal import Decimal
from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.drafts import DraftLine, change_draft
from app.rules.discounts import list_document_allowances, list_line_allowances, parse_discount
from app.rules.invoices import InvoiceLine, total_facts
from app.rules.money import OUTSIDE_SCOPE, VatGroup, convert_to_pence
from app.rules.quantities import parse_number
from app.rules.vat_rates import VatTreatment, number_vat_rate
from app.rules.verdicts import Mistakes, Refused
from app.store.firms import FirmRow, get_firm
from app.store.invoice_facts import facts_for_invoice
from app.store.invoices import InvoiceRow, get_invoice
from app.web.fields import Form
from app.web.filters import show_number
from app.web.kit import Asked, Doing, Reading, Sent, TheDesk, ask_again, go, page

routes = APIRouter()
EMPTY_LINES = 2
LINES_MOST = 100


@routes.get("/invoices/{invoice_id}/edit")
def edit_invoice(request: Request, session: Reading, desk: TheDesk, invoice_id: int) -> Response:
    row = get_invoice(session, invoice_id)
    _refuse_issued(row)
    form = _form_of(row)
    totals = _totals_of(session, desk, row, form)
    context: dict[str, Any] = {"places": _places(form), "totals": totals, "treatments": _treatments(get_firm(session))}
    return page(request, "invoices/edit.html", invoice=row, form=form, **context)


@routes.post("/invoices/{invoice_id}")
def save_invoice(request: Request, desk: TheDesk, deed: Doing, sent: Sent, invoice_id: int) -> Response:
    row = get_invoice(deed.session, invoice_id)
    _refuse_issued(row)
    places: list[int] = []
    try:
        lines = _lines_from(sent, places)
        reference = sent.text("reference", 100)
        sent.done()
        discount, reason = sent.text("discount", 20), sent.text("discount_reason", 100)
        sent.done()
        change_draft(deed, invoice_id, lines, reference, sent.version(), discount, reason)
    except Mistakes as wrong:
        here = Mistakes(dict(_at_places(wrong.messages, places)))
        totals = _totals_of(deed.session, desk, row, sent)
        treatments = _treatments(get_firm(deed.session))
        context = {"invoice": row, "places": _places(sent), "totals": totals, "treatments": treatments}
        raise ask_again(request, "invoices/edit.html", sent, here, **context) from wrong
    return go(f"/invoices/{invoice_id}/edit#more" if sent.value("then") == "more" else f"/invoices/{invoice_id}")


@routes.get("/invoices/{invoice_id}/parts/totals")
def part_totals(request: Request, session: Reading, desk: TheDesk, asked: Asked, invoice_id: int) -> Response:
    row = get_invoice(session, invoice_id)
    return page(request, "invoices/_totals.html", invoice=row, totals=_totals_of(session, desk, row, asked))


def _refuse_issued(row: InvoiceRow) -> None:
    if row.state != "draft":
        raise Refused(f"Invoice {row.number} is issued and does not change. A change needs a credit note.")


def _form_of(row: InvoiceRow) -> Form:
    form = Form.showing(
        version=row.version, reference=row.reference, discount=row.discount, discount_reason=row.discount_reason
    )
    for place, line in enumerate(row.lines):
        price = f"{line.price:.2f}" if line.price == round(line.price, 2) else show_number(line.price)
        form.values |= {
            f"line_{place}": str(line.id),
            f"text_{place}": line.description,
            f"quantity_{place}": show_number(line.quantity),
            f"price_{place}": price,
            f"treatment_{place}": line.treatment,
            f"discount_{place}": line.discount,
        }
    return form


def _places(form: Form) -> list[int]:
    """The places of the lines on the form: those that were sent, and some empty ones after them."""
    used = [place for place in _sent_places(form) if _is_filled(form, place)]
    after = max(used, default=-1) + 1
    return used + list(range(after, after + EMPTY_LINES))


def _sent_places(form: Form) -> list[int]:
    found = {int(name[5:]) for name in form.names("text_") if re.fullmatch(r"[0-9]{1,3}", name[5:])}
    return sorted(found)[:LINES_MOST]


def _is_filled(form: Form, place: int) -> bool:
    return any(form.value(f"{name}_{place}").strip() for name in ("text", "quantity", "price"))


def _lines_from(form: Form, places: list[int]) -> list[DraftLine]:
    """The lines that were typed; places gets the place of each on the form."""
    lines = []
    for place in _sent_places(form):
        if not _is_filled(form, place) or form.tick(f"remove_{place}"):
            continue
        quantity = _number_from(form, f"quantity_{place}", signed=True, needed="Say how many.")
        price = _number_from(form, f"price_{place}", needed="Give the price of one, without VAT; 0 for nothing.")
        text = form.text(f"text_{place}", needed="Say what this line is for.")
        kept = form.value(f"line_{place}")
        line_id = int(kept) if re.fullmatch(r"[0-9]{1,9}", kept) else None
        lines.append(DraftLine(text, quantity, price, line_id, _treatment_from(form, place), _discount(form, place)))
        places.append(place)
    return lines


def _number_from(form: Form, name: str, needed: str, signed: bool = False) -> Decimal:
    """A number with at most four decimals; a minus only where signed, a pound sign and thousands' commas allowed."""
    text = form.value(name).strip().replace("£", "").replace("−", "-")
    if not text:
        form.blame(name, needed)
        return Decimal(1)
    minus = text.startswith("-") and signed
    text = text.removeprefix("-") if signed else text
    text = text.replace(",", "") if re.fullmatch(r"[1-9]\d{0,2}(,\d{3})+(\.\d*)?", text) else text
    try:
        value = parse_number(text, places=4)
    except ValueError as problem:
        form.blame(name, str(problem))
        return Decimal(1)
    return -value if minus else value


def _at_places(messages: dict[str, str], places: list[int]) -> list[tuple[str, str]]:
    """Messages of the action, which counts the lines it got, under the names that the fields have on the form."""
    named = []
    for name, message in messages.items():
        field, _, count = name.rpartition("_")
        own = (
            field in ("text", "quantity", "price", "treatment", "discount")
            and count.isdigit()
            and int(count) < len(places)
        )
        named.append((f"{field}_{places[int(count)]}" if own else name, message))
    return named


def _treatments(firm: FirmRow) -> list[tuple[str, str]]:
    """How VAT can treat a line; nothing to choose for a firm that is not registered."""
    if not firm.vat_registered:
        return []
    usual = [each for each in VatTreatment if each != VatTreatment.REVERSE_CHARGE or firm.reverse_charge]
    return [(each.value, each.word) for each in usual]


def _treatment_from(form: Form, place: int) -> VatTreatment | None:
    name = f"treatment_{place}"
    return form.choice(name, VatTreatment, VatTreatment.STANDARD) if form.value(name) else None


def _discount(form: Form, place: int) -> str:
    """The discount as typed, when it can be read."""
    text = form.text(f"discount_{place}", 20)
    try:
        parse_discount(text)
    except ValueError as problem:
        form.blame(f"discount_{place}", str(problem))
        return ""
    return text


def _totals_of(session: Session, desk: TheDesk, row: InvoiceRow, form: Form) -> dict[str, object]:
    """The totals of what stands in the form, in pence; lines that cannot be read yet are left out and counted."""
    firm = get_firm(session)
    kept = facts_for_invoice(session, row, desk.today)
    lines, unread = [], 0
    for place in _sent_places(form):
        if not _is_filled(form, place) or form.tick(f"remove_{place}"):
            continue
        trial = Form(dict(form.values))
        quantity, price = (
            _number_from(trial, f"quantity_{place}", "?", signed=True),
            _number_from(trial, f"price_{place}", "?"),
        )
        off = parse_discount(_discount(trial, place))
        treatment = _treatment_from(trial, place) or VatTreatment.STANDARD
        if trial.mistakes:
            unread += 1
            continue
        vat = number_vat_rate(treatment, kept.tax_point or row.tax_point) if firm.vat_registered else OUTSIDE_SCOPE
        lines.append(InvoiceLine("", quantity, price, vat, adjustments=list_line_allowances(off, quantity, price)))
    try:
        whole = parse_discount(form.value("discount"), form.value("discount_reason"))
    except ValueError:
        whole, unread = None, unread + 1
    allowances = list_document_allowances(whole, [line.priced for line in lines])
    totals = total_facts(replace(kept, lines=tuple(lines), adjustments=allowances))
    return {
        "allowances": convert_to_pence(totals.allowances),
        "net": convert_to_pence(totals.net),
        "gross": convert_to_pence(totals.gross),
        "groups": [_group(group) for group in totals.groups] if firm.vat_registered else [],
        "registered": firm.vat_registered,
        "unread": unread,
    }


def _group(group: VatGroup) -> tuple[str, int]:
    word = f"{show_number(group.rate)}%" if group.rate else group.category.word
    return word, convert_to_pence(group.tax)
