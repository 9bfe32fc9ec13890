"""Writes of the sheet that carry a key: answered in JSON, done once, refused with other content or for somebody else.

The answers follow the draft of an Idempotency-Key header field (IETF HTTP API working group) where that fits: a repeat
gets the stored answer of the first, and a key used again for something else is refused.
"""

from datetime import timedelta
from uuid import uuid4

import httpx
import pytest

from app.actions import visits
from app.actions.deeds import Desk
from app.actions.instruments import add_calibration
from app.rules.instruments import CalibrationDetails
from app.rules.people import Person
from app.store.items import list_items
from app.store.journal import list_journal
from app.store.readings import get_visit_item, list_visit_items
from app.web.facts_fields import show_facts
from tests.cast import KETTLE, Browse, BrowseAs, Clock, World
from tests.web.visit_sheets import GOOD_KETTLE, begin, kept, sheet_of

JSON = {"Accept": "application/json"}


@pytest.fixture
def begun(desk: Desk, world: World) -> World:
    return begin(desk, world)


def send(browse: Browse, path: str, fields: dict[str, str], key: str, **headers: str) -> httpx.Response:
    told = {name.replace("_", "-"): value for name, value in headers.items()}
    return browse.post(path, fields, headers=JSON | {"Entry-Key": key} | told)


def test_an_item_is_saved_once_and_a_repeat_says_the_same(desk: Desk, browse_as: BrowseAs, begun: World) -> None:
    browse, key = browse_as(begun.technician), str(uuid4())
    first = send(browse, sheet_of(begun), GOOD_KETTLE | {"version": "1"}, key)
    assert first.status_code == 200
    assert first.json()["verdict"] == "pass"
    assert first.json()["to"] == sheet_of(begun)
    # The second one has an old version by now; it is not judged by that, since it is the same write.
    assert send(browse, sheet_of(begun), GOOD_KETTLE | {"version": "1"}, key).json() == first.json()
    with desk.reading_only() as session:
        said = [line.sentence for line in list_journal(session) if line.sentence.startswith("Recorded item 0001")]
    assert len(said) == 1


def test_a_key_for_something_else_or_of_somebody_else_is_refused(browse_as: BrowseAs, begun: World) -> None:
    browse, key = browse_as(begun.technician), str(uuid4())
    assert send(browse, sheet_of(begun), GOOD_KETTLE, key).status_code == 200
    other = send(browse, sheet_of(begun), GOOD_KETTLE | {"insulation-resistance": "3"}, key)
    assert other.status_code == 409
    assert "other content" in other.json()["message"]
    foreign = send(browse_as(begun.office), sheet_of(begun), GOOD_KETTLE, key)
    assert foreign.status_code == 409
    assert "somebody else" in foreign.json()["message"]
    assert "verdict" not in foreign.json()
    wrong = send(browse, sheet_of(begun), GOOD_KETTLE, "no key of ours")
    assert wrong.status_code == 422


def test_mistakes_refusals_and_a_closed_session_are_told_in_json(desk: Desk, browse_as: BrowseAs, begun: World) -> None:
    browse, key = browse_as(begun.technician), str(uuid4())
    wrong = send(browse, sheet_of(begun), GOOD_KETTLE | {"insulation-resistance": "abc"}, key)
    assert wrong.status_code == 422
    assert list(wrong.json()["mistakes"]) == ["insulation-resistance"]
    assert kept(desk, begun)[0] is None
    # The same key is free again, since nothing was done under it.
    assert send(browse, sheet_of(begun), GOOD_KETTLE, key).status_code == 200
    left = send(browse, f"{sheet_of(begun, 1)}/leave", {"reason": "other"}, str(uuid4()))
    assert (left.status_code, list(left.json()["mistakes"])) == (422, ["not_tested_note"])
    nobody = send(browse_as(None), sheet_of(begun), GOOD_KETTLE, str(uuid4()))
    assert nobody.status_code == 401
    assert "no longer signed in" in nobody.json()["message"]
    missing = send(browse, f"/visits/{begun.visit_id}/items/99999", GOOD_KETTLE, str(uuid4()))
    assert missing.status_code == 404
    with desk.doing(begun.office) as deed:
        visits.start_visit(deed, begun.other_visit_id)
    foreign = send(browse, f"/visits/{begun.other_visit_id}/items/{begun.item_ids[0]}", GOOD_KETTLE, str(uuid4()))
    assert foreign.status_code == 404


def test_a_tablet_is_told_why_an_instrument_stops_its_entries(desk: Desk, browse_as: BrowseAs, begun: World) -> None:
    with desk.doing(begun.office) as deed:
        bad = CalibrationDetails(deed.today, deed.today + timedelta(days=365), "K-BAD", passed=False)
        add_calibration(deed, begun.instrument_id, bad)
    technician = browse_as(begun.technician)
    refused = send(technician, sheet_of(begun), GOOD_KETTLE, str(uuid4()))
    assert refused.status_code == 409 and "failed its calibration" in refused.json()["message"]
    for path in (sheet_of(begun), f"/visits/{begun.visit_id}/sheet"):
        assert "Nothing can be measured as it is. Blue tester failed its calibration" in technician.get(path).text


def test_a_stale_save_brings_what_the_other_saved(desk: Desk, browse_as: BrowseAs, begun: World) -> None:
    ours = GOOD_KETTLE | {"version": "1"}
    theirs = send(browse_as(begun.office), sheet_of(begun), ours | {"insulation-resistance": "55"}, str(uuid4()))
    stale = send(browse_as(begun.technician), sheet_of(begun), ours, str(uuid4()))
    assert stale.status_code == 409
    assert stale.json()["theirs"]["insulation-resistance"] == "55"
    assert stale.json()["saved"]["by"] == "Bea Holm"
    assert stale.json()["saved"]["version"] == theirs.json()["version"]
    chosen = send(
        browse_as(begun.technician), sheet_of(begun), ours | {"version": str(theirs.json()["version"])}, str(uuid4())
    )
    assert chosen.status_code == 200


def test_a_new_item_and_its_readings_by_keys(desk: Desk, browse_as: BrowseAs, begun: World) -> None:
    browse, key = browse_as(begun.technician), str(uuid4())
    new = {"number": "0100", "description": "Toaster", "location_id": str(begun.location_id)}
    new |= {"equipment_type_id": str(begun.equipment_type_id)} | show_facts(KETTLE)
    address = f"/visits/{begun.visit_id}/items"
    first = send(browse, address, new, key)
    assert first.status_code == 200, first.json()
    assert send(browse, address, new, key).json() == first.json()
    twice = send(browse, address, new, str(uuid4()))
    assert twice.status_code == 422
    assert "0100 is there already: Toaster" in twice.json()["mistakes"]["number"]
    with desk.reading_only() as session:
        assert [item.number for item in list_items(session, begun.premises_id)].count("0100") == 1
        assert [row.item.number for row in list_visit_items(session, begun.visit_id)].count("0100") == 1
    without_script = browse.post(address, new | {"entry_key": key})
    assert without_script.status_code == 303
    assert without_script.headers["location"] == first.json()["to"]


def test_what_was_done_hours_ago_is_recorded_then_but_never_before_the_visit(
    desk: Desk, browse_as: BrowseAs, begun: World, clock: Clock
) -> None:
    started_at = clock.now
    clock.now += timedelta(hours=20)
    browse = browse_as(begun.technician)
    send(browse, sheet_of(begun), GOOD_KETTLE, str(uuid4()), Entry_Age=str(19 * 3600))
    send(browse, sheet_of(begun, 1), {"visual": "satisfactory"}, str(uuid4()), Entry_Age=str(30 * 86400))
    send(browse, sheet_of(begun, 2), {"visual": "satisfactory"}, str(uuid4()), Entry_Age="-5")
    with desk.reading_only() as session:
        moments = [get_visit_item(session, begun.visit_id, item_id).tested_at for item_id in begun.item_ids]
        line = next(line for line in list_journal(session) if line.sentence.startswith("Recorded item 0001"))
        assert line.at == clock.now, "the journal keeps when it was written"
    assert moments == [started_at + timedelta(hours=1), started_at, clock.now]


def test_the_office_takes_in_entries_of_a_technician_who_may_send_them_again(
    desk: Desk, browse_as: BrowseAs, begun: World
) -> None:
    def take_in(doer: Person, whose: Person) -> httpx.Response:
        return send(browse_as(doer), sheet_of(begun), GOOD_KETTLE, key, Entry_For=str(whose.id))

    key = str(uuid4())
    assert take_in(begun.technician, begun.office).status_code == 409, "only the office acts for others"
    first = take_in(begun.office, begun.technician)
    assert first.json()["by"] == "Joss Alder"
    assert send(browse_as(begun.technician), sheet_of(begun), GOOD_KETTLE, key).json() == first.json()
    with desk.reading_only() as session:
        line = next(line for line in list_journal(session) if line.sentence.startswith("Recorded item 0001"))
        assert line.person_name == "Joss Alder, taken in by Bea Holm"
