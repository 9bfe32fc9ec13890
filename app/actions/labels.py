"""Labels: keeping the firm's sheets, printing labels of items, and printing numbers ahead of their items."""

from collections.abc import Sequence
from dataclasses import replace

from sqlalchemy.orm import Session

from app.actions.deeds import Deed, Desk, check_version, columns_of, fill
from app.actions.paper_files import draw_paper
from app.documents.label_arrangement import arrangement_from
from app.documents.label_test_pages import label_test_page_from
from app.documents.labels import labels_from
from app.rules.items import next_number
from app.rules.label_sheets import LabelSheetDetails, check_label_sheet
from app.rules.labels import LABELS_MOST, LabelFacts, Standing, describe_label_address, list_run
from app.rules.verdicts import Mistakes, Refused
from app.store.customers import get_customer
from app.store.firms import get_firm
from app.store.items import list_item_numbers
from app.store.label_facts import facts_for_labels
from app.store.label_sheets import LabelSheetRow, find_label_sheet_by_name, get_label_sheet, remove_label_sheet
from app.store.number_runs import NumberRunRow, get_number_run


def add_label_sheet(deed: Deed, details: LabelSheetDetails, public_address: str) -> LabelSheetRow:
    """Keep a new description of labels. Raises Mistakes, also where a usual label would have no room on it."""
    _check(deed, details, public_address, None)
    row = LabelSheetRow(**columns_of(details))
    deed.session.add(row)
    deed.session.flush()
    deed.note("label sheet", row.id, f"Described the labels {row.name}.")
    return row


def change_label_sheet(
    deed: Deed, label_sheet_id: int, details: LabelSheetDetails, public_address: str, version: int | None = None
) -> LabelSheetRow:
    """Change a description of labels. Raises Mistakes."""
    row = get_label_sheet(deed.session, label_sheet_id)
    check_version(row, version, "these labels")
    _check(deed, details, public_address, row)
    fill(row, details)
    deed.note("label sheet", row.id, f"Changed the labels {row.name}.")
    return row


def discard_label_sheet(deed: Deed, label_sheet_id: int) -> None:
    """Forget a description of labels. What was printed stays as it is."""
    row = get_label_sheet(deed.session, label_sheet_id)
    remove_label_sheet(deed.session, row)
    deed.note("label sheet", row.id, f"Removed the labels {row.name}.")


def reserve_numbers(deed: Deed, customer_id: int, count: int) -> NumberRunRow:
    """Take the next free numbers of a customer for labels ahead of their items. Raises Mistakes.

    No new item is offered them; one gets its number by scanning its label.
    """
    if not 1 <= count <= LABELS_MOST:
        raise Mistakes({"count": f"From 1 to {LABELS_MOST:,} numbers at a time."})
    customer = get_customer(deed.session, customer_id, locked=True)
    numbers = list_run(next_number(list_item_numbers(deed.session, customer.id)), count)
    row = NumberRunRow(
        customer_id=customer.id,
        first_number=numbers[0],
        last_number=numbers[-1],
        count=count,
        reserved_on=deed.today,
    )
    deed.session.add(row)
    deed.session.flush()
    deed.note("customer", customer.id, f"Reserved the item numbers {row.first_number} to {row.last_number} for labels.")
    return row


def draw_item_labels(
    desk: Desk, session: Session, label_sheet_id: int, item_ids: Sequence[int], start: int = 1
) -> bytes:
    """The PDF of the labels of these items as they stand now. Refuses what cannot be printed, with the reason."""
    return _drawn(session, label_sheet_id, facts_for_labels(session, item_ids, desk.public_address), start)


def draw_number_labels(desk: Desk, session: Session, label_sheet_id: int, number_run_id: int, start: int = 1) -> bytes:
    """The PDF of the labels of a run of numbers, each with nothing but its number and codes."""
    run = get_number_run(session, number_run_id)
    labels = [
        LabelFacts(number, describe_label_address(desk.public_address, run.customer_id, number))
        for number in list_run(run.first_number, run.count)
    ]
    return _drawn(session, label_sheet_id, labels, start)


def draw_label_test_page(session: Session, label_sheet_id: int) -> bytes:
    """The PDF by which a person sees whether printer and description fit the sheet in hand."""
    return draw_paper("labels", label_test_page_from(get_label_sheet(session, label_sheet_id).details), None)


def _drawn(session: Session, label_sheet_id: int, labels: list[LabelFacts], start: int) -> bytes:
    sheet = get_label_sheet(session, label_sheet_id).details
    if not labels:
        raise Refused("No item was chosen, so there is no label to print.")
    if len(labels) > LABELS_MOST:
        raise Refused(f"These are {len(labels):,} labels. Print at most {LABELS_MOST:,} at a time.")
    try:
        return draw_paper("labels", labels_from(sheet, labels, _who_to_ask(session), start), None)
    except ValueError as problem:
        raise Refused(str(problem)) from problem


def _who_to_ask(session: Session) -> tuple[str, ...]:
    firm = get_firm(session)
    return tuple(text for text in (", ".join(filter(None, (firm.name, firm.phone))), firm.phone or firm.name) if text)


def _check(deed: Deed, details: LabelSheetDetails, public_address: str, row: LabelSheetRow | None) -> None:
    mistakes = check_label_sheet(details)
    other = find_label_sheet_by_name(deed.session, details.name)
    if other is not None and other is not row:
        mistakes["name"] = "There are labels of this name already."
    if not mistakes:
        usual = LabelFacts(
            "00000", describe_label_address(public_address, 10000, "00000"), "", Standing.DO_NOT_USE, True,
            deed.today, "WWW", deed.today,
        )  # fmt: skip
        try:
            for standing in (Standing.DO_NOT_USE, Standing.PASS):
                arrangement_from(details, replace(usual, standing=standing))
        except ValueError as problem:
            mistakes["height_mm"] = str(problem)
    if mistakes:
        raise Mistakes(mistakes)
