"""Evidence for intervals: the firm's own failures by customer, equipment type and environment."""

from datetime import timedelta

from fastapi import APIRouter, Request, Response

from app.rules.failure_rates import check_two_percent, judge_failure_rate
from app.store.customers import list_customers
from app.store.evidence import list_failure_counts
from app.web.kit import Asked, Reading, TheDesk, page

routes = APIRouter()
YEARS = (1, 2, 3, 5, 10)
VIEWS = {"exact": "Exact 95 % bounds", "two-percent": "German 2 % rule"}


@routes.get("/evidence")
def list_evidence(request: Request, session: Reading, desk: TheDesk, asked: Asked) -> Response:
    """Proposals only: a person decides about an interval, on the item, with a reason."""
    years = asked.whole("years", 1, 10) or 3
    view = asked.value("view") if asked.value("view") in VIEWS else "exact"
    customer_id = asked.whole("customer", 1, 2**31 - 1)
    counts = list_failure_counts(session, desk.today - timedelta(days=round(365.25 * years)), customer_id)
    judge = check_two_percent if view == "two-percent" else judge_failure_rate
    return page(
        request,
        "evidence/list.html",
        rows=[(count, judge(count.failed, count.tested)) for count in counts],
        tested=sum(count.tested for count in counts),
        failed=sum(count.failed for count in counts),
        years=years,
        view=view,
        customer_id=customer_id,
        customers=[(row.id, row.name) for row in list_customers(session)],
        spans=[(each, f"{each} year{'s' if each > 1 else ''}") for each in YEARS],
        views=list(VIEWS.items()),
    )
