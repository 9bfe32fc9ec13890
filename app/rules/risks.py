"""What a person knows about an item and its place that makes its interval shorter or longer than the table's.

Ohmstead's own ladder (no source): each answer counts one step towards shorter or longer, two steps of sum move the
interval by one rung. The points method of UK training pages stands beside it as a second view.
"""

from dataclasses import dataclass, replace
from enum import StrEnum

from app.rules.intervals import IntervalAdvice, describe_span

LADDER_MONTHS = (1, 3, 6, 12, 24, 36, 48, 60)


class Level(StrEnum):
    """An answer: milder than usual, usual, or harsher than usual."""

    MILD = "mild"
    USUAL = "usual"
    HARSH = "harsh"

    @property
    def step(self) -> int:
        return {"mild": -1, "usual": 0, "harsh": 1}[self.value]


QUESTIONS = {
    "environment": "Damp, dust, heat, chemicals or knocks where it is used?",
    "users": "Do its users look after it and report damage?",
    "handling": "Is it carried about, is its cord flexed or trapped?",
    "age": "How old and worn is it?",
    "failures": "Has it, or have others like it here, failed before?",
}

#: What each answer says, by question: milder than usual, usual, harsher.
WORDS = {
    "environment": ("Dry, clean and quiet", "As usual for such a place", "Damp, dusty, hot or rough"),
    "users": ("Careful, and they report damage", "As usual", "Careless, or damage goes unreported"),
    "handling": ("Hardly ever moved", "As usual", "Carried about, or its cord is flexed or trapped"),
    "age": ("New, or as good as new", "Some years old and sound", "Old or worn"),
    "failures": ("None in several tests", "None known, or few tests", "It failed, or others like it did"),
}


#: What is said where HSE's row has no months that answers could move, by its key.
WITHOUT_MONTHS = {
    "hire": (
        "HSE's row has an inspection and test before each issue, whatever the answers: no number of months stands "
        "in for it. A person may set one beside it, with a reason."
    ),
    "": (
        "The table suggests neither a test nor a formal visual inspection; a person may still set an interval, with a "
        "reason."
    ),
}


@dataclass(frozen=True)
class RiskAnswers:
    """One answer for each question of QUESTIONS."""

    environment: Level = Level.USUAL
    users: Level = Level.USUAL
    handling: Level = Level.USUAL
    age: Level = Level.USUAL
    failures: Level = Level.USUAL

    @property
    def total(self) -> int:
        return sum(level.step for level in (self.environment, self.users, self.handling, self.age, self.failures))


@dataclass(frozen=True)
class RiskAdvice:
    """The interval in months after the answers, and how it came about."""

    months: int | None
    sentence: str


@dataclass(frozen=True)
class RiskStep:
    """What one answer does: the sum of the answers up to it, and the months that this sum comes to."""

    question: str
    level: Level
    total: int
    months: int | None

    @property
    def word(self) -> str:
        """The answer under its subject: "Users: as usual"."""
        answer = WORDS[self.question][self.level.step + 1]
        return f"{self.question.capitalize()}: {answer[0].lower()}{answer[1:]}"


def suggest_by_risk(advice: IntervalAdvice, answers: RiskAnswers) -> RiskAdvice:
    """Move what falls due first (the combined test or the formal visual inspection) by the answers: every two steps of
    their sum are one rung of the ladder. Never longer than the range of the table; where nothing falls due by months,
    a person alone sets some.
    """
    begin, longest = advice.due_months, advice.longest_months
    if begin is None or longest is None:
        return RiskAdvice(None, WITHOUT_MONTHS.get(advice.key, WITHOUT_MONTHS[""]))
    total = answers.total
    added = f"The answers add up to {f'{total:+d}'.replace('-', '−') if total else '0'}"
    rungs = int(total / 2)
    if rungs == 0:
        return RiskAdvice(begin, f"{added}: the interval stays {describe_span(begin)}.")
    months = LADDER_MONTHS[min(max(_place(begin) - rungs, 0), len(LADDER_MONTHS) - 1)]
    if rungs < 0:
        months = max(min(months, longest), begin)
    if months == begin:
        end = "the longest that the table has" if rungs < 0 else "the shortest step that there is"
        text = f"{added}, but {describe_span(begin)} is already {end}."
    else:
        direction = "shorter" if months < begin else "longer"
        text = f"{added}: {describe_span(months)}, {direction} than the table's {begin}."
    return RiskAdvice(months, f"{text} A person decides, with a reason.")


def next_step(months: int) -> int:
    """The next longer interval of the ladder; the longest one for those beyond it."""
    return next((rung for rung in LADDER_MONTHS if rung > months), max(months, LADDER_MONTHS[-1]))


def list_risk_steps(advice: IntervalAdvice, answers: RiskAnswers) -> tuple[RiskStep, ...]:
    """List what the answers do to a suggested interval, one after the other; the last step is suggest_by_risk."""
    steps: list[RiskStep] = []
    so_far = RiskAnswers()
    for question in QUESTIONS:
        level: Level = getattr(answers, question)
        so_far = replace(so_far, **{question: level})
        steps.append(RiskStep(question, level, so_far.total, suggest_by_risk(advice, so_far).months))
    return tuple(steps)


def _place(months: int) -> int:
    """The rung that holds this interval: the longest one that is not longer."""
    return max(place for place, rung in enumerate(LADDER_MONTHS) if rung <= max(months, LADDER_MONTHS[0]))


@dataclass(frozen=True)
class RiskPoints:
    points: int
    group: str


def total_risk_points(*, wet: bool, flexed: bool, heats_or_has_motor: bool) -> RiskPoints:
    """Count risk points as UK training pages do: 2 for water or a wet or corrosive place, 2 for a flexed or harshly
    treated cord, 1 for a heating element or mains motor. From 2 points group A (high), 1 B (medium), 0 C (low).
    """
    points = 2 * wet + 2 * flexed + heats_or_has_motor
    return RiskPoints(points, "A high" if points >= 2 else "B medium" if points == 1 else "C low")
