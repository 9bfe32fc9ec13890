"""Pages of letters, repeat agreements, calendars and what is set for planning."""

from datetime import timedelta

from app.actions import visits
from app.actions.deeds import Desk
from app.store.items import get_item
from tests.cast import BrowseAs, World


def test_a_letter_is_looked_over_changed_and_printed(browse_as: BrowseAs, world: World, desk: Desk) -> None:
    office = browse_as(world.office)
    form = office.get(f"/visits/{world.visit_id}/letters/new").text
    assert "Joss Alder comes to Brackenhow Primary School main site" in form and "Print it" in form
    fields = {"kind": "booking", "subject": "We come", "body": "Dear Ada,\n\nwe come soon.", "how": "print"}
    bad = office.post(f"/visits/{world.visit_id}/letters", fields | {"body": "{nonsense}"})
    assert bad.status_code == 422 and "There is no placeholder {nonsense}." in bad.text
    kept = office.post(f"/visits/{world.visit_id}/letters", fields)
    assert kept.status_code == 303
    mail = kept.headers["location"]
    assert f'href="{mail}/letter.pdf"' in office.get(mail).text and "by post" in office.get("/mails").text
    letter = office.get(f"{mail}/letter.pdf")
    assert letter.content.startswith(b"%PDF") and "Letter" in letter.headers["content-disposition"]
    waiting = office.get("/letters").text
    assert f"/visits/{world.visit_id}/letters/new?kind=booking" not in waiting
    assert f"/visits/{world.visit_id}/letters/new?kind=coming" in waiting
    assert f"/visits/{world.other_visit_id}/letters/new?kind=booking" in waiting


def test_recall_letters_follow_the_days_that_the_owner_sets(browse_as: BrowseAs, world: World, desk: Desk) -> None:
    with desk.doing(world.office) as deed:
        visits.cancel_visit(deed, world.visit_id, "By mistake")
        get_item(deed.session, world.item_ids[0]).next_due_on = deed.today + timedelta(days=50)
    owner, recall = browse_as(world.owner), f"/premises/{world.premises_id}/recall"
    assert recall not in owner.get("/letters").text
    settings = {"early_days": 14, "late_days": 3, "remind_days": 2, "recall_days": 60}
    assert owner.post("/planner/settings", settings | {"recall_days": 900}).status_code == 422
    assert owner.post("/planner/settings", settings).status_code == 303
    assert recall in owner.get("/letters").text and recall in owner.get("/due").text
    due = owner.get("/due").text
    assert 'name="early" type="number" min="0" max="366" value="14"' in due
    assert "1 item at Brackenhow" in owner.get(recall).text
    assert browse_as(world.office).get("/planner/settings").status_code == 403
    assert owner.get(f"/premises/{world.other_premises_id}/recall").status_code == 409  # nothing falls due there


def test_a_repeat_agreement_fills_the_pool_and_ends(browse_as: BrowseAs, world: World, desk: Desk) -> None:
    office = browse_as(world.office)
    new = f"/premises/{world.premises_id}/repeat-agreements"
    assert office.post(new, {"first_on": "2026-03-20", "every_months": "0"}).status_code == 422
    made = office.post(new, {"first_on": "2026-03-20", "every_months": "12", "keep_prices": "yes"})
    assert made.status_code == 303
    here = made.headers["location"]
    shown = office.get(here).text
    assert "kept as agreed, £1.35 an item" in shown and "20\u00a0Mar\u00a02027" in shown
    assert 'data-wanted="1"' in office.get("/planner?day=2026-03-20").text
    changed = office.post(f"{here}/change", {"first_on": "2026-06-01", "every_months": "6", "version": 1})
    assert changed.status_code == 303 and "Changed from that day on." in office.get(here).text
    second = changed.headers["location"]
    assert office.post(f"{second}/end", {"last_day": "2026-06-30", "reason": "", "version": 1}).status_code == 422
    assert office.post(f"{second}/end", {"last_day": "2026-06-30", "reason": "Moved", "version": 1}).status_code == 303
    assert "Moved" in office.get(second).text and "goes on" not in office.get("/repeat-agreements").text


def test_an_address_of_a_calendar_opens_without_signing_in_until_it_is_withdrawn(
    browse_as: BrowseAs, world: World
) -> None:
    technician, stranger = browse_as(world.technician), browse_as(None)
    assert "The whole firm" not in technician.get("/calendars").text
    page = technician.post("/calendars", {"person_id": world.technician.id}).text
    path = page.partition("https://office.tarn-alder.example")[2].partition('"')[0]
    feed = stranger.get(path)
    assert feed.status_code == 200 and feed.headers["content-type"] == "text/calendar; charset=utf-8"
    assert feed.text.count("BEGIN:VEVENT") == 2 and "no-store" in feed.headers["cache-control"]
    assert path not in technician.get("/calendars").text
    assert technician.post("/calendars", {"person_id": ""}).status_code == 409  # the firm's is the office's to make
    assert technician.post("/calendars/1/withdraw").status_code == 303
    assert stranger.get(path).status_code == 404
