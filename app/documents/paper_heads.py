"""What registers, lists of defects and histories say alike: of themselves, of whom and where, and as of which day."""

from typing import Any

from app.documents.letterhead import letterhead_from, party_from
from app.documents.typesetting import day_from
from app.rules.papers import PaperHead, PaperKind


def head_from(kind: PaperKind, title: str, head: PaperHead) -> dict[str, Any]:
    """Give the head of a paper; every value can be kept as JSON."""
    premises = head.premises
    when = f"{day_from(head.authorised_at.date())} at {head.authorised_at:%H:%M %Z}".strip()
    particulars = [["State of", day_from(head.as_at)], ["Issued", day_from(head.issued_on)]]
    return {
        "paper": kind.drawing,
        "kind": kind.value,
        "title": title,
        "number": head.number,
        "issued_on": head.issued_on.isoformat(),
        "as_at": head.as_at.isoformat(),
        "letterhead": letterhead_from(head.firm),
        "customer": party_from(head.customer.name, head.customer.address, head.customer.contact),
        "premises": party_from(premises.name, premises.address, premises.area) if premises else None,
        "particulars": particulars + ([["Dutyholder", head.dutyholder]] if head.dutyholder else []),
        "authorised": {"name": head.authorised_by, "role": head.authorised_role, "when": when},
        "check": {"url": head.verification_url, "code": head.verification_code},
    }
