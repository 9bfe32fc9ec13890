"""Where an invoice stands, by what is paid and by the day. Common practice, no source."""

from datetime import date

import pytest

from app.rules.invoice_states import judge_invoice

DUE = date(2026, 4, 3)


@pytest.mark.parametrize(
    ("kept", "gross", "paid", "today", "word"),
    [
        ("draft", 9000, 0, date(2026, 3, 4), "draft"),
        ("draft", 9000, 0, date(2026, 9, 1), "draft"),
        ("issued", 9000, 0, date(2026, 3, 4), "issued"),
        ("issued", 9000, 0, DUE, "issued"),  # the due day itself is in time
        ("issued", 9000, 0, date(2026, 4, 4), "overdue"),
        ("issued", 9000, 1, date(2026, 4, 3), "part paid"),
        ("issued", 9000, 8999, date(2026, 4, 4), "overdue"),
        ("issued", 9000, 9000, date(2026, 4, 4), "paid"),
        ("issued", 0, 0, date(2026, 4, 4), "paid"),
        ("issued", 9000, 0, date(2026, 4, 3), "issued"),
        ("pending", 9000, 0, date(2026, 3, 4), "issued"),
    ],
)
def test_where_an_invoice_stands(kept: str, gross: int, paid: int, today: date, word: str) -> None:
    assert judge_invoice(kept, gross, paid, DUE, today) == word


@pytest.mark.parametrize(
    ("paid", "credited", "word"),
    [(0, 9000, "credited"), (0, 8999, "overdue"), (5000, 4000, "paid"), (4000, 4000, "overdue"), (0, 0, "overdue")],
)
def test_credit_notes_count_like_payments_and_the_whole_of_one_is_credited(paid: int, credited: int, word: str) -> None:
    assert judge_invoice("issued", 9000, paid, DUE, date(2026, 5, 1), credited) == word
