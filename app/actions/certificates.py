"""Issuing a certificate: number and data first, then the paper, then its hash; a crash between is finished later.

Two short transactions stand around the drawing, so the database is never locked while a PDF is made. A pending
certificate has its number and its frozen data; finish_certificate draws it, now or after the next start.
"""

from functools import partial
from typing import Any

from app.actions.deeds import Deed, Desk
from app.actions.drawings import begin_drawing
from app.actions.paper_codes import new_code
from app.actions.paper_files import finish_each, open_paper
from app.actions.paper_parts import KeptPaper, draw_and_settle
from app.documents.certificate import certificate_from
from app.documents.parts import parted_data_from
from app.rules.certificates import (
    CertificateFacts,
    count_verdicts,
    may_issue_certificate,
    number_certificate,
)
from app.rules.people import Person
from app.rules.verdicts import Refused
from app.rules.visits import VisitState
from app.store.certificates import (
    CertificateRow,
    find_certificate_of_visit,
    get_certificate,
    list_pending_certificates,
)
from app.store.firms import get_firm, next_in_series
from app.store.paper_facts import facts_for_certificate
from app.store.visits import VisitRow, get_visit

KEPT = KeptPaper("certificate", get_certificate, lambda row: "certificate")


def issue_certificate(desk: Desk, person: Person, visit_id: int, patience: float | None = None) -> int:
    """Issue the certificate of a finished visit, and give its id. Refuses with what stands against it.

    patience: seconds to wait for the paper, which is then drawn further in the background; None: until it is there.
    """
    with desk.doing(person) as deed:
        visit = get_visit(deed.session, visit_id, locked=True)
        row = find_certificate_of_visit(deed.session, visit_id)
        if row is not None and row.state == "issued":
            raise Refused(f"The certificate of this visit is issued: {row.number}.")
        if visit.state != VisitState.FINISHED:
            raise Refused("A certificate is issued when the visit is finished; this one is " + visit.state + ".")
        if row is None:
            series, prefix = next_in_series(deed.session, "certificate"), get_firm(deed.session).certificate_prefix
            facts = collect_facts(deed, desk, person, visit_id, number_certificate(series, prefix))
            row = add_pending_certificate(deed, visit, facts, certificate_from(facts))
            deed.note("certificate", row.id, f"Gave the number {row.number} to the certificate of visit {visit_id}.")
        certificate_id = row.id
    finish_certificate(desk, person, certificate_id, patience)
    return certificate_id


def collect_facts(deed: Deed, desk: Desk, person: Person, visit_id: int, number: str) -> CertificateFacts:
    """What the certificate of a visit says if it is issued now, with a new code. Refuses where it may not be."""
    facts = facts_for_certificate(
        deed.session,
        visit_id,
        number=number,
        code=new_code(),
        address=desk.public_address,
        by=person,
        now=deed.now,
        today=deed.today,
    )
    if against := may_issue_certificate(facts):
        raise Refused(" ".join(against))
    return facts


def add_pending_certificate(
    deed: Deed, visit: VisitRow, facts: CertificateFacts, data: dict[str, Any]
) -> CertificateRow:
    """Freeze a certificate under its number; its file is still to be drawn."""
    counts = count_verdicts(facts.rows)
    row = CertificateRow(
        number=facts.number,
        code=facts.verification_code,
        customer_id=visit.customer_id,
        visit_id=visit.id,
        state="pending",
        issued_on=deed.today,
        issued_at=deed.now,
        issued_by_id=deed.doer.id,
        items=counts.items,
        passed=counts.passed,
        failed=counts.failed,
        data=parted_data_from(data),
        file_name=f"{facts.number}.pdf",
    )
    deed.session.add(row)
    deed.session.flush()
    return row


def finish_certificate(desk: Desk, person: Person | None, certificate_id: int, patience: float | None = None) -> None:
    """Draw a pending certificate, keep its files, and mark it issued with its hash. patience: as issue_certificate."""
    work = partial(draw_and_settle, desk, person, KEPT, certificate_id)
    begin_drawing(desk, KEPT.noun, certificate_id, work, patience)


def finish_pending_certificates(desk: Desk) -> int:
    """Draw every certificate that a crash left pending; gives their number."""
    with desk.reading_only() as session:
        pending = [row.id for row in list_pending_certificates(session)]
    return finish_each(pending, partial(finish_certificate, desk, None))


def open_certificate(desk: Desk, row: CertificateRow) -> bytes:
    """The PDF of an issued certificate, checked against its hash."""
    if row.state != "issued":
        raise Refused(f"Certificate {row.number} is still being made. Try again in a moment.")
    return open_paper(desk.papers_folder, row.file_name, row.sha256)
