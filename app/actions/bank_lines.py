"""Taking a bank's statement file in, and booking its lines, each by a person's word."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from sqlalchemy.orm import Session

from app.actions.deeds import Deed
from app.actions.payments import take_payment
from app.rules import bank_statements as rules
from app.rules.csv_files import CsvFile
from app.rules.money import convert_from_pence
from app.rules.payment_matches import Proposal, list_proposals
from app.rules.payments import Method, OpenInvoice, PaymentDetails, suggest_shares
from app.rules.verdicts import Mistakes, Refused
from app.store.bank_lines import (
    BankFileRow,
    BankLineRow,
    find_columns_of,
    get_bank_file,
    get_bank_line,
    list_bank_lines,
    list_known_marks,
)
from app.store.invoices import list_open_invoices


@dataclass(frozen=True)
class PreviewLine:
    """A line as it would be taken in. known: it is there from an earlier file."""

    line: rules.StatementLine
    known: bool


def upload_statement(deed: Deed, name: str, content: bytes) -> BankFileRow:
    """Keep a file until somebody has said what its columns mean. Raises Mistakes when it cannot be read."""
    try:
        file = rules.parse_statement_file(content)
    except ValueError as error:
        raise Mistakes({"file": str(error)}) from error
    before = find_columns_of(deed.session, file.mark)
    mapping = _mapping_from(before) if before is not None else rules.suggest_mapping(file)
    row = BankFileRow(
        name=name[:200],
        content=content,
        mark=file.mark,
        columns=asdict(mapping),
        state="waiting",
        uploaded_at=deed.now,
        uploaded_by_id=deed.person.id if deed.person else None,
    )
    deed.session.add(row)
    deed.session.flush()
    deed.note("bank statement", row.id, f"Uploaded the bank statement {row.name}.")
    return row


def preview_statement(
    session: Session, row: BankFileRow, mapping: rules.Mapping | None = None
) -> tuple[CsvFile, rules.Mapping, rules.ReadStatement | None, list[PreviewLine]]:
    """What a file would come to by a mapping, else by its own; nothing is written."""
    if row.content is None:
        raise Refused("This bank statement is dealt with.")
    file = rules.parse_statement_file(row.content)
    mapping = mapping or _mapping_from(row.columns)
    if rules.check_mapping(mapping, len(file.columns)):
        return file, mapping, None, []
    read = rules.parse_statement(file, mapping)
    known = list_known_marks(session, [line.mark for line in read.lines])
    return file, mapping, read, [PreviewLine(line, line.mark in known) for line in read.lines]


def take_in_statement(deed: Deed, bank_file_id: int, mapping: rules.Mapping) -> BankFileRow:
    """Take in the lines of money that came, all but those that are there already; the file itself is dropped.

    Raises Mistakes for a mapping that does not do. Rows that cannot be read stop it.
    """
    row = get_bank_file(deed.session, bank_file_id, locked=True)
    if row.content is None:
        raise Refused("This bank statement is dealt with.")
    file = rules.parse_statement_file(row.content)
    if mistakes := rules.check_mapping(mapping, len(file.columns)):
        raise Mistakes(mistakes)
    read = rules.parse_statement(file, mapping)
    if read.problems:
        place, sentence = read.problems[0]
        more = f" So are {len(read.problems) - 1} more." if len(read.problems) > 1 else ""
        raise Mistakes({"": f"Row {place} cannot be read: {sentence}{more}"})
    known = list_known_marks(deed.session, [line.mark for line in read.lines])
    for line in read.lines:
        if line.mark not in known:
            deed.session.add(
                BankLineRow(
                    bank_file_id=row.id, booked_on=line.day, pence=line.pence, text=line.text,
                    reference=line.reference, payer=line.payer, mark=line.mark, state="open",
                )
            )  # fmt: skip
    row.content, row.state, row.columns = None, "taken", asdict(mapping)
    row.taken, row.known = len(read.lines) - len(known), len(known)
    deed.session.flush()
    deed.note("bank statement", row.id, f"Took in {row.taken} lines of {row.name}; {row.known} were there already.")
    return row


def discard_statement(deed: Deed, bank_file_id: int) -> None:
    """Drop a file without taking anything from it."""
    row = get_bank_file(deed.session, bank_file_id, locked=True)
    if row.content is None:
        raise Refused("This bank statement is dealt with.")
    row.content, row.state = None, "discarded"
    deed.note("bank statement", row.id, f"Discarded the bank statement {row.name}.")


def propose_matches(session: Session) -> list[tuple[BankLineRow, tuple[Proposal, ...]]]:
    """The open lines, each with what it may have paid; nothing is written."""
    invoices = list_open_invoices(session)
    return [(row, list_proposals(row.words, row.pence, invoices)) for row in list_bank_lines(session)]


def book_bank_lines(deed: Deed, ticked: Sequence[tuple[int, Sequence[int]]]) -> int:
    """Book lines as payments of the invoices that were ticked for them: (line, invoices); gives how many.

    Each is shared the one due first before the others; what is more than they owe is held as the customer's credit.
    Raises Mistakes, field choice_<line>, for a line whose invoices owe nothing any more; nothing is booked then.
    """
    mistakes = {}
    for line_id, invoice_ids in ticked:
        line = get_bank_line(deed.session, line_id)
        by_id = {invoice.id: invoice for invoice in list_open_invoices(deed.session)}
        chosen = [by_id[each] for each in invoice_ids if each in by_id]
        if len(chosen) != len(invoice_ids) or len({each.customer_id for each in chosen}) != 1:
            mistakes[f"choice_{line_id}"] = "Nothing is to be paid on this invoice any more. Choose again."
            continue
        _book(deed, line, chosen)
    if mistakes:
        raise Mistakes(mistakes)
    return len(ticked)


def _book(deed: Deed, line: BankLineRow, chosen: list[OpenInvoice]) -> None:
    shares = {invoice.id: pence for invoice, pence in suggest_shares(chosen, line.pence)}
    details = PaymentDetails(line.booked_on, line.pence, Method.BANK_TRANSFER, line.reference or line.text[:100])
    take_payment(deed, chosen[0].customer_id, details, shares, bank_line_id=line.id)


def set_bank_line_aside(deed: Deed, bank_line_id: int) -> None:
    """Set a line aside that is no customer's payment. It is still known when it is imported again."""
    row = get_bank_line(deed.session, bank_line_id, locked=True)
    if row.state != "open":
        raise Refused("This line of the bank statement is dealt with already.")
    row.state = "aside"
    deed.note("bank line", row.id, f"Set aside the bank line of {_pounds(row.pence)}.")


def bring_bank_line_back(deed: Deed, bank_line_id: int) -> None:
    """Bring back a line that was set aside."""
    row = get_bank_line(deed.session, bank_line_id, locked=True)
    if row.state != "aside":
        raise Refused("This line is not set aside.")
    row.state = "open"
    deed.note("bank line", row.id, f"Brought back the bank line of {_pounds(row.pence)}.")


def _mapping_from(kept: Mapping[str, Any]) -> rules.Mapping:
    formats = {
        "date_format": rules.DateFormat(kept["date_format"]),
        "amount_format": rules.AmountFormat(kept["amount_format"]),
    }
    return rules.Mapping(**{**kept, **formats})


def _pounds(pence: int) -> str:
    return f"£{convert_from_pence(pence):,.2f}"
