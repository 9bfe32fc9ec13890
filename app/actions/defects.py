"""Seeing to open defects: who must act by when, with notes on the way. Nothing here closes one; a passed test does."""

from datetime import date

from app.actions.deeds import Deed, check_version, say_day
from app.rules.defect_waits import NOTE_MOST, Duty, check_act_by
from app.rules.verdicts import Mistakes, Refused
from app.store.defects import DefectStepRow, add_defect_step, get_defect
from app.store.items import DefectRow
from app.store.people import get_person


def see_to_defect(
    deed: Deed,
    defect_id: int,
    duty: Duty,
    person_id: int | None = None,
    act_by: date | None = None,
    note: str = "",
    version: int | None = None,
) -> DefectRow:
    """Say who must act on an open defect and by when, with a note for its history. Raises Mistakes.

    person_id: somebody of the firm, only with Duty.PERSON.
    """
    row = get_defect(deed.session, defect_id, locked=True)
    if row.closed_on is not None:
        raise Refused("This defect was closed by a pass at a later test. Nothing is left to do.")
    check_version(row, version, "this defect")
    mistakes = {}
    person = get_person(deed.session, person_id) if person_id is not None and duty == Duty.PERSON else None
    if duty == Duty.PERSON and (person is None or not person.active):
        mistakes["person_id"] = "Choose who is to act."
    if act_by != row.act_by and (wrong := check_act_by(act_by, deed.today)):
        mistakes["act_by"] = wrong
    note = note.strip()
    if len(note) > NOTE_MOST:
        mistakes["note"] = f"Use at most {NOTE_MOST} characters."
    if mistakes:
        raise Mistakes(mistakes)
    said = []
    wanted = person.id if person else None
    if (row.duty, row.duty_person_id) != (duty.value, wanted):
        who = {Duty.CUSTOMER: "The customer", Duty.FIRM: "The firm", Duty.RULES: "Whoever is next"}
        said.append(f"{person.name if person else who[duty]} must act.")
    if act_by != row.act_by:
        said.append(f"To be done by {say_day(act_by)}." if act_by else "No day is set any more.")
    if note:
        said.append(note)
    if not said:
        return row
    row.duty, row.duty_person_id, row.act_by = duty.value, wanted, act_by
    keep_step(deed, row.id, deed.doer.name, " ".join(said))
    deed.note("item", row.item_id, f"Defect of item {row.item.number}: {' '.join(said)}")
    deed.session.flush()
    return row


def keep_step(deed: Deed, defect_id: int, by_name: str, sentence: str) -> None:
    """Write a line in the history of a defect."""
    step = DefectStepRow(defect_id=defect_id, at=deed.now, by_name=by_name, sentence=sentence)
    add_defect_step(deed.session, step)
