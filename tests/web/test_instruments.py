"""Instruments: how each stands by its newest calibration, and entering the next one."""

from datetime import timedelta

import pytest

from app.actions import instruments
from app.actions.deeds import Desk
from app.rules.instruments import CalibrationDetails, InstrumentDetails
from tests.cast import BrowseAs, World
from tests.web.page_text import fields_of, words_of


@pytest.mark.parametrize(
    ("days_left", "sentence"),
    [
        (200, "Good until 20 Sep 2026."),
        (46, "Good until 19 Apr 2026."),
        (45, "Runs out in 45 days, on 18 Apr 2026."),
        (1, "Runs out in 1 day, on 5 Mar 2026."),
        (0, "Runs out today; today it still counts."),
        (-1, "Ran out on 3 Mar 2026, 1 day ago."),
    ],
)
def test_the_list_says_how_long_each_is_good(
    desk: Desk, browse_as: BrowseAs, world: World, days_left: int, sentence: str
) -> None:
    until = desk.today + timedelta(days=days_left)
    with desk.doing(world.office) as deed:
        row = instruments.add_instrument(deed, InstrumentDetails("Green tester", "G-1"))
        instruments.add_calibration(deed, row.id, CalibrationDetails(until - timedelta(days=364), until, "C-1"))
    browse = browse_as(world.technician)
    assert sentence in words_of(browse.get("/instruments"))
    assert sentence in words_of(browse.get(f"/instruments/{row.id}"))


def test_an_instrument_is_found_by_name_or_serial(browse_as: BrowseAs, world: World) -> None:
    browse = browse_as(world.technician)
    assert "Blue tester" in words_of(browse.get("/instruments", params={"q": "blue 4471"}))
    assert "No instrument found" in words_of(browse.get("/instruments", params={"q": "green"}))


def test_an_instrument_is_added_then_calibrated(browse_as: BrowseAs, world: World) -> None:
    browse = browse_as(world.office)
    for fields, sentence in (
        ({"name": "", "serial": "X"}, "Give the instrument a name"),
        ({"name": "Green tester", "serial": ""}, "Give the serial number"),
        ({"name": "Green tester", "serial": "T-4471"}, "Blue tester has this serial number already."),
    ):
        answer = browse.post("/instruments", fields)
        assert answer.status_code == 422
        assert sentence in words_of(answer)
    answer = browse.post("/instruments", {"name": "Green tester", "serial": "G-1"})
    here = answer.headers["location"]
    assert "No calibration on record." in words_of(browse.get(here))
    entered = {
        "calibrated_on": "2026-03-02",
        "good_until": "1/3/2027",
        "certificate_number": "C-26-1",
        "result": "good",
    }
    assert browse.post(f"{here}/calibrations", entered).status_code == 303
    words = words_of(browse.get(here))
    assert "Good until 1 Mar 2027." in words
    assert "C-26-1" in words


@pytest.mark.parametrize(
    ("typed", "field", "sentence"),
    [
        ({"calibrated_on": "2026-03-05"}, "calibrated_on", "This day has not come yet."),
        ({"calibrated_on": "31/2/2026"}, "calibrated_on", "Give a date such as"),
        ({"calibrated_on": ""}, "calibrated_on", "Give the day of calibration."),
        ({"good_until": "2026-03-01"}, "good_until", "This must be after the day of calibration."),
        ({"good_until": ""}, "good_until", "Give the last day"),
        ({"certificate_number": " "}, "certificate_number", "Give the number of the calibration certificate."),
        ({"certificate_number": "cal-26-0193"}, "certificate_number", "This number is on record already"),
        ({"good_until": "2029-03-02"}, "sure", "More than 3 years after the calibration is unusual."),
        ({"result": "splendid"}, "result", "Choose what the certificate says"),
    ],
)
def test_a_calibration_that_cannot_be_is_asked_again(
    browse_as: BrowseAs, world: World, typed: dict[str, str], field: str, sentence: str
) -> None:
    browse, here = browse_as(world.office), f"/instruments/{world.instrument_id}"
    good = {
        "calibrated_on": "2026-03-01",
        "good_until": "2027-02-28",
        "certificate_number": "C-9",
        "laboratory": "Beck",
        "result": "good",
    }
    answer = browse.post(f"{here}/calibrations", good | {"laboratory": "Beck"} | typed)
    assert answer.status_code == 422
    assert f'id="f-{field}-mistake"' in answer.text
    assert sentence in words_of(answer)
    assert fields_of(answer)["laboratory"] == "Beck"
    assert "C-9" not in words_of(browse.get(here))


def test_a_long_calibration_is_confirmed(browse_as: BrowseAs, world: World) -> None:
    browse, here = browse_as(world.office), f"/instruments/{world.instrument_id}"
    typed = {"calibrated_on": "2026-03-01", "good_until": "2029-03-01", "certificate_number": "C-9", "result": "good"}
    assert browse.post(f"{here}/calibrations", typed).status_code == 303, "three years are usual"
    longer = typed | {"good_until": "2036-03-01", "certificate_number": "C-10"}
    assert 'name="sure"' in browse.post(f"{here}/calibrations", longer).text
    assert browse.post(f"{here}/calibrations", longer | {"sure": "yes"}).status_code == 303


def test_an_instrument_is_taken_out_of_service_and_back(browse_as: BrowseAs, world: World) -> None:
    browse, here = browse_as(world.office), f"/instruments/{world.instrument_id}"
    shown = fields_of(browse.get(f"{here}/edit"))
    assert shown.pop("active") == "yes"
    assert browse.post(here, shown).status_code == 303
    assert "No longer used." in words_of(browse.get("/instruments"))
    shown = fields_of(browse.get(f"{here}/edit"))
    assert browse.post(here, shown | {"active": "yes", "name": "Blue one"}).status_code == 303
    assert "Blue one" in words_of(browse.get("/instruments"))


def test_a_technician_reads_and_enters_nothing(browse_as: BrowseAs, world: World) -> None:
    browse, here = browse_as(world.technician), f"/instruments/{world.instrument_id}"
    page = browse.get(here)
    assert "CAL-26-0193" in words_of(page)
    assert "/calibrations" not in page.text
    assert browse.post(f"{here}/calibrations", {}).status_code == 403
    assert browse.get("/instruments/999999").status_code == 404
