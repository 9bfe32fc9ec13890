"""Bank statements: a file from the bank, what its columns mean with a preview, and its lines to tick and book."""

from dataclasses import replace
from functools import partial
from typing import Any

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.bank_lines import (
    book_bank_lines,
    bring_bank_line_back,
    discard_statement,
    preview_statement,
    propose_matches,
    set_bank_line_aside,
    take_in_statement,
    upload_statement,
)
from app.rules.bank_statements import AmountFormat, DateFormat, Mapping, check_mapping
from app.rules.verdicts import Mistakes
from app.store.bank_lines import BankFileRow, count_bank_lines, get_bank_file, list_bank_files, list_bank_lines
from app.store.customers import list_customers
from app.web.fields import Form
from app.web.kit import Asked, Doing, Reading, Sent, ask_again, go, page
from app.web.uploaded_lists import UploadedKind, save_taken, save_uploaded, show_uploaded

routes = APIRouter()
COLUMNS = ("day", "text", "amount", "paid_in", "reference", "payer")
SHOWN = 200
STATEMENTS = UploadedKind(
    "/bank-statements", "bank_statements", "show", "Choose the file that the bank gave you.", "statement"
)


@routes.get("/bank-statements")
def list_bank_statements(request: Request, session: Reading) -> Response:
    return page(request, "bank_statements/list.html", form=Form(), **_shown(session))


@routes.post("/bank-statements")
def save_upload(request: Request, deed: Doing, sent: Sent) -> Response:
    return save_uploaded(request, STATEMENTS, sent, partial(upload_statement, deed), lambda: _shown(deed.session))


@routes.get("/bank-statements/{bank_file_id}")
def show_bank_statement(request: Request, session: Reading, asked: Asked, bank_file_id: int) -> Response:
    """What the file comes to; with columns in the address, what it would come to by those."""
    row = get_bank_file(session, bank_file_id)
    mapping = _mapping_from(asked) if "date_format" in asked.values else None
    return show_uploaded(request, STATEMENTS, row, lambda: _file_shown(session, row, mapping))


@routes.post("/bank-statements/{bank_file_id}/take")
def save_lines(request: Request, deed: Doing, sent: Sent, bank_file_id: int) -> Response:
    row, mapping = get_bank_file(deed.session, bank_file_id), _mapping_from(sent)
    take = partial(take_in_statement, deed, row.id, mapping)
    preview = partial(_file_shown, deed.session, row, mapping)
    return save_taken(request, STATEMENTS, take, preview, f"{STATEMENTS.address}#lines")


@routes.post("/bank-statements/{bank_file_id}/discard")
def remove_bank_statement(deed: Doing, bank_file_id: int) -> Response:
    discard_statement(deed, bank_file_id)
    return go("/bank-statements")


@routes.post("/bank-lines/book")
def save_bookings(request: Request, deed: Doing, sent: Sent) -> Response:
    """Book what is ticked, each line to the invoices chosen beside it."""
    try:
        ticked = []
        for name in list(sent.names("book_")):
            line_id = name.removeprefix("book_")
            chosen = sent.value(f"choice_{line_id}")
            ids = [int(each) for each in chosen.split("-") if each.isdecimal() and len(each) < 10]
            if line_id.isdecimal() and len(line_id) < 10 and sent.tick(name):
                ticked.append((int(line_id), ids))
        if not ticked:
            raise Mistakes({"": "Tick the lines that you want to book."})
        book_bank_lines(deed, ticked)
    except Mistakes as wrong:
        raise ask_again(request, "bank_statements/list.html", sent, wrong, **_shown(deed.session)) from wrong
    return go("/bank-statements#lines")


@routes.post("/bank-lines/{bank_line_id}/aside")
def remove_bank_line(deed: Doing, bank_line_id: int) -> Response:
    set_bank_line_aside(deed, bank_line_id)
    return go("/bank-statements#lines")


@routes.post("/bank-lines/{bank_line_id}/back")
def save_bank_line_back(deed: Doing, bank_line_id: int) -> Response:
    bring_bank_line_back(deed, bank_line_id)
    return go("/bank-statements#lines")


def _shown(session: Session) -> dict[str, Any]:
    proposals = propose_matches(session)
    return {
        "lines": proposals[:SHOWN],
        "more": max(len(proposals) - SHOWN, 0),
        "files": list_bank_files(session),
        "aside": list_bank_lines(session, "aside", 50),
        "booked": count_bank_lines(session, "booked"),
        "customers": [(each.id, each.name) for each in list_customers(session)] if proposals else [],
    }


def _file_shown(session: Session, row: BankFileRow, mapping: Mapping | None) -> dict[str, Any]:
    file, mapping, read, lines = preview_statement(session, row, mapping)
    fields: dict[str, Any] = {name: getattr(mapping, name) for name in COLUMNS}
    form = Form.showing(**fields, date_format=mapping.date_format, amount_format=mapping.amount_format)
    form.mistakes = check_mapping(mapping, len(file.columns))
    new = [each for each in lines if not each.known]
    return {
        "file": row,
        "content": file,
        "form": form,
        "columns": list(enumerate(file.columns)),
        "date_formats": [(each.value, each.word) for each in DateFormat],
        "amount_formats": [(each.value, each.word) for each in AmountFormat],
        "read": read,
        "lines": lines[:SHOWN],
        "more": max(len(lines) - SHOWN, 0),
        "new": len(new),
        "new_pence": sum(each.line.pence for each in new),
        "known": len(lines) - len(new),
    }


def _mapping_from(form: Form) -> Mapping:
    places = {name: form.whole(name, 0, 500) for name in COLUMNS}
    mapping = Mapping(**places)  # type: ignore[arg-type]
    return replace(
        mapping,
        date_format=form.choice("date_format", DateFormat, DateFormat.DAY_FIRST),
        amount_format=form.choice("amount_format", AmountFormat, AmountFormat.POINT),
    )
