"""A certificate in parts: every item once, pages numbered through, and a cover that knows every part by its SHA-256."""

import hashlib
import json
from pathlib import Path

import pytest

from app.actions.paper_parts import draw_with_parts
from app.documents.certificate import certificate_from
from app.documents.parts import part_data_from, part_spans_from, parted_data_from, rows_from
from tests.documents.reading_back import attached, pages_of
from tests.documents.sample_item_papers import whole_customer_data
from tests.documents.sample_papers import certificate

WHOLE = certificate_from(certificate(12, failing=2, untested=1))
DATA = parted_data_from(WHOLE, 5)


def drawn(folder: Path) -> dict[str, bytes]:
    """Cover and parts by their names."""
    heard: list[float] = []
    cover, parts = draw_with_parts(folder, "certificate", "C-000123.pdf", DATA, None, {}, heard.append)
    assert parts is not None
    assert heard == sorted(heard)
    assert 0.9 < heard[-1] < 1, "the bar is full when the paper is settled"
    files = {part.file_name: (parts.folder / part.file_name).read_bytes() for part in parts.files}
    for part in parts.files:
        content = files[part.file_name]
        assert (part.sha256, part.size_bytes) == (hashlib.sha256(content).hexdigest(), len(content))
        assert part.pages == len(pages_of(content))
    return {"C-000123.pdf": cover} | files


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    return drawn(tmp_path_factory.mktemp("papers"))


def test_up_to_the_bound_a_paper_stays_one_file() -> None:
    assert parted_data_from(WHOLE, 12) == WHOLE
    assert parted_data_from(WHOLE, 11)["rows_a_part"] == 6  # not 11 and 1
    assert json.loads(json.dumps(DATA)) == DATA


def test_every_item_stands_in_one_part_and_pages_are_numbered_through(files: dict[str, bytes]) -> None:
    assert list(files) == ["C-000123.pdf", *(f"C-000123-part-0{place}.pdf" for place in (1, 2, 3))]
    pages = [page for content in files.values() for page in pages_of(content)]
    for number, page in enumerate(pages, start=1):
        assert f"Page {number} of {len(pages)}" in page
    cover, *parts = ("\n".join(pages_of(content)) for content in files.values())
    for place, row in enumerate(WHOLE["schedule"]["rows"]):
        [part] = [part for part in parts if f"{row['number']} {row['description']}" in part]
        assert f"part {place // 4 + 1} of 3" in part
    for part in parts:
        assert "C-000123" in part
        assert "Brackenhow Primary School" in part
    assert "9 of 12 items passed" in cover.replace("\u00a0", " ")


def test_the_cover_names_every_part_for_people_and_for_programs(files: dict[str, bytes]) -> None:
    cover, *parts = files.values()
    text = "".join(pages_of(cover))
    [(name, content)] = attached(cover).items()
    listed = json.loads(content)
    assert name == "parts-C-000123.json"
    for part, row in zip(parts, listed["parts"], strict=True):
        assert row["sha256"] == hashlib.sha256(part).hexdigest()
        assert row["sha256"] in text
    assert listed["parts"][-1]["last_page"] == listed["pages"]


def test_the_readings_travel_in_the_parts(files: dict[str, bytes]) -> None:
    numbers = []
    for place, content in enumerate(list(files.values())[1:], start=1):
        inside = attached(content)
        numbers += [item["number"] for item in json.loads(inside[f"readings-C-000123-part-0{place}.json"])["items"]]
    assert numbers == [row["number"] for row in WHOLE["schedule"]["rows"]]


def test_the_same_data_give_the_same_bytes(files: dict[str, bytes], tmp_path: Path) -> None:
    assert drawn(tmp_path) == files


def test_very_many_failures_stand_in_their_parts(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr("app.documents.parts.MOST_ON_COVER", 2)
    data = parted_data_from(WHOLE, 6)
    cover, parts = draw_with_parts(tmp_path, "certificate", "C-000123.pdf", data, None, {})
    assert parts is not None
    said = "\n".join(pages_of(cover))
    assert "Failed: what to do" not in said
    assert "stands at the head of each part" in said.replace("\n", " ").replace("\r", "")
    heads = ["\n".join(pages_of((parts.folder / part.file_name).read_bytes())) for part in parts.files]
    assert any("Failed: what to do" in head for head in heads)
    assert "Not tested or incomplete" in heads[-1]


def test_a_register_is_parted_across_its_premises(tmp_path: Path) -> None:
    whole = whole_customer_data()
    data = parted_data_from(whole, 10)
    cover, parts = draw_with_parts(tmp_path, "register", "register-REG-000007.pdf", data, None, {})
    assert parts is not None
    spans = part_spans_from(data)
    kept = [part_data_from(data, place)["groups"] for place in range(1, len(spans) + 1)]
    assert [len(groups) for groups in kept] == [1, 2, 1], "the second part has the end of one premises and the next"
    assert [row for groups in kept for group in groups for row in group["rows"]] == rows_from(whole)
    assert "listed in 3 more files" in "".join(pages_of(cover))
    assert [part.items for part in parts.files] == [end - start for start, end in spans]
    files = [(parts.folder / part.file_name).read_bytes() for part in parts.files]
    assert "Register REG-000007, part 2 of 3" in pages_of(files[1])[0]
    assert list(attached(files[2])) == ["register-REG-000007-part-03.csv", "register-REG-000007-part-03.json"]
