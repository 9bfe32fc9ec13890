"""The fields of a form for the firm's own test sequence: what they offer, what they show, and what was ticked.

Items, equipment types and new items on site share them; templates/equipment_types/_own_sequence.html draws them.
"""

from dataclasses import dataclass

from sqlalchemy.orm import Session

from app.rules.checks import Check, check_sequence
from app.rules.rulebooks import Rulebook
from app.rules.sequences import OWN_CHECKS, list_left_out
from app.store.judgings import list_rulebooks_in_use
from app.web.facts_fields import new_facts
from app.web.fields import Form


@dataclass(frozen=True)
class Asked:
    """What one rulebook asks of the item in the form, and what the ticked sequence leaves out of it, in words."""

    rulebook: Rulebook
    needed: str
    left_out: str


def list_sequence_choices() -> list[tuple[str, str]]:
    """The checks that an own sequence can be made of, in safe order."""
    return [(check.value, check.word[:1].upper() + check.word[1:]) for check in OWN_CHECKS]


def list_asked_checks(session: Session, form: Form) -> list[Asked]:
    """What each rulebook in use asks of the item in the form. Notes no mistakes in it."""
    copy = Form(dict(form.values))
    facts, own = new_facts(copy), tuple(Check(each) for each in new_sequence(copy) or ())
    found = []
    for rulebook in list_rulebooks_in_use(session):
        needed = ", ".join(step.check.word for step in check_sequence(facts, rulebook) if step.required)
        left_out = ", ".join(check.word for check in list_left_out(own, facts, rulebook)) if own else ""
        found.append(Asked(rulebook, needed, left_out))
    return found


def show_sequence(own_checks: list[str] | None) -> dict[str, str]:
    """What each field shows, by field name; nothing is ticked where the rulebook's sequence holds."""
    shown = {"own_sequence": "" if own_checks is None else "yes"}
    return shown | {f"own-{check}": "yes" for check in own_checks or ()}


def new_sequence(form: Form) -> list[str] | None:
    """The checks ticked, in safe order, or nothing where the rulebook's sequence holds. The form notes a mistake."""
    if not form.tick("own_sequence"):
        return None
    chosen = [check.value for check in OWN_CHECKS if form.tick(f"own-{check.value}")]
    if not chosen:
        form.blame("own_sequence", "Tick the checks of your own sequence, or leave it to the rulebook.")
    return chosen


def list_sequence_words(own_checks: list[str] | None) -> str:
    """The firm's own sequence in words, or nothing."""
    if own_checks is None:
        return ""
    words = ", ".join(Check(check).word for check in own_checks)
    return f"The firm's own: {words}"
