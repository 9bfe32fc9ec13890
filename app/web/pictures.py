"""Pictures: the whole firm on one page, and a customer's three years, on a page and as a paper."""

from datetime import date, timedelta

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from app.actions.stories import draw_story
from app.rules.equipment import Environment, Kind
from app.rules.failure_causes import count_causes
from app.rules.failure_pictures import describe_causes, describe_failures_picture, list_shares, number_share
from app.rules.file_names import suggest_file_name
from app.rules.interval_decisions import YEARS_USUAL
from app.rules.month_pictures import (
    MONTHS,
    describe_ageing_picture,
    describe_due_picture,
    describe_money_picture,
    describe_workload_picture,
    list_months,
)
from app.rules.pictures import Picture
from app.rules.statements import Age
from app.rules.stories import describe_story
from app.store.accounts import list_aged_accounts
from app.store.customers import get_customer
from app.store.evidence import FailureCount, list_failure_counts
from app.store.paces import facts_of_paces
from app.store.pictures import (
    count_due_by_day,
    count_failures,
    count_invoiced_by_day,
    count_received_by_day,
    list_causes,
    list_due_work_by_day,
    list_failures_by_kind,
    list_tested_work_by_day,
)
from app.store.stories import facts_of_story
from app.web.interval_evidence import COUNTING, YEARS
from app.web.kit import Asked, Reading, TheDesk, ThePerson, page, pdf

routes = APIRouter()


@routes.get("/pictures")
def show_pictures(request: Request, session: Reading, desk: TheDesk, person: ThePerson, asked: Asked) -> Response:
    years = asked.whole("years", 1, 10) or YEARS_USUAL
    since = desk.today - timedelta(days=round(365.25 * years))
    return page(
        request,
        "pictures/show.html",
        failures=_failure_pictures(session, since, desk.today),
        work=_work_pictures(session, desk.today),
        money=_money_pictures(session, desk.today) if person.sees_money else [],
        years=years,
        spans=[(each, f"{each} year{'s' if each > 1 else ''}") for each in YEARS],
        counting=COUNTING,
    )


@routes.get("/customers/{customer_id}/story")
def show_story(request: Request, session: Reading, desk: TheDesk, customer_id: int) -> Response:
    customer = get_customer(session, customer_id)
    story = describe_story(facts_of_story(session, customer_id, desk.today), desk.today)
    return page(request, "pictures/story.html", customer=customer, story=story, counting=COUNTING)


@routes.get("/customers/{customer_id}/story.pdf")
def download_story(session: Reading, desk: TheDesk, customer_id: int) -> Response:
    name = suggest_file_name("three years", "", get_customer(session, customer_id).name, desk.today)
    return pdf(draw_story(desk, customer_id), name)


def _failure_pictures(session: Session, since: date, today: date) -> list[Picture]:
    counts = list_failure_counts(session, since)
    kinds = [(Kind(kind).word, failed, tested) for kind, failed, tested in list_failures_by_kind(session, since, today)]
    failed, _ = count_failures(session, since, today)
    causes = [number_share(name, count, failed) for name, count in count_causes(list_causes(session, since, today))]
    environments = {each.value: each.word for each in Environment}
    return [
        describe_failures_picture("Failures by kind of equipment", "Kind", list_shares(kinds)),
        describe_failures_picture(
            "What made items fail",
            "Cause",
            causes,
            describe_causes(causes, failed),
            "An item may have failed for several causes.",
        ),
        describe_failures_picture("Failures by customer", "Customer", list_shares(_added(counts, "customer"))),
        describe_failures_picture(
            "Failures by environment",
            "Environment",
            list_shares((environments[name], *rest) for name, *rest in _added(counts, "environment")),  # type: ignore[misc]
        ),
        describe_failures_picture(
            "Failures by equipment type", "Equipment type", list_shares(_added(counts, "equipment_type"))
        ),
    ]


def _added(counts: list[FailureCount], name: str) -> list[tuple[str, int, int]]:
    """Failed items and items of groups added up by one of their names; an item stands in one group only."""
    found: dict[str, tuple[int, int]] = {}
    for count in counts:
        failed, items = found.get(getattr(count, name), (0, 0))
        found[getattr(count, name)] = failed + count.failed_items, items + count.items
    return [(each, failed, items) for each, (failed, items) in found.items()]


def _work_pictures(session: Session, today: date) -> list[Picture]:
    due, tested = list_due_work_by_day(session), list_tested_work_by_day(session, list_months(today, -MONTHS)[0])
    return [
        describe_due_picture(count_due_by_day(session), today),
        describe_workload_picture(tested, due, facts_of_paces(session), today),
    ]


def _money_pictures(session: Session, today: date) -> list[Picture]:
    since = list_months(today, -(MONTHS - 1))[0]
    accounts = [account for account in list_aged_accounts(session, today) if account.ageing.owed_pence]
    by_age = {age: sum(account.ageing.by_age[age] for account in accounts) for age in Age}
    return [
        describe_money_picture(count_invoiced_by_day(session, since), count_received_by_day(session, since), today),
        describe_ageing_picture(by_age, len(accounts)),
    ]
