"""Proposals for a bank line: the best first, with reasons. The points are ours; only their order is checked."""

from datetime import date

import pytest

from app.rules.payment_matches import list_proposals
from app.rules.payments import OpenInvoice

BREWERY = OpenInvoice(1, "INV-000012", 7, "Saltgate Brewery Ltd", 12000, date(2026, 3, 1))
BREWERY_2 = OpenInvoice(2, "INV-000031", 7, "Saltgate Brewery Ltd", 6000, date(2026, 4, 1))
SCHOOL = OpenInvoice(3, "INV-000123", 8, "Brackenhow Primary School", 12000, date(2026, 2, 1), "PO 1188")
ALL = [SCHOOL, BREWERY_2, BREWERY]


def best(text: str, pence: int) -> tuple[list[int], str]:
    proposals = list_proposals(text, pence, ALL)
    scores = [each.score for each in proposals]
    assert scores == sorted(scores, reverse=True) and all(0 < score <= 100 for score in scores)
    if not proposals:
        return [], ""
    return [each.id for each in proposals[0].invoices], "; ".join(proposals[0].why)


@pytest.mark.parametrize("text", ["INV-000012", "inv 12", "INV12 SALTGATE", "Payment INV/0012", "inv no 12"])
def test_a_number_in_the_text_wins_however_it_is_written(text: str) -> None:
    ids, why = best(text, 5000)
    assert ids == [1]
    assert "names INV-000012" in why and "a part of" in why


@pytest.mark.parametrize("text", ["INV-0000121", "XINV-12", "12", "INV-112"])
def test_a_piece_of_another_number_is_no_number(text: str) -> None:
    assert all("names" not in " ".join(each.why) for each in list_proposals(text, 4321, ALL))


def test_the_same_amount_is_told_apart_by_name() -> None:
    assert best("FPS SALTGATE BREWERY", 12000)[0] == [1]
    assert best("BRACKENHOW SCHOOL", 12000)[0] == [3]


def test_their_own_reference_counts() -> None:
    ids, why = best("po1188", 999)
    assert ids == [3]
    assert "their reference PO 1188" in why


def test_several_invoices_in_one_payment() -> None:
    ids, why = best("Saltgate Brewery", 18000)
    assert ids == [1, 2]
    assert "together" in why
    ids, why = best("INV-12 and INV-31", 18000)
    assert ids == [1, 2] and "names all 2" in why


def test_nothing_like_it_is_no_proposal() -> None:
    assert list_proposals("RENT", 1, ALL) == ()
    assert list_proposals("anything", 100, []) == ()
