"""Invented firms, visits and invoices for the tests of the papers: any number of items, some failing, some untested."""

import random
from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal

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
from app.rules.equipment import Kind
from app.rules.firms import LegalForm
from app.rules.invoices import InvoiceFacts, PriceAgreement, VisitItem, list_visit_lines
from app.rules.letterheads import BankFacts, FirmFacts
from app.rules.money import OUTSIDE_SCOPE
from app.rules.vat_rates import VatTreatment, number_vat_rate
from app.rules.verdicts import Outcome, Verdict

TESTED = date(2026, 3, 4)
CHECK_URL = "https://papers.tarn-alder.example/check/K7QM-2XHD"

FIRM = FirmFacts(
    LegalForm.LIMITED_COMPANY,
    "Tarn & Alder Electrical Testing Ltd",
    ("2 Mill Lane", "Millbeck", "ZZ1 2AB"),
    trading_name="Tarn & Alder Electrical Testing",
    phone="01632 960101",
    email="office@tarn-alder.example",
    company_number="00000000",
    registered_in="England and Wales",
    registered_office=("2 Mill Lane", "Millbeck", "ZZ1 2AB"),
    vat_registered=True,
    vat_number="999 9999 73",
    bank=BankFacts("Tarn & Alder Electrical Testing Ltd", "00-00-00", "00000000", "Millbeck Savings Bank"),
)
CUSTOMER = CustomerFacts("Brackenhow Primary School", ("Fell Road", "Millbeck", "ZZ1 4PS"), contact="Ruth Askew")
PREMISES = PremisesFacts("Main building", ("Fell Road", "Millbeck", "ZZ1 4PS"))
INSTRUMENT = InstrumentFacts(
    "Appliance tester 1", "T-4471", calibration_certificate="CAL-26-0193", calibrated_on=date(2026, 1, 12),
    calibration_due_on=date(2027, 1, 12), calibrated_by="Northmere Calibration Laboratory",
)  # fmt: skip

_KINDS = (
    ("Kettle", "I", "2.2 kW", "0.75 m, 1 mm²", "13 A"),
    ("Desktop computer", "I", "300 W", "2 m, 1 mm²", "5 A"),
    ("Monitor", "I", "45 W", "1.8 m, 0.75 mm²", "3 A"),
    ("Desk lamp", "II", "11 W", "1.5 m, 0.75 mm²", "3 A"),
    ("Laminator", "II", "400 W", "1.2 m, 0.75 mm²", "3 A"),
    ("Vacuum cleaner", "II", "1.1 kW", "9 m, 1 mm²", "13 A"),
    ("Extension lead, 4 outlets", "I", "", "5 m, 1.25 mm²", "13 A"),
    ("Interactive whiteboard projector", "I", "320 W", "3 m, 1 mm²", "5 A"),
)
_PLACES = (
    "Staff room", "Classroom 1", "Classroom 2", "Classroom 3", "Hall", "School office", "Kitchen", "Caretaker’s store"
)  # fmt: skip
_MAKES = (("Fellgate", "FG"), ("Osmund", "OS"), ("Larch & Pike", "LP"), ("", ""))


def item(place: int, *, chance: random.Random, verdict: Verdict = Verdict.PASS) -> ItemResult:
    """One item with the readings its kind needs; a failing one fails its conductor or its insulation."""
    name, construction, rating, cord, fuse = _KINDS[place % len(_KINDS)]
    make, letters = _MAKES[place % len(_MAKES)]
    readings = [ReadingFacts("visual", "visual inspection", Outcome.PASS)]
    bad = verdict == Verdict.FAIL
    if construction == "I":
        value = Decimal(chance.randint(31, 98)) / 1000 + (Decimal("0.25") if bad else 0)
        readings.append(
            ReadingFacts(
                "protective-conductor-resistance", "protective conductor resistance",
                Outcome.FAIL if bad else Outcome.PASS, f"{value} Ω", "≤ 0.139 Ω",
                working="0.1 + 1.5 m × 0.0260 Ω/m", source="IEC 60228, 0.75 mm²",
                margin=f"{abs(value - Decimal('0.139'))} Ω {'over' if bad else 'below'}",
            )
        )  # fmt: skip
    least = "1 MΩ" if construction == "I" else "2 MΩ"
    if not (bad and construction == "I"):
        readings.append(
            ReadingFacts(
                "insulation-resistance", "insulation resistance", Outcome.FAIL if bad else Outcome.PASS,
                "0.42 MΩ" if bad else chance.choice(("> 200 MΩ", "86.4 MΩ", "19.2 MΩ")), f"≥ {least}",
                source=f"Class {construction}", margin="1.58 MΩ under" if bad else "",
            )
        )  # fmt: skip
    if not bad:
        if place % 5 == 0:
            readings.append(ReadingFacts("touch-current", "touch current", Outcome.PASS, "0.08 mA", "≤ 0.25 mA"))
        if "lead" in name:
            readings.append(ReadingFacts("polarity", "polarity", Outcome.PASS))
        else:
            readings.append(ReadingFacts("functional", "functional check", Outcome.PASS))
            if rating:
                readings.append(ReadingFacts("load", "load", Outcome.PASS, rating.replace("W", "VA"), ""))
    defects = (
        DefectFacts(
            "Sheath of the cord cut near the plug, inner conductors visible",
            "repair",
            "Have the cord replaced with one of the same size, then have the item tested again",
        ),
    )
    return ItemResult(
        f"{place + 1:04d}", name, verdict, location=_PLACES[place * 7 // 5 % len(_PLACES)], make=make,
        model=f"{letters}-{100 + place % 37}" if letters else "",
        serial=f"{letters}{48210 + place * 17}" if letters else "",
        construction=f"Class {construction}", cord=cord, fuse=fuse, rating=rating, readings=tuple(readings),
        defects=defects if bad else (), tested_on=TESTED, next_due_on=None if bad else date(2027, 3, 4),
        out_of_use=bad, technician="JA",
    )  # fmt: skip


def certificate(count: int, *, failing: int = 0, untested: int = 0, **changes: object) -> CertificateFacts:
    """A certificate of so many items; the failing ones are spread, the untested ones stand last."""
    chance = random.Random(count)
    fails = {(index * 7 + 3) % max(count - untested, 1) for index in range(failing)}
    rows = []
    for place in range(count):
        if place >= count - untested:
            full = item(place, chance=chance)
            rows.append(
                ItemResult(
                    full.number, full.description, Verdict.INCOMPLETE, location=full.location, make=full.make,
                    construction=full.construction, not_tested_reason="Room locked, nobody had the key",
                )
            )  # fmt: skip
        else:
            rows.append(item(place, chance=chance, verdict=Verdict.FAIL if place in fails else Verdict.PASS))
    values: dict[str, object] = {
        "number": "C-000123",
        "firm": FIRM,
        "customer": CUSTOMER,
        "premises": PREMISES,
        "tested_from": TESTED,
        "tested_until": TESTED,
        "issued_on": date(2026, 3, 5),
        "rulebook_title": "United Kingdom practice for equipment in service",
        "rulebook_edition": "edition of 2012",
        "rulebook_version": "1",
        "standards": ("IEC 60228 (resistance of cords)", "BS 1362 (plug fuses)"),
        "decision_rule": "Each reading is compared with its limit as it stands; a reading equal to the limit passes; "
        "no allowance is made for the uncertainty of measurement.",
        "authorised_by": "Ines Tarn",
        "authorised_role": "owner",
        "authorised_at": datetime(2026, 3, 5, 9, 40, tzinfo=UTC),
        "verification_url": CHECK_URL,
        "verification_code": "K7QM-2XHD",
        "rows": tuple(rows),
        "technicians": (TechnicianFacts("Joss Alder", "JA"),),
        "instruments": (INSTRUMENT,),
        "visit_number": "V-0088",
        "customer_reference": "PO 1188",
    }
    return CertificateFacts(**(values | changes))  # type: ignore[arg-type]


def invoice(count: int = 40, *, registered: bool = True, **changes: object) -> InvoiceFacts:
    """An invoice for a visit of so many items, from a small price agreement."""
    vat = number_vat_rate(VatTreatment.STANDARD, TESTED) if registered else OUTSIDE_SCOPE
    kinds = (Kind.APPLIANCE, Kind.APPLIANCE, Kind.EXTENSION_LEAD, Kind.DETACHABLE_CORD)
    items = [VisitItem(f"{place + 1:04d}", kinds[place % 4], charged=place != 5) for place in range(count)]
    agreement = PriceAgreement(
        Decimal("1.45"),
        {Kind.EXTENSION_LEAD: Decimal("1.10"), Kind.DETACHABLE_CORD: Decimal("0.60")},
        minimum_charge=Decimal("60"),
        call_out=Decimal("25"),
    )
    values: dict[str, object] = {
        "number": "INV-000045",
        "firm": FIRM if registered else replace(FIRM, vat_registered=False),
        "customer": CUSTOMER,
        "issued_on": date(2026, 3, 5),
        "supplied_on": TESTED,
        "tax_point": date(2026, 3, 5),
        "due_on": date(2026, 4, 4),
        "lines": list_visit_lines(agreement, items, vat),
        "premises": PREMISES,
        "work": "Inspection and test on 4 March 2026",
        "customer_reference": "PO 1188",
        "certificate_numbers": ("C-000123",),
    }
    return InvoiceFacts(**(values | changes))  # type: ignore[arg-type]
