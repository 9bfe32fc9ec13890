"""What the office's pages name to share or to write about: a paper, a visit, premises or a customer's whole folder."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from sqlalchemy.orm import Session

from app.rules.share_links import FolderKind, LinkKind, LinkScope, parse_folder_kind
from app.store.certificates import get_certificate
from app.store.claims import get_claim
from app.store.credit_notes import get_credit_note
from app.store.customers import CustomerRow, get_customer
from app.store.database import Missing
from app.store.invoices import get_invoice
from app.store.papers import PaperRow, get_paper
from app.store.premises import get_premises
from app.store.quotes import get_quote
from app.store.visits import get_visit
from app.web.fields import Form
from app.web.filters import show_day

#: The kinds of papers that stand beside the certificates, all in one table.
BESIDE = (FolderKind.REGISTER, FolderKind.DEFECT_LIST, FolderKind.ITEM_CERTIFICATE, FolderKind.ITEM_HISTORY)
PAPERS: dict[FolderKind, Callable[[Session, int], Any]] = {
    FolderKind.CERTIFICATE: get_certificate,
    **dict.fromkeys(BESIDE, get_paper),
    FolderKind.INVOICE: get_invoice,
    FolderKind.QUOTE: get_quote,
    FolderKind.CREDIT_NOTE: get_credit_note,
    FolderKind.CLAIM: get_claim,
}


@dataclass(frozen=True)
class Shared:
    """What is to be shared or written about, as the office's pages say it.

    opens, id: as in the address; back: where it was chosen.
    """

    scope: LinkScope
    opens: str
    id: int
    customer: CustomerRow
    title: str
    about: str
    back: str

    @property
    def asks_money(self) -> bool:
        """Whether the giver chooses if papers about money are among those shown."""
        return self.scope.kind != LinkKind.PAPER

    def address(self, page_name: str, with_money: bool) -> str:
        """The address of a page about sharing this."""
        asked = {"opens": self.opens, "id": self.id} | ({"money": 1} if with_money and self.asks_money else {})
        return f"/share-links/{page_name}?{urlencode(asked)}"


def show_shared_from(session: Session, asked: Form, with_money: bool = False) -> Shared:
    """What the fields opens and id of an address or a form mean. Raises Missing."""
    return show_shared(session, asked.value("opens"), asked.whole("id", 1, 2**31 - 1) or 0, with_money)


def show_shared(session: Session, opens: str, row_id: int, with_money: bool = False) -> Shared:
    """What an address means. Raises Missing for what is not there."""
    if opens == LinkKind.VISIT:
        visit = get_visit(session, row_id)
        day = show_day(visit.finished_on or visit.booked_on)
        scope = LinkScope(visit.customer_id, visit_id=visit.id, with_money=with_money)
        about = f"{visit.customer.name}, {visit.premises.name}"
        title = f"the visit of {day}"
        return Shared(scope, opens, row_id, visit.customer, title, about, f"/visits/{row_id}#papers")
    if opens == LinkKind.PREMISES:
        place = get_premises(session, row_id)
        scope = LinkScope(place.customer_id, premises_id=place.id, with_money=with_money)
        return Shared(scope, opens, row_id, place.customer, place.name, place.customer.name, f"/premises/{row_id}")
    if opens == LinkKind.CUSTOMER:
        customer = get_customer(session, row_id)
        scope = LinkScope(customer.id, with_money=with_money)
        title = f"the whole folder of {customer.name}"
        return Shared(scope, opens, row_id, customer, title, "", f"/customers/{row_id}#papers")
    kind = parse_folder_kind(opens)
    if kind is None:
        raise Missing("what is to be shared")
    row: Any = PAPERS[kind](session, row_id)
    scope = LinkScope(row.customer_id, paper=(kind, row_id), with_money=kind.is_money)
    if isinstance(row, PaperRow) and row.kind != kind:
        raise Missing("paper")
    back = f"/invoices/{row.invoice_id}/late-payment" if kind == FolderKind.CLAIM else show_paper_path(kind, row_id)
    return Shared(scope, opens, row_id, row.customer, f"{kind.value} {row.number}", row.customer.name, back)


def show_paper_path(kind: FolderKind, row_id: int) -> str:
    """The page of a paper, for the office; a claim has none, so its PDF."""
    if kind in BESIDE:
        return f"/papers/{row_id}"
    return f"/claims/{row_id}/paper.pdf" if kind == FolderKind.CLAIM else f"/{kind.slug}s/{row_id}"
