"""The demo's papers beside its certificates: a register, open defects, and a certificate and a history of one item."""

from datetime import timedelta
from typing import Any

from app.actions.item_certificates import issue_item_certificate
from app.actions.papers import issue_defect_list, issue_item_history, issue_register
from app.rules.papers import Purpose
from app.store.defects import list_open_defects_of_all
from app.store.items import list_items


def paper_demo(demo: Any, premises_id: int) -> None:
    """Issue a register of premises, what is open at a customer, and papers on items that people would ask for."""
    with demo.desk.reading_only() as session:
        [*_, drifting_id] = demo.drifts.item_ids.values()
        open_at = [found.customer_id for found in list_open_defects_of_all(session)]
        sold = next(item for item in list_items(session, premises_id) if item.last_verdict == "pass")
        customer_id, sold_id = sold.customer_id, sold.id
    demo.go_to(demo.today - timedelta(days=2), 15)
    issue_register(demo.desk, demo.office, customer_id, premises_id)
    if open_at:
        issue_defect_list(demo.desk, demo.office, max(open_at, key=open_at.count))
    issue_item_certificate(demo.desk, demo.office, sold_id, Purpose.SALE)
    issue_item_history(demo.desk, demo.office, drifting_id)
