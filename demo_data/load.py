"""Makes the invented firm: three years of work done through the same actions that people use, then today's visit.

The seed is fixed and every date counts from today, so a demo made on the same day is always the same, apart from
passwords and tokens, which are random.
"""

import secrets
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from pathlib import Path
from random import Random
from typing import Any

from app.actions import (
    customers,
    equipment_types,
    firms,
    instruments,
    items,
    people,
    premises,
    prices,
    readings,
    visits,
)
from app.actions.certificates import issue_certificate
from app.actions.deeds import Deed
from app.actions.drafts import draft_invoice_of_visits
from app.actions.invoices import change_draft, draft_invoice, issue_invoice
from app.actions.labels import add_label_sheet
from app.actions.payments import record_payment
from app.actions.quotes import book_from_quote
from app.actions.share_links import make_share_link
from app.rules.customers import ContactDetails, CustomerDetails, PremisesDetails
from app.rules.equipment import Environment, Kind
from app.rules.firms import FirmDetails, LegalForm
from app.rules.instruments import InstrumentDetails
from app.rules.items import EquipmentTypeDetails, ItemDetails, ItemState
from app.rules.label_sheets import Dots, Feed, LabelSheetDetails
from app.rules.people import Person, PersonDetails, Role
from app.rules.price_details import MorePrices
from app.rules.rulebooks import rulebook_named
from app.rules.visits import Booking, NotTested
from app.settings import Settings
from app.store.database import Database
from app.store.invoices import get_invoice
from app.store.items import list_items
from app.store.overviews import list_uninvoiced_visits
from app.store.readings import count_progress, list_visit_items
from demo_data.account import describe_demo
from demo_data.booking import propose_in_demo
from demo_data.contact import correct_in_demo, hear_in_demo, write_in_demo
from demo_data.files import WORDS, DemoType, read_toml, read_types
from demo_data.instruments import calibrate, check_instruments, decide_on_old_doubt
from demo_data.intervals import Drifts, decide_in_demo, drift_entries, list_demo_decisions
from demo_data.money import settle_demo
from demo_data.on_site import work_on_the_spot
from demo_data.pace import after_next_item
from demo_data.papers import paper_demo
from demo_data.planning import plan_in_demo
from demo_data.progress import Progress
from demo_data.quotes import EXTRAS, quote_demo
from demo_data.readings import invent_entries
from demo_data.recalls import recall_in_demo
from demo_data.side_work import DemoDesk, SideWork

SEED = 20120704
YEARS = 3
DRAWN_BESIDE = 4  # papers that may still be drawn while the next visit is worked


@dataclass(frozen=True)
class Place:
    """Premises of the demo, with what the file says of them."""

    id: int
    customer: str
    told: dict[str, Any]

    @property
    def today(self) -> str:
        return str(self.told.get("today", ""))


class Demo:
    """The demo while it is being made: a desk whose clock is set to the day that is being told."""

    def __init__(self, settings: Settings, database: Database) -> None:
        self.now = datetime.now(UTC)
        self.settings = settings
        self.desk = DemoDesk(
            database, settings.papers_folder, settings.public_address, settings.time_zone, lambda: self.now
        )
        self.drawings = SideWork(self.desk)
        self.today = self.desk.today
        self.luck = Random(SEED)
        self.pace = Random(SEED)  # of its own, so that how long things take changes nothing else
        self.drifts = Drifts()
        self.customer_ids: dict[str, int] = {}
        self.types = read_types()
        self.type_ids: dict[str, int] = {}
        self.staff: dict[str, Person] = {}
        self.instruments: list[int] = []
        self.instrument_ids: dict[str, int] = {}
        self.password = "-".join(secrets.choice(WORDS) for _ in range(4))

    def go_to(self, day: date, hour: int, minute: int = 0) -> None:
        self.now = datetime.combine(day, time(hour, minute), self.settings.time_zone).astimezone(UTC)

    @property
    def owner(self) -> Person:
        return next(person for person in self.staff.values() if person.role == Role.OWNER)

    @property
    def office(self) -> Person:
        return next(person for person in self.staff.values() if person.role == Role.OFFICE)

    @property
    def technicians(self) -> list[Person]:
        return [person for person in self.staff.values() if person.role == Role.TECHNICIAN]


def load_demo(settings: Settings, database: Database) -> str:
    """Make the demo in an empty database and give a short account of it."""
    demo = Demo(settings, database)
    say = Progress()
    _set_up(demo)
    say("Setting up the firm", 1, 1)
    places = _add_customers(demo)
    past = sorted(_past_visits(demo, places), key=lambda each: each[0])
    for number, (day, place) in enumerate(past, 1):
        _work_past_visit(demo, day, place)
        demo.drawings.catch_up(most=DRAWN_BESIDE)
        say("Three years of visits", number, len(past))
    demo.drawings.catch_up()
    decide_on_old_doubt(demo)
    _decide_intervals(demo, past_days=True)
    settle_demo(demo)
    quote_id = quote_demo(demo, places[2].id, places[-1].id)
    paper_demo(demo, places[0].id)
    recall_in_demo(demo)
    hear_in_demo(demo)
    correct_in_demo(demo)
    text = _work_today(demo, places, quote_id, say)
    database.close()
    return text


def _set_up(demo: Demo) -> None:
    told = read_toml("firm.toml")
    demo.go_to(demo.today - timedelta(days=365 * YEARS + 60), 9)
    firm = FirmDetails(**told["firm"] | {"legal_form": LegalForm(told["firm"]["legal_form"])})
    first, *others = (PersonDetails(**each | {"role": Role(each["role"])}) for each in told["people"])
    logo = Path(__file__).with_name("logo.png").read_bytes()
    with demo.desk.doing(None) as deed:
        demo.staff[first.name] = firms.set_up_firm(deed, firm, first, demo.password, logo)
    with demo.desk.doing(demo.owner) as deed:
        for each in others:
            demo.staff[each.name] = people.add_person(deed, each, demo.password)
        _agree(deed, None, told["prices"])
        for labels in told["labels"]:
            words = {"feed": Feed(labels["feed"]), "dots": Dots(labels["dots"])}
            lengths = {name: Decimal(str(value)) for name, value in labels.items() if name.endswith("_mm")}
            add_label_sheet(deed, LabelSheetDetails(**labels | lengths | words), demo.settings.public_address)
        for name, kind in demo.types.items():
            demo.type_ids[name] = equipment_types.add_equipment_type(deed, EquipmentTypeDetails(name, kind.facts)).id
        for each in told["instruments"]:
            row = instruments.add_instrument(
                deed, InstrumentDetails(each["name"], each["serial"], each["make"], each["model"])
            )
            demo.instruments.append(row.id)
            demo.instrument_ids[row.name] = row.id
    calibrate(demo, told["instruments"], YEARS)
    check_instruments(demo)


def _agree(deed: Any, customer_id: int | None, told: dict[str, Any]) -> None:
    kinds = {Kind(name): pence for name, pence in told.get("kinds", {}).items()}
    prices.agree_prices(
        deed,
        customer_id,
        deed.today,
        told["item_pence"],
        told["call_out_pence"],
        told["minimum_pence"],
        kinds,
        MorePrices(extras=EXTRAS),
    )


def _add_customers(demo: Demo) -> list[Place]:
    places = []
    demo.go_to(demo.today - timedelta(days=365 * YEARS + 50), 10)
    with demo.desk.doing(demo.office) as deed:
        for told in read_toml("customers.toml")["customers"]:
            names = CustomerDetails.__dataclass_fields__.keys() & told.keys()
            customer = customers.add_customer(deed, CustomerDetails(**{name: told[name] for name in names}))
            demo.customer_ids[customer.name] = customer.id
            for contact in told["contacts"]:
                customers.add_contact(deed, customer.id, ContactDetails(**contact))
            if "prices" in told:
                _agree(deed, customer.id, told["prices"])
            for each in told["premises"]:
                details = PremisesDetails(
                    each["name"],
                    each["address"],
                    each["postcode"],
                    Environment(each["environment"]),
                    each["access_notes"],
                )
                row = premises.add_premises(deed, customer.id, details)
                _add_items(demo, deed, row.id, each["locations"])
                places.append(Place(row.id, customer.name, each))
    return places


def _add_items(demo: Demo, deed: Any, premises_id: int, locations: dict[str, dict[str, int]]) -> None:
    for name, wanted in locations.items():
        location = premises.add_location(deed, premises_id, name)
        for type_name, number in wanted.items():
            kind = demo.types[type_name]
            for _ in range(number):
                items.add_item(deed, _item(demo, kind, location.id))


def _item(demo: Demo, kind: DemoType, location_id: int) -> ItemDetails:
    make = demo.luck.choice(kind.makes) if kind.makes else ""
    model = f"{make[0]}{demo.luck.randint(2, 9)}{demo.luck.choice('0258')}" if make else ""
    serial = f"{demo.luck.randint(10**6, 10**7 - 1)}" if make and demo.luck.random() < 0.7 else ""
    return ItemDetails("", kind.name, location_id, demo.type_ids[kind.name], make, model, serial, kind.facts)


def _past_visits(demo: Demo, places: list[Place]) -> Iterator[tuple[date, Place]]:
    for place in places:
        ago = place.told["last_visit_days"] or 365
        for years in range(YEARS):
            day = demo.today - timedelta(days=ago + 364 * years)
            if (demo.today - day).days < 365 * YEARS + 40:
                yield _working_day(day), place


def _working_day(day: date) -> date:
    return day - timedelta(days=max(0, day.weekday() - 4))


def _work_past_visit(demo: Demo, day: date, place: Place) -> None:
    technician = demo.luck.choice(demo.technicians)
    demo.go_to(day - timedelta(days=12), 11)
    with demo.desk.doing(demo.office) as deed:
        instrument_id = demo.instruments[demo.luck.randint(0, 1)]
        if (demo.today - day).days < 360:
            instrument_id = demo.instrument_ids.get(place.told.get("measured_with", ""), instrument_id)
        booking = Booking(place.id, technician.id, instrument_id, day, time(9, 0))
        visit_id = visits.book_visit(deed, booking).id
        _mend_what_failed(demo, deed, place)
    demo.go_to(day, 9)
    ended = _work_visit(demo, visit_id, technician)
    demo.go_to(ended.today, 16, 30)
    demo.now = max(demo.now, ended.now + timedelta(minutes=10))
    with demo.desk.doing(technician) as deed:
        visits.finish_visit(deed, visit_id)
    certificate_id = issue_certificate(demo.desk.at_this_moment(), demo.owner, visit_id, patience=0)
    demo.drawings.follow([("certificate", certificate_id)])
    if place.told["name"] == "Brewhouse" and day > demo.today - timedelta(days=400):
        return  # the brewery gets one invoice for this visit and the next one
    with demo.desk.doing(demo.office) as deed:
        waiting = list_uninvoiced_visits(deed.session, demo.customer_ids[place.customer], drafted=False)
        invoice_id = draft_invoice_of_visits(deed, [visit.id for visit in waiting]).id
    _bill(demo, place, invoice_id)


def _mend_what_failed(demo: Demo, deed: Any, place: Place) -> None:
    """Between visits: some failed items were repaired and wait for their test, others were replaced."""
    for item in list_items(deed.session, place.id, state=ItemState.OUT_OF_USE.value):
        if demo.luck.random() < 0.5:
            items.withdraw_item(deed, item.id, "Thrown away and replaced.")
            items.add_item(deed, _item(demo, demo.types[item.description], item.location_id))


def _bill(demo: Demo, place: Place, invoice_id: int) -> None:
    age = (demo.today - demo.desk.today).days
    if age < 20:
        return
    if place.customer == "Harbour Row Offices":
        with demo.desk.doing(demo.office) as deed:
            row = get_invoice(deed.session, invoice_id)
            lines = [(line.description, line.quantity, line.price) for line in row.lines]
            change_draft(deed, invoice_id, lines, reference=f"HR-{demo.desk.today:%y%m}-{demo.luck.randint(100, 999)}")
    issue_invoice(demo.desk.at_this_moment(), demo.office, invoice_id, patience=0)
    late = place.customer in ("Saltgate Brewery", "Harbour Row Offices") and age < 400
    paid_on = demo.desk.today + timedelta(days=demo.luck.randint(12, 41))
    paid = not late and paid_on < demo.today
    demo.drawings.follow([("invoice", invoice_id)], _paying(demo, invoice_id, paid_on) if paid else None)


def _paying(demo: Demo, invoice_id: int, paid_on: date) -> Callable[[], None]:
    """What is done when the paper of an invoice is there: the customer pays it."""

    def pay() -> None:
        demo.go_to(paid_on, 10)
        with demo.desk.doing(demo.office) as deed:
            invoice = get_invoice(deed.session, invoice_id)
            record_payment(deed, invoice_id, paid_on, invoice.gross_pence, str(invoice.number))

    return pay


def _work_visit(demo: Demo, visit_id: int, technician: Person, share: float = 1.0, failing: int | None = None) -> Deed:
    """Start a visit and record a share of its items, on the days for which it is booked; gives the last deed.

    failing names the place in the list of the one that fails.
    """
    with demo.desk.doing(technician) as deed:
        visit = visits.start_visit(deed, visit_id)
        rulebook = rulebook_named(visit.rulebook_id)
        rows = list_visit_items(deed.session, visit_id)
        later = [each.day for each in visit.held[1:]]
        for place, row in enumerate(rows[: round(len(rows) * share)]):
            deed = after_next_item(deed, demo.pace, row.kind, later, demo.settings.time_zone)
            drift = demo.drifts.value_for(row, visit.premises.name)
            if failing is None and drift is None and demo.luck.random() < 0.012:
                readings.leave_item(deed, visit_id, row.item_id, demo.luck.choice(list(NotTested)[:3]), "")
                continue
            luck = False if drift else None if failing is None else place == failing
            entries, remedy = invent_entries(row.item.facts, rulebook, demo.luck, luck)
            entries = drift_entries(entries, drift) if drift else entries
            readings.record_item(deed, visit_id, row.item_id, entries, remedy=remedy)
        return deed


def _decide_intervals(demo: Demo, past_days: bool) -> None:
    """What the owner decided about intervals in the past, or after what was found today."""
    for day, told in list_demo_decisions(demo.today):
        if (day < demo.today) != past_days:
            continue
        if past_days:
            demo.go_to(_working_day(day), 15)
        with demo.desk.doing(demo.owner) as deed:
            decide_in_demo(deed, told, demo.customer_ids[told["customer"]], demo.type_ids[told["item"]])


def _two_mornings(demo: Demo, brewhouse: Place, technician: Person) -> Booking:
    """The brewery's next visit, within a week: two mornings in a row, as its brew floor can be entered only then."""
    days = (demo.today + timedelta(days=number) for number in range(2, 9))
    day = next(day for day in days if day.strftime("%A") in ("Tuesday", "Wednesday", "Thursday"))
    note = "Brew floor and cold store on the first morning, while they are washed down; the rest on the second."
    return Booking(brewhouse.id, technician.id, demo.instruments[0], day, time(9, 0), note, minutes=360, days_asked=2)


def _work_today(demo: Demo, places: list[Place], quote_id: int, say: Progress) -> str:
    """The main job for today's visit, another one under way, and bookings for the days to come."""
    worked = next(place for place in places if place.today == "worked")
    begun = next(place for place in places if place.today == "under way")
    joss, wren = demo.technicians
    demo.go_to(_working_day(demo.today - timedelta(days=9)), 11)
    with demo.desk.doing(demo.office) as deed:
        visit_id = visits.book_visit(deed, Booking(worked.id, joss.id, demo.instruments[0], demo.today, time(9, 0))).id
        begun_id = visits.book_visit(deed, Booking(begun.id, wren.id, demo.instruments[1], demo.today, time(10, 30))).id
        brewing_id = visits.book_visit(deed, _two_mornings(demo, places[2], joss)).id
        book_from_quote(deed, quote_id, brewing_id)
        day = _working_day(demo.today + timedelta(days=13))
        booked = visits.book_visit(deed, Booking(places[5].id, joss.id, demo.instruments[0], day, time(9, 30)))
    write_in_demo(demo, booked.id)
    # Early enough that nothing is told of hours that have not come yet.
    demo.now = min(
        datetime.now(UTC) - timedelta(minutes=90),
        datetime.combine(demo.today, time(9), demo.settings.time_zone).astimezone(UTC),
    )
    if demo.desk.today != demo.today:
        demo.now = datetime.combine(demo.today, time(0, 1), demo.settings.time_zone).astimezone(UTC)
    say("Today's visit", 0, 3)
    _work_visit(demo, visit_id, joss, failing=0)
    work_on_the_spot(demo.desk, joss, visit_id, demo.luck, demo.now + timedelta(minutes=80))
    _work_visit(demo, begun_id, wren, share=0.4)
    with demo.desk.doing(joss) as deed:
        visits.finish_visit(deed, visit_id)
        progress = count_progress(deed.session, visit_id)
    say("Today's visit", 1, 3)
    certificate_id = issue_certificate(demo.desk, demo.owner, visit_id)
    say("Today's visit", 2, 3)
    with demo.desk.doing(demo.office) as deed:
        invoice_id = draft_invoice(deed, visit_id).id
    issue_invoice(demo.desk, demo.office, invoice_id)
    _decide_intervals(demo, past_days=False)
    with demo.desk.doing(demo.office) as deed:
        token = make_share_link(deed, visit_id, note="Sent to the head teacher")
    propose_in_demo(demo)
    plan_in_demo(demo)
    say("Today's visit", 3, 3)
    return describe_demo(demo, worked, visit_id, certificate_id, invoice_id, token, progress)
