"""Correcting a certificate by a new one that replaces it, and making one void. What was issued never changes."""

from dataclasses import replace

from app.actions.certificates import add_pending_certificate, collect_facts, finish_certificate
from app.actions.deeds import Deed, Desk
from app.documents.certificate import certificate_from
from app.documents.revisions import Change, changes_from, correction_from
from app.rules.certificates import CertificateFacts, may_revise, may_void, number_revision
from app.rules.people import Person
from app.rules.verdicts import Mistakes, Refused
from app.rules.visits import VisitState
from app.store.certificates import (
    CertificateRow,
    CertificateVoidRow,
    RevisionRow,
    find_newest_revision,
    get_certificate,
)
from app.store.visits import get_visit

REASON_MISSING = "Say why the certificate is corrected; the new one prints it."


def compare_certificate(desk: Desk, person: Person, certificate_id: int) -> list[Change]:
    """What a correction of a certificate would change if it were issued now. Refuses where none can be made."""
    with desk.reading_only() as session:
        deed = desk.deed(session, person)
        return _correction(deed, desk, get_certificate(session, certificate_id))[1]


def revise_certificate(
    desk: Desk, person: Person, certificate_id: int, reason: str, patience: float | None = None
) -> int:
    """Issue a correction with its reason, and give its id. The old file stays as it is. Raises Mistakes.

    patience: as issue_certificate.
    """
    if not reason.strip():
        raise Mistakes({"reason": REASON_MISSING})
    with desk.doing(person) as deed:
        old = get_certificate(deed.session, certificate_id)
        visit = get_visit(deed.session, old.visit_id, locked=True)
        old = get_certificate(deed.session, certificate_id, locked=True)
        if old.corrected_by is not None and old.corrected_by.certificate.state == "pending":
            new_id = old.corrected_by.certificate_id  # a crash left it: it is finished, not made a second time
        else:
            facts, changes, revision = _correction(deed, desk, old)
            if refused := may_revise(old.standing, old.number, _newest(deed, old), len(changes)):
                raise Refused(refused)
            facts = replace(
                facts, replaces_number=old.number, replaces_issued_on=old.issued_on, replaces_reason=reason.strip()
            )
            data = correction_from(certificate_from(facts), changes, reason.strip())
            row = add_pending_certificate(deed, visit, facts, data)
            first_id = old.revision.first_id if old.revision else old.id
            deed.session.add(
                RevisionRow(
                    certificate_id=row.id,
                    replaces_id=old.id,
                    first_id=first_id,
                    revision=revision,
                    reason=reason.strip(),
                )
            )
            deed.session.flush()
            said = f"Corrected certificate {old.number} by {row.number}: {reason.strip()}"
            deed.note("certificate", old.id, said)
            deed.note("certificate", row.id, said)
            new_id = row.id
    finish_certificate(desk, person, new_id, patience)
    return new_id


def void_certificate(deed: Deed, certificate_id: int, reason: str) -> CertificateRow:
    """Say that a certificate no longer holds. It stays in its series with its file. Raises Mistakes."""
    if not reason.strip():
        raise Mistakes({"reason": "Say why the certificate no longer holds."})
    row = get_certificate(deed.session, certificate_id, locked=True)
    if refused := may_void(row.standing, row.number, _newest(deed, row)):
        raise Refused(refused)
    row.void = CertificateVoidRow(reason=reason.strip(), voided_at=deed.now, voided_by_id=deed.doer.id)
    deed.session.flush()
    deed.note("certificate", row.id, f"Made certificate {row.number} void: {reason.strip()}")
    return row


def _correction(deed: Deed, desk: Desk, old: CertificateRow) -> tuple[CertificateFacts, list[Change], int]:
    """The facts of a correction, what it would change, and its revision. Refuses where none can be made."""
    if refused := may_revise(old.standing, old.number, _newest(deed, old), changes=1):
        raise Refused(refused)
    if old.visit.state != VisitState.FINISHED:
        raise Refused("A correction is issued when the visit is finished; this one is " + old.visit.state + ".")
    first, revision = old, 2
    if old.revision is not None:
        first, revision = get_certificate(deed.session, old.revision.first_id), old.revision.revision + 1
    facts = collect_facts(deed, desk, deed.doer, old.visit_id, number_revision(first.number, revision))
    return facts, changes_from(old.data, certificate_from(facts)), revision


def _newest(deed: Deed, row: CertificateRow) -> str:
    return find_newest_revision(deed.session, row).number
