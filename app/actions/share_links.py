"""Making share links, opening them, and taking them back. The token is shown once and never kept."""

import secrets

from app.actions.deeds import Deed
from app.actions.people import hash_of
from app.rules.share_links import DAYS_USUAL, TOKEN_BYTES, may_open, next_expiry
from app.rules.verdicts import Mistakes, Refused
from app.store.share_links import ShareLinkRow, find_share_link, get_share_link
from app.store.visits import get_visit


def make_share_link(deed: Deed, visit_id: int, days: int = DAYS_USUAL, note: str = "") -> str:
    """Make a link to one visit's papers and give its token, which cannot be read again. Raises Mistakes."""
    visit = get_visit(deed.session, visit_id)
    try:
        expires_on = next_expiry(deed.today, days)
    except ValueError as problem:
        raise Mistakes({"days": str(problem)}) from problem
    token = secrets.token_urlsafe(TOKEN_BYTES)
    row = ShareLinkRow(token_hash=hash_of(token), customer_id=visit.customer_id, visit_id=visit.id, made_by_id=deed.doer.id,
                       made_at=deed.now, expires_on=expires_on, note=note.strip())  # fmt: skip
    deed.session.add(row)
    deed.session.flush()
    deed.note("share link", row.id, f"Made share link {row.id} to visit {visit.id}, open until {expires_on.isoformat()}.")
    return token


def withdraw_share_link(deed: Deed, share_link_id: int) -> ShareLinkRow:
    """Take a link back; it is dead from the next request on."""
    row = get_share_link(deed.session, share_link_id)
    if row.withdrawn_at is not None:
        raise Refused("This link is withdrawn already.")
    row.withdrawn_at = deed.now
    deed.note("share link", row.id, f"Withdrew share link {row.id}.")
    return row


def open_share_link(deed: Deed, token: str) -> ShareLinkRow | None:
    """The live link of a token, its openings counted; nothing for an unknown, expired or withdrawn one."""
    row = find_share_link(deed.session, hash_of(token))
    if row is None or not may_open(row.expires_on, row.withdrawn_at, deed.today):
        return None
    row.openings += 1
    row.opened_at = deed.now
    return row
