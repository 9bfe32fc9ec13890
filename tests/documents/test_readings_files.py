"""The readings that travel inside a certificate, read back by pypdfium2: they say what the paper says."""

import csv
import io
import json
from dataclasses import replace

import pytest

from app.documents.certificate import certificate_from
from app.documents.pdf import to_pdf
from app.documents.readings_files import COLUMNS, readings_csv_from, readings_json_from
from tests.documents.reading_back import attached
from tests.documents.sample_papers import certificate

FACTS = certificate(40, failing=3, untested=1)
DATA = certificate_from(FACTS)


def lines_of(content: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(content.decode("utf-8-sig"))))


def test_both_files_are_inside_and_the_same_each_time() -> None:
    files = attached(to_pdf("certificate", DATA))
    assert set(files) == {"readings-C-000123.csv", "readings-C-000123.json"}
    assert files["readings-C-000123.csv"] == readings_csv_from(DATA)
    assert files["readings-C-000123.json"] == readings_json_from(DATA)
    assert attached(to_pdf("certificate", json.loads(json.dumps(DATA)))) == files


def test_every_reading_of_the_visit_is_a_line() -> None:
    lines = lines_of(readings_csv_from(DATA))
    assert len(lines) == sum(len(row.readings) or 1 for row in FACTS.rows)
    by_item: dict[str, list[dict[str, str]]] = {}
    for line in lines:
        by_item.setdefault(line["item"], []).append(line)
    for row in FACTS.rows:
        said = by_item[row.number]
        assert [line["check"] for line in said if line["check"]] == [reading.check for reading in row.readings]
        for line, reading in zip(said, row.readings, strict=False):
            bound = {"above": "> ", "below": "< ", "": ""}[line["reading_bound"]]
            assert f"{bound}{line['reading']} {line['unit']}".strip() == reading.reading
            assert line["outcome"] == reading.outcome.value


def test_the_json_holds_numbers_with_bound_and_unit() -> None:
    whole = json.loads(readings_json_from(DATA))
    assert whole["number"] == "C-000123"
    found = {(reading["reading"]["bound"], reading["reading"]["unit"]) for item in whole["items"]
             for reading in item["readings"] if "reading" in reading}  # fmt: skip
    assert {("", "Ω"), ("", "MΩ"), ("above", "MΩ")} <= found
    [item] = [item for item in whole["items"] if item["number"] == "0001"]
    assert item["next_due_on"] == "2027-03-04"


@pytest.mark.parametrize("text", ["=1+1", "+44 1632 960000", "-1", "@SUM(A1)", "\tx"])
def test_no_text_of_a_customer_becomes_a_formula(text: str) -> None:
    # OWASP, CSV Injection: a cell that begins with one of these is computed by programs for sheets.
    row = replace(FACTS.rows[0], description=text, location=text)
    for line in lines_of(readings_csv_from(certificate_from(replace(FACTS, rows=(row,))))):
        assert line["description"] == line["location"] == f"'{text}"
        assert set(line) == set(COLUMNS)
