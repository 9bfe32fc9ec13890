"""Facts for papers: everything a certificate says, collected from the rows of a visit."""

from datetime import date, datetime

from sqlalchemy.orm import Session

from app.rules.certificates import (
    CertificateFacts,
    CustomerFacts,
    DefectFacts,
    InstrumentFacts,
    ItemResult,
    PremisesFacts,
    ReadingFacts,
    TechnicianFacts,
)
from app.rules.checks import Check
from app.rules.judging import describe_decision_rule
from app.rules.people import Person
from app.rules.quantities import Bound, Reading, Unit, describe_number
from app.rules.verdicts import Outcome, Verdict
from app.rules.visits import NotTested
from app.rules.visual_points import describe_point
from app.store.customers import CustomerRow
from app.store.firms import get_firm, list_lines
from app.store.items import DefectRow
from app.store.premises import PremisesRow
from app.store.readings import ReadingRow, VisitItemRow, list_visit_items
from app.store.visits import VisitRow, facts_for_judging, get_visit


def facts_of_customer(row: CustomerRow, fallback: PremisesRow | None = None) -> CustomerFacts:
    """The customer as papers show it; the premises' address serves when the customer has none of its own."""
    address = list_lines(row.address, row.postcode)
    if not address and fallback is not None:
        address = list_lines(fallback.address, fallback.postcode)
    return CustomerFacts(row.name, address, contact=row.contacts[0].name if row.contacts else "")


def facts_of_premises(row: PremisesRow) -> PremisesFacts:
    return PremisesFacts(row.name, list_lines(row.address, row.postcode))


def facts_for_certificate(
    session: Session, visit_id: int, *, number: str, code: str, address: str, by: Person, now: datetime, today: date
) -> CertificateFacts:
    """Everything the certificate of a visit says. address is the public address of this Ohmstead."""
    visit = get_visit(session, visit_id)
    rows = list_visit_items(session, visit_id)
    judging = facts_for_judging(visit)
    rulebook = judging.rulebook
    days = [row.tested_on for row in rows if row.tested_on]
    technicians = {row.tested_by.id: row.tested_by for row in rows if row.tested_by} or {
        visit.technician.id: visit.technician
    }
    deviations: tuple[str, ...] = ()
    if visit.instrument_reason:
        deviations = (
            f"The instrument was out of calibration on the day. Reason for using it: {visit.instrument_reason}",
        )
    return CertificateFacts(
        number=number,
        firm=get_firm(session).facts,
        customer=facts_of_customer(visit.customer, visit.premises),
        premises=facts_of_premises(visit.premises),
        tested_from=min(days, default=visit.booked_on),
        tested_until=max(days, default=visit.booked_on),
        issued_on=today,
        rulebook_title=rulebook.title,
        rulebook_edition=rulebook.edition,
        rulebook_version=rulebook.version,
        decision_rule=describe_decision_rule(judging),
        authorised_by=by.name,
        authorised_role=by.role.value,
        authorised_at=now,
        verification_url=f"{address}/check/{code}",
        verification_code=code,
        rows=tuple(_result(row) for row in rows),
        technicians=tuple(TechnicianFacts(person.name, person.initials) for person in technicians.values()),
        instruments=(_instrument(visit, max(days, default=visit.booked_on)),),
        visit_number=str(visit.id),
        deviations=deviations,
        note=visit.note,
    )


def _instrument(visit: VisitRow, day: date) -> InstrumentFacts:
    row = visit.instrument
    calibration = row.calibration_on(day)
    facts = InstrumentFacts(row.name, row.serial, row.make, row.model)
    if calibration is None:
        return facts
    return InstrumentFacts(
        row.name,
        row.serial,
        row.make,
        row.model,
        calibration.certificate_number,
        calibration.calibrated_on,
        calibration.good_until,
        calibration.laboratory,
    )


def _result(row: VisitItemRow) -> ItemResult:
    facts, item = row.facts, row.item
    cord = facts.cord
    parts = [
        f"{cord.length_m.normalize():f} m" if cord and cord.length_m else "",
        f"{cord.csa_mm2.normalize():f} mm²" if cord and cord.csa_mm2 else "",
    ]
    missing = ", ".join(Check(check).word for check in row.missing)
    verdict = Verdict.INCOMPLETE if row.not_tested else Verdict(row.verdict or "incomplete")
    return ItemResult(
        number=item.number,
        description=row.description,
        verdict=verdict,
        location=row.location.name,
        make=item.make,
        model=item.model,
        serial=item.serial,
        construction=facts.construction.word,
        cord=", ".join(part for part in parts if part),
        fuse=f"{facts.fuse_a.normalize():f} A" if facts.fuse_a else "",
        rating=f"{facts.rated_power_w.normalize():f} W" if facts.rated_power_w else "",
        readings=tuple(_reading(reading, row.defects) for reading in row.readings),
        defects=tuple(_defect(defect, row.readings) for defect in row.defects),
        tested_on=row.tested_on if row.readings else None,
        next_due_on=row.next_due_on,
        not_tested_reason=_why_not_tested(row),
        incomplete_reason=f"Not done: {missing}." if missing and not row.not_tested else "",
        out_of_use=verdict == Verdict.FAIL,
        technician=row.tested_by.initials if row.tested_by else "",
        note=row.note,
    )


def _why_not_tested(row: VisitItemRow) -> str:
    if row.not_tested == NotTested.OTHER and row.not_tested_note:
        return row.not_tested_note
    return ": ".join(text for text in (row.not_tested, row.not_tested_note) if text)


def _reading(row: ReadingRow, defects: list[DefectRow]) -> ReadingFacts:
    value = Reading(row.value, Unit(row.unit), Bound(row.bound)).text if row.value is not None else ""
    said_as_defect = any(defect.found == row.note for defect in defects)
    return ReadingFacts(
        check=row.check,
        word=Check(row.check).word,
        outcome=Outcome(row.outcome),
        reading=value,
        limit=facts_limit_text(row),
        point=describe_point(row.point) if row.check == Check.VISUAL else row.point,
        working=row.working if row.limit_text else "",
        source=row.source,
        margin=_margin(row),
        note="" if said_as_defect else row.note,
        sentence=row.sentence,
    )


def _margin(row: ReadingRow) -> str:
    """By how much a reading missed or kept its limit; nothing where the instrument showed only a bound."""
    if row.margin is None or row.bound not in ("", Bound.EXACT.value) or not row.limit_unit:
        return ""
    amount = f"{describe_number(abs(row.margin))} {Unit(row.limit_unit).symbol}"
    if row.margin >= 0:
        return f"{amount} to spare" if row.margin else "exactly at the limit"
    over = row.at_most is not None and row.value is not None and row.at_least is None
    return f"{amount} {'over' if over else 'short'}"


def facts_limit_text(row: ReadingRow) -> str:
    """The limit as it stands in a narrow column: a sign, a number, a unit."""
    symbol = Unit(row.limit_unit).symbol if row.limit_unit else ""
    if row.at_most is not None:
        return f"≤ {row.at_most.normalize():f} {symbol}"
    return f"≥ {row.at_least.normalize():f} {symbol}" if row.at_least is not None else ""


def _defect(row: DefectRow, readings: list[ReadingRow]) -> DefectFacts:
    """What is wrong and what to do. A defect that is a failing reading says nothing twice: the reading is printed."""
    is_reading = any(reading.sentence and row.found.endswith(reading.sentence) for reading in readings)
    return DefectFacts("" if is_reading else row.found, what_to_do=row.remedy)
