"""How numbers, dates and money are written, and how text is made ready for the renderer."""

from datetime import date
from decimal import Decimal

import pytest

from app.documents.typesetting import (
    count_from,
    money_from,
    number_from,
    set_text_from,
    short_day_from,
    span_from,
)


@pytest.mark.parametrize(
    ("pounds", "text"),
    [
        ("0", "£0.00"), ("1234.5", "£1,234.50"), ("-12", "−£12.00"), ("0.275", "£0.275"), ("1.10", "£1.10"),
        ("1000000", "£1,000,000.00"), ("1E+2", "£100.00"),
    ],
)  # fmt: skip
def test_money(pounds: str, text: str) -> None:
    assert money_from(Decimal(pounds)) == text


@pytest.mark.parametrize(
    ("number", "text"), [("2.50", "2.5"), ("20.0", "20"), ("-3", "−3"), ("1200", "1,200"), ("100", "100")]
)
def test_numbers(number: str, text: str) -> None:
    assert number_from(Decimal(number)) == text


@pytest.mark.parametrize(
    ("first", "last", "text"),
    [
        ("2026-03-04", "2026-03-04", "4 March 2026"),
        ("2026-03-04", "2026-03-05", "4 to 5 March 2026"),
        ("2026-03-31", "2026-04-01", "31 March to 1 April 2026"),
        ("2025-12-31", "2026-01-02", "31 December 2025 to 2 January 2026"),
    ],
)
def test_spans_of_days(first: str, last: str, text: str) -> None:
    assert span_from(date.fromisoformat(first), date.fromisoformat(last)) == text


def test_small_things() -> None:
    assert short_day_from(date(2026, 9, 1)) == "1 Sep 2026"
    assert short_day_from(None) == ""
    assert count_from(1, "item", "items") == "1 item"
    assert count_from(1200, "item", "items") == "1,200 items"


@pytest.mark.parametrize(
    "text",
    ["0.21 Ω", "> 20 MΩ", "≤ 0.139 Ω", "1.5 m × 0.0260 Ω/m", "0.75 mm²", "2,050 VA", "4 Mar 2026", "ZZ1 2AB",
     "5 mW/cm²"],
)  # fmt: skip
def test_numbers_are_tied_to_what_follows(text: str) -> None:
    tied = set_text_from(text)
    assert tied.replace("\u00a0", " ") == text
    assert "\u00a0" in tied
    for number_then_gap in ("0.21 ", "20 ", "0.139 ", "1.5 ", "0.75 ", "2,050 ", "4 ", "ZZ1 ", "5 "):
        assert not tied.startswith(number_then_gap)


def test_ordinary_words_are_left_alone() -> None:
    text = "Room 4 at 12 Mill Lane, 3 kettles, Type A 5"
    assert set_text_from(text) == text


def test_unseen_characters_go_and_lines_stay() -> None:
    assert set_text_from("a\x00b\u202ec\r\nd\u2066e") == "abc\nde"


def test_long_runs_may_break_and_long_texts_end() -> None:
    run = set_text_from("x" * 150)
    assert [len(part) for part in run.split("\u200b")] == [30] * 5
    assert set_text_from("y" * 60) == "y" * 60
    assert set_text_from("word " * 1000).endswith("…")
    assert len(set_text_from("word " * 1000)) == 2000
