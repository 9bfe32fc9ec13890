"""One item's interval: HSE's row with its source, what answers do, evidence, trends; and a decision with its reason.

0 of 1 failed gives a one-sided 95 % bound of 95.0 % (1 − 0.05; Clopper and Pearson, closed form).
"""

import re

import pytest

from app.actions import visits
from app.actions.deeds import Desk
from app.store.items import get_item
from tests.cast import Browse, BrowseAs, Clock, World
from tests.rising_readings import visit_repeatedly
from tests.web.page_text import words_of


def like_kettles(desk: Desk, world: World) -> str:
    """Give the kettle its equipment type; gives the address of its interval."""
    with desk.doing(world.owner) as deed:
        get_item(deed.session, world.item_ids[0]).equipment_type_id = world.equipment_type_id
    return f"/items/{world.item_ids[0]}/interval"


def decide(browse: Browse, address: str, version: int | str, **fields: str) -> int:
    return browse.post(address, {"version": str(version)} | fields).status_code


def version_of(text: str) -> str:
    found = re.search(r'name="version" value="(\d+)"', text)
    assert found
    return found[1]


def test_the_page_proposes_and_says_whose_duty_it_is(browse_as: BrowseAs, world: World, desk: Desk) -> None:
    text = words_of(browse_as(world.technician).get(like_kettles(desk, world)))
    assert "Earthed (Class I)" in text and "1 to 2 years" in text and "HSE INDG236" in text
    assert "HSE has no row for schools" in text
    assert "the dutyholder, has to keep it safe and stays responsible" in text
    assert "Nothing like it was tested" in text and "A person decides" in text
    assert "The owner or the office makes an interval longer" in text
    assert "The owner or the office" not in words_of(
        browse_as(world.office).get(f"/items/{world.item_ids[0]}/interval")
    )
    lead = words_of(browse_as(world.technician).get(f"/items/{world.item_ids[2]}/interval"))
    assert "from memory: compare it with the published table" in lead
    assert "no equipment type, so nothing counts as being like it" in lead


def test_answers_are_worked_out_without_script_and_with(browse_as: BrowseAs, world: World, desk: Desk) -> None:
    address, technician = like_kettles(desk, world), browse_as(world.technician)
    asked = "?environment=harsh&handling=harsh&reason=Wet+floor"
    page = technician.get(address + asked)
    assert "The answers add up to +2: 6 months, shorter than the table's 12" in words_of(page)
    assert 'name="handling" value="harsh" checked' in page.text and "Wet floor" in page.text
    part = technician.get(f"{address}/parts/steps{asked}").text
    assert part.lstrip().startswith('<div id="risk-steps"') and "6 months" in part
    # The form's token never gets into an address: it goes with the button that decides.
    assert re.findall(r'<[^>]*name="csrf"[^>]*>', page.text.split("<main")[1]) == [
        f'<button class="button button-primary" name="csrf" value="{technician.csrf}">'
    ]


def test_a_decision_is_shown_in_the_history(browse_as: BrowseAs, world: World, desk: Desk) -> None:
    address, technician = like_kettles(desk, world), browse_as(world.technician)
    version = version_of(technician.get(address).text)
    assert decide(technician, address, version, months="6", reason="Wet floor", environment="harsh") == 303
    text = words_of(technician.get(address))
    assert "every 6 months before: every 12 months Wet floor Answers: Damp, dusty, hot or rough." in text
    assert "Joss Alder" in text and "Every 6 months" in text
    assert decide(technician, address, version, months="3", reason="Again") == 409, (
        "somebody else has decided meanwhile"
    )


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"months": "6"}, "Say why; the history keeps it."),
        ({"months": "0", "reason": "x"}, "Give a whole number from 1 to 120."),
        ({"months": "six", "reason": "x"}, "Give a whole number from 1 to 120."),
        ({"months": "6", "reason": "x" * 401}, "Use at most 400 characters"),
    ],
)
def test_what_is_wrong_stands_beside_its_field(
    browse_as: BrowseAs, world: World, desk: Desk, fields: dict[str, str], says: str
) -> None:
    address, technician = like_kettles(desk, world), browse_as(world.technician)
    answer = technician.post(address, {"version": version_of(technician.get(address).text), "age": "harsh"} | fields)
    assert answer.status_code == 422 and says in words_of(answer)
    assert 'name="age" value="harsh" checked' in answer.text
    assert "None yet" in words_of(technician.get(address))


def test_lengthening_on_too_little_warns_but_may_be_decided(
    browse_as: BrowseAs, world: World, desk: Desk, clock: Clock
) -> None:
    address, office = like_kettles(desk, world), browse_as(world.office)
    visit_repeatedly(desk, world, clock, ["0.06"])
    fields = {"version": version_of(office.get(address).text), "months": "24", "reason": "Seldom used"}
    answer = office.post(address, fields)
    assert answer.status_code == 422
    assert "0 of 1 failed; the one-sided 95 % upper bound is 95.0 %: too few to lengthen" in words_of(answer)
    assert 'name="all_the_same"' in answer.text
    assert office.post(address, fields | {"all_the_same": "yes"}).status_code == 303
    text = words_of(office.get(address))
    assert "every 24 months" in text and "The exact 95 % interval is 0 % to 97.5 %" in text


def test_a_technician_may_shorten_and_cannot_lengthen(browse_as: BrowseAs, world: World, desk: Desk) -> None:
    address, technician = like_kettles(desk, world), browse_as(world.technician)
    answer = technician.post(address, {"months": "24", "reason": "Seldom used", "all_the_same": "yes"})
    assert answer.status_code == 422 and 'id="f-months-mistake"' in answer.text
    assert technician.post(address, {"months": "6", "reason": "Wet"}).status_code == 303
    answer = technician.post(address, {"months": "", "reason": "As before", "all_the_same": "yes"})
    assert answer.status_code == 422 and "Ask the owner or the office for a longer one" in words_of(answer)


def test_a_trend_speaks_against_a_longer_interval(browse_as: BrowseAs, world: World, desk: Desk, clock: Clock) -> None:
    address = like_kettles(desk, world)
    visit_repeatedly(desk, world, clock)
    office = browse_as(world.office)
    page = office.get(address)
    assert "Trend: Protective conductor resistance: 5 readings, +0.04 Ω a year" in words_of(page)
    answer = office.post(address, {"version": version_of(page.text), "months": "24", "reason": "x"})
    assert "that visit would come too late" in words_of(answer)


def test_the_trend_is_seen_where_it_matters(browse_as: BrowseAs, world: World, desk: Desk, clock: Clock) -> None:
    ids, technician = visit_repeatedly(desk, world, clock), browse_as(world.technician)
    item = f"/items/{world.item_ids[0]}"
    assert "Trend: Protective conductor resistance: 5 readings" in words_of(technician.get(item))
    visit = words_of(technician.get(f"/visits/{ids[-1]}"))
    assert "On the way to a limit 1" in visit and "before the next visit" in visit
    assert "On the way to a limit" not in words_of(technician.get(f"/visits/{ids[0]}"))
    drawn = technician.get(f"{item}/readings").text
    assert 'class="chart-trend"' in drawn and 'class="chart-band"' in drawn and ">next visit<" in drawn
    # On the sheet of the next visit it stands beside the reading concerned, before anything is measured.
    with desk.doing(world.technician) as deed:
        visits.start_visit(deed, world.visit_id, "lent")
    sheet = words_of(technician.get(f"/visits/{world.visit_id}{item}"))
    place = sheet.index("Trend: Protective conductor resistance")
    assert sheet.index("At most 0.139 Ω") < place < sheet.index("At least 1 MΩ")
    assert "Trend:" not in words_of(technician.get(f"/visits/{world.visit_id}/items/{world.item_ids[1]}"))
