"""Making share links, opening them, and taking them back. The token is shown once and never kept.

Whoever tries addresses that do not open is slowed by network address; the same count slows the check of papers.
"""

import secrets
from datetime import timedelta
from ipaddress import IPv6Address, ip_address

from sqlalchemy.orm import Session

from app.actions.deeds import Deed, Desk, say_day
from app.actions.people import hash_of
from app.rules.share_links import DAYS_USUAL, TOKEN_BYTES, LinkScope, may_open, may_try, next_expiry
from app.rules.verdicts import Mistakes, Refused
from app.store.certificates import find_certificate_of_visit
from app.store.checked_papers import CheckedPaper, find_checked_paper
from app.store.customers import get_customer
from app.store.database import Missing
from app.store.folders import find_in_folder
from app.store.people import GuessRow, list_guesses, remove_old_guesses
from app.store.premises import get_premises
from app.store.share_links import ShareLinkRow, find_share_link, get_share_link
from app.store.visits import get_visit

TRIES_KEPT = timedelta(hours=1)


class TooManyTries(Exception):
    """Somebody on this network has tried too many addresses that do not open."""


def make_share_link(deed: Deed, visit_id: int, days: int | None = DAYS_USUAL, note: str = "") -> str:
    """Make a link to one visit's papers, its invoice among them, and give its token. Raises Mistakes."""
    visit = get_visit(deed.session, visit_id)
    return share(deed, LinkScope(visit.customer_id, visit_id=visit.id, with_money=True), days, note)


def share(deed: Deed, scope: LinkScope, days: int | None = DAYS_USUAL, note: str = "") -> str:
    """Make a link to what a scope names and give its token, which cannot be read again. Raises Mistakes.

    days: how long it opens; nothing: until it is withdrawn. Refuses what is not there yet, or is another customer's.
    """
    opens, number = _check_scope(deed.session, scope)
    expires_on = None
    if days is not None:
        try:
            expires_on = next_expiry(deed.today, days)
        except ValueError as problem:
            raise Mistakes({"days": str(problem)}) from problem
    token = secrets.token_urlsafe(TOKEN_BYTES)
    row = ShareLinkRow(
        token_hash=hash_of(token),
        customer_id=scope.customer_id,
        visit_id=scope.visit_id,
        premises_id=scope.premises_id,
        paper_kind=scope.paper[0].value if scope.paper else "",
        paper_id=scope.paper[1] if scope.paper else None,
        paper_number=number,
        with_money=scope.with_money,
        made_by_id=deed.doer.id,
        made_at=deed.now,
        expires_on=expires_on,
        note=note.strip(),
    )
    deed.session.add(row)
    deed.session.flush()
    until = f"until {say_day(expires_on)}" if expires_on else "until it is withdrawn"
    money = "" if scope.paper else ", papers about money among them" if scope.with_money else ", without money"
    deed.note("share link", row.id, f"Made share link {row.id} to {opens}{money}, open {until}.")
    return token


def _check_scope(session: Session, scope: LinkScope) -> tuple[str, str]:
    """What the link opens, for the journal, and the number of its paper. Nothing of another customer gets a link."""
    if scope.paper is not None:
        paper = find_in_folder(session, scope, *scope.paper)
        if paper is None:
            raise Refused("Only a paper that is issued can be shared.")
        return f"{paper.kind.value} {paper.number}", paper.number
    if scope.visit_id is not None:
        certificate = find_certificate_of_visit(session, scope.visit_id)
        if certificate is None or certificate.state != "issued":
            raise Refused("A share link opens the papers of a visit. Issue the certificate first.")
        whose, opens = get_visit(session, scope.visit_id).customer_id, f"visit {scope.visit_id}"
    elif scope.premises_id is not None:
        place = get_premises(session, scope.premises_id)
        whose, opens = place.customer_id, f"the premises {place.name}"
    else:
        customer = get_customer(session, scope.customer_id)
        whose, opens = customer.id, f"the folder of {customer.name}"
    if whose != scope.customer_id:
        raise Missing("customer")
    return opens, ""


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
    row = _live(deed.session, token, deed)
    if row is not None:
        row.openings = ShareLinkRow.openings + 1  # counted by the database: two may open at once
        row.opened_at = deed.now
        deed.session.flush()
    return row


def try_share_link(desk: Desk, token: str, network: str, counted: bool = True) -> int | None:
    """Open a link for somebody on a network address: the id of the live link, or nothing and the failure is kept.

    Not counted as an opening where counted is False, as for a file. Raises TooManyTries.
    """
    with desk.reading_only() as session:
        _check_tries(desk, session, network)
        row = None if counted else _live(session, token, desk.deed(session, None))
        if row is not None:
            return row.id
    with desk.doing(None) as deed:
        row = open_share_link(deed, token) if counted else None
        if row is not None:
            return row.id
        keep_failed_try(deed, network)
    return None


def try_code(desk: Desk, code: str, network: str) -> CheckedPaper | None:
    """Look up the code printed on a paper for somebody on a network address. Raises TooManyTries."""
    with desk.reading_only() as session:
        _check_tries(desk, session, network)
        if found := find_checked_paper(session, code, desk.today):
            return found
    with desk.doing(None) as deed:
        keep_failed_try(deed, network)
    return None


def keep_failed_try(deed: Deed, network: str) -> None:
    """Keep that somebody tried an address that does not open; every guess older than an hour is forgotten."""
    remove_old_guesses(deed.session, deed.now - TRIES_KEPT)
    deed.session.add(GuessRow(who=_who(network), failed_at=deed.now))


_TRIES = "share "


def _check_tries(desk: Desk, session: Session, network: str) -> None:
    if not may_try(list_guesses(session, _who(network)), desk.now):
        raise TooManyTries


def _live(session: Session, token: str, deed: Deed) -> ShareLinkRow | None:
    row = find_share_link(session, hash_of(token))
    return row if row is not None and may_open(row.expires_on, row.withdrawn_at, deed.today) else None


def _who(network: str) -> str:
    """The network that is slowed: one IPv4 address, or the /64 that a household or office has in IPv6."""
    try:
        address = ip_address(network)
    except ValueError:
        return _TRIES + network[:100]
    if isinstance(address, IPv6Address) and address.ipv4_mapped is None:
        return f"{_TRIES}{IPv6Address(int(address) >> 64 << 64)}/64"
    return _TRIES + str(getattr(address, "ipv4_mapped", None) or address)
