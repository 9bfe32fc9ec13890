"""Certificates of single items: issuing one of a test, and correcting it by a new one that replaces it. And making any
paper void. What was issued never changes.
"""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from app.actions.deeds import Deed, Desk, say_day
from app.actions.papers import PaperWish, add_pending_paper, finish_paper
from app.documents.item_certificate import item_certificate_from
from app.documents.revisions import Change, changes_from, correction_from
from app.rules.certificates import (
    CertificateFacts,
    may_issue_certificate,
    may_revise,
    may_void,
    number_revision,
)
from app.rules.items import ItemState
from app.rules.papers import CertifiedTest, PaperKind, Purpose, may_certify_item
from app.rules.people import Person
from app.rules.verdicts import Mistakes, Refused, Verdict
from app.rules.visits import VisitState
from app.store.items import get_item
from app.store.paper_facts import facts_for_certificate
from app.store.papers import PaperRevisionRow, PaperRow, PaperVoidRow, find_newest_paper, get_paper
from app.store.readings import VisitItemRow, get_visit_item, list_item_history
from app.store.visits import get_visit


def issue_item_certificate(
    desk: Desk, person: Person, item_id: int, purpose: Purpose = Purpose.RECORD, visit_id: int | None = None
) -> int:
    """Issue the certificate of an item's newest test, or of the one at a visit, and give its id."""
    with desk.doing(person) as deed:
        test = _test_of(deed, item_id, visit_id)
        get_visit(deed.session, test.visit_id, locked=True)  # nobody corrects the test meanwhile
        _check_test(deed, test, purpose)
        row = add_pending_paper(deed, _wish(test, purpose), _draws(deed, desk, test, purpose))
    return finish_paper(desk, person, row.id)


def compare_item_certificate(desk: Desk, person: Person, paper_id: int) -> list[Change]:
    """What a correction would change if it were issued now. Refuses where none can be made."""
    with desk.reading_only() as session:
        deed = desk.deed(session, person)
        old = get_paper(session, paper_id)
        test, number, _ = _correcting(deed, old)
        return changes_from(old.data, _draws(deed, desk, test, Purpose(old.purpose))(number, old.code))


def revise_item_certificate(desk: Desk, person: Person, paper_id: int, reason: str) -> int:
    """Issue a correction with its reason, and give its id. The old file stays as it is. Raises Mistakes."""
    reason = reason.strip()
    if not reason:
        raise Mistakes({"reason": "Say why the certificate is corrected; the new one prints it."})
    with desk.doing(person) as deed:
        old = get_paper(deed.session, paper_id, locked=True)
        if old.corrected_by is not None and old.corrected_by.paper.state == "pending":
            new_id = old.corrected_by.paper_id  # a crash left it: it is finished, not made a second time
        else:
            test, number, revision = _correcting(deed, old)
            replacing = {"replaces_number": old.number, "replaces_issued_on": old.issued_on, "replaces_reason": reason}
            draw = _draws(deed, desk, test, Purpose(old.purpose), **replacing)
            changes = changes_from(old.data, draw(number, old.code))
            if refused := may_revise(old.standing, old.number, _newest(deed, old), len(changes)):
                raise Refused(refused)
            row = add_pending_paper(
                deed,
                _wish(test, Purpose(old.purpose)),
                lambda number, code: correction_from(draw(number, code), changes, reason),
                number,
            )
            first_id = old.revision.first_id if old.revision else old.id
            deed.session.add(
                PaperRevisionRow(
                    paper_id=row.id, replaces_id=old.id, first_id=first_id, revision=revision, reason=reason
                )
            )
            deed.session.flush()
            for each in (old, row):
                deed.note("paper", each.id, f"Corrected {old.kind} {old.number} by {row.number}: {reason}")
            new_id = row.id
    return finish_paper(desk, person, new_id)


def void_paper(deed: Deed, paper_id: int, reason: str) -> PaperRow:
    """Say that a paper no longer holds. It stays in its series with its file. Raises Mistakes."""
    if not reason.strip():
        raise Mistakes({"reason": "Say why the paper no longer holds."})
    row = get_paper(deed.session, paper_id, locked=True)
    if refused := may_void(row.standing, row.number, _newest(deed, row), "Paper"):
        raise Refused(refused)
    row.void = PaperVoidRow(reason=reason.strip(), voided_at=deed.now, voided_by_id=deed.doer.id)
    deed.session.flush()
    deed.note("paper", row.id, f"Made {row.kind} {row.number} void: {reason.strip()}")
    return row


def _test_of(deed: Deed, item_id: int, visit_id: int | None) -> VisitItemRow:
    """The test that is meant: at a visit, else the newest of a visit that is finished. Refuses where there is none."""
    if visit_id is not None:
        test = get_visit_item(deed.session, visit_id, item_id)
        if test.visit.state != VisitState.FINISHED:
            raise Refused("A certificate is of a test at a finished visit; this one is not finished.")
        if test.tested_on is None or not test.verdict:
            raise Refused("The item was not tested at this visit, so there is nothing to certify.")
        return test
    item = get_item(deed.session, item_id)
    for test in list_item_history(deed.session, item_id):
        if test.visit.state == VisitState.FINISHED and test.tested_on and test.verdict and not test.not_tested:
            return test
    raise Refused(f"Item {item.number} has no test at a finished visit yet, so there is nothing to certify.")


def _later_test(deed: Deed, test: VisitItemRow) -> VisitItemRow | None:
    """The newest test of the item, where it is not this one."""
    tests = [each for each in list_item_history(deed.session, test.item_id) if each.tested_on and each.verdict]
    newest = max(tests, key=lambda each: (each.tested_on, each.id), default=test)
    return None if newest.id == test.id else newest


def _check_test(deed: Deed, test: VisitItemRow, purpose: Purpose) -> None:
    certified = CertifiedTest(
        test.item.number,
        ItemState(test.item.state),
        Verdict(test.verdict or "incomplete"),
        test.after_repair or bool(test.rounds),
        _later_test(deed, test) is None,
    )
    if refused := may_certify_item(certified, purpose):
        raise Refused(refused)


def _wish(test: VisitItemRow, purpose: Purpose) -> PaperWish:
    assert test.tested_on is not None
    return PaperWish(
        PaperKind.ITEM_CERTIFICATE,
        test.item.customer_id,
        test.visit.premises_id,
        test.tested_on,
        test.item_id,
        test.id,
        purpose.value,
    )


def _draws(
    deed: Deed, desk: Desk, test: VisitItemRow, purpose: Purpose, **replacing: Any
) -> Callable[[str, str], dict[str, Any]]:
    """Gives the data of the certificate of a test for a number and a code. Refuses where it may not be issued."""
    newer = _later_test(deed, test)
    later = ""
    if newer is not None and newer.tested_on is not None:
        said = Verdict(newer.verdict or "incomplete").word
        later = f"The item was tested again on {say_day(newer.tested_on)}: {said}. That test holds, and not this one."

    def draw(number: str, code: str) -> dict[str, Any]:
        facts: CertificateFacts = facts_for_certificate(
            deed.session,
            test.visit_id,
            number=number,
            code=code,
            address=desk.public_address,
            by=deed.doer,
            now=deed.now,
            today=deed.today,
            item_id=test.item_id,
        )
        if against := may_issue_certificate(facts):
            raise Refused(" ".join(against))
        return item_certificate_from(replace(facts, **replacing), purpose, later)

    return draw


def _correcting(deed: Deed, old: PaperRow) -> tuple[VisitItemRow, str, int]:
    """The test that a certificate is of, and number and revision of its correction. Refuses where none can be made."""
    if old.kind != PaperKind.ITEM_CERTIFICATE or old.visit_item is None:
        raise Refused(f"A {old.kind} shows what was on record on its day. Make it void, and issue a new one.")
    if refused := may_revise(old.standing, old.number, _newest(deed, old), changes=1):
        raise Refused(refused)
    test = old.visit_item
    if test.visit.state != VisitState.FINISHED:
        raise Refused("A correction is issued when the visit is finished; this one is " + test.visit.state + ".")
    if test.tested_on is None or not test.verdict:
        raise Refused(f"The item was left out of the visit in the end. Make certificate {old.number} void instead.")
    try:
        _check_test(deed, test, Purpose(old.purpose))
    except Refused as against:
        raise Refused(f"{against.sentence} Make certificate {old.number} void instead.") from against
    first, revision = old, 2
    if old.revision is not None:
        first, revision = get_paper(deed.session, old.revision.first_id), old.revision.revision + 1
    return test, number_revision(first.number, revision), revision


def _newest(deed: Deed, row: PaperRow) -> str:
    return find_newest_paper(deed.session, row).number
