"""The cast of the tests: a clock that stands still, a small firm with its people, and browsers for each of them.

Everything here is invented. The desk runs on SQLite and on PostgreSQL in tests of the store and of actions,
and on SQLite alone for pages (tests/web/conftest.py).
"""

import asyncio
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import httpx
import pytest

from app.actions import (
    customers,
    equipment_types,
    firms,
    instruments,
    items,
    people,
    premises,
    prices,
    visits,
)
from app.actions.deeds import Desk
from app.rules.customers import CustomerDetails, PremisesDetails
from app.rules.equipment import Construction, Cord, Environment, ItemFacts, Kind, Use
from app.rules.firms import FirmDetails, LegalForm
from app.rules.instruments import CalibrationDetails, InstrumentDetails
from app.rules.items import EquipmentTypeDetails, ItemDetails
from app.rules.people import Person, PersonDetails, Role
from app.rules.visits import Booking
from app.settings import Settings
from app.store.database import Database
from app.store.people import find_sign_in
from app.web.kit import SESSION
from tests.kept_rows import as_kept

PASSWORD = "slate roof over the mill"
LONDON = ZoneInfo("Europe/London")

KETTLE = ItemFacts(
    Kind.APPLIANCE,
    Construction.CLASS_I,
    Use.PORTABLE,
    heating=True,
    rated_power_w=Decimal(2200),
    cord=Cord(Decimal("0.75"), Decimal("1.5"), moulded_plug=True),
    fuse_a=Decimal(13),
)
DRILL = ItemFacts(
    Kind.APPLIANCE,
    Construction.CLASS_II,
    Use.HAND_HELD,
    rated_power_w=Decimal(650),
    cord=Cord(Decimal("0.75"), Decimal("3")),
    fuse_a=Decimal(3),
)
LEAD = ItemFacts(
    Kind.EXTENSION_LEAD,
    Construction.CLASS_I,
    Use.PORTABLE,
    cord=Cord(Decimal("1.25"), Decimal("5")),
    fuse_a=Decimal(13),
)


class Clock:
    """A clock that stands still until a test moves it. It starts on Wednesday 4 March 2026 at ten."""

    def __init__(self) -> None:
        self.now = datetime(2026, 3, 4, 10, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.now

    def pass_time(self, **time: float) -> None:
        self.now += timedelta(**time)

    @property
    def today(self) -> date:
        return self.now.astimezone(LONDON).date()


@dataclass
class World:
    """A small firm: two customers, premises of each, items, an instrument, and a visit booked for today."""

    owner: Person
    office: Person
    technician: Person
    customer_id: int
    other_customer_id: int
    premises_id: int
    other_premises_id: int
    location_id: int
    other_location_id: int
    equipment_type_id: int
    instrument_id: int
    visit_id: int
    other_visit_id: int
    item_ids: list[int] = field(default_factory=list)
    other_item_ids: list[int] = field(default_factory=list)


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def desk(database: Database, clock: Clock, tmp_path: Path) -> Desk:
    """A desk with a fresh database; the test runs on SQLite and on PostgreSQL."""
    return Desk(database, tmp_path / "papers", "https://office.tarn-alder.example", LONDON, clock)


@pytest.fixture
def world(desk: Desk) -> World:
    """A small firm, made through actions once a run and then copied."""
    return as_kept(desk, make_world)


def make_world(desk: Desk) -> World:
    """Make the small firm at a desk."""
    firm = FirmDetails(
        name="Tarn & Alder Electrical Testing",
        legal_name="Tarn & Alder Electrical Testing Ltd",
        legal_form=LegalForm.LIMITED_COMPANY,
        address="2 Mill Lane\nMillbeck",
        postcode="ZZ1 2AB",
        phone="01632 960101",
        email="office@tarn-alder.example",
        company_number="00000000",
        registered_in="England and Wales",
        registered_office="2 Mill Lane, Millbeck ZZ1 2AB",
        vat_registered=True,
        vat_number="999 9999 73",
        bank_account_name="Tarn & Alder Electrical Testing Ltd",
        bank_sort_code="00-00-00",
        bank_account_number="00000000",
    )
    with desk.doing(None) as deed:
        owner = firms.set_up_firm(
            deed, firm, PersonDetails("Ines Tarn", "ines@tarn-alder.example", Role.OWNER, "IT"), PASSWORD
        )
    with desk.doing(owner) as deed:
        office = people.add_person(
            deed, PersonDetails("Bea Holm", "bea@tarn-alder.example", Role.OFFICE, "BH"), PASSWORD
        )
        technician = people.add_person(
            deed, PersonDetails("Joss Alder", "joss@tarn-alder.example", Role.TECHNICIAN, "JA"), PASSWORD
        )
        prices.agree_prices(
            deed,
            None,
            desk.today - timedelta(days=400),
            item_pence=135,
            call_out_pence=2500,
            minimum_pence=6000,
        )
        instrument = instruments.add_instrument(deed, InstrumentDetails("Blue tester", "T-4471"))
        instruments.add_calibration(
            deed,
            instrument.id,
            CalibrationDetails(
                desk.today - timedelta(days=100), desk.today + timedelta(days=265), "CAL-26-0193", "Beck Calibration"
            ),
        )
        kettle = equipment_types.add_equipment_type(deed, EquipmentTypeDetails("Kettle", KETTLE))
        ids = [
            _customer(deed, name, environment)
            for name, environment in (
                ("Brackenhow Primary School", Environment.SCHOOL),
                ("Saltgate Brewery", Environment.LIGHT_INDUSTRIAL),
            )
        ]
        item_ids = []
        for _, _, location_id in ids:
            item_ids.append(
                [
                    items.add_item(deed, ItemDetails("", description, location_id, facts=facts)).id
                    for description, facts in (("Kettle", KETTLE), ("Drill", DRILL), ("Extension lead", LEAD))
                ]
            )
        booked = [
            visits.book_visit(deed, Booking(premises_id, technician.id, instrument.id, desk.today)).id
            for _, premises_id, _ in ids
        ]
    return World(
        owner,
        office,
        technician,
        ids[0][0],
        ids[1][0],
        ids[0][1],
        ids[1][1],
        ids[0][2],
        ids[1][2],
        kettle.id,
        instrument.id,
        booked[0],
        booked[1],
        item_ids[0],
        item_ids[1],
    )


def _customer(deed: Any, name: str, environment: Environment) -> tuple[int, int, int]:
    customer = customers.add_customer(
        deed, CustomerDetails(name, "1 High Street\nMillbeck", "ZZ1 1AA", dutyholder=f"Head of {name}")
    )
    place = premises.add_premises(
        deed,
        customer.id,
        PremisesDetails(f"{name} main site", "1 High Street\nMillbeck", "ZZ1 1AA", environment),
    )
    return customer.id, place.id, premises.add_location(deed, place.id, "Staff room").id


class Browse:
    """Somebody's browser: keeps cookies, sends the form token, follows no redirects."""

    def __init__(self, app: Any, cookies: dict[str, str], csrf: str) -> None:
        self.app, self.cookies, self.csrf = app, httpx.Cookies(cookies), csrf

    def get(self, path: str, **options: Any) -> httpx.Response:
        return self.send("GET", path, **options)

    def post(self, path: str, fields: dict[str, Any] | None = None, **options: Any) -> httpx.Response:
        """Send a form; the form token goes with it unless the fields have one."""
        return self.send("POST", path, data={"csrf": self.csrf} | (fields or {}), **options)

    def send(self, method: str, path: str, **options: Any) -> httpx.Response:
        async def one_request() -> httpx.Response:
            transport = httpx.ASGITransport(app=self.app, raise_app_exceptions=False)
            async with httpx.AsyncClient(
                transport=transport, base_url="http://testserver", cookies=self.cookies
            ) as client:
                response = await client.request(method, path, **options)
                self.cookies = client.cookies
                return response

        return asyncio.run(one_request())


BrowseAs = Callable[[Person | None], Browse]


@pytest.fixture
def browse_as(desk: Desk, tmp_path: Path, clock: Clock) -> Iterator[BrowseAs]:
    """Opens the app as a person of the world, or as nobody: browse_as(world.owner).get("/")."""
    from app.main import create_app

    app = create_app(
        Settings(data_folder=tmp_path, database=desk.database.url, address=desk.public_address),
        clock,
        "set-up-code",
    )

    def open_as(person: Person | None) -> Browse:
        if person is None:
            return Browse(app, {}, "")
        with desk.doing(None) as deed:
            token = people.sign_in(deed, f"{person.name.split()[0].lower()}@tarn-alder.example", PASSWORD)
            assert token is not None
            sign_in = find_sign_in(deed.session, people.hash_of(token), deed.now)
            assert sign_in is not None
            return Browse(app, {SESSION: token}, sign_in.csrf)

    yield open_as
    app.state.desk.database.close()
