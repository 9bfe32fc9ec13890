"""Money against published figures: official EN 16931 example invoices, HMRC's guidance, and derived boundary cases.

Each case of cases_invoices.json names its own source. What the arithmetic cannot express yet is listed by id below.
"""

import json
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from app.rules.credit_notes import limit_credit_note_day
from app.rules.data_requests import next_answer_day
from app.rules.invoice_previews import total_invoice_case
from app.rules.late_payments import number_rate_day, total_fixed_sum, total_interest
from app.rules.money import Adjustment, Line, Vat, VatCategory, total_half_up, total_invoice, total_line, total_vat
from app.rules.money import total_vat_within as vat_within
from app.rules.simplified_invoices import list_simplified_fields, may_simplify_invoice
from app.rules.vat_concessions import number_line_vat_down, number_line_vat_near, number_unit_vat_near, total_vat_down

CASES: dict[str, dict[str, Any]] = {
    case["id"]: case for case in json.loads(Path(__file__).with_name("cases_invoices.json").read_text("utf-8"))
}
TERMS = ("BT-106", "BT-107", "BT-108", "BT-109", "BT-110", "BT-112", "BT-113", "BT-114", "BT-115")


DOCUMENTS = [id_ for id_, case in CASES.items() if "vat_breakdown" in case["expected"]]
CONCESSIONS = ["UK-R1", "UK-R2", "UK-R4"]
ROUNDINGS = [id_ for id_ in CASES if id_.startswith("UK-R") and id_ not in CONCESSIONS]
WITHIN = ["UK-V3", "UK-V4", "UK-V6-15", "UK-V6-17.5"]
HOUSE = [id_ for id_ in CASES if id_.startswith("HV-")]
SUMS = ["EN-U1", "EN-U3", "EN-U4"]
INTEREST = ["UK-L2", "UK-L3"]
FIXED = ["UK-L3", "UK-L4b", "UK-L4c", "UK-L4e"]
RATE_DAYS = ["UK-L5a", "UK-L5c", "UK-L5d"]
ALONE = ["EN-R1", "UK-V1", "UK-P1", "UK-P2"]
SIMPLIFIED = ["UK-S1", "UK-S2"]
CREDITS = ["UK-C1", "UK-C2"]
REQUESTS = ["DP-1", "DP-2"]


def test_every_case_is_expressed_or_named() -> None:
    covered = {*DOCUMENTS, *CONCESSIONS, *ROUNDINGS, *WITHIN, *HOUSE, *SUMS, *INTEREST, *FIXED, *RATE_DAYS, *ALONE}
    covered |= {*SIMPLIFIED, *CREDITS, *REQUESTS}
    assert covered == set(CASES)


def standard(rate: str) -> Vat:
    return Vat(VatCategory.STANDARD, Decimal(rate))


def plain_line(net: str, vat: Vat) -> Line:
    """A line whose net is given: quantity 1 or -1, since a price is never negative."""
    amount = Decimal(net)
    return Line(Decimal(1 if amount >= 0 else -1), abs(amount), vat)


def as_sent(case: dict[str, Any]) -> dict[str, Any]:
    """The case as the machine interface takes it. Where the published net of a line is not its price times its
    quantity (slips of the examples, named in the case), the net goes in as the price of one."""
    given = case["inputs"]
    slips = "note" in case
    lines = []
    for line in given["lines"]:
        net = Decimal(line["net"])
        vat = {"category": line["cat"]} | ({} if line.get("rate") is None else {"rate": line["rate"]})
        priced = (
            {"quantity": "-1" if net < 0 else "1", "price": str(abs(net))}
            if slips
            else {"quantity": line["qty"], "price": line["price"], "base_quantity": line.get("base_qty", "1")}
        )
        parts = [] if slips else line.get("allow_charge", [])
        adjustments = [{"charge": part["charge"] == "true", "amount": part["amount"]} for part in parts]
        lines.append(priced | {"vat": vat, "adjustments": adjustments})
    return {
        "id": case["id"],
        "type": "credit-note" if given["document_type"] == "CreditNote" else "invoice",
        "currency": given["currency"],
        "lines": lines,
        "adjustments": [
            {
                "charge": part["charge"] == "true",
                "amount": part["amount"],
                "vat": {"category": part["cat"], "rate": part["rate"]},
            }
            for part in given["document_allowances_charges"]
        ],
        "paid": given["paid"],
        "rounding": given["rounding_amount"],
    }


@pytest.mark.parametrize("id_", DOCUMENTS)
def test_an_official_invoice_adds_up(id_: str) -> None:
    case = CASES[id_]
    answer = total_invoice_case(as_sent(case))
    expected = case["expected"]
    assert {term: Decimal(str(answer[term])) for term in TERMS if term in expected} == {
        term: Decimal(expected[term]) for term in TERMS if term in expected
    }
    groups = {
        (group["category"], group["rate"] and Decimal(group["rate"]), Decimal(group["taxable"]), Decimal(group["tax"]))
        for group in answer["vat"]  # type: ignore[attr-defined]
    }
    assert groups == {
        (group["cat"], group["rate"] and Decimal(group["rate"]), Decimal(group["taxable"]), Decimal(group["tax"]))
        for group in expected["vat_breakdown"]
    }


@pytest.mark.parametrize("id_", [id_ for id_ in DOCUMENTS if "note" not in CASES[id_]])
def test_an_official_line_has_the_published_net(id_: str) -> None:
    for line in CASES[id_]["inputs"]["lines"]:
        adjustments = tuple(
            Adjustment(part["charge"] == "true", Decimal(part["amount"])) for part in line.get("allow_charge", [])
        )
        base = Decimal(line.get("base_qty", "1"))
        ours = Line(Decimal(line["qty"]), Decimal(line["price"]), standard("20"), base, adjustments)
        assert total_line(ours) == Decimal(line["net"])


@pytest.mark.parametrize("id_", ROUNDINGS)
def test_vat_is_rounded_half_up(id_: str) -> None:
    given, expected = CASES[id_]["inputs"], CASES[id_]["expected"]
    assert total_vat(Decimal(given["net"]), Decimal(given["rate"])) == Decimal(expected["vat_half_up"])
    totals = total_invoice([plain_line(given["net"], standard(given["rate"]))])
    assert totals.gross == Decimal(given["net"]) + Decimal(expected["vat_half_up"])
    if "gross_half_up" in expected:
        assert totals.gross == Decimal(expected["gross_half_up"])


@pytest.mark.parametrize("id_", ROUNDINGS)
def test_the_concession_rounds_down(id_: str) -> None:
    # Notice 700, 17.5: an invoice trader may round the total VAT down. Our own papers do not.
    given, expected = CASES[id_]["inputs"], CASES[id_]["expected"]
    down = total_vat_down(Decimal(given["net"]), Decimal(given["rate"]))
    assert down == Decimal(expected.get("vat_round_down", expected.get("vat_concession_round_down")))
    assert total_vat_down(-Decimal(given["net"]), Decimal(given["rate"])) == -down


def test_the_concession_by_line_and_by_unit() -> None:
    # Notice 700, 17.5.1 (both ways) and 17.5.2.
    first, second, unit = (CASES[id_] for id_ in CONCESSIONS)
    assert number_line_vat_down(Decimal(first["inputs"]["line_vat_pence"])) == Decimal(
        first["expected"]["line_vat_pence"]
    )
    assert number_line_vat_near(Decimal(second["inputs"]["line_vat_pence"])) == Decimal(
        second["expected"]["line_vat_pence"]
    )
    assert number_unit_vat_near(Decimal(unit["inputs"]["unit_vat_gbp"])) == Decimal(unit["expected"]["unit_vat_gbp"])
    assert number_unit_vat_near(Decimal("0.0001")) == Decimal("0.005")  # never to nil
    assert number_unit_vat_near(Decimal(0)) == 0


@pytest.mark.parametrize("id_", WITHIN)
def test_vat_is_taken_out_of_a_price_that_includes_it(id_: str) -> None:
    given, expected = CASES[id_]["inputs"], CASES[id_]["expected"]
    vat = vat_within(Decimal(given["gross"]), Decimal(given["rate"]))
    assert vat == Decimal(expected["vat"])
    if "net" in expected:
        assert Decimal(given["gross"]) - vat == Decimal(expected["net"])


@pytest.mark.parametrize("id_", HOUSE)
def test_boundary_invoices(id_: str) -> None:
    given, expected = CASES[id_]["inputs"], CASES[id_]["expected"]
    vat = standard(given["rate"])
    lines = [Line(Decimal(line["qty"]), Decimal(line["price"]), vat) for line in given["lines"]]
    percent = Decimal(given["document_discount_percent"])
    discount = total_half_up(sum(map(total_line, lines)) * percent / 100)
    totals = total_invoice(lines, [Adjustment(False, discount, vat)] if percent else [])
    assert list(totals.line_nets) == [Decimal(net) for net in expected["line_nets"]]
    assert (totals.lines, totals.allowances, totals.net, totals.vat, totals.gross) == tuple(
        Decimal(expected[term]) for term in ("BT-106", "BT-107", "BT-109", "BT-110", "BT-112")
    )


@pytest.mark.parametrize("id_", SUMS)
def test_gross_is_net_and_vat(id_: str) -> None:
    # BR-CO-15: lines made so that they have the case's net and VAT.
    given = {term: Decimal(amount) for term, amount in CASES[id_]["inputs"].items()}
    taxed = given["BT-110"] * 4
    totals = total_invoice(
        [
            plain_line(str(taxed), standard("25")),
            plain_line(str(given["BT-109"] - taxed), Vat(VatCategory.ZERO, Decimal(0))),
        ]
    )
    assert (totals.net, totals.vat, totals.gross) == (given["BT-109"], given["BT-110"], given["BT-112"])


def test_sums_are_exact_where_binary_floats_are_not() -> None:
    case = CASES["EN-R1"]
    totals = total_invoice([plain_line(net, standard("20")) for net in case["inputs"]["line_net_amounts"]])
    assert str(totals.lines) == case["expected"]["BT-106"]


def test_the_standard_rate_is_added() -> None:
    case = CASES["UK-V1"]
    totals = total_invoice([plain_line(case["inputs"]["net"], standard(case["inputs"]["rate"]))])
    assert (totals.vat, totals.gross) == (Decimal(case["expected"]["vat"]), Decimal(case["expected"]["gross"]))


@pytest.mark.parametrize("id_", ["UK-P1", "UK-P2"])
def test_vat_follows_a_prompt_payment_discount_only_when_it_is_taken(id_: str) -> None:
    given, expected = CASES[id_]["inputs"], CASES[id_]["expected"]
    vat, net = standard(given["rate"]), Decimal(given["net"])
    discount = Adjustment(False, net * Decimal(given["discount_percent"]) / 100, vat)
    totals = total_invoice([Line(Decimal(1), net, vat)], [discount] if given["taken"] else [])
    assert (totals.vat, totals.gross) == (Decimal(expected["vat"]), Decimal(expected["total"]))


@pytest.mark.parametrize("id_", INTEREST)
def test_late_payment_interest(id_: str) -> None:
    given, expected = CASES[id_]["inputs"], CASES[id_]["expected"]
    interest = total_interest(Decimal(given["debt"]), Decimal(given["base_rate"]), given["days"])
    assert interest == Decimal(expected["interest"])
    if "total_due" in expected:
        fixed = total_fixed_sum(Decimal(given["debt"]))
        assert Decimal(given["debt"]) + interest + fixed == Decimal(expected["total_due"])


@pytest.mark.parametrize("id_", FIXED)
def test_late_payment_fixed_sum(id_: str) -> None:
    assert total_fixed_sum(Decimal(CASES[id_]["inputs"]["debt"])) == Decimal(CASES[id_]["expected"]["fixed_sum"])


@pytest.mark.parametrize("id_", RATE_DAYS)
def test_the_base_rate_that_holds(id_: str) -> None:
    case = CASES[id_]
    starts = date.fromisoformat(case["inputs"]["interest_starts_to_run"])
    assert number_rate_day(starts) == date.fromisoformat(case["expected"]["use_base_rate_in_force_on"])


@pytest.mark.parametrize("id_", SIMPLIFIED)
def test_a_simplified_invoice_is_allowed_up_to_a_sum(id_: str) -> None:
    given, expected = CASES[id_]["inputs"], CASES[id_]["expected"]
    assert may_simplify_invoice(Decimal(given["consideration_incl_vat"])) == expected["simplified_allowed"]
    if "required_fields" in expected:
        assert list(list_simplified_fields()) == expected["required_fields"]
    assert not may_simplify_invoice(Decimal(1), exempt=True)  # HMRC's manual, from memory


@pytest.mark.parametrize("id_", CREDITS)
def test_a_credit_note_is_in_time_for_14_days(id_: str) -> None:
    given, expected = CASES[id_]["inputs"], CASES[id_]["expected"]
    last = limit_credit_note_day(date.fromisoformat(given["decrease_agreed_on"]))
    assert (date.fromisoformat(given["credit_note_issued_on"]) <= last) == expected["within_14_days"]


@pytest.mark.parametrize("id_", REQUESTS)
def test_the_day_by_which_somebody_is_told_what_is_kept(id_: str) -> None:
    case = CASES[id_]
    due = date.fromisoformat(case["expected"]["due"])
    assert next_answer_day(date.fromisoformat(case["inputs"]["received"])) == due
    assert next_answer_day(date.fromisoformat(case["inputs"]["received"]), {due}) > due, "a public holiday moves it"
