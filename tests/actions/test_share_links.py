"""Share links: the token is nowhere, the end comes on its day or at once, and guesses are slowed.

Practice: W3C TAG, Good Practices for Capability URLs; storage of secrets: OWASP ASVS 5.0, 6.5.2.
"""

from datetime import timedelta

import pytest
from sqlalchemy import select

from app.actions import certificates, share_links
from app.actions.deeds import Desk
from app.actions.share_links import TooManyTries
from app.rules.verdicts import Mistakes, Refused
from app.store.certificates import list_certificates
from app.store.database import Base
from app.store.journal import list_journal
from app.store.share_links import get_share_link, list_share_links
from tests.cast import Clock, World
from tests.finished_visits import begin_worked_through, work_through
from tests.kept_rows import as_kept

HERE, THERE = "203.0.113.5", "198.51.100.7"


@pytest.fixture
def certified(desk: Desk, world: World) -> World:
    return as_kept(desk, _certified, world)


def _certified(desk: Desk, world: World) -> World:
    for visit_id in (world.visit_id, world.other_visit_id):
        work_through(desk, world.technician, visit_id)
        certificates.issue_certificate(desk, world.office, visit_id)
    return world


def make(desk: Desk, world: World, days: int = 90, note: str = "Ada Lomas") -> tuple[int, str]:
    with desk.doing(world.office) as deed:
        token = share_links.make_share_link(deed, world.visit_id, days, note)
        return list_share_links(deed.session)[0].id, token


def test_the_token_stands_in_no_table_and_in_no_line_of_the_journal(desk: Desk, certified: World) -> None:
    link_id, token = make(desk, certified)
    assert share_links.try_share_link(desk, token, HERE) == link_id
    assert share_links.try_share_link(desk, token[:-1], HERE) is None
    with desk.reading_only() as session:
        everything = [
            repr(tuple(row)) for table in Base.metadata.sorted_tables for row in session.execute(select(table))
        ]
        assert len(everything) > 50
        assert not [row for row in everything if token in row or token[:20] in row]
        assert any(f"share link {link_id}" in line.sentence for line in list_journal(session, "share link", link_id))


def test_two_links_are_different_and_one_is_withdrawn_alone(desk: Desk, certified: World) -> None:
    first, token = make(desk, certified)
    second, other = make(desk, certified)
    assert token != other
    assert min(len(token), len(other)) >= 43  # 32 bytes in base 64
    with desk.doing(certified.office) as deed:
        share_links.withdraw_share_link(deed, first)
    assert share_links.try_share_link(desk, token, HERE) is None
    assert share_links.try_share_link(desk, other, HERE) == second
    with pytest.raises(Refused, match="withdrawn already"), desk.doing(certified.office) as deed:
        share_links.withdraw_share_link(deed, first)


def test_a_link_opens_to_the_end_of_its_last_day_and_no_longer(desk: Desk, certified: World, clock: Clock) -> None:
    link_id, token = make(desk, certified, days=1)
    clock.now = clock.now.replace(hour=23, minute=59, second=59) + timedelta(days=1)
    assert share_links.try_share_link(desk, token, HERE) == link_id
    clock.pass_time(seconds=1)
    assert share_links.try_share_link(desk, token, HERE) is None


def test_openings_are_counted_and_files_are_not(desk: Desk, certified: World) -> None:
    link_id, token = make(desk, certified)
    for _ in range(3):
        share_links.try_share_link(desk, token, HERE)
    share_links.try_share_link(desk, token, HERE, counted=False)
    with desk.reading_only() as session:
        row = get_share_link(session, link_id)
        assert (row.openings, row.opened_at) == (3, desk.now)


@pytest.mark.parametrize("days", [0, -1, 366])
def test_a_link_lives_from_one_day_to_a_year(desk: Desk, certified: World, days: int) -> None:
    with pytest.raises(Mistakes, match="days"):
        make(desk, certified, days)


def test_there_is_nothing_to_share_before_the_certificate(desk: Desk, world: World) -> None:
    begin_worked_through(desk, world.technician, world.visit_id)
    with pytest.raises(Refused, match="Issue the certificate first"):
        make(desk, world)


def test_thirty_failures_in_a_minute_slow_one_network_and_no_other(desk: Desk, certified: World, clock: Clock) -> None:
    link_id, token = make(desk, certified)
    for number in range(30):
        assert share_links.try_share_link(desk, f"guess-{number}", HERE) is None
    with pytest.raises(TooManyTries):
        share_links.try_share_link(desk, token, HERE)
    with pytest.raises(TooManyTries):
        share_links.try_code(desk, "2222-2222-2222-2222", HERE)
    assert share_links.try_share_link(desk, token, THERE) == link_id
    clock.pass_time(seconds=60)
    assert share_links.try_share_link(desk, token, HERE) == link_id


def test_a_few_wrong_clicks_block_nobody(desk: Desk, certified: World) -> None:
    link_id, token = make(desk, certified)
    for _ in range(3):
        share_links.try_share_link(desk, "wrong", HERE)
    assert share_links.try_share_link(desk, token, HERE) == link_id


def test_one_ipv6_network_is_slowed_as_one(desk: Desk, certified: World) -> None:
    _, token = make(desk, certified)
    for number in range(30):
        share_links.try_share_link(desk, "wrong", f"2001:db8:1:2::{number:x}")
    with pytest.raises(TooManyTries):
        share_links.try_share_link(desk, token, "2001:db8:1:2:ffff::1")
    assert share_links.try_share_link(desk, token, "2001:db8:1:3::1") is not None
    for number in range(30):
        share_links.try_share_link(desk, f"wrong {number}", f"::ffff:{HERE}")
    with pytest.raises(TooManyTries):
        share_links.try_share_link(desk, token, HERE)


def test_old_guesses_are_forgotten(desk: Desk, certified: World, clock: Clock) -> None:
    for _ in range(5):
        share_links.try_share_link(desk, "wrong", HERE)
        clock.pass_time(hours=1, minutes=1)
    with desk.reading_only() as session:
        assert len(session.execute(select(Base.metadata.tables["guesses"])).all()) == 1


def test_links_are_found_by_state_and_by_word(desk: Desk, certified: World, clock: Clock) -> None:
    long, _ = make(desk, certified, 90, "Ada Lomas")
    short, _ = make(desk, certified, 1, "The caretaker")
    gone, _ = make(desk, certified, 90, "Sent to the wrong one")
    with desk.doing(certified.office) as deed:
        share_links.withdraw_share_link(deed, gone)
    clock.pass_time(days=2)

    def found(state: str = "", search: str = "") -> list[int]:
        with desk.reading_only() as session:
            rows = list_share_links(session, state=state, search=search, today=clock.today)
            assert all(row.state_on(clock.today) == state for row in rows if state)
            return [row.id for row in rows]

    assert found() == [gone, short, long]
    assert (found("open"), found("expired"), found("withdrawn")) == ([long], [short], [gone])
    assert found(search="caretaker") == [short]
    assert found(search="brackenhow ada") == [long]
    assert found(search="saltgate") == []


def test_a_code_is_found_once_its_paper_is_issued(desk: Desk, certified: World) -> None:
    with desk.reading_only() as session:
        row = list_certificates(session)[0]
        found = share_links.try_code(desk, row.code, HERE)
        assert found is not None
        assert (found.number, found.sha256) == (row.number, row.sha256)
        assert share_links.try_code(desk, row.code[:-1], HERE) is None
        assert share_links.try_code(desk, row.number, HERE) is None
