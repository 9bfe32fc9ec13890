"""The one-off check: judges the readings of an item that is on no register, and keeps nothing.

Everything is in the address, so a page can be opened again, sent to a colleague, or printed.
"""

from fastapi import APIRouter, Request, Response

from app.rules.advice import list_advice
from app.rules.equipment import Cord, ItemFacts
from app.rules.judging import Judging, judge_visit_item
from app.rules.rulebooks import RULEBOOKS, rulebook_named
from app.rules.visual_points import list_points_to_mark
from app.store.equipment_types import get_equipment_type, list_equipment_types
from app.store.firms import get_firm
from app.web.answers import show_answers
from app.web.entry_fields import list_typed_entries
from app.web.facts_fields import list_facts_choices, new_facts, show_facts
from app.web.kit import Asked, Reading, page
from app.web.sheet_steps import list_sheet_steps

routes = APIRouter()


@routes.get("/one-off-check")
def show_one_off_check(request: Request, session: Reading, asked: Asked) -> Response:
    """The facts first; with them the item's own sequence with its limits; with readings the verdict on each."""
    own = get_firm(session).rulebook_id
    rulebook_id = asked.value("rulebook") if asked.value("rulebook") in RULEBOOKS else own
    judging = Judging(rulebook_named(rulebook_id))
    type_id = asked.whole("type", 1, 2**31 - 1)
    told = "kind" in asked.values
    if not told:
        facts = get_equipment_type(session, type_id).facts if type_id else ItemFacts(cord=Cord())
        asked.values |= show_facts(facts)
    facts = new_facts(asked)
    known = told and not asked.mistakes
    steps = list_sheet_steps(facts, judging) if known else []
    entries = [entry for _, entry in list_typed_entries(asked, facts, judging)] if known else []
    return page(
        request,
        "one_off_checks/show.html",
        form=asked,
        rulebook=judging.rulebook,
        rulebooks=[(book.id, book.title) for book in RULEBOOKS.values()],
        types=[(row.id, row.name) for row in list_equipment_types(session)],
        choices=list_facts_choices(asked),
        steps=steps,
        points=list_points_to_mark(facts),
        answers=show_answers(asked, facts, judging) if known else None,
        judged=judge_visit_item(facts, entries, judging) if entries else None,
        advice=list_advice(facts) if known else (),
    )
