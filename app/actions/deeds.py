"""What every action gets: the session it writes in, the person who does it, the moment, and the journal.

A Desk is where deeds are done: the database, the folder of issued papers and the clock. Most actions take a
Deed, which lives for one transaction. Issuing a paper needs two transactions with the drawing between them,
so that nobody waits for a PDF with the database locked; such actions take the Desk.
"""

from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass, field, fields
from datetime import UTC, date, datetime
from enum import StrEnum
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy.orm import Session

from app.rules.equipment import ItemFacts
from app.rules.people import Person
from app.rules.verdicts import Refused
from app.store.database import Database
from app.store.equipment_types import facts_columns
from app.store.journal import JournalRow, add_journal_line

KEYS = "keys"


@dataclass(frozen=True)
class Deed:
    """One person doing one thing at one moment. person is None only for what the program does by itself.

    written_at is the moment of writing where that is later than the deed, as with what was entered without the network;
    through names who took it in where that was somebody else.
    """

    session: Session
    person: Person | None
    now: datetime
    today: date
    written_at: datetime | None = None
    through: str = ""

    def note(self, subject: str, subject_id: int, sentence: str) -> None:
        """Write a line in the journal."""
        name = self.person.name if self.person else "Ohmstead"
        if self.through:
            name = f"{name}, taken in by {self.through}"
        person_id = self.person.id if self.person else None
        line = JournalRow(
            at=self.written_at or self.now,
            person_id=person_id,
            person_name=name,
            subject=subject,
            subject_id=subject_id,
            sentence=sentence,
        )
        add_journal_line(self.session, line)

    @property
    def doer(self) -> Person:
        if self.person is None:
            raise Refused("Sign in first.")
        return self.person


@dataclass(frozen=True)
class Desk:
    """Where deeds are done. clock gives the moment with its time zone; mail_password is that of the settings."""

    database: Database
    papers_folder: Path
    public_address: str
    zone: ZoneInfo
    clock: Callable[[], datetime] = lambda: datetime.now(UTC)
    mail_password: str = field(default="", repr=False)

    @property
    def keys_folder(self) -> Path:
        """The folder of the firm's own keys, beside the papers."""
        return self.papers_folder.parent / KEYS

    @property
    def now(self) -> datetime:
        return self.clock()

    @property
    def today(self) -> date:
        return self.now.astimezone(self.zone).date()

    def reading_only(self) -> AbstractContextManager[Session]:
        """A session for questions outside a deed; it never commits."""
        return self.database.reading()

    def deed(self, session: Session, person: Person | None) -> Deed:
        now = self.now
        return Deed(session, person, now, now.astimezone(self.zone).date())

    @contextmanager
    def doing(self, person: Person | None) -> Iterator[Deed]:
        """A deed in a transaction of its own: committed at the end, undone when anything is raised."""
        with self.database.writing() as session:
            yield self.deed(session, person)


def fill(row: Any, details: Any) -> None:
    """Put every field of a details dataclass into the row's columns of the same name."""
    for name, value in columns_of(details).items():
        if getattr(row, name) != value:
            setattr(row, name, value)


def columns_of(details: Any) -> dict[str, Any]:
    """The columns for a details dataclass: enums as their words, facts as their own columns."""
    columns: dict[str, Any] = {}
    for each in fields(details):
        value = getattr(details, each.name)
        if isinstance(value, ItemFacts):
            columns |= facts_columns(value)
        else:
            columns[each.name] = value.value if isinstance(value, StrEnum) else value
    return columns


def check_version(row: Any, version: int | None, what: str) -> None:
    """Refuse to overwrite what somebody else saved since the form was opened. None: no form was opened."""
    if version is not None and row.version != version:
        raise Refused(
            f"Somebody else has changed {what} since you opened it. Nothing was saved. "
            "Open it again to see the newest state."
        )


def say_day(day: date) -> str:
    """A day as the journal says it: 4 March 2026."""
    return f"{day.day} {day:%B %Y}"
