"""A draft invoice follows a corrected visit: its lines are made anew, and what the office wrote into it stays."""

from app.actions.deeds import Deed
from app.actions.invoices import DraftLine, change_draft, discard_draft, draft_invoice
from app.rules.invoices import Basis
from app.store.invoices import InvoiceRow, find_invoice_of_visit


def renew_draft(deed: Deed, visit_id: int) -> InvoiceRow | None:
    """Make the lines of a visit's draft anew from what is recorded now; nothing without a draft.

    Lines that rest on nothing recorded stay, and so do prices that were changed by hand. An issued invoice stays.
    """
    row = find_invoice_of_visit(deed.session, visit_id)
    if row is None or row.state != "draft":
        return None
    reference = row.reference
    old = {(line.basis, line.kind, line.description): line.price for line in row.lines}
    own = [
        DraftLine(line.description, line.quantity, line.price)
        for line in row.lines
        if line.basis == Basis.EXTRA and not line.item_numbers
    ]
    discard_draft(deed, row.id)
    deed.session.flush()
    new = draft_invoice(deed, visit_id)
    lines = [
        DraftLine(
            line.description,
            line.quantity,
            line.price
            if line.basis == Basis.MINIMUM
            else old.get((line.basis, line.kind, line.description), line.price),
            line.id,
        )
        for line in new.lines
    ]
    change_draft(deed, new.id, [*lines, *own], reference)
    deed.note("invoice", new.id, f"Made the draft anew after the correction of visit {visit_id}.")
    return new
