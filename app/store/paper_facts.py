"""Facts for papers: everything a certificate says, collected from the rows of a visit."""

from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal

from sqlalchemy.orm import Session

from app.rules.advice import may_tell_customer
from app.rules.certificates import (
    CertificateFacts,
    CustomerFacts,
    DefectFacts,
    FirstFound,
    ItemResult,
    PhotoFacts,
    PremisesFacts,
    ReadingFacts,
    TechnicianFacts,
    list_own_gaps,
)
from app.rules.checks import CURRENTS, Check
from app.rules.entries import describe_below
from app.rules.equipment import Environment
from app.rules.fault_words import describe_fail
from app.rules.horizons import next_horizon
from app.rules.intervals import FallsDue, judge_due, suggest_interval
from app.rules.item_words import describe_kind, describe_rcd, describe_supply
from app.rules.judging import Judging, describe_decision_rule, describe_own_gap, list_steps
from app.rules.limits import describe_bounds, number_spare
from app.rules.paper_remarks import (
    describe_conductor_method,
    describe_fallback,
    describe_house_limit,
    has_house_bound,
    has_house_limit,
    list_stand_in_words,
)
from app.rules.people import Person
from app.rules.points import parse_measured_point
from app.rules.quantities import Bound, Unit, convert_number, describe_number
from app.rules.reading_histories import TrendWarning, list_trend_warnings
from app.rules.verdicts import FAILED, GOOD, Outcome, Verdict
from app.rules.visits import NotTested
from app.rules.visual_points import describe_point
from app.store.customers import CustomerRow
from app.store.firms import get_firm, list_lines
from app.store.instrument_facts import (
    facts_of_instrument,
    list_deviations_of,
    list_instruments_of,
    list_measured_by,
)
from app.store.items import DefectRow
from app.store.photos import PhotoRow, list_photos
from app.store.premises import PremisesRow
from app.store.reading_histories import list_visit_histories
from app.store.readings import ReadingRow, RoundRow, VisitItemRow, list_visit_items
from app.store.rounds import find_what_was_found
from app.store.visits import facts_for_judging, get_visit


def facts_of_customer(row: CustomerRow, fallback: PremisesRow | None = None) -> CustomerFacts:
    """The customer as papers show it; the premises' address serves when the customer has none of its own."""
    address = list_lines(row.address, row.postcode)
    if not address and fallback is not None:
        address = list_lines(fallback.address, fallback.postcode)
    contact = row.contacts[0].name if row.contacts else ""
    return CustomerFacts(row.name, address, contact=contact, vat_number=row.vat_number)


def facts_of_premises(row: PremisesRow) -> PremisesFacts:
    return PremisesFacts(row.name, list_lines(row.address, row.postcode))


def facts_for_certificate(
    session: Session,
    visit_id: int,
    *,
    number: str,
    code: str,
    address: str,
    by: Person,
    now: datetime,
    today: date,
    item_id: int | None = None,
) -> CertificateFacts:
    """Everything the certificate of a visit says, or that of one item alone. address is that of this Ohmstead."""
    visit = get_visit(session, visit_id)
    rows = [row for row in list_visit_items(session, visit_id) if item_id in (None, row.item_id)]
    find_what_was_found(session, rows)
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
    # Only what was known at the visit: a certificate issued later says the same.
    histories = list_visit_histories(session, visit_id, max(days, default=None))
    followed = {row.item_id: next_horizon(row.next_due_on, row.tested_on) if row.tested_on else None for row in rows}
    # A certificate of one item asks for the histories of all of its visit.
    watched = list_trend_warnings(histories, followed.get)
    measured = list_measured_by(rows)
    instruments = list_instruments_of(session, visit, measured)
    last_days = {each.instrument_id: each.day for each in sorted(measured, key=lambda each: each.day)}
    last_day = max(days, default=visit.booked_on)
    deviations += list_deviations_of(visit, instruments, measured, last_days, last_day)
    serials = {row.id: row.serial for row in instruments}
    photos = list_photos(session, [row.id for row in rows])
    results = tuple(
        _result(row, judging, watched.get(row.item_id, []), serials, photos.get(row.id, [])) for row in rows
    )
    return CertificateFacts(
        number=number,
        firm=get_firm(session).facts,
        customer=facts_of_customer(visit.customer, visit.premises),
        premises=facts_of_premises(visit.premises),
        tested_from=min(days, default=visit.booked_on),
        tested_until=last_day,
        issued_on=today,
        rulebook_title=rulebook.title,
        rulebook_edition=rulebook.edition,
        rulebook_version=rulebook.version,
        rulebook_settings=tuple(setting.chosen for setting in rulebook.settings),
        house_limits=_house_limits(rows, judging),
        conductor_method=_conductor_method(rows),
        decision_rule=describe_decision_rule(judging),
        authorised_by=by.name,
        authorised_role=by.role.value,
        authorised_at=now,
        verification_url=f"{address}/check/{code}",
        verification_code=code,
        rows=results,
        technicians=tuple(TechnicianFacts(person.name, person.initials) for person in technicians.values()),
        instruments=tuple(facts_of_instrument(row, last_days.get(row.id, last_day)) for row in instruments),
        visit_number=str(visit.id),
        deviations=(*deviations, *list_own_gaps(results)),
        note=visit.note if item_id is None else "",
    )


def _result(
    row: VisitItemRow,
    judging: Judging,
    warnings: list[TrendWarning],
    serials: dict[int, str],
    photos: list[PhotoRow],
) -> ItemResult:
    facts, item = row.facts, row.item
    own = tuple(Check(name) for name in row.own_checks) if row.own_checks is not None else None
    judging = replace(judging, own=own, after_repair=row.after_repair)
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
        kind=describe_kind(facts, row.description),
        supply=describe_supply(facts),
        rcd=describe_rcd(facts.rcd),
        readings=tuple(_reading(reading, row.defects) for reading in row.readings),
        defects=tuple(_defect(defect, row.readings) for defect in row.defects),
        tested_on=row.tested_on if row.readings else None,
        next_due_on=row.next_due_on,
        looked_at_next=_looked_at_next(row),
        not_tested_reason=_why_not_tested(row),
        incomplete_reason=f"Not done: {missing}." if missing and not row.not_tested else "",
        out_of_use=verdict == Verdict.FAIL,
        technician=row.tested_by.initials if row.tested_by else "",
        instrument=_serials(row, serials),
        note=row.note,
        own_gap=describe_own_gap(facts, judging) if row.readings else "",
        remarks=(*_stand_ins(row, judging), *_remarks(row), *(warning.remark for warning in warnings)),
        advice=tuple(each.text for each in row.told_advice if may_tell_customer(each)),
        found_first=tuple(_first_found(earlier) for earlier in row.rounds),
        photos=tuple(PhotoFacts(photo.id, _photo_words(row, photo, place)) for place, photo in enumerate(photos, 1)),
    )


def _looked_at_next(row: VisitItemRow) -> bool:
    """Whether a formal visual inspection falls due first, by HSE's row for such equipment in such a place."""
    advice = suggest_interval(row.facts, Environment(row.visit.premises.environment))
    return judge_due(advice, row.tested_on, row.next_due_on) is FallsDue.VISUAL


def _serials(row: VisitItemRow, serials: dict[int, str]) -> str:
    """The serial numbers of the instruments that measured an item."""
    return " and ".join(dict.fromkeys(serials[each.instrument_id] for each in row.readings if each.instrument_id))


def _first_found(earlier: RoundRow) -> FirstFound:
    return FirstFound(
        Verdict(earlier.verdict),
        earlier.put_right,
        tuple(_reading(reading, earlier.defects) for reading in earlier.readings),
        tuple(_defect(defect, earlier.readings) for defect in earlier.defects),
        earlier.note,
    )


def _photo_words(row: VisitItemRow, photo: PhotoRow, place: int) -> str:
    """What a photo shows: the technician's words, else what was found."""
    found = [defect.found for defect in (*(each for earlier in row.rounds for each in earlier.defects), *row.defects)]
    seen = photo.caption or next((text for text in found if len(text) <= 120), "")
    return f"Photo {place} of item {row.item.number}, {row.description}" + (f": {seen.rstrip('.')}" if seen else "")


def _remarks(row: VisitItemRow) -> tuple[str, ...]:
    """How it was tested, where that is not the usual way; with the person named for a dielectric strength test."""
    repaired = ("Tested after a repair.",) if row.after_repair else ()
    tests = [reading for reading in row.readings if reading.check == Check.DIELECTRIC_STRENGTH and reading.note]
    return (*repaired, *(f"Dielectric strength: {reading.note}" for reading in tests))


def _stand_ins(row: VisitItemRow, judging: Judging) -> tuple[str, ...]:
    """Which check stood in for another, or decided for it. One that passed at one point only has not."""
    found: dict[Check, list[Outcome]] = {}
    for reading in row.readings:
        found.setdefault(Check(reading.check), []).append(Outcome(reading.outcome))
    outcomes = {
        check: next((each for each in several if each not in GOOD), several[0]) for check, several in found.items()
    }
    notes = {Check(reading.check): reading.note for reading in row.readings if reading.note}
    fallen_back = dict.fromkeys(
        Check(reading.check)
        for reading in row.readings
        if reading.outcome == Outcome.CONDITIONAL_PASS and (reading.margin or 0) < 0
    )
    return (
        *list_stand_in_words(list_steps(row.facts, judging), outcomes, notes),
        *(describe_fallback(check) for check in fallen_back),
    )


def _house_limits(rows: list[VisitItemRow], judging: Judging) -> tuple[str, ...]:
    """The house limits that decided a limit on the paper."""
    readings = [
        reading
        for row in rows
        for reading in (*row.readings, *(each for earlier in row.rounds for each in earlier.readings))
        if reading.limit_unit and has_house_limit(reading.working)
    ]
    return tuple(
        describe_house_limit(own)
        for own in judging.rulebook.house
        if any(
            has_house_bound(
                own,
                reading.check,
                reading.at_least if own.at_least else reading.at_most,
                Unit(reading.limit_unit),
                reading.working,
            )
            for reading in readings
        )
    )


def _conductor_method(rows: list[VisitItemRow]) -> str:
    measured = [
        reading
        for row in rows
        for reading in row.readings
        if reading.check == Check.PROTECTIVE_CONDUCTOR_RESISTANCE and reading.value is not None
    ]
    if not measured:
        return ""
    both_ways = any(parse_measured_point(reading.point)[1] is not None for reading in measured)
    return describe_conductor_method(
        [reading.lead_ohms for reading in measured], [reading.conductor_c for reading in measured], both_ways
    )


def _why_not_tested(row: VisitItemRow) -> str:
    if row.not_tested == NotTested.OTHER and row.not_tested_note:
        return row.not_tested_note
    return ": ".join(text for text in (row.not_tested, row.not_tested_note) if text)


def _reading(row: ReadingRow, defects: list[DefectRow]) -> ReadingFacts:
    value = row.measured
    said_as_defect = any(defect.found == row.note for defect in defects)
    # Why a check stands in for another is said once, in the remarks.
    said_as_remark = row.check in CURRENTS and row.outcome in GOOD
    return ReadingFacts(
        check=row.check,
        word=Check(row.check).word,
        outcome=Outcome(row.outcome),
        reading=value,
        limit=facts_limit_text(row),
        point=_point(row),
        working=_working(row),
        source=row.source,
        margin=facts_margin_text(row),
        note="" if said_as_defect or said_as_remark else row.note,
        sentence=row.sentence,
        house=has_house_limit(row.working),
        jumped=not row.steady,
    )


def _point(row: ReadingRow) -> str:
    if row.check == Check.VISUAL:
        return describe_point(row.point)
    if row.multiple is None:
        return row.point
    phase = f" at {row.phase_deg}°" if row.phase_deg is not None else ""
    return f"{describe_number(row.multiple)} ×{phase}"


def _working(row: ReadingRow) -> str:
    """How the limit came about, and what was subtracted from the reading."""
    working = row.working if row.limit_text else ""
    if row.lead_ohms is None or row.value is None:
        return working
    lead = f"read {row.value:f} {Unit(row.unit).symbol}, less {row.lead_ohms:f} Ω of test lead"
    return "; ".join(part for part in (working, lead) if part)


def facts_margin_text(row: ReadingRow) -> str:
    """By how much a reading missed or kept its limit; nothing where the instrument showed only a bound."""
    if row.margin is None or row.bound not in ("", Bound.EXACT.value) or not row.limit_unit:
        return ""
    amount = describe_number(abs(number_spare(row.margin, row.at_least, row.at_most)))
    amount = f"{amount} {Unit(row.limit_unit).symbol}"
    if row.margin >= 0:
        return f"{amount} to spare" if row.margin else "exactly at the limit"
    over = row.at_most is not None and (row.at_least is None or _judged(row) > row.at_most)
    return f"{amount} {'over' if over else describe_below(Unit(row.limit_unit))}"


def _judged(row: ReadingRow) -> Decimal:
    """The reading in the unit of its limit."""
    return convert_number(row.net or Decimal(0), Unit(row.unit), Unit(row.limit_unit))


def facts_limit_text(row: ReadingRow) -> str:
    """The limit as it stands in a narrow column: a sign, a number, a unit."""
    symbol = Unit(row.limit_unit).symbol if row.limit_unit else ""
    if row.at_most is None and row.at_least is None:
        return ""
    sign = "" if row.at_most is not None and row.at_least is not None else "≥ " if row.at_most is None else "≤ "
    return f"{sign}{describe_bounds(row.at_least, row.at_most)} {symbol}"


def _defect(row: DefectRow, readings: list[ReadingRow]) -> DefectFacts:
    """What is wrong and what to do. A defect that is a failing number says nothing twice: the reading is printed."""
    reading = next((each for each in readings if _says(row, each)), None)
    text = row.found
    if reading is not None:
        text = _fault(reading) if reading.value is None else ""
    return DefectFacts(text, what_to_do=row.remedy, of_item=reading is None)


def _fault(row: ReadingRow) -> str:
    return describe_fail(
        Check(row.check), point=row.point, multiple=row.multiple, phase_deg=row.phase_deg, note=row.note
    )


def _says(defect: DefectRow, reading: ReadingRow) -> bool:
    """Whether a defect is that a reading failed, as it is said now or was by an earlier version."""
    if Outcome(reading.outcome) not in FAILED:
        return False
    said_before = bool(reading.sentence) and defect.found.endswith(reading.sentence)
    return said_before or (reading.value is None and defect.found in (reading.note, _fault(reading)))
