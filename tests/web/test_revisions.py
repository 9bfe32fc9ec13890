"""Correcting a certificate in the browser: the changes before it is issued, and what old links and checks say after."""

from dataclasses import replace

import pytest

from app.actions import certificates, items, share_links
from app.actions.deeds import Desk
from app.store.certificates import get_certificate
from app.store.items import get_item
from tests.cast import Browse, BrowseAs, World
from tests.finished_visits import begin_worked_through, work_through


@pytest.fixture
def office(browse_as: BrowseAs, world: World) -> Browse:
    return browse_as(world.office)


@pytest.fixture
def issued(desk: Desk, world: World) -> int:
    begin_worked_through(desk, world.technician, world.visit_id)
    return certificates.issue_certificate(desk, world.office, world.visit_id)


def give_serial(desk: Desk, world: World) -> None:
    with desk.doing(world.office) as deed:
        row = get_item(deed.session, world.item_ids[0])
        items.change_item(deed, row.id, replace(row.details, serial="FG 4711"))


def code_of(desk: Desk, certificate_id: int) -> str:
    with desk.reading_only() as session:
        return get_certificate(session, certificate_id).code


def test_the_changes_are_shown_before_anything_is_issued(desk: Desk, world: World, issued: int, office: Browse) -> None:
    address = f"/certificates/{issued}/correct"
    assert "Nothing has changed" in office.get(address).text
    assert office.post(address, {"reason": "Because"}).status_code == 409
    give_serial(desk, world)
    page = office.get(address)
    assert "serial FG 4711" in page.text
    wrong = office.post(address, {"reason": ""})
    assert wrong.status_code == 422
    assert "Say why the certificate is corrected" in wrong.text
    assert "serial FG 4711" in wrong.text
    done = office.post(address, {"reason": "Serial was wrong"})
    assert done.status_code == 303
    shown = office.get(done.headers["location"])
    assert "C-000001-R2" in shown.text
    assert "Serial was wrong" in shown.text
    old = office.get(f"/certificates/{issued}")
    assert "Replaced by C-000001-R2" in old.text
    assert office.get(address).status_code == 303
    assert ">replaced<" in office.get("/certificates").text


def test_an_old_link_and_an_old_code_say_what_happened(desk: Desk, world: World, issued: int, office: Browse,
                                                       browse_as: BrowseAs) -> None:  # fmt: skip
    old_bytes = (desk.papers_folder / "C-000001.pdf").read_bytes()
    with desk.doing(world.office) as deed:
        token = share_links.make_share_link(deed, world.visit_id)
    give_serial(desk, world)
    office.post(f"/certificates/{issued}/correct", {"reason": "Serial was wrong"})
    nobody = browse_as(None)
    page = nobody.get(f"/s/{token}").text
    assert "replaces C-000001. Reason: Serial was wrong" in page
    assert nobody.get(f"/s/{token}/certificates/{issued}.pdf").content == old_bytes
    assert nobody.get(f"/s/{token}/certificate.pdf").content != old_bytes
    assert nobody.get(f"/s/{token}/certificates/999.pdf").status_code == 404
    old = nobody.get(f"/check/{code_of(desk, issued)}").text
    assert "was replaced by C-000001-R2" in old
    assert "no longer holds" in old


def test_a_void_certificate_is_void_for_everybody(desk: Desk, world: World, issued: int, office: Browse,
                                                  browse_as: BrowseAs) -> None:  # fmt: skip
    with desk.doing(world.office) as deed:
        token = share_links.make_share_link(deed, world.visit_id)
    address = f"/certificates/{issued}/void"
    assert office.get(address).status_code == 200
    assert office.post(address, {"reason": ""}).status_code == 422
    assert office.post(address, {"reason": "Issued for the wrong visit"}).status_code == 303
    assert "Issued for the wrong visit" in office.get(f"/certificates/{issued}").text
    nobody = browse_as(None)
    assert "Issued for the wrong visit" in nobody.get(f"/check/{code_of(desk, issued)}").text
    assert "no longer holds" in nobody.get(f"/s/{token}").text
    assert nobody.get(f"/s/{token}/certificate.pdf").status_code == 404


def test_a_certificate_of_another_visit_is_not_in_the_link(desk: Desk, world: World, issued: int,
                                                           browse_as: BrowseAs) -> None:  # fmt: skip
    work_through(desk, world.technician, world.other_visit_id)
    other = certificates.issue_certificate(desk, world.office, world.other_visit_id)
    with desk.doing(world.office) as deed:
        token = share_links.make_share_link(deed, world.visit_id)
    assert browse_as(None).get(f"/s/{token}/certificates/{other}.pdf").status_code == 404
