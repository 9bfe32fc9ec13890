"""Lists as files hold what the list shows, all pages of it; saved views bring the same choices back."""

import csv
import io
import re
from datetime import timedelta

import pytest

from app.actions import visits
from app.actions.deeds import Desk
from app.rules.visits import Booking
from tests.cast import Browse, BrowseAs, World
from tests.web.firm_at_work import FirmAtWork
from tests.web.test_due_work import fall_due


def rows_of(browse: Browse, address: str) -> list[dict[str, str]]:
    answer = browse.get(address)
    assert answer.status_code == 200 and answer.headers["content-type"].startswith("text/csv")
    assert "attachment" in answer.headers["content-disposition"]
    return list(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"), newline="")))


def test_all_pages_of_what_is_chosen_are_in_the_file(browse_as: BrowseAs, world: World, desk: Desk) -> None:
    with desk.doing(world.office) as deed:
        for place in range(70):
            day = desk.today + timedelta(days=place % 9)
            visits.book_visit(deed, Booking(world.premises_id, world.technician.id, world.instrument_id, day))
    office = browse_as(world.office)
    first = office.get("/visits?q=brackenhow").text
    assert "1–50 of 71" in first
    further = re.search(r'rel="next" href="([^"]+)"', first)
    assert further
    second = office.get(further[1].replace("&amp;", "&")).text
    assert "51–71 of 71" in second and 'rel="next"' not in second
    back = re.search(r'rel="prev" href="([^"]+)"', second)
    assert back and "1–50 of 71" in office.get(back[1].replace("&amp;", "&")).text
    shown = [int(each) for each in re.findall(r'<th scope="row"><a href="/visits/(\d+)"', first + second)]
    assert len(set(shown)) == 71
    assert "/exports/visits.csv?q=brackenhow" in second  # the place in the list is no choice
    rows = rows_of(office, "/exports/visits.csv?q=brackenhow")
    assert len(rows) == 71 and {row["Customer"] for row in rows} == {"Brackenhow Primary School"}
    sheet = office.get("/exports/visits.xlsx?q=brackenhow")
    assert sheet.status_code == 200 and sheet.content.startswith(b"PK")


def test_every_list_says_where_its_file_is(firm_at_work: FirmAtWork) -> None:
    office = firm_at_work.browse("office")
    premises = f"/premises/{firm_at_work.world.other_premises_id}"
    for path, file in (
        ("/customers?q=saltgate", "/exports/customers.csv?q=saltgate"),
        (f"{premises}?q=kettle", f"/exports{premises}/items.csv?q=kettle"),
        ("/invoices?state=owed", "/exports/invoices.csv?state=owed"),
        ("/certificates?q=salt", "/exports/certificates.csv?q=salt"),
        ("/defects?waits=firm", "/exports/defects.csv?waits=firm"),
        ("/due?months=12", "/exports/due.csv?months=12"),
    ):
        text = office.get(path).text
        assert f'href="{file}"' in text, path
        assert rows_of(office, file) or path.startswith("/due"), path
    assert [row["Customer"] for row in rows_of(office, "/exports/customers.csv?q=saltgate")] == ["Saltgate Brewery"]
    assert [row["Item"] for row in rows_of(office, f"/exports{premises}/items.csv?q=kettle")] == ["Kettle"]
    assert office.get("/exports/visits.exe").status_code == 404


def test_a_technician_takes_no_money_away(browse_as: BrowseAs, world: World, desk: Desk) -> None:
    fall_due(desk, (world.item_ids[0], 3))
    office, technician = browse_as(world.office), browse_as(world.technician)
    assert rows_of(office, "/exports/due.csv")[0]["Without VAT"] == "60.00"
    assert "Without VAT" not in rows_of(technician, "/exports/due.csv")[0]
    assert technician.get("/exports/invoices.csv").status_code == 403
    assert [row["Technician"] for row in rows_of(technician, "/exports/visits.csv")] == ["Joss Alder", "Joss Alder"]


def test_a_view_is_saved_shared_and_dropped(browse_as: BrowseAs, world: World) -> None:
    office, owner = browse_as(world.office), browse_as(world.owner)
    assert "Save this view" not in office.get("/visits").text
    chosen = office.get("/visits?q=brack&state=booked&from=1").text
    assert "/views/new?path=/visits&amp;query=q%3Dbrack%26state%3Dbooked" in chosen.replace("%2F", "/")
    fields = {"path": "/visits", "query": "q=brack&state=booked&after=5", "name": "School visits"}
    assert office.post("/views", fields).headers["location"] == "/visits?q=brack&state=booked"
    link = '<a href="/visits?q=brack&amp;state=booked"'
    assert link in office.get("/visits").text and link not in owner.get("/visits").text
    assert office.post("/views", fields | {"shared": "yes"}).status_code == 303
    seen = owner.get("/visits?q=brack&state=booked").text
    assert f'{link} aria-current="page">School visits' in seen and "Bea Holm" in seen
    assert office.get("/visits").text.count("School visits") == 1  # the name was replaced
    assert browse_as(world.technician).post("/views/1/remove").status_code == 409
    assert owner.post("/views/1/remove").headers["location"] == "/visits"
    assert "School visits" not in office.get("/visits").text


@pytest.mark.parametrize(
    "fields",
    [
        {"path": "/visits", "query": "q=x", "name": ""}, {"path": "/visits", "query": "", "name": "x"},
        {"path": "//evil.example", "query": "q=x", "name": "x"}, {"path": "/settings", "query": "q=x", "name": "x"},
        {"path": "/visits", "query": "q=" + "x" * 900, "name": "x"},
    ],
)  # fmt: skip
def test_what_is_no_view_is_not_saved(browse_as: BrowseAs, world: World, fields: dict[str, str]) -> None:
    assert browse_as(world.office).post("/views", fields).status_code == 422
