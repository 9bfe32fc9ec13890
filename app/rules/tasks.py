"""Tasks that come from customers through a share link: their kinds, their states, and how many one link may send.

The bounds are our own: far more than any customer needs, far less than would bury an office.
"""

from datetime import timedelta
from enum import StrEnum

#: So many tasks may come through one link in a day, and wait undone at once.
TASKS_A_DAY = 20
TASKS_WAITING_MOST = 60
DAY = timedelta(days=1)
#: The lengths of what is typed.
SAID_MOST, NAME_MOST, CONTACT_MOST, WISHED_MOST = 1000, 100, 150, 200


class TaskKind(StrEnum):
    REMEDY = "remedy"
    VISIT = "visit"

    @property
    def word(self) -> str:
        return {"remedy": "Said to be put right", "visit": "Asks for a visit"}[self.value]


class TaskState(StrEnum):
    WAITING = "waiting"
    TAKEN = "taken"
    DONE = "done"


def may_send(today: int, waiting: int) -> str | None:
    """Say why nothing more is taken through a link that sent so many in a day, or nothing."""
    if today >= TASKS_A_DAY:
        return "Enough messages for one day have come through this link. Please telephone, or write tomorrow."
    if waiting >= TASKS_WAITING_MOST:
        return "The messages that came through this link before are still being worked on. Please telephone."
    return None
