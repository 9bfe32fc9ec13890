"""Words of a search in one form. Unicode Standard Annex 15 (NFKD) and the Unicode case folding are Python's own."""

from hypothesis import given
from hypothesis import strategies as st

from app.rules.searches import WORDS_MOST, list_code_words, list_search_words, parse_search


def test_words_lose_case_accents_and_what_stands_between() -> None:
    assert list_search_words("Café MÜLLER, Straße", "o'Brien") == ("cafe", "muller", "strasse", "o", "brien")


def test_a_number_is_found_in_parts_in_one_piece_and_without_its_zeros() -> None:
    assert list_code_words("C-000025") == ("c", "000025", "c000025", "25")
    assert list_code_words("0071") == ("0071", "71")
    assert list_code_words("", "--") == ()


@given(st.text())
def test_what_is_looked_for_has_the_form_of_what_is_kept(text: str) -> None:
    words = parse_search(text)
    assert len(words) <= WORDS_MOST
    assert set(words) == {word[:40] for word in list_search_words(text[:400])[:WORDS_MOST]}
    assert all(word.isalnum() or word == "" for word in words)
