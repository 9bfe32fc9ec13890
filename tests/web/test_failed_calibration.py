"""An instrument that failed: its records are listed by customer, visit and papers say so, and a decision is kept."""

import csv
import io
from datetime import timedelta

import pytest
from sqlalchemy import text

from app.actions import visits
from app.actions.certificates import issue_certificate
from app.actions.deeds import Desk
from app.actions.instruments import strike_out_calibration
from app.actions.readings import record_item
from app.actions.visit_instruments import allow_instrument
from app.rules.instruments import AsFound
from app.rules.verdicts import Refused
from app.rules.visits import Booking
from app.store.doubts import get_doubt, list_open_doubts
from app.store.instruments import get_instrument
from tests.actions.test_doubts import GOOD, calibrate, measure
from tests.cast import BrowseAs, Clock, World
from tests.web.page_text import fields_of, words_of


def test_what_is_in_doubt_is_listed_by_customer_and_decided_about(
    browse_as: BrowseAs, world: World, desk: Desk, clock: Clock
) -> None:
    measure(desk, world, world.visit_id, world.item_ids)
    measure(desk, world, world.other_visit_id, world.other_item_ids, finish=True)
    certificate_id = issue_certificate(desk, world.office, world.other_visit_id)
    clock.pass_time(days=30)
    failed = calibrate(desk, world, "CAL-X", passed=False, found=AsFound.OUTSIDE, days_ago=5)
    office, here = browse_as(world.office), f"/instruments/{world.instrument_id}"
    address = f"{here}/doubts/calibration-{failed}"
    assert address in office.get(here).text
    page = office.get(address)
    words = words_of(page)
    assert "from the last good one of 24 Nov 2025 to this day: no good one has followed" in words
    assert page.text.index("Brackenhow Primary School") < page.text.index("Saltgate Brewery")
    assert f"/visits/{world.visit_id}/items/{world.item_ids[1]}" in page.text
    assert f"/certificates/{certificate_id}" in page.text and "C-000001" in words
    assert "Insulation resistance > 20 MΩ ≥ 2 MΩ" in words.replace("\u202f", " ").replace("\u00a0", " ")
    rows = list(csv.reader(io.StringIO(office.get(f"{address}/records.csv").content.decode("utf-8-sig"))))
    assert [(row[0], row[8], row[9], row[12]) for row in rows[1:]] == [
        ("Brackenhow Primary School", "> 20 MΩ", "≥ 2 MΩ", ""),
        ("Saltgate Brewery", "> 20 MΩ", "≥ 2 MΩ", "C-000001"),
    ]
    for path in (f"/visits/{world.visit_id}", f"/certificates/{certificate_id}"):
        assert "Blue tester, whose calibration failed on 29 Mar 2026. They are in doubt." in words_of(office.get(path))
        assert address in office.get(path).text
    assert "1instrument failure with records in doubt" in words_of(office.get("/")).replace("1 instr", "1instr")
    assert "not yet" in words_of(office.get("/doubts"))

    assert office.post(address, {"decided": " "}).status_code == 422
    assert browse_as(world.technician).post(address, {"decided": "Nothing"}).status_code == 403
    assert "decided" not in fields_of(browse_as(world.technician).get(address))
    assert office.post(address, {"decided": "Both customers told, tested again in May"}).status_code == 303
    assert "Both customers told, tested again in May Bea Holm" in words_of(office.get(address))
    assert "tested again in May (Bea Holm, 3 Apr 2026)." in words_of(office.get(f"/certificates/{certificate_id}"))
    assert "records in doubt" not in words_of(office.get("/"))
    assert "Both customers told" in words_of(browse_as(world.owner).get("/journal?subject=instrument"))

    # Measured later under the owner's allowance, it is in doubt as well, and nobody has decided about that.
    with desk.doing(world.owner) as deed:
        allow_instrument(deed, world.visit_id, "Nothing else is here")
    with desk.doing(world.technician) as deed:
        record_item(deed, world.visit_id, world.item_ids[2], GOOD[:1] + GOOD[1:])
    with desk.reading_only() as session:
        assert [each.unanswered for each in list_open_doubts(session)] == [1]
    assert "1 reading joined this doubt after that" in words_of(browse_as(world.office).get(address))
    # What was decided is never taken away.
    with pytest.raises(Exception, match="never changed"), desk.doing(world.office) as deed:
        deed.session.execute(text("DELETE FROM doubt_answers"))
    # A good calibration ends it: what is measured from that day on is out of doubt, the rest stays.
    calibrate(desk, world, "CAL-Y", passed=True)
    with desk.reading_only() as session:
        kept = get_doubt(session, world.instrument_id, f"calibration-{failed}")
        assert kept.doubt.until == clock.today - timedelta(days=1) and kept.readings == 2 and not kept.unanswered


def test_found_outside_and_left_within_may_be_used_and_casts_doubt(
    browse_as: BrowseAs, world: World, desk: Desk, clock: Clock
) -> None:
    measure(desk, world, world.visit_id, world.item_ids)
    clock.pass_time(days=10)
    office, here = browse_as(world.office), f"/instruments/{world.instrument_id}"
    fields = {"calibrated_on": "2026-03-14", "good_until": "2027-03-13", "certificate_number": "X"}
    answer = office.post(f"{here}/calibrations", fields)
    assert answer.status_code == 422 and "Choose what the certificate says" in words_of(answer)
    assert office.post(f"{here}/calibrations", fields | {"result": "adjusted"}).status_code == 303
    words = words_of(office.get(here))
    assert "Good until 13 Mar 2027." in words and "outside as found, put right" in words
    assert "In doubt from the last good one of 24 Nov 2025 until 14 Mar 2026" in words and "to decide" in words
    with desk.doing(world.technician) as deed:
        record_item(deed, world.visit_id, world.item_ids[2], GOOD)
    with desk.reading_only() as session:
        assert [each.readings for each in list_open_doubts(session)] == [2]


def test_a_calibration_is_struck_out_by_the_owner_alone(
    browse_as: BrowseAs, world: World, desk: Desk, clock: Clock
) -> None:
    measure(desk, world, world.visit_id, world.item_ids)
    failed = calibrate(desk, world, "CAL-X", passed=False)
    with desk.doing(world.office) as deed:
        booked = visits.book_visit(
            deed, Booking(world.premises_id, world.technician.id, world.instrument_id, clock.today)
        ).id
    with pytest.raises(Refused, match="failed its calibration of 4 March 2026"), desk.doing(world.technician) as deed:
        visits.start_visit(deed, booked)
    here = f"/instruments/{world.instrument_id}"
    address = f"{here}/calibrations/{failed}"
    with pytest.raises(Refused, match="Only the owner"), desk.doing(world.office) as deed:
        strike_out_calibration(deed, world.instrument_id, failed, "Of another tester")
    ines = browse_as(world.owner)
    assert ines.post(f"{address}/strike-out", {"struck_reason": ""}).status_code == 422
    assert ines.post(f"{address}/strike-out", {"struck_reason": "Of another tester"}).status_code == 303
    assert ines.post(f"{address}/strike-out", {"struck_reason": "Again"}).status_code == 409
    assert "Struck out by Ines Tarn" in words_of(ines.get(address)) and "Of another tester" in words_of(
        ines.get(address)
    )
    words = words_of(ines.get(here))
    assert "struck out" in words and "Records in doubt" not in words
    with desk.reading_only() as session:
        assert get_instrument(session, world.instrument_id).good_until is not None
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, booked)
    assert calibrate(desk, world, "CAL-X", passed=True), "the number is free again"


def test_a_doubt_without_records_asks_for_nothing(browse_as: BrowseAs, world: World, desk: Desk) -> None:
    failed = calibrate(desk, world, "CAL-X", passed=False)
    office, address = browse_as(world.office), f"/instruments/{world.instrument_id}/doubts/calibration-{failed}"
    assert "Nothing was measured with it in that time" in words_of(office.get(address))
    assert "decided" not in fields_of(office.get(address))
    assert office.post(address, {"decided": "Nothing to do"}).status_code == 409
    assert "records in doubt" not in words_of(office.get("/"))
    assert office.get(f"/instruments/{world.instrument_id}/doubts/calibration-999").status_code == 404
