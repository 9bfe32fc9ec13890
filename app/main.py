"""Builds the app; the only file that knows every room."""

import logging
import threading
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from datetime import UTC, datetime
from functools import cache

from fastapi import Depends, FastAPI
from starlette.middleware.gzip import GZipMiddleware
from starlette.routing import BaseRoute
from starlette.staticfiles import StaticFiles

from app.actions.certificates import finish_pending_certificates
from app.actions.claims import finish_pending_claims
from app.actions.credit_notes import finish_pending_credit_notes
from app.actions.deeds import Desk
from app.actions.invoices import finish_pending_invoices
from app.actions.papers import finish_pending_papers
from app.actions.quotes import finish_pending_quotes
from app.actions.repeat_agreements import make_wanted_visits
from app.actions.searches import fill_search_index
from app.actions.signing_keys import make_signing_key
from app.postman import Postman
from app.settings import Settings
from app.store.database import Database
from app.web import (
    access_times,
    accounts,
    allowances,
    api,
    bank_statements,
    booking_rules,
    calendar_feeds,
    calibrations,
    certificates,
    claims,
    contacts,
    credit_notes,
    customers,
    defects,
    doubts,
    drawings,
    due_work,
    entry_files,
    equipment_types,
    evidence,
    exports,
    group_intervals,
    health,
    home,
    house_limits,
    instrument_ranges,
    instruments,
    intervals,
    invoice_lines,
    invoice_work,
    invoices,
    item_pages,
    item_readings,
    items,
    journal,
    label_sheets,
    labels,
    letters,
    locations,
    mail_servers,
    mails,
    on_tablets,
    one_off_checks,
    packs,
    paper_checks,
    paper_requests,
    paper_revisions,
    papers,
    passwords,
    payments,
    people,
    photos,
    pictures,
    planner,
    premises,
    prices,
    proposals,
    quotes,
    readings,
    recall_letters,
    recalls,
    reference_checks,
    remedies,
    reminders,
    repeat_agreements,
    revisions,
    rulebooks,
    saved_views,
    searches,
    set_up,
    settings,
    share,
    share_files,
    share_links,
    share_parts,
    share_words,
    sheets,
    sign_in,
    tablets,
    tasks,
    vat_records,
    visits,
    working_times,
)
from app.web.errors import add_error_pages
from app.web.filters import ROOT, new_environment
from app.web.guard import check_origin, check_person
from app.web.headers import Headers

log = logging.getLogger("ohmstead")

#: The modules of web, in the order in which their addresses are tried.
NOUNS = (
    health,
    set_up,
    sign_in,
    home,
    due_work,
    defects,
    exports,
    saved_views,
    searches,
    customers,
    contacts,
    premises,
    locations,
    access_times,
    items,
    item_pages,
    item_readings,
    intervals,
    labels,
    label_sheets,
    equipment_types,
    instruments,
    calibrations,
    instrument_ranges,
    reference_checks,
    doubts,
    rulebooks,
    house_limits,
    one_off_checks,
    evidence,
    group_intervals,
    letters,
    planner,
    calendar_feeds,
    repeat_agreements,
    booking_rules,
    working_times,
    proposals,
    pictures,
    recalls,
    recall_letters,
    visits,
    allowances,
    sheets,
    readings,
    remedies,
    photos,
    packs,
    on_tablets,
    entry_files,
    prices,
    quotes,
    certificates,
    drawings,
    revisions,
    paper_requests,
    paper_revisions,
    papers,
    invoice_lines,
    invoice_work,
    invoices,
    credit_notes,
    payments,
    bank_statements,
    accounts,
    claims,
    reminders,
    vat_records,
    share_links,
    share,
    share_files,
    share_parts,
    share_words,
    tasks,
    mails,
    mail_servers,
    paper_checks,
    passwords,
    people,
    settings,
    tablets,
    journal,
    api,
)


def _now() -> datetime:
    return datetime.now(UTC)


def new_desk(settings: Settings, clock: Callable[[], datetime] = _now) -> Desk:
    """The desk of one Ohmstead: its database, its folder of papers, its clock."""
    return Desk(
        Database(settings.database_url), settings.papers_folder, settings.public_address, settings.time_zone, clock,
        settings.mail_password,
    )  # fmt: skip


#: What draws the papers that a crash left pending, kind by kind.
FINISHERS = (
    finish_pending_invoices,
    finish_pending_quotes,
    finish_pending_credit_notes,
    finish_pending_claims,
    finish_pending_certificates,
    finish_pending_papers,
)


def _finish_pending(desk: Desk) -> None:
    """Draw what is pending, beside the first requests: a long schedule must not keep a start waiting."""
    for finish in FINISHERS:
        try:
            finish(desk)
        except Exception:  # the others are still to be drawn, and the app is to run
            log.exception("papers stay pending")


@cache
def _list_routes() -> tuple[BaseRoute, ...]:
    """Every address with its guards; worked out once, since that takes longer than everything else at a start."""
    whole = FastAPI(openapi_url=None, docs_url=None, dependencies=[Depends(check_person), Depends(check_origin)])
    for noun in NOUNS:
        whole.include_router(noun.routes)
    return tuple(whole.router.routes)


def create_app(settings: Settings, clock: Callable[[], datetime] = _now, set_up_code: str = "") -> FastAPI:
    """The app. The database must be at its newest tables. Papers that a crash left are finished when it serves."""
    desk = new_desk(settings, clock)
    make_signing_key(desk)
    fill_search_index(desk)
    make_wanted_visits(desk)
    postman = Postman(desk)

    @asynccontextmanager
    async def serving(app: FastAPI) -> AsyncIterator[None]:
        postman.start()
        threading.Thread(target=_finish_pending, args=(desk,), name="pending papers", daemon=True).start()
        try:
            yield
        finally:
            postman.end()

    app = FastAPI(
        lifespan=serving,
        title="Ohmstead",
        docs_url=None,
        redoc_url=None,
        openapi_url=None,
    )
    app.router.routes.extend(_list_routes())
    app.state.desk, app.state.set_up_code = desk, set_up_code
    app.state.postman = postman
    app.state.local_network = None  # set by serve --lan
    app.state.templates = new_environment(settings.time_zone)
    app.mount("/static", StaticFiles(directory=ROOT / "static"))
    add_error_pages(app)
    app.add_middleware(GZipMiddleware, minimum_size=1000)
    # Around everything, so that the page for an error of our own has the headers too.
    app.middleware_stack = Headers(app.build_middleware_stack())
    return app
