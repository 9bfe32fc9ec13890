"""Reading statement files as banks write them: encodings, preambles, formats, and the same line a second time.

The order of encodings (mark, strict UTF-8, Windows-1252) is common practice; the layouts below are invented.
"""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.rules.bank_statements import (
    AmountFormat,
    DateFormat,
    Mapping,
    check_mapping,
    parse_statement,
    parse_statement_file,
    suggest_mapping,
)

PLAIN = 'Date,Description,Amount\n04/03/2026,SALTGATE BREWERY INV-000001,"1,234.50"\n05/03/2026,RENT,-500.00\n'
POLISHED = "Café Bräu £ – €"


def read(text: str | bytes, **changes: object) -> object:
    file = parse_statement_file(text if isinstance(text, bytes) else text.encode())
    mapping = suggest_mapping(file)
    return parse_statement(file, Mapping(**(vars(mapping) | changes)))


def test_a_plain_file_is_read_as_it_stands() -> None:
    told = read(PLAIN)
    [line] = told.lines  # type: ignore[attr-defined]
    assert (line.day, line.pence, line.text, line.row) == (
        date(2026, 3, 4), 123450, "SALTGATE BREWERY INV-000001", 2
    )  # fmt: skip
    assert (told.others, told.problems) == (1, ())  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("codec", "mark", "said"),
    [
        ("utf-8", b"", "UTF-8"),
        ("utf-8", b"\xef\xbb\xbf", "UTF-8"),
        ("cp1252", b"", "Windows-1252"),
        ("utf-16-le", b"\xff\xfe", "UTF-16"),
        ("utf-16-be", b"\xfe\xff", "UTF-16"),
    ],
)
def test_letters_come_out_whichever_way_they_were_written(codec: str, mark: bytes, said: str) -> None:
    text = f"Date,Description,Amount\n04/03/2026,{POLISHED},1.00\n"
    file = parse_statement_file(mark + text.encode(codec))
    assert file.encoding == said
    assert file.rows[1][1] == POLISHED


@pytest.mark.parametrize(
    "content",
    [b"", b"   \n", b"\x89PNG\r\n\x1a\n\x00\x00", b"\x81\x8d\x8f", b"one,two\n1,2\n", b"a,b,c\n", b"\xff\xfea"],
)
def test_what_is_no_statement_is_said_so(content: bytes) -> None:
    with pytest.raises(ValueError, match=r"."):
        parse_statement_file(content)


def test_a_preamble_other_marks_and_columns_in_and_out() -> None:
    text = (
        "Account;Tarn and Alder\nFrom;1/3/2026;to;31/3/2026\n\n"
        "Booked on;Details;Paid out;Paid in;Payer name;Reference\n"
        "2026-03-04;Transfer;;1.234,50;LOW MILL CARE HOME;INV 1\n"
        "2026-03-05;Card;12,00;;;\n"
    )
    file = parse_statement_file(text.encode())
    assert file.delimiter == ";"
    mapping = suggest_mapping(file)
    assert (mapping.day, mapping.text, mapping.paid_in, mapping.payer, mapping.reference) == (0, 1, 3, 4, 5)
    assert (mapping.amount, mapping.date_format, mapping.amount_format) == (
        None, DateFormat.YEAR_FIRST, AmountFormat.COMMA
    )  # fmt: skip
    told = parse_statement(file, mapping)
    assert [(line.pence, line.payer, line.reference) for line in told.lines] == [
        (123450, "LOW MILL CARE HOME", "INV 1")
    ]
    assert told.others == 1


@pytest.mark.parametrize(
    ("text", "form", "day"),
    [
        ("04/03/2026", DateFormat.DAY_FIRST, date(2026, 3, 4)),
        ("4.3.26", DateFormat.DAY_FIRST, date(2026, 3, 4)),
        ("03/04/2026", DateFormat.MONTH_FIRST, date(2026, 3, 4)),
        ("2026-03-04T09:30:00", DateFormat.YEAR_FIRST, date(2026, 3, 4)),
        ("20260304", DateFormat.YEAR_FIRST, date(2026, 3, 4)),
        ("04 Mar 2026", DateFormat.WORDS, date(2026, 3, 4)),
        ("4-March-26", DateFormat.WORDS, date(2026, 3, 4)),
        ("31/02/2026", DateFormat.DAY_FIRST, None),
        ("04/13/2026", DateFormat.DAY_FIRST, None),
        ("04/03/1926", DateFormat.DAY_FIRST, None),
        ("soon", DateFormat.WORDS, None),
    ],
)
def test_days_as_banks_write_them(text: str, form: DateFormat, day: date | None) -> None:
    told = read(f"Date,Description,Amount\n{text},X,1.00\n", date_format=form)
    assert [line.day for line in told.lines] == ([day] if day else [])  # type: ignore[attr-defined]
    assert bool(told.problems) == (day is None)  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("text", "form", "pence"),
    [
        ("1,234.50", "point", 123450), ("1234.5", "point", 123450), ("£12", "point", 1200), ("+12.00", "point", 1200),
        ("12.00 CR", "point", 1200), ("1.234,50", "comma", 123450), ("12,5", "comma", 1250),
        ("-12.00", "point", None), ("−12.00", "point", None), ("(12.00)", "point", None), ("12.00DR", "point", None),
        ("12.00-", "point", None), ("0.00", "point", None),
        ("1,23.50", "point", "bad"), ("12.345", "point", "bad"), ("1.234,50", "point", "bad"),
        ("twelve", "point", "bad"),
        ("1,234.50", "comma", "bad"), ("", "point", "bad"), ("1e3", "point", "bad"), ("9" * 12, "point", "bad"),
    ],
)  # fmt: skip
def test_amounts_as_banks_write_them(text: str, form: str, pence: object) -> None:
    told = read(f'Date,Description,Amount\n04/03/2026,X,"{text}"\n', amount_format=AmountFormat(form))
    found = [line.pence for line in told.lines]  # type: ignore[attr-defined]
    assert found == ([pence] if isinstance(pence, int) else [])
    assert bool(told.problems) == (pence == "bad")  # type: ignore[attr-defined]


def test_the_same_line_has_the_same_mark_and_twins_have_two() -> None:
    line = "04/03/2026,SALTGATE,12.00\n"
    once = read("Date,Description,Amount\n" + line)
    twice = read("Date,Description,Amount\n" + line + "06/03/2026,OTHER,1.00\n" + line.replace("SALTGATE", "Saltgate"))
    marks = [each.mark for each in twice.lines]  # type: ignore[attr-defined]
    assert len(set(marks)) == 3
    assert once.lines[0].mark == marks[0]  # type: ignore[attr-defined]


def test_a_choice_of_columns_that_does_not_do() -> None:
    assert set(check_mapping(Mapping(), 3)) == {"day", "text", "amount"}
    assert set(check_mapping(Mapping(day=0, text=1, amount=2, paid_in=2), 3)) == {"amount"}
    assert set(check_mapping(Mapping(day=0, text=1, amount=7), 3)) == {"amount"}
    assert check_mapping(Mapping(day=0, text=1, paid_in=2), 3) == {}


@given(st.binary(max_size=400))
def test_no_file_breaks_the_reader(content: bytes) -> None:
    try:
        file = parse_statement_file(content)
    except ValueError:
        return
    mapping = suggest_mapping(file)
    if not check_mapping(mapping, len(file.columns)):
        assert all(line.pence > 0 for line in parse_statement(file, mapping).lines)
