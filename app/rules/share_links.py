"""What a share link opens, how long it lives, when it opens, and how guesses at one are slowed.

Practice: W3C TAG, Good Practices for Capability URLs.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import StrEnum

#: 32 bytes of the system's own randomness; the W3C note asks for at least 120 bits.
TOKEN_BYTES = 32
DAYS_USUAL = 90
DAYS_MOST = 365
#: Ours: a person mistypes a few times, a machine thousands of times.
TRIES_MOST = 30
TRIES_WINDOW = timedelta(minutes=1)


class LinkState(StrEnum):
    OPEN = "open"
    EXPIRED = "expired"
    WITHDRAWN = "withdrawn"


class LinkKind(StrEnum):
    """What a link opens."""

    PAPER = "paper"
    VISIT = "visit"
    PREMISES = "premises"
    CUSTOMER = "customer"


class FolderKind(StrEnum):
    """The kinds of papers that can be in a customer's folder; the value is what people call one."""

    CERTIFICATE = "certificate"
    REGISTER = "register"
    DEFECT_LIST = "defect list"
    ITEM_CERTIFICATE = "item certificate"
    ITEM_HISTORY = "item history"
    QUOTE = "quote"
    INVOICE = "invoice"
    CREDIT_NOTE = "credit note"
    CLAIM = "claim"

    @property
    def is_money(self) -> bool:
        return self in MONEY

    @property
    def slug(self) -> str:
        """The kind as it stands in an address."""
        return self.value.replace(" ", "-")


MONEY = frozenset({FolderKind.QUOTE, FolderKind.INVOICE, FolderKind.CREDIT_NOTE, FolderKind.CLAIM})


@dataclass(frozen=True)
class LinkScope:
    """What a link may open, and no more: always of one customer. with_money: quotes, invoices and what follows them.

    premises_id, visit_id and paper (its kind and id) narrow it; at most one of them is set.
    """

    customer_id: int
    premises_id: int | None = None
    visit_id: int | None = None
    paper: tuple[FolderKind, int] | None = None
    with_money: bool = False

    @property
    def kind(self) -> LinkKind:
        if self.paper is not None:
            return LinkKind.PAPER
        if self.visit_id is not None:
            return LinkKind.VISIT
        return LinkKind.PREMISES if self.premises_id is not None else LinkKind.CUSTOMER

    @property
    def may_write(self) -> bool:
        """Whether its pages take the customer's word: that a remedy is done, and the wish for a visit."""
        return self.kind != LinkKind.PAPER


def parse_folder_kind(slug: str) -> FolderKind | None:
    """The kind that stands in an address, or nothing."""
    return next((kind for kind in FolderKind if kind.slug == slug), None)


def next_expiry(made_on: date, days: int = DAYS_USUAL) -> date:
    """The last day on which a link opens. Raises ValueError for fewer than 1 or more than 365 days."""
    if not 1 <= days <= DAYS_MOST:
        raise ValueError(f"A link can live from 1 to {DAYS_MOST} days.")
    return made_on + timedelta(days=days)


def may_open(expires_on: date | None, withdrawn_at: datetime | None, today: date) -> bool:
    """Whether a link still opens; its last day is included."""
    return judge_link(expires_on, withdrawn_at, today) == LinkState.OPEN


def judge_link(expires_on: date | None, withdrawn_at: datetime | None, today: date) -> LinkState:
    """Say where a link stands today. Without a last day it opens until it is withdrawn, and withdrawn it stays."""
    if withdrawn_at is not None:
        return LinkState.WITHDRAWN
    return LinkState.OPEN if expires_on is None or today <= expires_on else LinkState.EXPIRED


def may_try(failed_at: Sequence[datetime], now: datetime) -> bool:
    """Whether an address may be tried once more, given the moments of earlier failures from the same network."""
    return sum(now - moment < TRIES_WINDOW for moment in failed_at) < TRIES_MOST
