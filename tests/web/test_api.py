"""The JSON side: answers in order, every problem with its place, no sign-in and no set-up needed.

The case is of the UK Code of Practice as quoted in training pages: 0.1 Ω + R, with R from IEC 60228 class 5.
"""

import json
import subprocess
import sys
from pathlib import Path

from app.actions.deeds import Desk
from tests.cast import BrowseAs
from tests.servers import ROOT

KETTLE = {
    "id": "kettle",
    "rulebook": "uk-2012",
    "item": {
        "kind": "appliance",
        "construction": "I",
        "use": "portable",
        "heating": True,
        "rated_power_w": "2200",
        "cord": {"csa_mm2": "0.75", "length_m": "1.5", "detachable": False, "moulded_plug": True},
        "fuse_a": "13",
    },
    "readings": [
        {"check": "visual", "outcome": "pass"},
        {"check": "protective-conductor-resistance", "value": "0.15", "unit": "ohm"},
    ],
}
INVOICE = {"id": 1, "type": "invoice", "currency": "GBP",
           "lines": [{"quantity": "3", "price": "1.67", "vat": {"category": "S", "rate": "20"}}]}  # fmt: skip


def test_cases_are_judged_in_order_before_any_set_up(browse_as: BrowseAs, desk: Desk) -> None:
    answer = browse_as(None).send("POST", "/api/judge", json=[KETTLE, {**KETTLE, "id": "again"}])
    assert answer.status_code == 200
    first, second = answer.json()
    assert (first["id"], second["id"], first["verdict"]) == ("kettle", "again", "fail")
    earth = first["checks"][1]
    assert earth["limit"] == {"at_most": "0.139", "unit": "ohm"}
    assert (earth["outcome"], earth["margin"]) == ("fail", "-0.011")


def test_one_case_alone_is_answered_with_a_list(browse_as: BrowseAs, desk: Desk) -> None:
    assert [each["id"] for each in browse_as(None).send("POST", "/api/judge", json=KETTLE).json()] == ["kettle"]


def test_every_problem_is_told_with_its_place(browse_as: BrowseAs, desk: Desk) -> None:
    bad = {**KETTLE, "rulebook": "uk-1066", "readings": [{"check": "visual", "outcome": "splendid"}]}
    answer = browse_as(None).send("POST", "/api/judge", json=[KETTLE, bad])
    assert answer.status_code == 422
    assert {each["path"] for each in answer.json()} == {"/1/rulebook", "/1/readings/0/outcome"}
    assert browse_as(None).send("POST", "/api/judge", content=b"{nonsense").status_code == 422


def test_it_is_sent_to_and_not_looked_at(browse_as: BrowseAs, desk: Desk) -> None:
    looked = browse_as(None).get("/api/judge")
    assert (looked.status_code, looked.headers["allow"]) == (405, "POST")


def test_an_invoice_is_added_up(browse_as: BrowseAs, desk: Desk) -> None:
    # EN 16931: VAT once on the group's total, so 20 % of 5.01 is 1.00, where by line it would be 0.99.
    answer = browse_as(None).send("POST", "/api/invoices/preview", json=INVOICE).json()[0]
    assert (answer["BT-109"], answer["BT-110"], answer["BT-112"]) == ("5.01", "1.00", "6.01")


def test_the_description_tells_of_both(browse_as: BrowseAs, desk: Desk) -> None:
    description = browse_as(None).get("/api/description.json").json()
    assert set(description["paths"]) == {"/api/judge", "/api/invoices/preview"}
    sent = description["paths"]["/api/judge"]["post"]["requestBody"]["content"]["application/json"]["schema"]
    assert "readings" in sent["oneOf"][0]["properties"]


def judge_on_the_command_line(file: Path, command: str = "judge") -> subprocess.CompletedProcess[str]:
    words = [sys.executable, "-m", "app", command, str(file)]
    return subprocess.run(words, cwd=ROOT, capture_output=True, text=True, check=False)


def test_the_command_answers_like_the_address(browse_as: BrowseAs, desk: Desk, tmp_path: Path) -> None:
    file = tmp_path / "cases.json"
    cases = [{**KETTLE, "id": number} for number in range(101)]
    file.write_text(json.dumps(cases))
    done = judge_on_the_command_line(file)
    assert done.returncode == 0
    assert json.loads(done.stdout) == browse_as(None).send("POST", "/api/judge", json=cases).json()


def test_the_command_ends_with_2_on_bad_input(tmp_path: Path) -> None:
    for content in ("[", json.dumps([{**KETTLE, "item": {}}])):
        file = tmp_path / "cases.json"
        file.write_text(content)
        done = judge_on_the_command_line(file)
        assert done.returncode == 2
        assert all(each.keys() == {"path", "message"} for each in json.loads(done.stdout))
    missing = judge_on_the_command_line(tmp_path / "none.json")
    assert (missing.returncode, json.loads(missing.stdout)[0]["path"]) == (2, "/")
    file.write_text(json.dumps(INVOICE))
    assert json.loads(judge_on_the_command_line(file, "preview-invoice").stdout)[0]["BT-112"] == "6.01"
