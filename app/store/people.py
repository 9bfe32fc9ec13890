"""People, their sign-ins, and the failed guesses that slow the next one."""

from datetime import datetime

from sqlalchemy import ForeignKey, delete, select
from sqlalchemy.orm import Mapped, Session, mapped_column, relationship

from app.rules.people import Person, Role
from app.store.database import Base, Missing


class PersonRow(Base):
    __tablename__ = "people"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str]
    email: Mapped[str] = mapped_column(unique=True)
    role: Mapped[str]
    initials: Mapped[str]
    password_hash: Mapped[str]
    active: Mapped[bool] = mapped_column(default=True)
    version: Mapped[int] = mapped_column(default=1)

    __mapper_args__ = {"version_id_col": version}

    @property
    def as_person(self) -> Person:
        return Person(self.id, self.name, Role(self.role), self.initials)


class SignInRow(Base):
    """A sign-in. Only the hash of its token is kept."""

    __tablename__ = "sign_ins"

    id: Mapped[int] = mapped_column(primary_key=True)
    token_hash: Mapped[str] = mapped_column(unique=True)
    csrf: Mapped[str]
    person_id: Mapped[int] = mapped_column(ForeignKey("people.id"), index=True)
    made_at: Mapped[datetime]
    expires_at: Mapped[datetime]
    person: Mapped[PersonRow] = relationship()


class GuessRow(Base):
    """A failed guess at a password, a set-up code or a share link; who is the e-mail address or network address."""

    __tablename__ = "guesses"

    id: Mapped[int] = mapped_column(primary_key=True)
    who: Mapped[str] = mapped_column(index=True)
    failed_at: Mapped[datetime]


def get_person(session: Session, person_id: int) -> PersonRow:
    """Raises Missing."""
    row = session.get(PersonRow, person_id)
    if row is None:
        raise Missing("person")
    return row


def find_person(session: Session, person_id: int) -> PersonRow | None:
    return session.get(PersonRow, person_id)


def find_person_by_email(session: Session, email: str) -> PersonRow | None:
    return session.scalar(select(PersonRow).where(PersonRow.email == email.strip().casefold()))


def list_people(session: Session) -> list[PersonRow]:
    return list(session.scalars(select(PersonRow).order_by(PersonRow.active.desc(), PersonRow.name)))


def list_technicians(session: Session) -> list[PersonRow]:
    """Everybody who can be sent to a visit: in a small firm that includes the owner."""
    return [row for row in list_people(session) if row.active and row.role != Role.OFFICE]


def find_sign_in(session: Session, token_hash: str, now: datetime) -> SignInRow | None:
    """The live sign-in of an active person."""
    row = session.scalar(select(SignInRow).where(SignInRow.token_hash == token_hash))
    return row if row is not None and row.expires_at > now and row.person.active else None


def list_guesses(session: Session, who: str) -> list[datetime]:
    return list(session.scalars(select(GuessRow.failed_at).where(GuessRow.who == who)))


def remove_guesses(session: Session, who: str) -> None:
    session.execute(delete(GuessRow).where(GuessRow.who == who))


def remove_sign_in(session: Session, token_hash: str) -> None:
    session.execute(delete(SignInRow).where(SignInRow.token_hash == token_hash))


def remove_sign_ins_of(session: Session, person_id: int) -> None:
    session.execute(delete(SignInRow).where(SignInRow.person_id == person_id))


def remove_expired_sign_ins(session: Session, now: datetime) -> None:
    session.execute(delete(SignInRow).where(SignInRow.expires_at <= now))


def remove_old_guesses(session: Session, before: datetime) -> None:
    """Remove every guess made before a moment."""
    session.execute(delete(GuessRow).where(GuessRow.failed_at < before))
