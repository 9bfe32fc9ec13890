"""Evidence for intervals: the firm's own failures by customer, equipment type and environment."""

from urllib.parse import urlencode

from fastapi import APIRouter, Request, Response

from app.rules.equipment import Environment
from app.rules.interval_decisions import DUTY, YEARS_USUAL
from app.store.customers import list_customers
from app.store.equipment_types import list_equipment_types
from app.store.evidence import list_evidence_groups
from app.store.saved_views import list_saved_views
from app.web.interval_evidence import COUNTING, VIEWS, YEARS
from app.web.kit import Asked, Reading, TheDesk, ThePerson, page

routes = APIRouter()
PAGE = 40


@routes.get("/evidence")
def list_evidence(request: Request, session: Reading, desk: TheDesk, person: ThePerson, asked: Asked) -> Response:
    """Proposals only: a person decides about an interval, with a reason."""
    years = asked.whole("years", 1, 10) or YEARS_USUAL
    view = asked.value("view") if asked.value("view") in VIEWS else "exact"
    customer_id, type_id = asked.whole("customer", 1, 2**31 - 1), asked.whole("type", 1, 2**31 - 1)
    environment = next((each for each in Environment if each == asked.value("environment")), None)
    rows = list_evidence_groups(
        session, desk.today, years, customer_id, type_id, environment or "", two_percent=view == "two-percent"
    )
    start = asked.whole("from", 1, 10**6) or 1
    kept = {"customer": customer_id, "type": type_id, "environment": environment, "years": years, "view": view}
    return page(
        request,
        "evidence/list.html",
        rows=rows[start - 1 : start - 1 + PAGE],
        first=start,
        size=PAGE,
        total=len(rows),
        kept=urlencode({name: value for name, value in kept.items() if value}),
        tests=sum(row.count.tests for row in rows),
        items=sum(row.count.items for row in rows),
        failed=sum(row.count.failed_tests for row in rows),
        years=years,
        view=view,
        customer_id=customer_id,
        type_id=type_id,
        environment=environment or "",
        customers=[(row.id, row.name) for row in list_customers(session)],
        types=[(row.id, row.name) for row in list_equipment_types(session)],
        environments=[(each.value, each.word) for each in Environment],
        spans=[(each, f"{each} year{'s' if each > 1 else ''}") for each in YEARS],
        views=list(VIEWS.items()),
        saved=list_saved_views(session, person.id, "/evidence"),
        query=urlencode({"years": years}),
        counting=COUNTING,
        duty=DUTY,
    )
