"""The facts of a customer's story: three years of visits, failures and defects, and what falls due."""

from datetime import date

from sqlalchemy.orm import Session

from app.rules.month_pictures import list_years
from app.rules.stories import StoryFacts, StoryYear
from app.store.pictures import (
    count_due_by_day,
    count_failures,
    count_visits_between,
    list_causes,
    list_defect_spans,
    list_failures_by_kind,
)
from app.store.registers import RegisterCounts, count_registers_of_customers


def facts_of_story(session: Session, customer_id: int, today: date) -> StoryFacts:
    """Everything that the story of one customer tells."""
    years = []
    for starts_on, ends_on in list_years(today):
        failed, tested = count_failures(session, starts_on, ends_on, customer_id)
        visits = count_visits_between(session, customer_id, starts_on, ends_on)
        years.append(StoryYear(starts_on, ends_on, visits, tested, failed))
    whole = (years[0].starts_on, years[-1].ends_on)
    counts = count_registers_of_customers(session, [customer_id], today).get(customer_id, RegisterCounts())
    return StoryFacts(
        years=tuple(years),
        causes=list_causes(session, *whole, customer_id),
        kinds=list_failures_by_kind(session, *whole, customer_id),
        failed=count_failures(session, *whole, customer_id)[0],
        defects=list_defect_spans(session, customer_id),
        due=count_due_by_day(session, customer_id),
        items=counts.items,
        out_of_use=counts.out_of_use,
    )
