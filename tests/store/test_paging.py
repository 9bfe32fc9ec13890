"""Pages found from the row where one ended, on both databases: walked both ways they are the whole list, in order."""

from datetime import time, timedelta
from random import Random

from app.actions import customers, visits
from app.actions.deeds import Desk
from app.rules.customers import CustomerDetails
from app.rules.visits import Booking
from app.store.journal import list_journal, list_journal_page
from app.store.paging import Page, Place
from app.store.registers import count_customers, list_customer_page, list_customers_by_words
from app.store.visits import count_matching_visits, get_visit, list_visit_page, list_visits
from tests.cast import World


def make_visits(desk: Desk, world: World) -> None:
    """Many on few days, some at a time, so that every part of the order decides somewhere."""
    random = Random(3)
    with desk.doing(world.owner) as deed:
        for _ in range(60):
            premises_id = random.choice((world.premises_id, world.other_premises_id))
            day = desk.today + timedelta(days=random.randrange(4))
            visit = visits.book_visit(deed, Booking(premises_id, world.technician.id, world.instrument_id, day))
            if random.random() < 0.6:
                get_visit(deed.session, visit.id).booked_time = time(random.randrange(8, 11), random.choice((0, 30)))


def test_a_list_is_walked_both_ways(desk: Desk, world: World) -> None:
    make_visits(desk, world)
    with desk.reading_only() as session:
        whole = [(row.booked_on, str(row.booked_time or ""), row.id) for row in list_visits(session)]
        assert whole == sorted(whole, key=lambda each: (-each[0].toordinal(), each[1], -each[2]))

        def walk(place: Place) -> Page:
            return list_visit_page(session, place, 7)

        forth, found = [], walk(Place())
        assert not found.earlier
        while True:
            forth.append([row.id for row in found.rows])
            if not found.further:
                break
            found = walk(Place(after=found.rows[-1].id))
            assert found.earlier
        assert [row_id for page in forth for row_id in page] == [row_id for _, _, row_id in whole]
        assert len(whole) == count_matching_visits(session) == 62
        back = [[row.id for row in found.rows]]
        while found.earlier:
            found = walk(Place(before=found.rows[0].id))
            back.append([row.id for row in found.rows])
        assert back[::-1] == forth


def test_what_is_searched_for_is_paged_alone_and_a_lost_place_begins_anew(desk: Desk, world: World) -> None:
    make_visits(desk, world)
    with desk.reading_only() as session:
        wanted = [row.id for row in list_visits(session, search="saltgate")]
        first = list_visit_page(session, Place(), 10, search="saltgate")
        second = list_visit_page(session, Place(after=first.rows[-1].id), 10, search="saltgate")
        assert [row.id for row in (*first.rows, *second.rows)] == wanted[:20]
        assert count_matching_visits(session, search="saltgate") == len(wanted)
        lost = list_visit_page(session, Place(after=999_999), 10, search="saltgate")
        assert [row.id for row in lost.rows] == wanted[:10] and not lost.earlier
        lines = [line.id for line in list_journal(session, limit=30)]
        page = list_journal_page(session, Place(after=lines[9]), 10)
        assert [line.id for line in page.rows] == lines[10:20]
        assert [line.id for line in list_journal_page(session, Place(before=lines[10]), 10).rows] == lines[:10]


def test_customers_are_paged_by_name_whatever_its_letters(desk: Desk, world: World) -> None:
    with desk.doing(world.office) as deed:
        for place in range(9):
            customers.add_customer(deed, CustomerDetails(("alder works", "Alder Works", "Zinc Bros")[place % 3]))
    with desk.reading_only() as session:
        whole = [row.id for row in list_customers_by_words(session, "")]
        first = list_customer_page(session, Place(), 4)
        second = list_customer_page(session, Place(after=first.rows[-1].id), 4)
        third = list_customer_page(session, Place(after=second.rows[-1].id), 4)
        assert [row.id for row in (*first.rows, *second.rows, *third.rows)] == whole
        assert not third.further and count_customers(session) == len(whole) == 11
        assert count_customers(session, "zinc") == 3
