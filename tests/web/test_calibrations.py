"""The certificate of a calibration as a file: sent in, asked again when it is none, and only ever downloaded."""

from app.actions.deeds import Desk
from app.store.instruments import get_instrument
from tests.actions.test_calibration_files import SMALL_PDF, picture
from tests.cast import Browse, BrowseAs, World
from tests.web.page_text import fields_of, words_of

ENTERED = {
    "calibrated_on": "2026-03-02",
    "good_until": "2027-03-01",
    "certificate_number": 'C-26/1 "x"\r\nY',
    "result": "good",
}


def send(browse: Browse, path: str, content: bytes, name: str, kind: str, **fields: str) -> int:
    sent = browse.post(path, fields, files={"file": (name, content, kind)})
    return sent.status_code


def test_a_pdf_comes_back_as_a_download_and_nothing_else(desk: Desk, browse_as: BrowseAs, world: World) -> None:
    office, here = browse_as(world.office), f"/instruments/{world.instrument_id}"
    assert send(office, f"{here}/calibrations", SMALL_PDF, "../../evil.html", "text/html", **ENTERED) == 303
    with desk.reading_only() as session:
        newest = get_instrument(session, world.instrument_id).calibrations[0].id
    path = f"{here}/calibrations/{newest}"
    assert f"{path}/file" in office.get(here).text
    for person in (world.office, world.technician):
        answer = browse_as(person).get(f"{path}/file")
        assert answer.content == SMALL_PDF
        assert answer.headers["content-type"] == "application/pdf"
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert answer.headers["content-disposition"] == (
            'attachment; filename="Calibration C-261xY Blue tester 2026-03-02.pdf"'
        )
    assert browse_as(None).get(f"{path}/file").status_code == 303
    assert "PDF" in words_of(office.get(path))


def test_a_file_that_is_none_keeps_what_was_typed_and_enters_nothing(
    desk: Desk, browse_as: BrowseAs, world: World
) -> None:
    office, here = browse_as(world.office), f"/instruments/{world.instrument_id}"
    page = {"data": ENTERED | {"csrf": office.csrf, "certificate_number": "C-26-1"}}
    answer = office.send(
        "POST", f"{here}/calibrations", files={"file": ("c.pdf", b"<html>", "application/pdf")}, **page
    )
    assert answer.status_code == 422
    assert 'id="f-file-mistake"' in answer.text
    assert "must be a PDF, or a PNG or JPEG picture" in words_of(answer)
    assert fields_of(answer)["certificate_number"] == "C-26-1"
    assert "C-26-1" not in words_of(office.get(here))


def test_a_file_is_added_later_and_replaced(desk: Desk, browse_as: BrowseAs, world: World) -> None:
    office = browse_as(world.office)
    with desk.reading_only() as session:
        (calibration_id,) = [row.id for row in get_instrument(session, world.instrument_id).calibrations]
    path = f"/instruments/{world.instrument_id}/calibrations/{calibration_id}"
    assert office.get(f"{path}/file").status_code == 404
    assert send(office, f"{path}/file", b"", "", "application/pdf") == 422
    assert send(office, f"{path}/file", b"nothing", "c.pdf", "application/pdf") == 422
    assert send(office, f"{path}/file", picture("JPEG"), "c.jpg", "image/jpeg") == 303
    answer = office.get(f"{path}/file")
    assert answer.headers["content-type"] == "image/jpeg"
    assert answer.headers["content-disposition"].endswith('.jpg"')
    assert send(office, f"{path}/file", SMALL_PDF, "c.pdf", "application/pdf") == 303
    assert office.get(f"{path}/file").content == SMALL_PDF
    assert "Replaced the file of calibration CAL-26-0193" in words_of(office.get(f"/instruments/{world.instrument_id}"))
    assert send(browse_as(world.technician), f"{path}/file", SMALL_PDF, "c.pdf", "application/pdf") == 403
    assert office.get(f"/instruments/999/calibrations/{calibration_id}").status_code == 404
