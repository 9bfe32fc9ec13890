"""Asking the journal: newest first, by subject, by word, page by page."""

from app.actions.deeds import Desk
from app.store.journal import count_journal, list_journal, list_journal_subjects
from tests.cast import World


def write(desk: Desk, world: World, number: int) -> None:
    with desk.doing(world.office) as deed:
        for each in range(number):
            deed.note("visit", each % 2 + 1, f"Line {each}: 100 % of lamp_{each % 3}.")


def test_lines_come_newest_first_and_page_by_page(desk: Desk, world: World) -> None:
    write(desk, world, 25)
    with desk.database.reading() as session:
        everything = list_journal(session, limit=1000)
        assert [line.id for line in everything] == sorted((line.id for line in everything), reverse=True)
        assert count_journal(session) == len(everything)
        pages = [list_journal(session, skip=start, limit=10) for start in range(0, len(everything), 10)]
        assert [line for page in pages for line in page] == everything


def test_lines_of_one_subject(desk: Desk, world: World) -> None:
    write(desk, world, 10)
    with desk.database.reading() as session:
        assert {line.subject_id for line in list_journal(session, "visit", 2)} == {2}
        assert count_journal(session, "visit", 2) == len(list_journal(session, "visit", 2))
        assert count_journal(session, "no such thing") == 0
        assert {"visit", "person", "firm", "customer"} <= set(list_journal_subjects(session))


def test_a_search_takes_words_as_they_are_written(desk: Desk, world: World) -> None:
    write(desk, world, 10)
    with desk.database.reading() as session:
        assert count_journal(session, "visit", search="LINE 7:") == 1
        assert count_journal(session, "visit", search="lamp_1 bea holm") == 3, "in the sentence, and who wrote it"
        assert count_journal(session, search="%%") == 0
        assert count_journal(session, search="lampx1") == 0, "an underline is no wild card"
