"""The answers that rules give: the verdict on an item, the outcome of one check, and the two ways to say no.

A failing reading is a verdict, an ordinary value. A forbidden deed is Refused, an exception that undoes the
request and shows its own sentence. Bad input is Mistakes: a message for each field, nothing written.
"""

from enum import StrEnum


class Verdict(StrEnum):
    """What is said of a whole item."""

    PASS = "pass"
    FAIL = "fail"
    INCOMPLETE = "incomplete"
    DECISION = "decision"

    @property
    def word(self) -> str:
        return {"decision": "needs a decision"}.get(self.value, self.value)


class Outcome(StrEnum):
    """What is said of one check."""

    PASS = "pass"
    CONDITIONAL_PASS = "conditional-pass"
    CONDITIONAL_FAIL = "conditional-fail"
    FAIL = "fail"
    INCONCLUSIVE = "inconclusive"
    NOT_DONE = "not-done"

    @property
    def word(self) -> str:
        return self.value.replace("-", " ")


GOOD = (Outcome.PASS, Outcome.CONDITIONAL_PASS)
FAILED = (Outcome.FAIL, Outcome.CONDITIONAL_FAIL)
#: Outcomes that a person still has to decide.
OPEN = (Outcome.INCONCLUSIVE, Outcome.CONDITIONAL_FAIL)


class Refused(Exception):
    """A deed that the rules forbid. The sentence is for the person who tried it."""

    def __init__(self, sentence: str) -> None:
        super().__init__(sentence)
        self.sentence = sentence


class Mistakes(Exception):
    """Input that cannot be used: for each field name, what is wrong with it in plain words."""

    def __init__(self, messages: dict[str, str]) -> None:
        super().__init__("; ".join(f"{name}: {message}" for name, message in messages.items()))
        self.messages = messages
