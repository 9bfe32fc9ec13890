"""The seven fields of a week in a form, each with a beginning and an end such as 8:30-17:00."""

from app.rules.working_times import DAYS, Span, Week, describe_span, parse_span
from app.web.fields import Form

WEEKDAYS = [(f"day-{number}", name) for number, name in enumerate(DAYS)]


def show_week(week: Week) -> dict[str, str]:
    """The values of the fields; a day without work is empty."""
    return {f"day-{day}": describe_span(span) if span else "" for day, span in enumerate(week)}


def new_week(form: Form) -> Week:
    """The week typed in the form; mistakes are noted in it."""
    week: list[Span | None] = []
    for name, _ in WEEKDAYS:
        try:
            week.append(parse_span(form.text(name)))
        except ValueError as problem:
            form.blame(name, str(problem))
            week.append(None)
    return tuple(week)
