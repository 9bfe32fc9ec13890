"""What a person decides about an interval, what is wrong with it, and the doubts that are said before it is kept.

No rule here decides: HSE's table, the answers about risk, the firm's own evidence and the trends propose, and a
person gives months and a reason.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from app.rules.failure_rates import FailureRate
from app.rules.intervals import ROWS, FallsDue, IntervalAdvice, describe_span
from app.rules.items import MONTHS_MOST
from app.rules.people import Role
from app.rules.risks import QUESTIONS, Level, RiskAnswers, next_step
from app.rules.verdicts import Mistakes

REASON_MOST = 400
#: The span in years that evidence is looked at over where nobody chooses another.
YEARS_USUAL = 3
ONLY_OFFICE = (
    "The owner or the office makes an interval longer, or gives back a longer usual one. Anybody who works items may "
    "make it shorter, with a reason."
)
DUTY = (
    "No law in Great Britain sets an interval. Whoever has control of the equipment, the dutyholder, has to keep it "
    "safe and stays responsible for it, whatever interval is agreed here."
)


@dataclass(frozen=True)
class IntervalDecision:
    """months None gives the item back its usual interval. evidence is what the decision was seen to rest on, as
    sentences, gathered where it is empty over so many years; answers are those about risk, where they were given;
    all_the_same says that what speaks against it was seen.
    """

    months: int | None
    reason: str
    answers: RiskAnswers | None = None
    evidence: str = ""
    years: int = YEARS_USUAL
    all_the_same: bool = False


class Doubted(Mistakes):
    """Something speaks against a decision, and nobody has said to have seen it, or something else is wrong as well."""

    def __init__(self, doubts: tuple[str, ...], mistakes: dict[str, str] | None = None, seen: bool = False) -> None:
        super().__init__((mistakes or {}) | check_doubts(doubts, seen))
        self.doubts = doubts


def judge_longer(now: int | None, then: int | None) -> bool:
    """Whether an interval grows; None is that nothing falls due at all, which is the longest."""
    return now is not None and (then is None or then > now)


def may_lengthen(role: Role) -> str | None:
    """Say why somebody of this role cannot make an interval longer, or nothing when they can."""
    return "Ask the owner or the office for a longer one, or choose a shorter." if role is Role.TECHNICIAN else None


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
    now: int | None,
    then: int | None,
    rate: FailureRate | None,
    warnings: Iterable[str] = (),
    *,
    advice: IntervalAdvice | None = None,
    whole: FailureRate | None = None,
) -> tuple[str, ...]:
    """List what speaks against a longer interval than the one that holds; nothing where it is not longer.

    now and then are months, None where no test falls due at all; rate is the evidence over the span that was chosen and
    whole that over all records; warnings name the trends that meet a limit before the next visit would come. A person
    may decide all the same.
    """
    if not judge_longer(now, then):
        return ()
    doubts = list(list_table_doubts(now, then, advice))
    if rate is None:
        doubts.append("Nothing like it was tested here in that time, so there is no evidence for a longer interval.")
    elif not rate.supports_longer:
        doubts.append(f"The evidence does not carry a longer interval: {rate.sentence}")
    if rate is not None and whole is not None and _says_less(rate, whole):
        doubts.append(f"Over all records the evidence says less for it than over the time chosen: {whole.sentence}")
    doubts += [f"{warning}: that visit would come too late." for warning in warnings]
    return tuple(doubts)


def list_table_doubts(now: int | None, then: int | None, advice: IntervalAdvice | None) -> tuple[str, ...]:
    """List what HSE's row and the step itself say against a longer interval, whatever the evidence."""
    if now is None or not judge_longer(now, then):
        return ()
    doubts = []
    if then is not None and advice is not None and advice.longest_months and then > advice.longest_months:
        row = ROWS[advice.key]
        has = row.visual if advice.falls_due is FallsDue.VISUAL else row.test
        ends = describe_span(advice.longest_months)
        doubts.append(f"HSE's row ends at {ends} ({row.title}: {advice.falls_due} {has}).")
    step = max(2 * now, next_step(now))
    if then is None or then > step:
        doubts.append(
            f"It is more than one step: {describe_span(step)} is the most after {describe_span(now)}. Go there first, "
            "and see what the tests say."
        )
    return tuple(doubts)


def _says_less(chosen: FailureRate, whole: FailureRate) -> bool:
    """Whether the evidence of a chosen time speaks less against a longer interval than that of all records."""
    return whole.against > chosen.against


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
