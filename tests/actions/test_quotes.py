"""Quotes from the register and from an estimate: drafted, issued, answered, booked, and invoiced at their prices."""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from hashlib import sha256

import pytest
from sqlalchemy import text as sql
from sqlalchemy.exc import DBAPIError

from app.actions import firms, invoices, paper_files, prices, quotes, visits
from app.actions.deeds import Desk
from app.rules.equipment import Kind
from app.rules.price_details import MorePrices, NamedExtra, Step
from app.rules.quotes import ANY_KIND, Answer, QuoteState
from app.rules.verdicts import Mistakes, Refused
from app.rules.visits import Booking
from app.store.firms import get_firm
from app.store.invoices import get_invoice
from app.store.quotes import count_quotes, get_quote, list_quotes
from tests.cast import Clock, World
from tests.documents.reading_back import text_of
from tests.finished_visits import work_through


def draft(desk: Desk, world: World, counts: dict[str, int] | None = None, days: int = 30) -> int:
    with desk.doing(world.office) as deed:
        return quotes.draft_quote(deed, world.premises_id, counts, days, "Parking is in the yard.").id


def issued(desk: Desk, world: World, counts: dict[str, int] | None = None) -> int:
    quote_id = draft(desk, world, counts)
    quotes.issue_quote(desk, world.office, quote_id)
    return quote_id


def answered(desk: Desk, world: World, answer: Answer = Answer.ACCEPTED) -> int:
    quote_id = issued(desk, world)
    with desk.doing(world.office) as deed:
        quotes.answer_quote(deed, quote_id, answer, deed.today, "Ada Lomas")
    return quote_id


def test_a_quote_is_a_frozen_paper_at_the_prices_of_its_day(desk: Desk, world: World) -> None:
    quote_id = issued(desk, world)
    with desk.reading_only() as session:
        row = get_quote(session, quote_id)
        assert (row.number, row.state, row.state_on(desk.today)) == ("Q-000001", "issued", QuoteState.OPEN)
        # Three items at 1.35 and the call-out of 25.00, up to the least of 60.00.
        assert (row.net_pence, row.vat_pence, row.gross_pence) == (6000, 1200, 7200)
        content = quotes.open_quote(desk, row)
        assert sha256(content).hexdigest() == row.sha256
    text = text_of(content)
    for words in ("Q-000001", "Valid until 3 April 2026", "3 items £1.35 £4.05", "Total with VAT £72.00",
                  "the register on 4 March 2026: 3 items", "This is a quote, not a VAT invoice",
                  "Parking is in the yard.", "Least for a visit £60.00"):  # fmt: skip
        assert words in text
    with pytest.raises(DBAPIError, match="frozen"), desk.doing(world.owner) as deed:
        deed.session.execute(sql("UPDATE quotes SET gross_pence = 1"))
    with pytest.raises(Refused, match="does not change"), desk.doing(world.owner) as deed:
        quotes.change_quote(deed, quote_id, None, 30)


def test_an_estimate_is_priced_by_kind_and_number(desk: Desk, world: World) -> None:
    more = MorePrices(steps=(Step(100, 101),), extras=(NamedExtra("Fuse", 150, "piece"),), discount="5%")
    with desk.doing(world.owner) as deed:
        prices.agree_prices(deed, world.customer_id, deed.today, 145, 2500, 6000, {Kind.DETACHABLE_CORD: 60}, more)
    quote_id = issued(desk, world, {ANY_KIND: 140, "detachable-cord": 30})
    with desk.reading_only() as session:
        row = get_quote(session, quote_id)
        # 100 × 1.45 + 40 × 1.00 + 30 × 0.60 + 25.00 = 228.00, 5 % off: 216.60.
        assert row.net_pence == 21660
        text = text_of(quotes.open_quote(desk, row))
    for words in ("from item 101", "Discount, 5% −£11.40", "an estimate: 170 items", "Fuse £1.50 a piece"):
        assert words in text


def test_a_firm_that_is_not_registered_quotes_without_the_tax(desk: Desk, world: World) -> None:
    with desk.doing(world.owner) as deed:
        firms.change_firm(deed, replace(get_firm(deed.session).details, vat_registered=False, vat_number=""))
    quote_id = issued(desk, world)
    with desk.reading_only() as session:
        text = text_of(quotes.open_quote(desk, get_quote(session, quote_id)))
    assert "VAT" not in text
    assert "20%" not in text
    assert "Together £60.00" in text


def test_the_agreed_prices_last_until_the_invoice(desk: Desk, world: World, clock: Clock) -> None:
    quote_id = answered(desk, world)
    with desk.doing(world.owner) as deed:
        prices.agree_prices(deed, world.customer_id, deed.today, 999, 9999, 0)
    clock.pass_time(days=60)  # the answer came in time; the work may be later
    with desk.doing(world.office) as deed:
        booking = Booking(world.premises_id, world.technician.id, world.instrument_id, deed.today)
        visit_id = visits.book_visit(deed, booking).id
        quotes.book_from_quote(deed, quote_id, visit_id)
    work_through(desk, world.technician, visit_id)
    with desk.doing(world.office) as deed:
        row = invoices.draft_invoice(deed, visit_id)
        assert [line.price for line in row.lines if line.basis == "items"] == [Decimal("1.35")]
        assert row.net_pence == 6000
        invoice_id = row.id
    invoices.issue_invoice(desk, world.office, invoice_id)
    with desk.reading_only() as session:
        assert "Quote Q-000001" in text_of(invoices.open_invoice(desk, get_invoice(session, invoice_id)))
    with pytest.raises(Refused, match="booked from quote Q-000001 already"), desk.doing(world.office) as deed:
        quotes.book_from_quote(deed, quote_id, world.visit_id)


def test_only_an_accepted_quote_is_booked_and_at_its_own_premises(desk: Desk, world: World) -> None:
    quote_id = issued(desk, world)
    with pytest.raises(Refused, match="this one is open"), desk.doing(world.office) as deed:
        quotes.book_from_quote(deed, quote_id, world.visit_id)
    with desk.doing(world.office) as deed:
        quotes.answer_quote(deed, quote_id, Answer.ACCEPTED, deed.today, "Ada Lomas")
    with pytest.raises(Refused, match="other premises"), desk.doing(world.office) as deed:
        quotes.book_from_quote(deed, quote_id, world.other_visit_id)


def test_answers_have_a_day_and_a_name_and_stand(desk: Desk, world: World, clock: Clock) -> None:
    quote_id = issued(desk, world)
    today = desk.today
    for on, by, field in ((today + timedelta(days=1), "Ada", "answered_on"), (today, " ", "answered_by")):
        with pytest.raises(Mistakes, match=field), desk.doing(world.office) as deed:
            quotes.answer_quote(deed, quote_id, Answer.ACCEPTED, on, by)
    with pytest.raises(Refused, match="older than the quote"), desk.doing(world.office) as deed:
        quotes.answer_quote(deed, quote_id, Answer.ACCEPTED, today - timedelta(days=1), "Ada")
    clock.pass_time(days=31)
    with desk.reading_only() as session:
        assert get_quote(session, quote_id).state_on(desk.today) == QuoteState.EXPIRED
    with pytest.raises(Refused, match="until 3 April 2026"), desk.doing(world.office) as deed:
        quotes.answer_quote(deed, quote_id, Answer.ACCEPTED, desk.today, "Ada")
    with desk.doing(world.office) as deed:
        row = quotes.answer_quote(deed, quote_id, Answer.ACCEPTED, desk.today - timedelta(days=1), "Ada")
        assert row.state_on(deed.today) == QuoteState.ACCEPTED
    with pytest.raises(Refused, match="its answer stands"), desk.doing(world.office) as deed:
        quotes.answer_quote(deed, quote_id, Answer.DECLINED, desk.today, "Ada")


def test_what_stands_against_a_quote_takes_no_number(desk: Desk, world: World) -> None:
    for counts, days in (({ANY_KIND: 0}, 30), ({ANY_KIND: 20_001}, 30), (None, 0), (None, 366)):
        with pytest.raises(Mistakes):
            draft(desk, world, counts, days)
    quote_id = draft(desk, world)
    with desk.doing(world.owner) as deed:
        prices.drop_prices(deed, 1, None)
    with pytest.raises(Refused, match="No prices hold today"):
        quotes.issue_quote(desk, world.office, quote_id)
    with desk.reading_only() as session:
        assert get_quote(session, quote_id).number is None
    with desk.doing(world.office) as deed:
        assert quotes.discard_quote(deed, quote_id) == world.premises_id
    with desk.reading_only() as session:
        assert count_quotes(session) == 0


def test_a_draft_changes_and_quotes_are_found(desk: Desk, world: World) -> None:
    quote_id = draft(desk, world)
    with desk.doing(world.office) as deed:
        old = get_quote(deed.session, quote_id).version
        quotes.change_quote(deed, quote_id, {ANY_KIND: 80}, 14, "", old)
    with pytest.raises(Refused, match="Somebody else has changed"), desk.doing(world.owner) as deed:
        quotes.change_quote(deed, quote_id, None, 14, "", old)
    issued(desk, world)
    with desk.reading_only() as session:
        assert [row.number for row in list_quotes(session, search="brackenhow")] == [None, "Q-000001"]
        assert count_quotes(session, search="Q-000001") == 1
        assert list_quotes(session, customer_id=world.other_customer_id) == []


def test_a_quote_that_a_crash_left_is_finished_later(desk: Desk, world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    quote_id = draft(desk, world)

    def out_of_power(*_: object) -> str:
        raise OSError("no space left on the disk")

    with monkeypatch.context() as broken:
        broken.setattr(paper_files, "keep_paper", out_of_power)
        with pytest.raises(OSError, match="no space"):
            quotes.issue_quote(desk, world.office, quote_id)
    assert quotes.finish_pending_quotes(desk) == 1
    with desk.reading_only() as session:
        row = get_quote(session, quote_id)
        assert (row.number, row.state) == ("Q-000001", "issued")
        quotes.open_quote(desk, row)
