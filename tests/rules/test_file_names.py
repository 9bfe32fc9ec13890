"""File names under which papers are kept: plain ASCII without the signs that Windows forbids (< > : " / \\ | ? *)."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as some

from app.rules.file_names import suggest_file_name

DAY = date(2026, 3, 4)


@pytest.mark.parametrize(
    ("whom", "name"),
    [
        ("Saltgate Brewery", "Certificate C-000123 Saltgate Brewery 2026-03-04.pdf"),
        ("Café Müller & Söhne", "Certificate C-000123 Cafe Muller Sohne 2026-03-04.pdf"),
        ('../../etc "passwd"\r\nX: y', "Certificate C-000123 etc passwd X y 2026-03-04.pdf"),
        ("北京", "Certificate C-000123 2026-03-04.pdf"),
    ],
)
def test_a_name_says_what_it_is(whom: str, name: str) -> None:
    assert suggest_file_name("certificate", "C-000123", whom, DAY) == name


@given(some.text(max_size=300), some.text(max_size=30))
def test_a_name_is_safe_whatever_the_customer_is_called(whom: str, number: str) -> None:
    name = suggest_file_name("invoice", number, whom, DAY)
    assert name.isascii()
    assert name.isprintable()
    assert len(name) < 120
    assert not set('<>:"/\\|?*') & set(name)
    assert name.endswith(" 2026-03-04.pdf")
