"""Every address of the app has a line in app/web/access.py, and every line there is an address."""

from pathlib import Path
from typing import Any

from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from app.settings import Settings


def walk(routes: list[Any], prefix: str = "") -> set[tuple[str, str]]:
    """Every (method, address) below these routes. The folder of static files is open to everybody."""
    found: set[tuple[str, str]] = set()
    for route in routes:
        router = getattr(route, "original_router", None)  # FastAPI keeps an included router whole
        inner = getattr(router or route, "routes", None)
        if isinstance(route, Route):
            found |= {(method, prefix + route.path) for method in route.methods or () if method != "HEAD"}
        elif inner:
            found |= walk(inner, prefix + (route.include_context.prefix if router else getattr(route, "path", "")))
        elif not (isinstance(route, Mount) and isinstance(route.app, StaticFiles) and route.path == "/static"):
            raise AssertionError(f"{route!r}: an address of a kind that this test does not know")
    return found


def test_every_address_says_who_may_open_it(sqlite_url: str, tmp_path: Path) -> None:
    from app.main import create_app
    from app.web.access import ACCESS

    addresses = walk(create_app(Settings(data_folder=tmp_path, database=sqlite_url)).routes)
    assert len(addresses) > 20, "the app has hardly any address: it is not read rightly"
    assert addresses - set(ACCESS) == set(), "without a line in app/web/access.py"
    assert set(ACCESS) - addresses == set(), "a line in app/web/access.py for an address that is not there"
