"""An issued invoice of the small firm, with lines of a test's own."""

from collections.abc import Sequence
from decimal import Decimal

from app.actions import invoices
from app.actions.deeds import Desk
from app.actions.invoices import DraftLine
from tests.cast import World
from tests.finished_visits import work_through
from tests.kept_rows import as_kept

#: 100.00 and 20.00 of VAT.
LINES = (DraftLine("Inspection and test", Decimal(40), Decimal("2.00")), DraftLine("Call-out", Decimal(1), Decimal(20)))


def issue(desk: Desk, world: World, lines: Sequence[DraftLine] = LINES, visit_id: int = 0) -> int:
    """Work through a booked visit, draft its invoice with these lines, and issue it; gives its id."""
    visit_id = visit_id or world.visit_id
    work_through(desk, world.technician, visit_id)
    with desk.doing(world.office) as deed:
        invoice_id = invoices.draft_invoice(deed, visit_id).id
        invoices.change_draft(deed, invoice_id, list(lines))
    invoices.issue_invoice(desk, world.office, invoice_id)
    return invoice_id


def begin_issued(desk: Desk, world: World) -> int:
    """Begin where an invoice with the usual lines is issued: done once a run, then copied (tests/kept_rows.py)."""
    return as_kept(desk, issue, world)
