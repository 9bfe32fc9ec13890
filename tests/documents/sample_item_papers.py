"""Invented registers, lists of defects, and certificates and histories of one item, of any length."""

import random
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

from app.actions.photos import picture_from
from app.documents.certificate import certificate_from
from app.documents.defect_list import defect_list_from
from app.documents.item_certificate import item_certificate_from
from app.documents.item_history import item_history_from
from app.documents.register import register_from
from app.rules.certificates import CustomerFacts, PhotoFacts
from app.rules.charts import Point
from app.rules.checks import Check
from app.rules.defect_waits import describe_duty
from app.rules.items import ItemState
from app.rules.papers import HistoryReadings, HistoryTest, OpenDefect, PaperHead, Purpose, RegisterItem
from app.rules.verdicts import Verdict
from tests.documents.sample_papers import CHECK_URL, CUSTOMER, FIRM, PREMISES, TESTED, certificate
from tests.pictures import photo

#: Longer than any column, and letters that the paper's own face does not have.
LONG = "Interactive whiteboard projector with height-adjustable wall mount and remote control"
NAMES = ("Σχολείο Μίλμπεκ", "Школа Миллбек", "ミルベック小学校", "مدرسة ميلبيك", "Trường tiểu học")


def head(number: str = "REG-000007", **changes: Any) -> PaperHead:
    values: dict[str, Any] = {
        "number": number,
        "firm": FIRM,
        "customer": CUSTOMER,
        "premises": PREMISES,
        "as_at": date(2026, 3, 5),
        "issued_on": date(2026, 3, 5),
        "authorised_by": "Ines Tarn",
        "authorised_role": "owner",
        "authorised_at": datetime(2026, 3, 5, 9, 40, tzinfo=UTC),
        "verification_url": CHECK_URL,
        "verification_code": "K7QM-2XHD",
        "dutyholder": "Head of Brackenhow Primary School",
    }
    return PaperHead(**(values | changes))


def register_items(count: int) -> tuple[RegisterItem, ...]:
    """So many items of one premises: every seventh failed, every eleventh not tested yet, some overdue."""
    rows = certificate(max(count, 1)).rows[:count]
    found = []
    for place, row in enumerate(sorted(rows, key=lambda row: row.location)):
        verdict = Verdict.FAIL if place % 7 == 3 else None if place % 11 == 5 else Verdict.PASS
        tested = TESTED - timedelta(days=place * 7 % 430) if verdict else None
        found.append(
            RegisterItem(
                row.number, row.description, "Main building", row.location, row.make, row.model, row.serial,
                ", ".join(part for part in (row.construction, row.rating) if part),
                ItemState.OUT_OF_USE if verdict == Verdict.FAIL else ItemState.IN_USE, tested, verdict,
                tested + timedelta(days=365) if tested and verdict == Verdict.PASS else None,
            )
        )  # fmt: skip
    return tuple(found)


def defects(count: int) -> tuple[OpenDefect, ...]:
    """So many open defects, every fifth a second one of the item before it."""
    rows = certificate(max(count, 1)).rows
    found = []
    for place in range(count):
        row = rows[place - 1 if place % 5 == 4 else place]
        found.append(
            OpenDefect(
                row.number, row.description, "Main building", row.location, f"{row.make} {row.model}".strip(),
                ItemState.OUT_OF_USE if place % 6 else ItemState.IN_USE, TESTED,
                "Sheath of the cord cut near the plug, inner conductors visible" if place % 5 == 4 else
                "Protective conductor resistance: 0.42 Ω, at most 0.139 Ω: fail, 0.281 Ω over.",
                "Have the cord replaced with one of the same size, then have the item tested again",
                describe_duty("out of use" if place % 6 else "in use", None, TESTED, "Tarn & Alder Electrical Testing"),
            )
        )  # fmt: skip
    return tuple(found)


def history(tests: int) -> tuple[tuple[HistoryTest, ...], tuple[HistoryReadings, ...]]:
    """So many yearly tests of a kettle: an earth that creeps up and fails at last, an insulation beyond the range."""
    chance = random.Random(tests)
    days = [date(2026, 3, 4) - timedelta(days=365 * (tests - place)) for place in range(tests)]
    earth, insulation, told = [], [], []
    for place, day in enumerate(days):
        ohms = Decimal(60 + place * 25 + chance.randint(0, 6)) / 1000
        bad = ohms > Decimal("0.139")
        megohms = Decimal(chance.choice((20, 86, 199)))
        earth.append(Point(day, ohms, Decimal("0.139"), "fail" if bad else "pass", "", f"{ohms} Ω", "at most 0.139 Ω"))
        insulation.append(
            Point(day, megohms, Decimal(1), "pass", "above" if megohms == 20 else "", f"{megohms} MΩ", "at least 1 MΩ")
        )
        verdict = Verdict.FAIL if bad else Verdict.PASS
        told.append(HistoryTest(day, verdict, "Joss Alder", str(80 + place), ("Cord worn at the plug",) if bad else ()))
    groups = [
        HistoryReadings(Check.PROTECTIVE_CONDUCTOR_RESISTANCE, "Protective conductor resistance", "Ω", tuple(earth)),
        HistoryReadings(Check.INSULATION_RESISTANCE, "Insulation resistance", "MΩ", tuple(insulation)),
    ]
    return tuple(told), tuple(group for group in groups if group.points)


def register_data(count: int = 8, **changes: Any) -> dict[str, Any]:
    return register_from(head(**changes), register_items(count))


def whole_customer_data() -> dict[str, Any]:
    """A register of two premises with names that are long, empty, and in other letters, as of an earlier day."""
    rows = list(register_items(24))
    for place, name in enumerate(NAMES):
        rows[place] = replace(rows[place], description=name, location=name, make=name, model="", serial="")
    rows[6] = replace(rows[6], description=LONG, location=LONG, make=LONG, serial="X" * 30)
    rows[7] = replace(rows[7], make="", model="", serial="", build="")
    other = [replace(row, premises=NAMES[1], number=f"2{row.number}") for row in rows[12:]]
    customer = CustomerFacts(f"{NAMES[0]} and {NAMES[2]} of {LONG}", ("Fell Road", "Millbeck"))
    whole = head(customer=customer, premises=None, as_at=date(2026, 2, 1), dutyholder="")
    return register_from(whole, [*rows[:12], *other])


def defect_list_data(count: int = 7, **changes: Any) -> dict[str, Any]:
    return defect_list_from(head("DEF-000002", **changes), defects(count))


def item_certificate_data(purpose: Purpose = Purpose.HIRE, *, fail: bool = False, **changes: Any) -> dict[str, Any]:
    facts = certificate(1, failing=int(fail), number="ITM-000003", **changes)
    return item_certificate_from(facts, purpose)


def photographed(count: int = 1) -> dict[str, Any]:
    """The data of a certificate whose failed item shows two photos, by the names photo-1.jpg and photo-2.jpg."""
    facts = certificate(count, failing=1)
    shown = (PhotoFacts(1, "Photo 1 of item 0001: the cut cord"), PhotoFacts(2, "Photo 2 of item 0001: the plug"))
    rows = tuple(replace(row, photos=shown) if row.verdict == Verdict.FAIL else row for row in facts.rows)
    return certificate_from(replace(facts, rows=rows))


def photo_files() -> dict[str, bytes]:
    """The photos that those data show."""
    return {f"photo-{place}.jpg": picture_from(photo(turned=place == 2)).small for place in (1, 2)}


def item_history_data(tests: int = 5, **changes: Any) -> dict[str, Any]:
    kettle = register_items(1)[0]
    told, readings = history(tests)
    return item_history_from(head("HIS-000004", **changes), kettle, told, readings)
