"""What a tablet keeps: the page that shows it, who is signed in, which visits to prepare, and the service worker."""

import json
from datetime import timedelta

from fastapi import APIRouter, Request, Response
from fastapi.responses import JSONResponse

from app.rules.visits import VisitState
from app.store.overviews import list_open_visits
from app.web.filters import ROOT, hash_of_build, show_asset
from app.web.kit import Reading, TheDesk, ThePerson, page

routes = APIRouter()
#: How far ahead visits are prepared: until the next day on which somebody works.
AHEAD = timedelta(days=7)


@routes.get("/on-this-tablet")
def show_on_tablet(request: Request) -> Response:
    """Entries that wait on this tablet, and the visits prepared on it; the tablet itself fills the page."""
    return page(request, "on_tablets/show.html")


@routes.get("/on-this-tablet/person")
def show_person(request: Request, person: ThePerson) -> Response:
    """Who is signed in, with the form token that the tablet's writes need."""
    told = {"id": person.id, "name": person.name, "csrf": request.state.csrf, "build": hash_of_build()}
    return JSONResponse(told)


@routes.get("/on-this-tablet/prepare")
def list_to_prepare(desk: TheDesk, person: ThePerson, session: Reading) -> Response:
    """One's own visits of today and of the next day that has any."""
    open_ones = [row for row in list_open_visits(session, desk.today + AHEAD) if row.technician_id == person.id]
    coming = sorted({row.booked_on for row in open_ones if row.booked_on > desk.today})
    until = coming[0] if coming else desk.today
    wanted = [row for row in open_ones if row.booked_on <= until and row.state != VisitState.FINISHED]
    return JSONResponse([{"visit": row.id, "title": row.premises.name} for row in wanted])


@routes.get("/sheet-worker.js")
def download_worker() -> Response:
    """The service worker, told the build and the files that the sheet is made of."""
    static = ROOT / "static"
    found = sorted(path.relative_to(static).as_posix() for path in static.rglob("*") if path.is_file())
    files = [show_asset(path) for path in found if not path.startswith(("js/tablet/", "fonts/"))]
    modules = [f"/static/{path}" for path in found if path.startswith(("js/tablet/", "fonts/"))]
    told = json.dumps({"build": hash_of_build(), "files": files + modules})
    text = f'self.ohmstead = {told};\nimportScripts("{show_asset("js/sheet-worker.js")}");\n'
    return Response(text, media_type="text/javascript", headers={"Cache-Control": "no-cache"})
