"""A draft invoice follows a corrected visit: its lines are made anew, and what the office wrote into it stays."""

from app.actions.deeds import Deed
from app.actions.drafts import DraftLine, change_draft, discard_draft, draft_invoice_of_visits
from app.rules.invoices import Basis
from app.rules.vat_rates import VatTreatment
from app.store.invoices import InvoiceRow, find_invoice_of_visit


def renew_draft(deed: Deed, visit_id: int) -> InvoiceRow | None:
    """Make the lines of a visit's draft anew from what is recorded now; nothing without a draft.

    Lines that rest on nothing recorded stay, and so do prices that were changed by hand. An issued invoice stays.
    """
    row = find_invoice_of_visit(deed.session, visit_id)
    if row is None or row.state != "draft":
        return None
    reference, discount, reason = row.reference, row.discount, row.discount_reason
    visit_ids = [each.visit_id for each in row.visits]
    old = {(line.visit_id, line.basis, line.kind, line.description): line for line in row.lines}
    own = [
        DraftLine(line.description, line.quantity, line.price, None, VatTreatment(line.treatment), line.discount)
        for line in row.lines
        if line.basis == Basis.EXTRA and not line.item_numbers
    ]
    discard_draft(deed, row.id)
    deed.session.flush()
    new = draft_invoice_of_visits(deed, visit_ids)
    lines = []
    for line in new.lines:
        was = old.get((line.visit_id, line.basis, line.kind, line.description))
        price = was.price if was and line.basis != Basis.MINIMUM else line.price
        treatment, off = (was.treatment, was.discount) if was else (line.treatment, line.discount)
        lines.append(DraftLine(line.description, line.quantity, price, line.id, VatTreatment(treatment), off))
    change_draft(deed, new.id, [*lines, *own], reference, discount=discount, discount_reason=reason)
    deed.note("invoice", new.id, f"Made the draft anew after the correction of visit {visit_id}.")
    return new
