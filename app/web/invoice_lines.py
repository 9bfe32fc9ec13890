"""Editing the lines of a draft invoice, with the totals as they are typed. A line left empty is no line."""

import re
from dataclasses import replace
from decimal import Decimal

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.invoices import DraftLine, change_draft
from app.rules.invoices import InvoiceLine, total_facts
from app.rules.money import OUTSIDE_SCOPE, convert_to_pence
from app.rules.quantities import parse_number
from app.rules.vat_rates import VatTreatment, number_vat_rate
from app.rules.verdicts import Mistakes, Refused
from app.store.firms import get_firm
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
    return page(request, "invoices/edit.html", invoice=row, form=form, places=_places(form), totals=totals)


@routes.post("/invoices/{invoice_id}")
def save_invoice(request: Request, desk: TheDesk, deed: Doing, sent: Sent, invoice_id: int) -> Response:
    row = get_invoice(deed.session, invoice_id)
    _refuse_issued(row)
    places: list[int] = []
    try:
        lines = _lines_from(sent, places)
        reference = sent.text("reference", 100)
        sent.done()
        change_draft(deed, invoice_id, lines, reference, sent.version())
    except Mistakes as wrong:
        here = Mistakes(dict(_at_places(wrong.messages, places)))
        totals = _totals_of(deed.session, desk, row, sent)
        context = {"invoice": row, "places": _places(sent), "totals": totals}
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
    form = Form.showing(version=row.version, reference=row.reference)
    for place, line in enumerate(row.lines):
        price = f"{line.price:.2f}" if line.price == round(line.price, 2) else show_number(line.price)
        form.values |= {
            f"line_{place}": str(line.id),
            f"text_{place}": line.description,
            f"quantity_{place}": show_number(line.quantity),
            f"price_{place}": price,
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
        lines.append(DraftLine(text, quantity, price, int(kept) if re.fullmatch(r"[0-9]{1,9}", kept) else None))
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
        own = field in ("text", "quantity", "price") and count.isdigit() and int(count) < len(places)
        named.append((f"{field}_{places[int(count)]}" if own else name, message))
    return named


def _totals_of(session: Session, desk: TheDesk, row: InvoiceRow, form: Form) -> dict[str, object]:
    """The totals of what stands in the form, in pence; lines that cannot be read yet are left out and counted."""
    firm = get_firm(session)
    vat = number_vat_rate(VatTreatment.STANDARD, row.tax_point) if firm.vat_registered else OUTSIDE_SCOPE
    lines, unread = [], 0
    for place in _sent_places(form):
        if not _is_filled(form, place) or form.tick(f"remove_{place}"):
            continue
        trial = Form(dict(form.values))
        line = _lines_from_one(trial, place)
        if trial.mistakes:
            unread += 1
        else:
            lines.append(InvoiceLine("", line[0], line[1], vat))
    totals = total_facts(replace(facts_for_invoice(session, row, desk.today), lines=tuple(lines)))
    return {
        "net": convert_to_pence(totals.net),
        "vat": convert_to_pence(totals.vat),
        "gross": convert_to_pence(totals.gross),
        "rate": vat.rate,
        "unread": unread,
    }


def _lines_from_one(form: Form, place: int) -> tuple[Decimal, Decimal]:
    quantity = _number_from(form, f"quantity_{place}", signed=True, needed="?")
    return quantity, _number_from(form, f"price_{place}", needed="?")
