"""The bar of a paper that is being drawn, and the files of a certificate in parts."""

import threading
import zipfile
from hashlib import sha256
from io import BytesIO

import pytest

from app.actions import certificates, paper_files, share_links
from app.actions.deeds import Desk
from app.actions.drawings import Tell, begin_drawing
from tests.cast import Browse, BrowseAs, World
from tests.documents.reading_back import text_of
from tests.finished_visits import work_through


@pytest.fixture
def office(browse_as: BrowseAs, world: World) -> Browse:
    return browse_as(world.office)


def test_a_paper_that_is_being_drawn_shows_its_bar_until_it_is_there(
    desk: Desk, world: World, office: Browse, monkeypatch: pytest.MonkeyPatch
) -> None:
    work_through(desk, world.technician, world.visit_id)
    with monkeypatch.context() as broken:
        broken.setattr(paper_files, "keep_paper", lambda *_: 1 / 0)
        with pytest.raises(ZeroDivisionError):
            certificates.issue_certificate(desk, world.office, world.visit_id)
    page = office.get("/certificates/1").text
    assert "Make it now" in page
    assert "the log of the program says why" in page
    assert "See how far it is" in office.get(f"/visits/{world.visit_id}").text
    go_on = threading.Event()

    def work(tell: Tell) -> None:
        tell(0.43)
        go_on.wait(60)
        raise OSError("the disk is full")

    drawing = begin_drawing(desk, "certificate", 1, work, patience=0)
    page = office.get("/certificates/1").text
    assert 'http-equiv="refresh"' in page  # for a browser without script
    assert "Make it now" not in page
    bar = office.get("/drawings/certificate/1/parts/progress")
    assert '<progress value="43" max="100"' in bar.text
    go_on.set()
    with pytest.raises(OSError, match="disk"):
        drawing.wait(60)
    answer = office.get("/drawings/certificate/1/parts/progress")
    assert (answer.status_code, answer.headers["HX-Refresh"]) == (200, "true")
    assert office.post(f"/visits/{world.visit_id}/certificate").headers["location"] == "/certificates/1"
    assert office.get("/certificates/1/paper.pdf").status_code == 200


def test_a_certificate_in_parts_is_downloaded_whole_or_part_by_part(
    desk: Desk, world: World, browse_as: BrowseAs, office: Browse, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("app.documents.parts.MOST_ROWS", 2)
    work_through(desk, world.technician, world.visit_id)
    certificates.issue_certificate(desk, world.office, world.visit_id)
    page = office.get("/certificates/1").text
    assert "Download all 3 files" in page
    part = office.get("/certificates/1/part-2.pdf")
    assert "part 2 of 2" in text_of(part.content)
    assert office.get("/certificates/1/part-3.pdf").status_code == 404
    sent = office.get("/certificates/1/papers.zip")
    assert sent.headers["content-type"] == "application/zip"
    archive = zipfile.ZipFile(BytesIO(sent.content))
    assert archive.testzip() is None
    lines = (line.split("  ") for line in archive.read("SHA256SUMS").decode().splitlines())
    sums = {name: digest for digest, name in lines}
    assert list(sums) == ["C-000001.pdf", "C-000001-part-01.pdf", "C-000001-part-02.pdf"]
    assert {name: sha256(archive.read(name)).hexdigest() for name in sums} == sums
    assert office.get("/certificates/1/papers.zip").content == sent.content
    with desk.doing(world.office) as deed:
        token = share_links.make_share_link(deed, world.visit_id)
    nobody = browse_as(None)
    assert f"/s/{token}/certificates/1/files.zip" in nobody.get(f"/s/{token}").text
    assert nobody.get(f"/s/{token}/certificates/1/files.zip").content == sent.content
    assert nobody.get(f"/s/{token}/certificates/2/files.zip").status_code == 404
    code = page.split("/check/")[1].split('"')[0]
    check = nobody.get(f"/check/{code}").text
    for name, hashed in sums.items():
        assert hashed in check, name
    (desk.papers_folder / "C-000001-part-01.pdf").write_bytes(b"other")
    assert office.get("/certificates/1/papers.zip").status_code == 409
