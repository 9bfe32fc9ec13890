"""Tasks that came from outside: what customers said through a share link, with who takes each and what became of it."""

from datetime import datetime

from sqlalchemy import ForeignKey, func, or_, select
from sqlalchemy.orm import Mapped, Session, joinedload, mapped_column, relationship

from app.rules.tasks import TaskKind, TaskState
from app.store.customers import CustomerRow
from app.store.database import Base, Missing
from app.store.items import ItemRow
from app.store.people import PersonRow
from app.store.premises import PremisesRow
from app.store.share_links import ShareLinkRow


class TaskRow(Base):
    """said, name and contact are the customer's own words, and prove nothing. wished: days that would suit."""

    __tablename__ = "tasks"

    id: Mapped[int] = mapped_column(primary_key=True)
    kind: Mapped[str]
    customer_id: Mapped[int] = mapped_column(ForeignKey("customers.id"), index=True)
    premises_id: Mapped[int | None] = mapped_column(ForeignKey("premises.id"))
    item_id: Mapped[int | None] = mapped_column(ForeignKey("items.id"), index=True)
    share_link_id: Mapped[int | None] = mapped_column(ForeignKey("share_links.id"), index=True)
    came_at: Mapped[datetime] = mapped_column(index=True)
    name: Mapped[str]
    contact: Mapped[str]
    said: Mapped[str]
    wished: Mapped[str]
    taken_by_id: Mapped[int | None] = mapped_column(ForeignKey("people.id"), index=True)
    taken_at: Mapped[datetime | None]
    done_at: Mapped[datetime | None]
    done_by: Mapped[str]
    done_note: Mapped[str]
    version: Mapped[int] = mapped_column(default=1)
    customer: Mapped[CustomerRow] = relationship()
    premises: Mapped[PremisesRow | None] = relationship()
    item: Mapped[ItemRow | None] = relationship()
    share_link: Mapped[ShareLinkRow | None] = relationship()
    taken_by: Mapped[PersonRow | None] = relationship()
    photos: Mapped[list["TaskPhotoRow"]] = relationship(order_by="TaskPhotoRow.id")

    __mapper_args__ = {"version_id_col": version}

    @property
    def state(self) -> TaskState:
        if self.done_at is not None:
            return TaskState.DONE
        return TaskState.TAKEN if self.taken_by_id is not None else TaskState.WAITING

    @property
    def title(self) -> str:
        """The task in a few words."""
        kind = TaskKind(self.kind)
        return f"{kind.word}: {self.item.number} {self.item.description}" if self.item is not None else kind.word


class TaskPhotoRow(Base):
    """A photo that a customer sent: JPEG, upright, made anew from its pixels alone."""

    __tablename__ = "task_photos"

    id: Mapped[int] = mapped_column(primary_key=True)
    task_id: Mapped[int] = mapped_column(ForeignKey("tasks.id"), index=True)
    width: Mapped[int]
    height: Mapped[int]
    sha256: Mapped[str]
    content: Mapped[bytes] = mapped_column(deferred=True)
    small: Mapped[bytes] = mapped_column(deferred=True)


def get_task(session: Session, task_id: int, locked: bool = False) -> TaskRow:
    """Raises Missing. locked: nobody else changes the row until the transaction ends."""
    row = session.get(TaskRow, task_id, with_for_update=locked or None)
    if row is None:
        raise Missing("task")
    return row


def get_task_photo(session: Session, task_id: int, photo_id: int) -> TaskPhotoRow:
    """A photo of that task. Raises Missing."""
    row = session.get(TaskPhotoRow, photo_id)
    if row is None or row.task_id != task_id:
        raise Missing("photo")
    return row


def list_tasks(
    session: Session,
    taken_by_id: int | None = None,
    done: bool | None = False,
    search: str = "",
    kind: str = "",
    item_id: int | None = None,
    limit: int = 500,
) -> list[TaskRow]:
    """Tasks, those that wait longest first; done ones the newest first. done None: both. taken_by_id: one person's."""
    query = (
        select(TaskRow)
        .join(TaskRow.customer)
        .outerjoin(TaskRow.premises)
        .outerjoin(TaskRow.item)
        .options(
            joinedload(TaskRow.customer),
            joinedload(TaskRow.premises),
            joinedload(TaskRow.item),
            joinedload(TaskRow.taken_by),
        )
    )
    if taken_by_id is not None:
        query = query.where(TaskRow.taken_by_id == taken_by_id)
    if done is not None:
        query = query.where(TaskRow.done_at.is_not(None) if done else TaskRow.done_at.is_(None))
    if kind:
        query = query.where(TaskRow.kind == kind)
    if item_id is not None:
        query = query.where(TaskRow.item_id == item_id)
    for word in search.split():
        columns = (TaskRow.said, TaskRow.name, CustomerRow.name, func.coalesce(PremisesRow.name, ""))
        query = query.where(or_(*(column.icontains(word, autoescape=True) for column in columns)))
    order = (TaskRow.done_at.desc(), TaskRow.id.desc()) if done else (TaskRow.came_at, TaskRow.id)
    return list(session.scalars(query.order_by(*order).limit(limit)))


def list_open_tasks_of_item(session: Session, item_id: int) -> list[TaskRow]:
    """What was said of an item and is not done with, what waits longest first."""
    query = select(TaskRow).where(TaskRow.item_id == item_id, TaskRow.done_at.is_(None))
    return list(session.scalars(query.order_by(TaskRow.came_at, TaskRow.id)))


def count_tasks_from(session: Session, share_link_id: int, since: datetime | None = None) -> int:
    """How many tasks came through a link since a moment; without one, those that are not done."""
    query = select(func.count(TaskRow.id)).where(TaskRow.share_link_id == share_link_id)
    query = query.where(TaskRow.came_at > since) if since is not None else query.where(TaskRow.done_at.is_(None))
    return session.scalar(query) or 0
