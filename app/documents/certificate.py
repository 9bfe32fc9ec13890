"""Everything a certificate says, as data: strings, numbers and lists that are kept on issue and drawn as they are.

The contents follow ISO/IEC 17025:2017, 7.8.2.1 (a to p) and 7.8.6; the letters stand beside what answers them.
"""

from collections import Counter
from datetime import date
from typing import Any

from app.documents.findings import photos_from, put_right_from
from app.documents.letterhead import letterhead_from, party_from
from app.documents.schedule import (
    HOUSE_MARK,
    doubtful_sentences_from,
    failing_sentences_from,
    item_from,
    reason_from,
    schedule_from,
)
from app.documents.typesetting import count_from, day_from, short_day_from, span_from
from app.rules.certificates import CertificateFacts, Counts, InstrumentFacts, ItemResult, count_verdicts
from app.rules.intervals import FallsDue
from app.rules.verdicts import Verdict

TITLE = "Certificate of inspection and test"  # a
MOST_SHEETS = 6  # up to so many items each gets its own table with the working of every limit
_LEAST_FOR_LOCATIONS = 20

_CAUTIONS = (
    "The results hold only for the items listed here, as they were when they were tested. They do not cover other "
    "equipment or the fixed wiring of the building.",  # l
    "This certificate does not replace the dutyholder’s own duties, the law and codes of practice that apply at "
    "the premises, or work that is reserved for licensed or authorised people.",
    "Equipment can be damaged at any time after a test. Look it over before each use, and take it out of use at "
    "once if it is damaged, runs hot or smells of burning, whatever its label says.",
    "A failed item stays out of use until a competent person has put it right and it has passed a new test.",
    "The date for a next test is advice that rests on the interval set for the item. The dutyholder decides, and "
    "tests sooner when use, place or people change.",
    "This certificate may be passed on only whole. Extracts need the written consent of the firm.",
)

_LOOKED_AT_NEXT = (
    "A combined inspection and test; where a formal visual inspection is named, that comes first by HSE's table of "
    "suggested intervals."
)
_SIGNS = "“>” and “<” stand for a reading beyond the instrument’s range; “≤” means at most, “≥” at least."


def certificate_from(facts: CertificateFacts) -> dict[str, Any]:
    """Give all that the certificate says; every value can be kept as JSON."""
    counts = count_verdicts(facts.rows)
    return {
        "paper": "certificate",
        "title": TITLE,
        "number": facts.number,  # d
        "issued_on": facts.issued_on.isoformat(),
        "letterhead": letterhead_from(facts.firm),  # b
        "customer": party_from(facts.customer.name, facts.customer.address, facts.customer.contact),  # e
        "premises": party_from(facts.premises.name, facts.premises.address, facts.premises.area),  # c
        "particulars": _particulars(facts),
        "replaces": _replaces(facts),
        "summary": _summary(counts),
        "failed": [_failed(row) for row in facts.rows if row.verdict == Verdict.FAIL],
        "put_right": [put_right_from(row) for row in facts.rows if row.found_first],
        "decisions": [_open(row) for row in facts.rows if row.verdict == Verdict.DECISION],
        "open": [_open(row) for row in facts.rows if row.verdict == Verdict.INCOMPLETE],  # n
        "absent": [{"number": number, "description": text} for number, text in facts.missing_items],  # k
        "locations": _locations(facts.rows),
        "method": _method(facts),  # f
        "instruments": [_instrument(instrument) for instrument in facts.instruments],
        "technicians": [  # p
            {"name": person.name, "initials": person.initials, "firm": person.firm} for person in facts.technicians
        ],
        "deviations": list(facts.deviations),  # n
        "note": facts.note,
        "cautions": list(_CAUTIONS),
        "authorised": {  # o
            "name": facts.authorised_by,
            "role": facts.authorised_role,
            "when": day_from(facts.issued_on)
            if facts.authorised_at is None
            else f"{day_from(facts.authorised_at.date())} at {facts.authorised_at:%H:%M %Z}".strip(),
        },
        "check": {"url": facts.verification_url, "code": facts.verification_code},
        "layout": "sheets" if len(facts.rows) <= MOST_SHEETS else "schedule",
        "schedule": schedule_from(facts.rows),  # g, m
    }


def _particulars(facts: CertificateFacts) -> list[list[str]]:
    people = ", ".join(
        person.name + (f" of {person.firm} (subcontractor)" if person.firm else "") for person in facts.technicians
    )
    due = min((row.next_due_on for row in facts.rows if row.next_due_on), default=None)
    pairs = [  # the first three stand beside the addresses, the rest below them
        ["Tested", span_from(facts.tested_from, facts.tested_until)],  # i
        ["Issued", day_from(facts.issued_on)],  # j
        ["Next test due", _next_due(facts.rows, due) or "–"],
        ["Tested by", people],
        ["Your reference", facts.customer_reference],
        ["Visit", facts.visit_number],
    ]
    return [pair for pair in pairs if pair[1]]


def _next_due(rows: tuple[ItemResult, ...], due: date | None) -> str:
    if due is None:
        return ""
    same = all(row.next_due_on == due for row in rows if row.next_due_on)
    look = all(row.looked_at_next for row in rows if row.next_due_on == due)
    first = f"{day_from(due)} ({FallsDue.VISUAL})" if look else day_from(due)
    return first if same else f"from {first}, by item"


def _summary(counts: Counts) -> dict[str, Any]:
    tested_in_part = counts.incomplete - counts.not_tested
    tallies = [
        ("pass", "passed", counts.passed),
        ("fail", "failed", counts.failed),
        ("decision", "need a decision" if counts.decisions != 1 else "needs a decision", counts.decisions),
        ("incomplete", "incomplete" if tested_in_part else "not tested", counts.incomplete),
    ]
    return {
        "items": counts.items,
        "not_tested": counts.not_tested,
        "sentence": _sentence(counts, tested_in_part),
        "tallies": [
            {"verdict": verdict, "word": word, "count": count}
            for verdict, word, count in tallies
            if count or verdict in ("pass", "fail")
        ],
    }


def _sentence(counts: Counts, tested_in_part: int) -> str:
    if counts.passed == counts.items == 1:
        return f"The item passed{', but conditionally' if counts.conditional else ''}."
    some = f", {counts.conditional:,} of them conditionally" if counts.conditional else ""
    if counts.conditional == counts.passed > 0:
        some = ", conditionally" if counts.passed == 1 else ", all of them conditionally"
    if counts.passed == counts.items:
        return f"All {counts.items:,} items passed{some}."
    said = [f"{counts.passed:,} of {count_from(counts.items, 'item', 'items')} passed{some}."]
    if counts.failed:
        it = "The failed one stays" if counts.failed == 1 else "The failed ones stay"
        said.append(f"{counts.failed:,} failed. {it} out of use until put right and tested again.")
    if counts.decisions:
        said.append(f"{counts.decisions:,} {'needs' if counts.decisions == 1 else 'need'} a decision.")
    if counts.not_tested:
        said.append(f"{counts.not_tested:,} {'was' if counts.not_tested == 1 else 'were'} not tested.")
    if tested_in_part:
        said.append(f"{tested_in_part:,} {'is' if tested_in_part == 1 else 'are'} incomplete.")
    return " ".join(said)


def _failed(row: ItemResult) -> dict[str, Any]:
    """What is wrong with a failed item, and what puts it right."""
    wrong = [f"{defect.text.rstrip('.')}." for defect in row.defects if defect.text]
    todo: list[str] = []
    for defect in row.defects:
        remedy = defect.remedy[:1].upper() + defect.remedy[1:]
        text = ": ".join(part for part in (remedy, defect.what_to_do.rstrip(".")) if part)
        if text and f"{text}." not in todo:
            todo.append(f"{text}.")
    return item_from(row) | {
        "wrong": wrong + failing_sentences_from(row),
        "todo": todo or ["Keep it out of use until it has been repaired and tested again, or replace it."],
        "out_of_use": row.out_of_use,
        # An item that was put right and failed again shows its photos once, where it was put right.
        "photos": [] if row.found_first else photos_from(row),
    }


def _open(row: ItemResult) -> dict[str, Any]:
    """Why an item has neither passed nor failed."""
    doubts = doubtful_sentences_from(row) if row.verdict == Verdict.DECISION else []
    return item_from(row) | {"reason": reason_from(row) or " ".join([*doubts, row.note]).strip()}


def _locations(rows: tuple[ItemResult, ...]) -> list[dict[str, Any]]:
    """Counts by location, for long certificates only."""
    places = list(dict.fromkeys(row.location for row in rows))
    if len(rows) < _LEAST_FOR_LOCATIONS or len(places) < 2:
        return []
    tally = Counter((row.location, row.verdict.value) for row in rows)
    return [
        {
            "name": place or "No location",
            "items": sum(tally[(place, verdict.value)] for verdict in Verdict),
            **{verdict.value: tally[(place, verdict.value)] for verdict in Verdict},
        }
        for place in places
    ]


def _method(facts: CertificateFacts) -> list[list[str]]:
    version = f", version {facts.rulebook_version} of its figures" if facts.rulebook_version else ""
    edition = f", {facts.rulebook_edition}" if facts.rulebook_edition else ""
    pairs = [
        ["Judged by", f"{facts.rulebook_title}{edition}{version}"],
        ["Read as", " ".join(f"{said}." for said in facts.rulebook_settings)],
        ["Also cited", "; ".join(facts.standards)],
        ["House limits", f"Marked {HOUSE_MARK}. {' '.join(facts.house_limits)}" if facts.house_limits else ""],
        ["Decision rule", facts.decision_rule],
        ["Conductors", facts.conductor_method],
        ["Next due", _LOOKED_AT_NEXT if any(row.looked_at_next for row in facts.rows) else ""],
        ["Items", "Those presented at the premises on the days of the visit; nothing was sampled."],
        ["Signs", _SIGNS],
    ]  # fmt: skip
    return [pair for pair in pairs if pair[1]]


def _instrument(instrument: InstrumentFacts) -> dict[str, str]:
    product = " ".join(part for part in (instrument.make, instrument.model) if part)
    return {
        "name": instrument.name,
        "product": product,
        "serial": instrument.serial,
        "certificate": instrument.calibration_certificate,
        "calibrated": short_day_from(instrument.calibrated_on),
        "due": short_day_from(instrument.calibration_due_on),
        "by": instrument.calibrated_by,
    }


def _replaces(facts: CertificateFacts) -> str:
    if not facts.replaces_number:
        return ""
    of = f" of {day_from(facts.replaces_issued_on)}" if facts.replaces_issued_on else ""
    reason = f" Reason: {facts.replaces_reason.rstrip('.')}." if facts.replaces_reason else ""
    return f"This certificate replaces {facts.replaces_number}{of}.{reason}"
