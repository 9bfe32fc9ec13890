"""Papers beside the certificate of a visit: registers, lists of defects, certificates and histories of items.

What they say as plain facts, how they are numbered, and what stands against issuing one.
"""

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from app.rules.certificates import CustomerFacts, PremisesFacts
from app.rules.charts import Point
from app.rules.checks import Check
from app.rules.firms import PAPER_PREFIXES
from app.rules.items import ItemState
from app.rules.letterheads import FirmFacts, list_missing_particulars
from app.rules.verdicts import Verdict


class PaperKind(StrEnum):
    """A kind of paper; its value is what people call it."""

    REGISTER = "register"
    DEFECT_LIST = "defect list"
    ITEM_CERTIFICATE = "item certificate"
    ITEM_HISTORY = "item history"

    @property
    def drawing(self) -> str:
        """The name under which the paper is drawn."""
        return self.value.replace(" ", "_")


class Purpose(StrEnum):
    """What the certificate of a single item is wanted for."""

    RECORD = "record"
    HIRE = "hire"
    REPAIR = "repair"
    SALE = "sale"

    @property
    def word(self) -> str:
        return _PURPOSES[self]


_PURPOSES = {
    Purpose.RECORD: "for the records",
    Purpose.HIRE: "before it is hired out",
    Purpose.REPAIR: "after a repair",
    Purpose.SALE: "before it is sold second-hand",
}


def number_paper(kind: PaperKind, sequence: int) -> str:
    """Number of the sequence-th paper of its kind: REG-000123."""
    if sequence < 1:
        raise ValueError("A series starts at 1.")
    return f"{PAPER_PREFIXES[kind.value]}-{sequence:06d}"


@dataclass(frozen=True)
class PaperHead:
    """What every such paper says of itself. premises is None for all the premises of a customer.

    as_at: the day whose state the paper shows; dutyholder: who has control of the equipment, or empty.
    """

    number: str
    firm: FirmFacts
    customer: CustomerFacts
    premises: PremisesFacts | None
    as_at: date
    issued_on: date
    authorised_by: str
    authorised_role: str
    authorised_at: datetime
    verification_url: str
    verification_code: str
    dutyholder: str = ""


@dataclass(frozen=True)
class RegisterItem:
    """One item as the register holds it. Texts are ready to print and may be empty; last_verdict is None untested."""

    number: str
    description: str
    premises: str
    location: str
    make: str
    model: str
    serial: str
    build: str
    state: ItemState
    last_tested_on: date | None
    last_verdict: Verdict | None
    next_due_on: date | None


@dataclass(frozen=True)
class RegisterTotals:
    """Counts of a register. The first four after items say how the last test came out; overdue are in use."""

    items: int
    passed: int
    failed: int
    undecided: int
    untested: int
    overdue: int
    out_of_use: int


@dataclass(frozen=True)
class OpenDefect:
    """Something found wrong that no later pass has closed, what puts it right, and (who, what they must do)."""

    number: str
    description: str
    premises: str
    location: str
    product: str
    state: ItemState
    found_on: date
    found: str
    remedy: str
    duties: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class HistoryTest:
    """One test of an item and how it came out. as_found: before the item was put right on the spot."""

    on: date
    verdict: Verdict
    technician: str
    visit_number: str
    notes: tuple[str, ...] = ()
    as_found: bool = False


@dataclass(frozen=True)
class HistoryReadings:
    """All readings of one check at one point of an item, the oldest first, in the unit of the limit."""

    check: Check
    title: str
    unit: str
    points: tuple[Point, ...]


def count_register(items: tuple[RegisterItem, ...], as_at: date) -> RegisterTotals:
    """Count a register as it stood on a day; an item is overdue where it is in use and its day has passed."""
    in_use = [item for item in items if item.state == ItemState.IN_USE]
    return RegisterTotals(
        items=len(items),
        passed=sum(1 for item in items if item.last_verdict == Verdict.PASS),
        failed=sum(1 for item in items if item.last_verdict == Verdict.FAIL),
        undecided=sum(1 for item in items if item.last_verdict in (Verdict.DECISION, Verdict.INCOMPLETE)),
        untested=sum(1 for item in items if item.last_verdict is None),
        overdue=sum(1 for item in in_use if item.next_due_on is not None and item.next_due_on < as_at),
        out_of_use=sum(1 for item in items if item.state == ItemState.OUT_OF_USE),
    )


def may_issue_paper(firm: FirmFacts, as_at: date, today: date) -> str | None:
    """Say what stands against a paper that shows the state of a day, or nothing."""
    if missing := list_missing_particulars(firm):
        return " ".join(missing)
    if as_at > today:
        return "A paper shows what is known on its day; that day cannot be still to come."
    return None


@dataclass(frozen=True)
class CertifiedTest:
    """A test of an item, as far as it decides what its certificate may be issued for."""

    number: str
    state: ItemState
    verdict: Verdict
    after_repair: bool
    newest: bool


def may_certify_item(item: CertifiedTest, purpose: Purpose) -> str | None:
    """Say why a test does not serve a purpose, or nothing when it does.

    For hire and sale it must be the newest one, passed, of an item in use: others than the firm's customer rely on it.
    """
    if item.verdict == Verdict.INCOMPLETE:
        return f"This test of item {item.number} is incomplete. Finish it at a visit first."
    if purpose == Purpose.REPAIR and not item.after_repair:
        return "This test is not recorded as one after a repair. Record it so at the visit, or choose another purpose."
    if purpose in (Purpose.HIRE, Purpose.SALE):
        if item.state != ItemState.IN_USE:
            return f"Item {item.number} is {item.state.value}, so it is not certified {purpose.word}."
        if not item.newest:
            return f"Item {item.number} was tested again later. Certify the newest test {purpose.word}."
        if item.verdict != Verdict.PASS:
            return f"Item {item.number} has not passed this test, so it is not certified {purpose.word}."
    return None
