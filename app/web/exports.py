"""Lists as files: exactly what a list shows by the choices in the address, all of its pages, as CSV or as a sheet."""

from decimal import Decimal
from typing import Any

from fastapi import APIRouter, Response

from app.actions.deeds import Desk
from app.actions.exports import export_listing
from app.rules.file_names import suggest_file_name
from app.rules.listings import Cell, Listing
from app.rules.money import convert_from_pence
from app.rules.paces import describe_duration
from app.store.certificates import list_certificates
from app.store.database import Missing
from app.store.invoices import list_invoices
from app.store.premises import get_premises
from app.store.readings import count_progress_of
from app.store.registers import (
    RegisterCounts,
    count_premises_of_customers,
    count_registers_of_customers,
    list_customers_by_words,
)
from app.web.defects import list_defect_entries
from app.web.due_work import list_due_entries
from app.web.filters import show_word
from app.web.invoices import STATES as INVOICE_STATES
from app.web.kit import Asked, Reading, TheDesk, ThePerson, attachment
from app.web.premises import list_items_asked
from app.web.visits import list_visits_asked

routes = APIRouter()
ROWS_MOST = 200_000
KINDS = {"csv": "text/csv", "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"}


@routes.get("/exports/customers.{kind}")
def download_customers(session: Reading, desk: TheDesk, asked: Asked, kind: str) -> Response:
    found = list_customers_by_words(session, asked.text("q"))
    ids = [row.id for row in found]
    counts, premises = count_registers_of_customers(session, ids, desk.today), count_premises_of_customers(session, ids)
    head = ("Customer", "Address", "Postcode", "E-mail", "Phone", "Next due", "Overdue", "Due in 30 days", "Out of use",
            "Items", "Premises")  # fmt: skip
    rows = []
    for row in found:
        told = counts.get(row.id, RegisterCounts())
        where = (row.name, _one_line(row.address), row.postcode, row.email, row.phone, told.first_due_on)
        rows.append((*where, told.overdue, told.soon, told.out_of_use, told.items, premises.get(row.id, 0)))
    return _file(desk, kind, "Customers", head, rows)


@routes.get("/exports/premises/{premises_id}/items.{kind}")
def download_items(session: Reading, desk: TheDesk, asked: Asked, premises_id: int, kind: str) -> Response:
    place = get_premises(session, premises_id)
    head = ("Number", "Item", "Location", "Equipment type", "Make", "Model", "Batch", "Serial number", "Class",
            "Last tested", "Verdict", "Next due", "State", "Why")  # fmt: skip
    rows = [
        (row.number, row.description, row.location.name, row.equipment_type.name if row.equipment_type else "",
         row.make, row.model, row.batch, row.serial, row.facts.construction.word, row.last_tested_on,
         row.last_verdict or "", row.next_due_on, row.state, row.state_reason)
        for row in list_items_asked(session, place.id, asked, desk.today)
    ]  # fmt: skip
    return _file(desk, kind, "Register", head, rows, f"{place.customer.name} {place.name}")


@routes.get("/exports/visits.{kind}")
def download_visits(session: Reading, desk: TheDesk, person: ThePerson, asked: Asked, kind: str) -> Response:
    found = list_visits_asked(session, person, asked, ROWS_MOST)
    progress = count_progress_of(session, [row.id for row in found])
    head = ("Day", "Time", "Customer", "Premises", "Postcode", "Technician", "Items", "Failed", "State")
    rows = [
        (row.booked_on, row.booked_time.strftime("%H:%M") if row.booked_time else "", row.customer.name,
         row.premises.name, row.premises.postcode, row.technician.name, progress[row.id].items,
         progress[row.id].failed, row.state)
        for row in found
    ]  # fmt: skip
    return _file(desk, kind, "Visits", head, rows)


@routes.get("/exports/invoices.{kind}")
def download_invoices(session: Reading, desk: TheDesk, asked: Asked, kind: str) -> Response:
    state = asked.value("state") if asked.value("state") in dict(INVOICE_STATES) else ""
    found = list_invoices(session, None, state, asked.text("q"), ROWS_MOST, 0, desk.today)
    head = (
        "Invoice",
        "Customer",
        "Premises",
        "Reference",
        "State",
        "Issued",
        "Due",
        "Without VAT",
        "VAT",
        "Total",
        "Owed",
    )
    rows = [
        (row.number or "Draft", row.customer.name, row.visit.premises.name, row.reference,
         show_word(row.state_on(desk.today)), row.issued_on, row.due_on, _pounds(row.net_pence), _pounds(row.vat_pence),
         _pounds(row.gross_pence), _pounds(row.owed_pence) if row.number else None)
        for row in found
    ]  # fmt: skip
    return _file(desk, kind, "Invoices", head, rows)


@routes.get("/exports/certificates.{kind}")
def download_certificates(session: Reading, desk: TheDesk, asked: Asked, kind: str) -> Response:
    head = ("Certificate", "Standing", "Customer", "Premises", "Issued", "Items", "Passed", "Failed", "Not tested")
    rows = [
        (row.number, show_word(row.standing), row.customer.name, row.visit.premises.name, row.issued_on, row.items,
         row.passed, row.failed, row.items - row.passed - row.failed)
        for row in list_certificates(session, search=asked.text("q"), limit=ROWS_MOST)
    ]  # fmt: skip
    return _file(desk, kind, "Certificates", head, rows)


@routes.get("/exports/defects.{kind}")
def download_defects(session: Reading, desk: TheDesk, person: ThePerson, asked: Asked, kind: str) -> Response:
    head = (
        "Number",
        "Item",
        "Customer",
        "Premises",
        "State",
        "Found on",
        "Found",
        "What puts it right",
        "Must act",
        "By",
        "How it stands",
        "How",
    )
    rows = [
        (each.open.item.number, each.open.item.description, each.open.customer, each.open.premises,
         each.open.item.state, each.found_on, each.open.defect.found, each.open.defect.remedy,
         each.who, each.open.defect.act_by, show_word(each.state), each.sentence)
        for each in list_defect_entries(session, desk, person, asked)
    ]  # fmt: skip
    return _file(desk, kind, "Open defects", head, rows)


@routes.get("/exports/due.{kind}")
def download_due_work(session: Reading, desk: TheDesk, person: ThePerson, asked: Asked, kind: str) -> Response:
    head = ("Customer", "Premises", "Environment", "Day", "First due", "Last due", "Items", "Overdue already",
            "On site", "Items early", "Days of interval lost", "Overdue by then",
            "Days overdue in all", "Booked for")  # fmt: skip
    entries = list_due_entries(session, desk, person, asked).entries
    rows: list[tuple[Cell, ...]] = []
    for each in entries:
        place, visit = each.place, each.visit
        days = (
            visit.day,
            visit.first_due_on,
            visit.last_due_on,
            visit.items,
            each.late_already,
            describe_duration(each.estimate.minutes),
        )
        costs = (visit.early, visit.days_lost, visit.overdue, visit.days_overdue)
        booked = place.booked_on if each.booked else None
        money = (_pounds(each.pence) if each.pence is not None else None,) if person.sees_money else ()
        rows.append((place.customer, place.premises, show_word(place.environment), *days, *costs, booked, *money))
    return _file(desk, kind, "Due for testing", (*head, "Without VAT") if person.sees_money else head, rows)


def _file(desk: Desk, kind: str, name: str, head: tuple[str, ...], rows: list[Any], about: str = "") -> Response:
    if kind not in KINDS:
        raise Missing("file of that kind")
    content = export_listing(Listing(name, head, tuple(rows)), kind, desk.today)
    return attachment(content, KINDS[kind], suggest_file_name(name, "", about, desk.today, kind))


def _pounds(pence: int | None) -> Decimal | None:
    return None if pence is None else convert_from_pence(pence)


def _one_line(text: str) -> str:
    return ", ".join(text.splitlines())
