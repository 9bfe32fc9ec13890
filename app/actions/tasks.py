"""What customers say through a share link, and the office's work on it.

The customer's word makes a task and marks the defects it is about; it closes nothing, books nothing and changes no
record of a test.
"""

import hashlib
from dataclasses import dataclass
from datetime import datetime

from app.actions.deeds import Deed, check_version
from app.actions.defects import keep_step
from app.actions.photos import picture_from
from app.rules.people import Role
from app.rules.share_links import LinkScope, LinkState
from app.rules.tasks import DAY, TaskKind, TaskState, may_send
from app.rules.verdicts import Mistakes, Refused
from app.store.database import Missing
from app.store.defects import change_defects_to_said_done, list_open_defects_of_all
from app.store.items import get_item
from app.store.people import get_person
from app.store.premises import get_premises
from app.store.share_links import ShareLinkRow, get_share_link
from app.store.tasks import TaskPhotoRow, TaskRow, count_tasks_from, get_task, list_open_tasks_of_item
from app.store.visits import get_visit


@dataclass(frozen=True)
class Word:
    """What somebody typed on a customer's page. wished: days that would suit, for a visit."""

    name: str
    contact: str
    said: str
    wished: str = ""


def report_remedy(deed: Deed, share_link_id: int, item_id: int, word: Word, photo: bytes = b"") -> TaskRow:
    """Take a customer's word that an item is put right: a task for the office. Its defects stay open. Raises Mistakes.

    Raises Missing where the link does not show an open defect of that item.
    """
    link = _writing_link(deed, share_link_id)
    open_now = [each for each in list_open_defects_of_all(deed.session, scope=link.scope) if each.item.id == item_id]
    if not open_now:
        raise Missing("open defect")
    mistakes = {}
    if not word.name.strip():
        mistakes["name"] = "Give your name, so that we know whom to ask."
    if not word.said.strip():
        mistakes["said"] = "Say what was done and by whom."
    picture = None
    if photo:
        try:
            picture = picture_from(photo)
        except ValueError as problem:
            mistakes["photo"] = str(problem)
    if mistakes:
        raise Mistakes(mistakes)
    item = get_item(deed.session, item_id)
    row = _task(deed, link, TaskKind.REMEDY, word, premises_id=item.premises_id, item_id=item.id)
    if picture is not None:
        deed.session.add(
            TaskPhotoRow(
                task_id=row.id, width=picture.width, height=picture.height,
                sha256=hashlib.sha256(picture.content).hexdigest(), content=picture.content, small=picture.small,
            )
        )  # fmt: skip
    change_defects_to_said_done(deed.session, [each.defect.id for each in open_now], deed.now)
    for each in open_now:
        keep_step(deed, each.defect.id, f"{word.name}, at the customer", f"Says that it is put right: {word.said}")
    deed.note("item", item.id, f"Share link {link.id}: {word.name} says that item {item.number} is put right.")
    deed.session.flush()
    return row


def ask_for_visit(deed: Deed, share_link_id: int, word: Word, premises_id: int | None = None) -> TaskRow:
    """Take a customer's wish for a visit: a task for the office, and no booking. Raises Mistakes.

    premises_id: one of the link's premises; Missing where it is another's.
    """
    link = _writing_link(deed, share_link_id)
    known = _premises_of(deed, link.scope)
    if known is not None:
        premises_id = known
    elif premises_id is not None and get_premises(deed.session, premises_id).customer_id != link.customer_id:
        raise Missing("premises")
    mistakes = {}
    if not word.name.strip():
        mistakes["name"] = "Give your name, so that we know whom to ask."
    if not word.contact.strip():
        mistakes["contact"] = "Say how we reach you: a telephone number or an e-mail address."
    if mistakes:
        raise Mistakes(mistakes)
    row = _task(deed, link, TaskKind.VISIT, word, premises_id=premises_id)
    deed.note("customer", link.customer_id, f"Share link {link.id}: {word.name} asks for a visit.")
    deed.session.flush()
    return row


def take_task(deed: Deed, task_id: int, person_id: int | None, version: int | None = None) -> TaskRow:
    """Give a task to somebody of the firm, oneself among them, or to nobody in particular."""
    row = _open_task(deed, task_id, version)
    person = get_person(deed.session, person_id) if person_id is not None else None
    if person is not None and not person.active:
        raise Mistakes({"person_id": "Choose somebody who works here."})
    if row.taken_by_id == person_id:
        return row
    row.taken_by_id, row.taken_at = person_id, deed.now if person_id is not None else None
    whose = f"{person.name} takes" if person else "Nobody in particular has"
    deed.note("task", row.id, f"{whose} task {row.id}, {row.title}.")
    deed.session.flush()
    return row


def finish_task(deed: Deed, task_id: int, note: str, version: int | None = None) -> TaskRow:
    """Mark a task as done, with a note of what was done. Raises Mistakes without one."""
    row = _open_task(deed, task_id, version)
    if deed.doer.role == Role.TECHNICIAN and row.taken_by_id != deed.doer.id:
        raise Refused("This task is somebody else's.")
    if not note.strip():
        raise Mistakes({"note": "Say in a few words what was done."})
    row.done_at, row.done_by, row.done_note = deed.now, deed.doer.name, note.strip()
    deed.note("task", row.id, f"Done with task {row.id}, {row.title}: {row.done_note}")
    deed.session.flush()
    return row


def open_task_again(deed: Deed, task_id: int) -> TaskRow:
    """Let a task that was marked as done wait again."""
    row = get_task(deed.session, task_id, locked=True)
    if row.state != TaskState.DONE:
        raise Refused("This task is not done yet.")
    row.done_at, row.done_by, row.done_note = None, "", ""
    deed.note("task", row.id, f"Opened task {row.id} again, {row.title}.")
    deed.session.flush()
    return row


def settle_word_by_test(deed: Deed, item_id: int, tested_at: datetime, passed: bool) -> None:
    """After a test: what the customer said of the item before it is settled, for better or worse."""
    said = "The item passed its test." if passed else "The item was tested again and failed."
    for row in list_open_tasks_of_item(deed.session, item_id):
        if row.came_at > tested_at:
            continue
        row.done_at, row.done_by, row.done_note = deed.now, deed.doer.name, said
        deed.note("task", row.id, f"Done with task {row.id}, {row.title}: {said}")


def _writing_link(deed: Deed, share_link_id: int) -> ShareLinkRow:
    """The link, locked so that its bounds hold for two who send at once."""
    link = get_share_link(deed.session, share_link_id, locked=True)
    if not link.scope.may_write or link.state_on(deed.today) != LinkState.OPEN:
        raise Missing("page")
    today = count_tasks_from(deed.session, link.id, deed.now - DAY)
    if sentence := may_send(today, count_tasks_from(deed.session, link.id)):
        raise Refused(sentence)
    return link


def _premises_of(deed: Deed, scope: LinkScope) -> int | None:
    return get_visit(deed.session, scope.visit_id).premises_id if scope.visit_id is not None else scope.premises_id


def _open_task(deed: Deed, task_id: int, version: int | None) -> TaskRow:
    row = get_task(deed.session, task_id, locked=True)
    if row.state == TaskState.DONE:
        raise Refused(f"{row.done_by} has done this already.")
    check_version(row, version, "this task")
    return row


def _task(
    deed: Deed, link: ShareLinkRow, kind: TaskKind, word: Word, premises_id: int | None, item_id: int | None = None
) -> TaskRow:
    row = TaskRow(
        kind=kind.value, customer_id=link.customer_id, premises_id=premises_id, item_id=item_id,
        share_link_id=link.id, came_at=deed.now, name=word.name.strip(), contact=word.contact.strip(),
        said=word.said.strip(), wished=word.wished.strip(), done_by="", done_note="",
    )  # fmt: skip
    deed.session.add(row)
    deed.session.flush()
    return row
