"""Photos on pages: taken beside what is typed, shown to who is signed in, and to the customer those of its paper."""

import httpx

from app.actions.deeds import Desk
from app.actions.photos import remove_photo
from app.rules.photos import BYTES_MOST
from tests.cast import Browse, BrowseAs, World
from tests.pictures import photo
from tests.web.firm_at_work import FirmAtWork
from tests.web.visit_sheets import begin, sheet_of


def send(browse: Browse, address: str, image: bytes, name: str = "photo.jpg", **fields: str) -> httpx.Response:
    data = {"csrf": browse.csrf} | fields
    return browse.send("POST", f"{address}/photos", data=data, files={"photo": (name, image, "image/jpeg")})


def test_a_photo_is_taken_and_shown(desk: Desk, world: World, browse_as: BrowseAs) -> None:
    begin(desk, world)
    browse, address = browse_as(world.technician), sheet_of(world)
    answer = send(browse, address, photo(), caption="cracked at the earth pin")
    assert (answer.status_code, answer.headers["location"]) == (303, f"{address}#photos")
    page = browse.get(address).text
    assert "/photos/1/small" in page
    assert 'alt="cracked at the earth pin"' in page
    for path in ("/photos/1", "/photos/1/small"):
        kept = browse.get(path)
        assert kept.headers["content-type"] == "image/jpeg"
        assert kept.headers["x-content-type-options"] == "nosniff"
        assert kept.content.startswith(b"\xff\xd8\xff")


def test_what_is_no_photo_comes_back_beside_its_field(desk: Desk, world: World, browse_as: BrowseAs) -> None:
    begin(desk, world)
    browse, address = browse_as(world.technician), sheet_of(world)
    for image in (b"<script>alert(1)</script>", photo()[:200], b"\0" * (BYTES_MOST + 10)):
        answer = send(browse, address, image, caption="cracked")
        assert answer.status_code == 422
        assert 'id="f-photo-mistake"' in answer.text
        assert 'value="cracked"' in answer.text
    answer = browse.post(f"{address}/photos", {"caption": "x"})
    assert (answer.status_code, "Take a photo, or choose one." in answer.text) == (422, True)
    assert "/photos/1" not in browse.get(address).text


def test_a_photo_is_removed(desk: Desk, world: World, browse_as: BrowseAs) -> None:
    begin(desk, world)
    browse, address = browse_as(world.technician), sheet_of(world)
    send(browse, address, photo())
    assert browse.post(f"{address}/photos/1/remove").status_code == 303
    assert browse.get("/photos/1").status_code == 404


def test_the_customer_sees_the_photos_of_the_certificate_and_no_other(firm_at_work: FirmAtWork) -> None:
    firm_at_work.put_back()
    ids = firm_at_work.ids
    nobody = firm_at_work.browse("nobody")
    page = nobody.get(f"/s/{ids['token']}").text
    shown = f"/s/{ids['token']}/photos/{ids['shared_photo_id']}"
    assert shown in page
    answer = nobody.get(shown)
    assert (answer.status_code, answer.headers["content-type"]) == (200, "image/jpeg")
    assert nobody.get(f"/s/{ids['token']}/photos/{ids['photo_id']}").status_code == 404
    assert nobody.get(f"/s/{'x' * len(ids['token'])}/photos/{ids['shared_photo_id']}").status_code == 404
    assert nobody.get(f"/photos/{ids['shared_photo_id']}").status_code == 303


def test_a_removed_photo_is_gone_for_the_staff_and_stays_on_the_issued_paper(firm_at_work: FirmAtWork) -> None:
    firm_at_work.put_back()
    ids, owner = firm_at_work.ids, firm_at_work.browse("owner")
    assert owner.post(f"/visits/{firm_at_work.finished_id}/reopen", {"reopen_reason": "Wrong item"}).status_code == 303
    desk = firm_at_work.app.state.desk
    with desk.doing(firm_at_work.world.owner) as deed:
        remove_photo(
            deed, int(firm_at_work.finished_id), firm_at_work.world.other_item_ids[0], int(ids["shared_photo_id"])
        )
    assert owner.get(f"/photos/{ids['shared_photo_id']}").status_code == 404
    answer = firm_at_work.browse("nobody").get(f"/s/{ids['token']}/photos/{ids['shared_photo_id']}")
    assert answer.status_code == 200
    firm_at_work.put_back()
