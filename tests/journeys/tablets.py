"""What journeys of the offline sheet share: a large visit under way, a tablet signed in, and what the office has."""

from dataclasses import dataclass

from playwright.sync_api import Page, expect

from app.actions import items, visits
from app.actions.deeds import Desk
from app.rules.items import ItemDetails
from app.store.journal import list_journal
from app.store.readings import list_visit_items
from tests.cast import DRILL, KETTLE, PASSWORD, World
from tests.standing import make_world_now

EARTH, INSULATION = "#f-protective-conductor-resistance", "#f-insulation-resistance"


@dataclass
class Office:
    """The office's own records, read past the app."""

    desk: Desk
    world: World

    def recorded(self) -> dict[str, int]:
        """How often each item of the visit was recorded, by its number."""
        with self.desk.reading_only() as session:
            numbers = {row.item_id: row.item.number for row in list_visit_items(session, self.world.visit_id)}
            found = dict.fromkeys(numbers.values(), 0)
            for line in list_journal(session, limit=100_000):
                if line.subject == "item" and line.sentence.startswith(("Recorded", "Corrected", "Saved")):
                    found[numbers[line.subject_id]] += 1
        return found

    def values(self) -> dict[str, str]:
        """What is recorded as insulation resistance, by item number."""
        with self.desk.reading_only() as session:
            return {
                row.item.number: next((str(each.value) for each in row.readings if each.unit == "Mohm"), "")
                for row in list_visit_items(session, self.world.visit_id)
            }

    def left(self) -> dict[str, str]:
        """Why items were not tested, by their numbers."""
        with self.desk.reading_only() as session:
            rows = list_visit_items(session, self.world.visit_id)
            return {row.item.number: row.not_tested for row in rows if row.not_tested}


def make_office(desk: Desk, count: int) -> Office:
    """The small firm with so many items on the visit, which is under way."""
    world = make_world_now(desk)
    with desk.doing(world.technician) as deed:
        for number in range(4, count + 1):
            facts = KETTLE if number % 2 else DRILL
            details = ItemDetails("", "Kettle" if number % 2 else "Drill", world.location_id, facts=facts)
            world.item_ids.append(items.add_item(deed, details).id)
        visits.start_visit(deed, world.visit_id)
    return Office(desk, world)


def sign_in(page: Page, name: str = "joss") -> None:
    page.goto("/sign-in")
    page.get_by_label("E-mail address").fill(f"{name}@tarn-alder.example")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/")


def open_pack(page: Page, world: World) -> None:
    """Open the sheet and wait until the tablet has everything of the visit."""
    page.goto(f"/visits/{world.visit_id}/sheet")
    expect(page.locator("html[data-tablet=ready]")).to_have_count(1, timeout=90_000)


def enter(page: Page, value: str) -> None:
    """Test the item that is open and pass on to the next one."""
    heading = page.get_by_role("heading", level=1)
    page.locator("#item-form").wait_for()  # else what is read is the heading of the list before it
    before = heading.inner_text()
    page.get_by_role("radio", name="All points satisfactory").check()
    if page.locator(EARTH).is_visible():
        page.locator(EARTH).fill("0.09")
    if page.get_by_role("radio", name="Right throughout").is_visible():
        page.get_by_role("radio", name="Right throughout").check()
    page.locator(INSULATION).fill(value)
    if page.get_by_role("radio", name="Works as it should").is_visible():
        page.get_by_role("radio", name="Works as it should").check()
    page.get_by_role("button", name="Save and next").click()
    expect(heading).not_to_have_text(before)


def waiting(page: Page) -> int:
    """How many entries are on the tablet and not at the office yet."""
    return int(
        page.evaluate(
            """() => new Promise((done, failed) => {
                const asked = indexedDB.open("ohmstead");
                asked.onerror = () => failed(asked.error);
                asked.onsuccess = () => {
                    const all = asked.result.transaction("entries").objectStore("entries").getAll();
                    all.onsuccess = () => done(all.result.filter((each) => each.state !== "saved").length);
                };
            })"""
        )
    )


def send_all(page: Page, left: int = 0) -> None:
    """The network is back: wait until nothing waits, or only what is refused or hangs on that."""
    page.evaluate("window.dispatchEvent(new Event('online'))")
    for _ in range(600):
        if waiting(page) == left:
            return
        page.wait_for_timeout(200)
    raise AssertionError(f"{waiting(page)} entries were not sent")
