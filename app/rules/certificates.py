"""What a certificate of a visit says, as plain facts, and whether it may be issued.

The contents follow the list in ISO/IEC 17025:2017, 7.8.2.1 and, for the decision rule, 7.8.6.
"""

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from typing import Any

from app.rules.letterheads import FirmFacts, list_missing_particulars
from app.rules.verdicts import FAILED, Outcome, Verdict


@dataclass(frozen=True)
class CustomerFacts:
    """Who ordered the work and pays. address is lines, the last one the postcode."""

    name: str
    address: tuple[str, ...] = ()
    contact: str = ""
    vat_number: str = ""
    account: str = ""


@dataclass(frozen=True)
class PremisesFacts:
    """Where the work was done. area says which part, when the visit did not cover all of it."""

    name: str
    address: tuple[str, ...] = ()
    area: str = ""


@dataclass(frozen=True)
class TechnicianFacts:
    """Who tested. firm is set only for a subcontractor: results from outside are marked (7.8.2.1 p)."""

    name: str
    initials: str = ""
    firm: str = ""


@dataclass(frozen=True)
class InstrumentFacts:
    """A test instrument and the calibration its readings rest on."""

    name: str
    serial: str
    make: str = ""
    model: str = ""
    calibration_certificate: str = ""
    calibrated_on: date | None = None
    calibration_due_on: date | None = None
    calibrated_by: str = ""


@dataclass(frozen=True)
class ReadingFacts:
    """One check as recorded. Texts are ready to print, with their units.

    check: code of the check ("insulation-resistance"); word: the trade's name of it.
    point: where it was measured, when an item has several ("case", "outlet 2").
    reading, limit: "0.21 Ω", "≤ 0.1390 Ω"; empty where the check has no number.
    working, source: how the limit came about; margin: "0.0710 Ω over", or empty.
    note: a remark, or for a check not done, the reason.
    sentence: the verdict on the reading with its working, as it was recorded.
    house: True where a house limit decided the limit; jumped: True where the reading jumped as the cord was moved.
    """

    check: str
    word: str
    outcome: Outcome
    reading: str = ""
    limit: str = ""
    point: str = ""
    working: str = ""
    source: str = ""
    margin: str = ""
    note: str = ""
    sentence: str = ""
    house: bool = False
    jumped: bool = False


@dataclass(frozen=True)
class DefectFacts:
    """What is wrong and what puts it right. remedy is the trade's word: repair, replace, withdraw.

    of_item: True where it comes from what the item is, such as its fuse, and no reading shows it.
    """

    text: str
    remedy: str = ""
    what_to_do: str = ""
    of_item: bool = False


@dataclass(frozen=True)
class PhotoFacts:
    """A photo of an item: its id, and what it shows in words, for whoever cannot see it."""

    id: int
    words: str


@dataclass(frozen=True)
class FirstFound:
    """What an item was found to be before it was put right on the spot, and what was done: "fuse changed to 3 A"."""

    verdict: Verdict
    put_right: str
    readings: tuple[ReadingFacts, ...] = ()
    defects: tuple[DefectFacts, ...] = ()
    note: str = ""


@dataclass(frozen=True)
class ItemResult:
    """One item of the visit with everything the schedule says about it.

    construction: "Class I"; cord: "1.5 m, 0.75 mm²"; fuse: "3 A"; rating: "2.2 kW"; kind: "extension lead", where the
    description does not say it; supply: where it is not 230 V; rcd: "RCD 30 mA, EN 61008"; any may be empty.
    not_tested_reason: set when the item was on the list but not tested; its verdict is then incomplete.
    incomplete_reason: for an item that was tested in part, what is missing.
    out_of_use: True when the item was labelled and taken out of use at the visit.
    instrument: serial of the instrument, for visits with more than one.
    own_gap: what the firm's own sequence left out that the rulebook asks for, as a sentence, or empty.
    remarks: sentences on how it was tested, such as after a repair; advice: what does not fail it, but wants doing.
    found_first: the earlier sets of readings of an item that was put right on the spot, the earliest first.
    """

    number: str
    description: str
    verdict: Verdict
    location: str = ""
    make: str = ""
    model: str = ""
    serial: str = ""
    construction: str = ""
    cord: str = ""
    fuse: str = ""
    rating: str = ""
    kind: str = ""
    supply: str = ""
    rcd: str = ""
    readings: tuple[ReadingFacts, ...] = ()
    defects: tuple[DefectFacts, ...] = ()
    tested_on: date | None = None
    next_due_on: date | None = None
    #: A formal visual inspection falls due then, before a combined test or without one.
    looked_at_next: bool = False
    not_tested_reason: str = ""
    incomplete_reason: str = ""
    out_of_use: bool = False
    technician: str = ""
    instrument: str = ""
    note: str = ""
    own_gap: str = ""
    remarks: tuple[str, ...] = ()
    advice: tuple[str, ...] = ()
    found_first: tuple[FirstFound, ...] = ()
    photos: tuple[PhotoFacts, ...] = ()

    @property
    def conditional(self) -> bool:
        """Whether a reading passed only conditionally."""
        return any(reading.outcome is Outcome.CONDITIONAL_PASS for reading in self.readings)


@dataclass(frozen=True)
class CertificateFacts:
    """Everything a certificate says. Dates are the visit's own, never today's.

    rulebook_title, rulebook_edition: what the readings were judged by; rulebook_settings: how it was read where its
    sources leave a choice; house_limits: those that decided a limit here; conductor_method: how protective
    conductors were measured; standards: documents it cites.
    decision_rule: the sentence that says how a reading is compared with its limit.
    authorised_*: who released the results, in which role, and when (UTC).
    missing_items: (number, description) of items on the register that were not presented at this visit.
    deviations: sentences on anything done otherwise than the method says.
    verification_url: full address behind the QR code; verification_code: short code to type.
    replaces_*: for a correction, the certificate it replaces and why.
    """

    number: str
    firm: FirmFacts
    customer: CustomerFacts
    premises: PremisesFacts
    tested_from: date
    tested_until: date
    issued_on: date
    rulebook_title: str
    rulebook_edition: str
    decision_rule: str
    authorised_by: str
    authorised_role: str
    verification_url: str
    verification_code: str
    rows: tuple[ItemResult, ...]
    technicians: tuple[TechnicianFacts, ...] = ()
    instruments: tuple[InstrumentFacts, ...] = ()
    authorised_at: datetime | None = None
    rulebook_version: str = ""
    rulebook_settings: tuple[str, ...] = ()
    house_limits: tuple[str, ...] = ()
    conductor_method: str = ""
    standards: tuple[str, ...] = ()
    visit_number: str = ""
    customer_reference: str = ""
    missing_items: tuple[tuple[str, str], ...] = ()
    deviations: tuple[str, ...] = ()
    note: str = ""
    replaces_number: str = ""
    replaces_issued_on: date | None = None
    replaces_reason: str = ""


@dataclass(frozen=True)
class Counts:
    """How many items came out how. not_tested are among the incomplete ones, conditional among those that passed."""

    items: int
    passed: int
    failed: int
    decisions: int
    incomplete: int
    not_tested: int
    conditional: int = 0


def count_verdicts(rows: tuple[ItemResult, ...]) -> Counts:
    """Count the rows by verdict; the four verdicts add up to the items."""
    tally = {verdict: sum(1 for row in rows if row.verdict == verdict) for verdict in Verdict}
    return Counts(
        items=len(rows),
        passed=tally[Verdict.PASS],
        failed=tally[Verdict.FAIL],
        decisions=tally[Verdict.DECISION],
        incomplete=tally[Verdict.INCOMPLETE],
        not_tested=sum(1 for row in rows if row.not_tested_reason),
        conditional=sum(1 for row in rows if row.verdict == Verdict.PASS and row.conditional),
    )


def list_own_gaps(rows: tuple[ItemResult, ...]) -> tuple[str, ...]:
    """Say once for each gap which items were tested by an own sequence that leaves something out (7.8.2.1 n)."""
    numbers: dict[str, list[str]] = {}
    for row in rows:
        if row.own_gap:
            numbers.setdefault(row.own_gap, []).append(row.number)
    return tuple(
        f"{'Item' if len(items) == 1 else 'Items'} {', '.join(items)}: {gap[:1].lower()}{gap[1:]}"
        for gap, items in numbers.items()
    )


def list_photo_ids(paper: dict[str, Any]) -> tuple[int, ...]:
    """List the photos that a certificate's data shows."""
    shown = (*paper.get("failed", ()), *paper.get("put_right", ()))
    return tuple(photo["id"] for item in shown for photo in item.get("photos", ()))


def number_certificate(sequence: int, prefix: str = "C") -> str:
    """Number of the sequence-th certificate of its series: C-000123."""
    if sequence < 1:
        raise ValueError("A series starts at 1.")
    return f"{prefix}-{sequence:06d}"


def number_revision(first: str, revision: int) -> str:
    """Number of a correction: that of the first certificate with the revision behind it, C-000123-R2."""
    if revision < 2:
        raise ValueError("The first certificate is revision 1 and has no mark; a correction is 2 or more.")
    return f"{first}-R{revision}"


class Standing(StrEnum):
    """Whether an issued certificate still holds."""

    WAITING = "waiting"
    ISSUED = "issued"
    REPLACED = "replaced"
    VOID = "void"


def judge_standing(state: str, void: bool, replaced: bool) -> Standing:
    """Say whether a certificate holds. One that is void stays void, whatever came after it."""
    if state != "issued":
        return Standing.WAITING
    if void:
        return Standing.VOID
    return Standing.REPLACED if replaced else Standing.ISSUED


def may_revise(standing: Standing, number: str, newest: str, changes: int) -> str | None:
    """Say why a certificate cannot be corrected, or nothing when it can (ISO/IEC 17025:2017, 7.8.8)."""
    if standing == Standing.REPLACED:
        return f"Certificate {number} is replaced by {newest}. Correct that one."
    if standing == Standing.VOID:
        return f"Certificate {number} is void. Issue the visit's certificate anew."
    if standing == Standing.WAITING:
        return f"Certificate {number} is still being made. Try again in a moment."
    if not changes:
        return f"Nothing that certificate {number} says has changed, so there is nothing to correct."
    return None


def may_void(standing: Standing, number: str, newest: str, word: str = "Certificate") -> str | None:
    """Say why a certificate, or another paper by its word, cannot be made void, or nothing when it can."""
    if standing == Standing.VOID:
        return f"{word} {number} is void already."
    if standing == Standing.REPLACED:
        return f"{word} {number} is replaced by {newest} and no longer holds."
    if standing == Standing.WAITING:
        return f"{word} {number} is still being made. Try again in a moment."
    return None


def may_issue_certificate(facts: CertificateFacts) -> tuple[str, ...]:
    """Say what stands against issuing, as sentences for the office; empty when nothing does."""
    against = list(list_missing_particulars(facts.firm))
    if not facts.rows:
        against.append("There is no item on this visit, so there is nothing to certify.")
    if not facts.customer.name.strip():
        against.append("The customer has no name.")
    if not facts.premises.name.strip() and not any(facts.premises.address):
        against.append("The premises have neither a name nor an address.")
    if not facts.technicians:
        against.append("Nobody is recorded as having done the tests.")
    if not facts.authorised_by.strip() or not facts.authorised_role.strip():
        against.append("A certificate needs the name and role of the person who authorises it.")
    if facts.tested_until < facts.tested_from:
        against.append("The visit ends before it starts.")
    if facts.issued_on < facts.tested_until:
        against.append("The certificate would be dated before the last test.")
    measured = any(reading.reading for row in facts.rows for reading in row.readings)
    if measured and not facts.instruments:
        against.append("There are readings, but no instrument is recorded for this visit.")
    for row in facts.rows:
        against.extend(_against_row(row))
    return tuple(against)


def _against_row(row: ItemResult) -> list[str]:
    against: list[str] = []
    if (
        row.verdict == Verdict.FAIL
        and not row.defects
        and not any(reading.outcome in FAILED for reading in row.readings)
    ):
        against.append(f"Item {row.number} has failed, but neither a defect nor a failing check says why.")
    if row.not_tested_reason and row.verdict != Verdict.INCOMPLETE:
        against.append(f"Item {row.number} is marked as not tested, yet its verdict is {row.verdict.word}.")
    if row.verdict == Verdict.INCOMPLETE and not (row.not_tested_reason or row.incomplete_reason or row.readings):
        against.append(f"Item {row.number} has no check and no reason why it was not tested.")
    return against
