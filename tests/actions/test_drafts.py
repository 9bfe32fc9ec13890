"""One draft for several visits, discounts, how VAT treats lines, and that no visit is charged twice."""

import threading
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest

from app.actions import customers, firms, invoices, prices, visits
from app.actions.deeds import Desk
from app.actions.drafts import DraftLine, change_draft, discard_draft, draft_invoice, draft_invoice_of_visits
from app.rules.equipment import Kind
from app.rules.price_details import MorePrices, NamedExtra, Step
from app.rules.vat_rates import VatTreatment
from app.rules.verdicts import Mistakes, Refused
from app.rules.visits import Booking
from app.store.customers import get_customer
from app.store.database import CLASHES
from app.store.firms import get_firm
from app.store.invoices import find_invoice_of_visit, get_invoice
from app.store.overviews import list_uninvoiced_visits
from tests.cast import Clock, World
from tests.documents.reading_back import text_of
from tests.finished_visits import begin_worked_through, work_through

ONE = Decimal(1)


@pytest.fixture
def two(desk: Desk, world: World, clock: Clock) -> list[int]:
    """Two finished visits to the same premises, a week apart."""
    begin_worked_through(desk, world.technician, world.visit_id, left_out=2)
    clock.pass_time(days=7)
    with desk.doing(world.office) as deed:
        booking = Booking(world.premises_id, world.technician.id, world.instrument_id, deed.today)
        second = visits.book_visit(deed, booking).id
    work_through(desk, world.technician, second)
    return [world.visit_id, second]


def test_one_invoice_for_two_visits_says_which_line_is_whose(desk: Desk, world: World, two: list[int]) -> None:
    with desk.doing(world.office) as deed:
        row = draft_invoice_of_visits(deed, two[::-1])
        told = [(line.visit_id, line.basis, line.quantity, line.item_numbers) for line in row.lines]
        assert told == [
            (two[0], "items", Decimal(2), ["0001", "0002"]),
            (two[0], "call-out", ONE, []),
            (two[0], "minimum", ONE, []),
            (two[1], "items", Decimal(3), ["0001", "0002", "0003"]),
            (two[1], "call-out", ONE, []),
            (two[1], "minimum", ONE, []),
        ]
        assert row.lines[0].description.startswith("Brackenhow Primary School main site, 4 March 2026: Inspection")
        assert row.net_pence == 12000  # the least of 60.00 for each visit
        assert row.version == 1
        invoice_id = row.id
    invoices.issue_invoice(desk, world.office, invoice_id)
    with desk.reading_only() as session:
        row = get_invoice(session, invoice_id)
        text = text_of(invoices.open_invoice(desk, row))
    assert "Date of supply 4 to 11 March 2026" in text
    assert "Inspection and test at 2 visits, 4 March 2026 to 11 March 2026" in text


def test_a_visit_is_charged_once(desk: Desk, world: World, two: list[int]) -> None:
    with desk.doing(world.office) as deed:
        invoice_id = draft_invoice_of_visits(deed, two).id
    for visit_ids in ([two[1]], two):
        with pytest.raises(Refused, match="on invoice draft already"), desk.doing(world.office) as deed:
            draft_invoice_of_visits(deed, visit_ids)
    with desk.doing(world.office) as deed:
        assert draft_invoice(deed, two[1]).id == invoice_id
        assert list_uninvoiced_visits(deed.session, world.customer_id, drafted=False) == []
        assert len(list_uninvoiced_visits(deed.session, world.customer_id)) == 2
        discard_draft(deed, invoice_id)
    with desk.doing(world.office) as deed:
        assert find_invoice_of_visit(deed.session, two[0]) is None
        assert draft_invoice(deed, two[1]).visit_id == two[1]


def test_two_people_at_once_make_one_invoice_of_a_visit(desk: Desk, world: World, two: list[int]) -> None:
    """Each thread wants both visits in its own order; one gets them, the others are refused."""
    done: list[int] = []
    refused: list[Exception] = []
    ready = threading.Barrier(6)

    def draft(visit_ids: list[int]) -> None:
        ready.wait()
        try:
            with desk.doing(world.office) as deed:
                row = draft_invoice_of_visits(deed, visit_ids)
            done.append(row.id)
        except (Refused, *CLASHES) as sorry:
            refused.append(sorry)

    wanted = [two, two[::-1], [two[0]], [two[1]], two, two[::-1]]
    threads = [threading.Thread(target=draft, args=(each,)) for each in wanted]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(done) + len(refused) == 6
    with desk.reading_only() as session:
        charged = [each.visit_id for invoice_id in done for each in get_invoice(session, invoice_id).visits]
    assert sorted(charged) == sorted(two)


def test_visits_of_two_customers_or_not_finished_are_refused(desk: Desk, world: World, two: list[int]) -> None:
    with pytest.raises(Refused, match="this one is booked"), desk.doing(world.office) as deed:
        draft_invoice_of_visits(deed, [world.other_visit_id])
    work_through(desk, world.technician, world.other_visit_id)
    with pytest.raises(Refused, match="goes to one customer"), desk.doing(world.office) as deed:
        draft_invoice_of_visits(deed, [two[0], world.other_visit_id])
    with pytest.raises(Mistakes), desk.doing(world.office) as deed:
        draft_invoice_of_visits(deed, [])


def test_everything_agreed_reaches_the_draft(desk: Desk, world: World, two: list[int]) -> None:
    more = MorePrices(
        visit_pence=1000,
        travel_pence=500,
        discount="10%",
        discount_reason="School",
        steps=(Step(100, 3), Step(300, 1, None, world.equipment_type_id), Step(50, 1, Kind.EXTENSION_LEAD)),
        extras=(NamedExtra("Fuse", 150),),
    )
    with desk.doing(world.owner) as deed:
        prices.agree_prices(deed, world.customer_id, desk.today - timedelta(days=30), 200, more=more)
    with desk.doing(world.office) as deed:
        row = draft_invoice_of_visits(deed, two)
        told = [(line.basis, line.kind, line.quantity, line.price) for line in row.lines if line.visit_id == two[1]]
        assert told == [
            ("items", "", Decimal(2), Decimal("2.00")),
            ("items", "extension-lead", ONE, Decimal("0.50")),
            ("visit", "", ONE, Decimal("10.00")),
            ("travel", "", ONE, Decimal("5.00")),
        ]
        # 19.00 + 19.50 without VAT, 10 % off the whole: 34.65.
        assert (row.discount, row.discount_reason, row.net_pence) == ("10%", "School", 3465)
        assert row.gross_pence == 3465 + 693


def test_an_agreement_that_ended_stays_for_the_visits_of_its_time(desk: Desk, world: World, two: list[int]) -> None:
    with desk.doing(world.owner) as deed:
        first_day = deed.today - timedelta(days=7)
        agreement = prices.agree_prices(deed, world.customer_id, first_day, 500)
        prices.end_prices(deed, agreement.id, world.customer_id, first_day)
    with desk.doing(world.office) as deed:
        row = draft_invoice_of_visits(deed, two)
        assert [line.price for line in row.lines if line.basis == "items"] == [Decimal("5.00"), Decimal("1.35")]
    with pytest.raises(Mistakes, match="last_day"), desk.doing(world.owner) as deed:
        prices.end_prices(deed, agreement.id, world.customer_id, first_day - timedelta(days=1))


def test_discounts_of_different_agreements_stand_with_their_lines(desk: Desk, world: World, two: list[int]) -> None:
    with desk.doing(world.owner) as deed:
        for ago, discount in ((7, "10%"), (0, "3.00")):
            day = deed.today - timedelta(days=ago)
            prices.agree_prices(deed, world.customer_id, day, 1000, more=MorePrices(discount=discount))
    with desk.doing(world.office) as deed:
        row = draft_invoice_of_visits(deed, two)
        assert row.discount == ""
        assert [(line.quantity, line.price, line.discount) for line in row.lines] == [
            (Decimal(2), Decimal("10.00"), "10%"),
            (Decimal(3), Decimal("10.00"), ""),
            (Decimal(-1), Decimal("3.00"), ""),
        ]
        assert row.net_pence == 1800 + 3000 - 300


def change(desk: Desk, world: World, invoice_id: int, *lines: DraftLine, **options: Any) -> None:
    with desk.doing(world.office) as deed:
        change_draft(deed, invoice_id, lines, **options)


def test_lines_carry_their_own_treatment_and_discount(desk: Desk, world: World, two: list[int]) -> None:
    with desk.doing(world.office) as deed:
        invoice_id = draft_invoice(deed, two[0]).id
    change(
        desk,
        world,
        invoice_id,
        DraftLine("Testing", ONE, Decimal(100), None, VatTreatment.STANDARD, "25%"),
        DraftLine("Leaflets", ONE, Decimal(10), None, VatTreatment.ZERO),
        DraftLine("Training", ONE, Decimal(40), None, VatTreatment.EXEMPT),
        DraftLine("Insulation", ONE, Decimal(20), None, VatTreatment.REDUCED),
        discount="10",
        discount_reason="Thanks",
    )
    with desk.reading_only() as session:
        row = get_invoice(session, invoice_id)
        # 75 + 10 + 40 + 20 = 145, 10.00 off shared 5.17, 0.69, 2.76, 1.38; VAT 20 % of 69.83 and 5 % of 18.62.
        assert (row.net_pence, row.vat_pence) == (13500, 1397 + 93)
    invoices.issue_invoice(desk, world.office, invoice_id)
    with desk.reading_only() as session:
        text = text_of(invoices.open_invoice(desk, get_invoice(session, invoice_id)))
    for words in (
        "Discount, 25%: −£25.00",
        "Thanks 20% −£5.17",
        "20% £69.83 £13.97",
        "is exempt from VAT",
        "zero rated",
    ):
        assert words in text


def test_the_reverse_charge_is_off_until_the_owner_turns_it_on(desk: Desk, world: World, two: list[int]) -> None:
    # HMRC VATREVCON37100: the words, and the VAT amount stated but not in the total. EN 16931 BR-AE-02: buyer's number.
    line = DraftLine("Fixed wiring", ONE, Decimal(50), None, VatTreatment.REVERSE_CHARGE)
    with desk.doing(world.office) as deed:
        invoice_id = draft_invoice(deed, two[0]).id
    with pytest.raises(Mistakes, match="treatment_0"):
        change(desk, world, invoice_id, line)
    with desk.doing(world.owner) as deed:
        firms.change_firm(deed, replace(get_firm(deed.session).details, reverse_charge=True))
    change(desk, world, invoice_id, line)
    with pytest.raises(Refused, match="needs the customer's VAT number"):
        invoices.issue_invoice(desk, world.office, invoice_id)
    with desk.doing(world.office) as deed:
        details = replace(get_customer(deed.session, world.customer_id).details, vat_number="GB 999 9999 73")
        customers.change_customer(deed, world.customer_id, details)
    invoices.issue_invoice(desk, world.office, invoice_id)
    with desk.reading_only() as session:
        row = get_invoice(session, invoice_id)
        assert (row.vat_pence, row.gross_pence) == (0, 5000)
        text = text_of(invoices.open_invoice(desk, row))
    assert "Reverse charge: the customer accounts to HMRC for the VAT of £10.00 at 20% on £50.00" in text
    assert "Total to pay £50.00" in text


@pytest.mark.parametrize(
    ("options", "field"),
    [
        ({"discount": "lots"}, "discount"),
        ({"line": DraftLine("x", ONE, ONE, discount="-1")}, "discount_0"),
    ],
)
def test_a_bad_discount_is_named_and_nothing_changes(
    desk: Desk, world: World, two: list[int], options: dict[str, Any], field: str
) -> None:
    with desk.doing(world.office) as deed:
        invoice_id = draft_invoice(deed, two[0]).id
    line = options.get("line", DraftLine("x", ONE, ONE))
    with pytest.raises(Mistakes) as wrong:
        change(desk, world, invoice_id, line, discount=options.get("discount"))
    assert set(wrong.value.messages) == {field}
    with desk.reading_only() as session:
        assert get_invoice(session, invoice_id).net_pence == 6000
