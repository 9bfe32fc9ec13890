"""What a person decides about an interval, what is wrong with it, and the doubts that are said before it is kept.

No rule here decides: HSE's table, the answers about risk, the firm's own evidence and the trends propose, and a
person gives months and a reason.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from app.rules.failure_rates import FailureRate
from app.rules.items import MONTHS_MOST
from app.rules.risks import QUESTIONS, Level, RiskAnswers

REASON_MOST = 400
DUTY = (
    "No law in Great Britain sets an interval. Whoever has control of the equipment, the dutyholder, has to keep it "
    "safe and stays responsible for it, whatever interval is agreed here."
)


@dataclass(frozen=True)
class IntervalDecision:
    """months None gives the item back its usual interval. evidence is what the decision was seen to rest on, as
    sentences; answers are those about risk, where they were given.
    """

    months: int | None
    reason: str
    answers: RiskAnswers | None = None
    evidence: str = ""


def check_decision(decision: IntervalDecision) -> dict[str, str]:
    """What is wrong with a decision, by field name."""
    mistakes = {}
    if decision.months is not None and not 1 <= decision.months <= MONTHS_MOST:
        mistakes["months"] = f"Give a number of months from 1 to {MONTHS_MOST}."
    if not decision.reason.strip():
        mistakes["reason"] = "Say why; the history keeps it."
    elif len(decision.reason) > REASON_MOST:
        mistakes["reason"] = f"Use at most {REASON_MOST} characters; there are {len(decision.reason)}."
    return mistakes


def list_doubts(
    now: int | None, then: int | None, rate: FailureRate | None, warnings: Iterable[str] = ()
) -> tuple[str, ...]:
    """List what speaks against a longer interval than the one that holds; nothing where it is not longer.

    now and then are months, None where no test falls due at all; warnings name the trends that meet a limit before the
    next visit would come. A person may decide all the same.
    """
    if now is None or (then is not None and then <= now):
        return ()
    doubts = []
    if rate is None:
        doubts.append("Nothing like it has been tested here, so there is no evidence for a longer interval.")
    elif not rate.supports_longer:
        doubts.append(f"The evidence does not carry a longer interval: {rate.sentence}")
    doubts += [f"{warning}: that visit would come too late." for warning in warnings]
    return tuple(doubts)


def check_doubts(doubts: tuple[str, ...], seen: bool) -> dict[str, str]:
    """What is wrong until a person has said that the doubts are seen, by field name."""
    if not doubts or seen:
        return {}
    return {"all_the_same": "Tick this to decide it all the same, or choose a shorter interval."}


def parse_answers(values: dict[str, str]) -> RiskAnswers:
    """Parse answers by question; what is missing or unknown counts as usual."""
    known = {level.value: level for level in Level}
    return RiskAnswers(**{question: known.get(values.get(question, ""), Level.USUAL) for question in QUESTIONS})


def describe_months(months: int | None) -> str:
    """Say an interval: "every 12 months", "every month", or that nothing falls due."""
    if months is None:
        return "no test falls due"
    return "every month" if months == 1 else f"every {months} months"
