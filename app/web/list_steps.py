"""The addresses of the pages before and after one page of a long list, which name the row where it begins or ends."""

from dataclasses import dataclass
from urllib.parse import urlencode

from app.actions.saved_views import tidy_query
from app.store.paging import Page, Place
from app.web.fields import Form


@dataclass(frozen=True)
class Steps:
    """Empty where there is no such page."""

    before: str
    after: str


def show_place(asked: Form) -> Place:
    """Where the page that is asked for begins; what cannot be read begins the list."""
    asked = Form(dict(asked.values))
    before = asked.whole("before", 1, 10**9 - 1)
    return Place(None if before else asked.whole("after", 1, 10**9 - 1), before)


def show_steps(path: str, asked: Form, page: Page, first: int, size: int) -> Steps:
    """Where the pages on either side of one are; first is the number of its first row, which is only shown."""
    kept = tidy_query(urlencode(asked.values))

    def step(name: str, row_id: int, number: int) -> str:
        return f"{path}?{kept}{'&' if kept else ''}{name}={row_id}&from={max(number, 1)}"

    if not page.rows:
        return Steps("", "")
    return Steps(
        step("before", page.rows[0].id, first - size) if page.earlier else "",
        step("after", page.rows[-1].id, first + len(page.rows)) if page.further else "",
    )
