"""The demo's recall list: an invented one, with one item confirmed and written about, and others to be looked at."""

from datetime import timedelta
from pathlib import Path
from typing import Any

from app.actions.recall_letters import keep_recall_letter, write_recall_letter
from app.actions.recalls import confirm_hit, take_in_recall_list, upload_recall_list
from app.rules.items import ItemState
from app.store.recalls import list_recall_hits


def recall_in_demo(demo: Any) -> None:
    """Bring the list in, two days ago; the likeliest item was looked at yesterday."""
    demo.go_to(demo.today - timedelta(days=2), 9)
    with demo.desk.doing(demo.owner) as deed:
        content = Path(__file__).with_name("recalls.csv").read_bytes()
        row = upload_recall_list(deed, "Recalls of the quarter (invented)", content)
        take_in_recall_list(deed, row.id, row.columns)
    demo.go_to(demo.today - timedelta(days=1), 11)
    with demo.desk.doing(demo.office) as deed:
        hits = [hit for hit in list_recall_hits(deed.session) if hit.item.state == ItemState.IN_USE]
        if hits:
            customer_id = hits[0].item.customer_id
            confirm_hit(deed, hits[0].id, "Read on the rating plate, by telephone", out_of_use=True)
            letter, _ = write_recall_letter(deed.session, customer_id, demo.office.name)
            keep_recall_letter(deed, customer_id, letter)
