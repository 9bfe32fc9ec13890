"""Reminder texts: plain placeholders, filled once; nothing in them is ever run. Our own texts, no source."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.rules.reminders import (
    FIRST_TEXTS,
    PLACEHOLDERS,
    ReminderText,
    Tone,
    check_reminder_text,
    describe_reminder,
    suggest_tone,
)


@pytest.mark.parametrize("tone", Tone)
def test_the_first_texts_are_sound_and_say_what_is_owed(tone: Tone) -> None:
    text = FIRST_TEXTS[tone]
    assert check_reminder_text(text) == {}
    assert "{invoices}" in text.body and "{how to pay}" in text.body


@pytest.mark.parametrize(
    ("text", "field"),
    [
        (ReminderText("", "x"), "subject"),
        (ReminderText("x", " "), "body"),
        (ReminderText("{invoices}", "x"), "subject"),
        (ReminderText("x", "{{ 7 * 7 }} {password}"), "body"),
        (ReminderText("x", "y" * 4001), "body"),
    ],
)
def test_a_text_that_does_not_do(text: ReminderText, field: str) -> None:
    assert set(check_reminder_text(text)) == {field}


@given(st.dictionaries(st.sampled_from(sorted(PLACEHOLDERS)), st.text(max_size=40)))
def test_what_is_put_in_is_never_looked_at_again(values: dict[str, str]) -> None:
    hostile = {name: f"{{total}}{value}{{{{ 7 * 7 }}}}" for name, value in values.items()} | {"total": "£5"}
    body = "-".join(f"{{{name}}}" for name in hostile)
    filled = describe_reminder(ReminderText("About {total}", body), hostile)
    assert filled.subject == "About £5"
    assert "49" not in filled.body or any("49" in value for value in values.values())
    for name, value in hostile.items():
        if name != "total" and "\n\n\n" not in value:
            assert value.strip() in filled.body or value != value.strip()


def test_letters_grow_firmer() -> None:
    assert [suggest_tone(sent) for sent in (0, 1, 2, 9)] == [Tone.FRIENDLY, Tone.FIRM, Tone.FINAL, Tone.FINAL]
