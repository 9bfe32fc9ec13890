"""What waits in the office, kind by kind: how it is told in one line, and where it is done. The most pressing first."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum


class OfficeTask(StrEnum):
    """What may wait. The order is ours: what may hurt somebody, then what a customer waits for, then what can wait."""

    RECALLED = "recalled"
    RECALL_UNTOLD = "recall-untold"
    DOUBT = "doubt"
    MAIL_FAILED = "mail-failed"
    COMING = "coming"
    UNCONFIRMED = "unconfirmed"
    WANTED = "wanted"
    FALLS_DUE = "falls-due"
    BANK_LINE = "bank-line"
    MAIL_TWICE = "mail-twice"

    @property
    def safety(self) -> bool:
        """Whether somebody may be hurt by what waits."""
        return self in (OfficeTask.RECALLED, OfficeTask.RECALL_UNTOLD, OfficeTask.DOUBT)


@dataclass(frozen=True)
class OfficeLine:
    """One line of what waits: how many, of what, where it is done, and why it waits."""

    task: OfficeTask
    count: int
    word: str
    href: str
    why: str


#: The words for one and for many, where it is done, and why it waits.
_WORDS = {
    OfficeTask.RECALLED: (
        "item may be recalled",
        "items may be recalled",
        "/recalls",
        "Like a product of a recall list; nobody has looked yet",
    ),
    OfficeTask.RECALL_UNTOLD: (
        "recalled item without a letter",
        "recalled items without a letter",
        "/recalls?state=confirmed",
        "The customer has not been written to",
    ),
    OfficeTask.DOUBT: (
        "instrument failure with records in doubt",
        "instrument failures with records in doubt",
        "/doubts",
        "Nobody has said yet what was decided about them",
    ),
    OfficeTask.MAIL_FAILED: ("e-mail that failed", "e-mails that failed", "/mails?state=failed", "Not sent"),
    OfficeTask.COMING: (
        "visit coming up without a reminder",
        "visits coming up without a reminder",
        "/letters#coming",
        "",
    ),
    OfficeTask.UNCONFIRMED: ("booking not confirmed", "bookings not confirmed", "/letters#confirm", ""),
    OfficeTask.WANTED: (
        "agreed visit not booked in time",
        "agreed visits not booked in time",
        "/planner",
        "In the pool, the wanted day has passed",
    ),
    OfficeTask.FALLS_DUE: (
        "premises to write to about tests that fall due",
        "premises to write to about tests that fall due",
        "/letters#recalls",
        "No visit is booked, and no letter went lately",
    ),
    OfficeTask.BANK_LINE: (
        "line of a bank statement to settle",
        "lines of bank statements to settle",
        "/bank-statements",
        "",
    ),
    OfficeTask.MAIL_TWICE: (
        "e-mail may have gone twice",
        "e-mails may have gone twice",
        "/mails?state=sent",
        "In the last seven days, as an attempt broke off",
    ),
}


def list_office_lines(counts: Mapping[OfficeTask, int]) -> tuple[OfficeLine, ...]:
    """List what waits, the most pressing first; what there is none of is left out."""
    return tuple(
        OfficeLine(task, count, one if count == 1 else many, href, why)
        for task in OfficeTask
        if (count := counts.get(task, 0))
        for one, many, href, why in [_WORDS[task]]
    )
