"""For the accountant: the VAT of a period by rate and kind with its papers, and the same records as a file."""

from datetime import date, timedelta

from fastapi import APIRouter, Request, Response

from app.actions.sales_records import export_sales_records
from app.rules.vat_records import total_vat_records
from app.store.firms import get_firm
from app.store.vat_records import list_vat_records
from app.web.fields import Form
from app.web.kit import Asked, Reading, TheDesk, page

routes = APIRouter()


@routes.get("/vat-summary")
def show_vat_summary(request: Request, session: Reading, desk: TheDesk, asked: Asked) -> Response:
    starts_on, ends_on = _period(asked, desk.today)
    records = list_vat_records(session, starts_on, ends_on)
    form = Form.showing(start=starts_on, end=ends_on)
    form.mistakes = asked.mistakes
    return page(
        request,
        "vat_records/show.html",
        status=422 if asked.mistakes else 200,
        form=form,
        records=records,
        sums=total_vat_records(records),
        net=sum(record.net for record in records),
        vat=sum(record.vat for record in records),
        starts_on=starts_on,
        ends_on=ends_on,
        registered=get_firm(session).vat_registered,
        quarters=_quarters(desk.today),
    )


@routes.get("/vat-summary.csv")
def download_sales_records(session: Reading, desk: TheDesk, asked: Asked) -> Response:
    starts_on, ends_on = _period(asked, desk.today)
    content = export_sales_records(session, starts_on, ends_on)
    name = f"Sales {starts_on.isoformat()} to {ends_on.isoformat()}.csv"
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return Response(content, media_type="text/csv; charset=utf-8", headers=headers)


def _quarters(today: date) -> list[tuple[date, date]]:
    """The four quarters of the calendar up to today's, newest first. A firm's own VAT quarters may be others."""
    start = date(today.year, (today.month - 1) // 3 * 3 + 1, 1)
    quarters = []
    for _ in range(4):
        end = date(start.year + (start.month == 10), (start.month + 2) % 12 + 1, 1) - timedelta(days=1)
        quarters.append((start, end))
        last = start - timedelta(days=1)
        start = date(last.year, last.month - 2, 1)
    return quarters


def _period(asked: Form, today: date) -> tuple[date, date]:
    first, last = _quarters(today)[0]
    starts_on, ends_on = asked.day("start") or first, asked.day("end") or last
    if starts_on > ends_on:
        asked.blame("start", "The first day lies after the last. This quarter is shown.")
        return first, last
    return starts_on, ends_on
