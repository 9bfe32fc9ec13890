"""Credit notes, claims, statements and reminders as paper: what they must say, long and hostile texts, the same bytes.

A credit note's contents: VAT Regulations 1995 (SI 1995/2518), regulation 15, and 15C from memory.
"""

import json

import pytest

from app.documents.pdf import to_pdf
from app.rules.reminders import ReminderText
from tests.documents.reading_back import pages_of, text_of
from tests.documents.sample_money_papers import claim_data, credit_note_data, reminder_data, statement_data

CREDIT = text_of(to_pdf("credit_note", credit_note_data()))


@pytest.mark.parametrize(
    "words",
    [
        "Credit note", "CN-000007", "Date 14 March 2026", "Corrects invoice INV-000045 of 5 March 2026, in part.",
        "Invoice date 5 March 2026", "VAT number GB 999 9999 73", "Reason Counted twice",
        "Brackenhow Primary School Fell Road Millbeck ZZ1 4PS", "2 Mill Lane, Millbeck, ZZ1 2AB",
        "Total without VAT £7.90", "VAT £1.58", "Total credited £9.48", "20% £7.90 £1.58",
        "registered in England and Wales, number 00000000", "Page 1 of 1",
    ],
)  # fmt: skip
def test_what_a_credit_note_must_hold(words: str) -> None:
    # Two items at 1.45 and 5.00 off the call-out: 7.90, and 20 % of it.
    assert words in CREDIT


def test_a_firm_without_vat_credits_without_mentioning_it() -> None:
    said = text_of(to_pdf("credit_note", credit_note_data(registered=False)))
    assert "Total credited £7.90" in said and "VAT" not in said and "20%" not in said


def test_a_claim_shows_its_working() -> None:
    said = text_of(to_pdf("claim", claim_data()))
    # 11.75 %: 83.46 for 10 days and 43.46 for 50 days: 0.2686... + 0.6995... = 0.97; under 1,000 the fixed sum is 40.
    for words in ("£83.46 × 11.75 % × 10 ÷ 365", "£43.46 × 11.75 % × 50 ÷ 365", "Interest £0.97", "Fixed sum £40.00",
                  "Total claimed £40.97", "31 December 2025", "Reference LP-000002"):  # fmt: skip
        assert words in said, words


def test_a_long_statement_repeats_its_head_and_closes_once() -> None:
    pages = pages_of(to_pdf("statement", statement_data(60)))
    assert len(pages) > 2
    assert all("Balance" in page for page in pages[:2]), "the head of the table stands on every page"
    assert sum("Balance to pay" in page for page in pages) == 1
    assert f"Page {len(pages)} of {len(pages)}" in pages[-1]


def test_a_letter_keeps_its_lines_and_runs_nothing() -> None:
    hostile = ReminderText(
        "About {total}", "Dear {contact},\n\n<script>alert(1)</script> {{ 7 * 7 }}\nNext line\n\nBye"
    )
    said = text_of(to_pdf("reminder", reminder_data(hostile)))
    assert "<script>alert(1)</script> {{ 7 * 7 }}" in said and "49" not in said


@pytest.mark.parametrize(
    ("paper", "data"),
    [
        ("credit_note", credit_note_data(reason="Ein sehr langer Grund " * 14 + "Ωmega Ελλάδα")),
        ("claim", claim_data()),
        ("statement", statement_data()),
        ("reminder", reminder_data()),
    ],
)
def test_the_same_data_gives_the_same_bytes_and_can_be_kept(paper: str, data: dict[str, object]) -> None:
    kept = json.loads(json.dumps(data))
    assert kept == data
    assert to_pdf(paper, data) == to_pdf(paper, kept)
