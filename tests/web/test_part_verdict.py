"""The verdict as it is typed: each field answered, later checks locked and opened again, nothing written."""

import pytest

from app.actions.deeds import Desk
from tests.cast import Browse, BrowseAs, World
from tests.web.page_text import words_of
from tests.web.visit_sheets import GOOD_KETTLE, begin, kept, sheet_of


@pytest.fixture
def asking(desk: Desk, world: World, browse_as: BrowseAs) -> Browse:
    begin(desk, world)
    return browse_as(world.technician)


def ask(asking: Browse, world: World, **typed: str) -> str:
    fields = {name.replace("_", "-"): value for name, value in typed.items()}
    answer = asking.get(f"{sheet_of(world)}/parts/verdict", params=fields)
    assert answer.status_code == 200
    return answer.text


def line_of(html: str, field: str) -> str:
    return html.split(f'id="f-{field}-verdict">')[1].split("</div>")[0]


def test_a_good_reading_says_what_is_to_spare(asking: Browse, world: World) -> None:
    html = ask(asking, world, visual="satisfactory", protective_conductor_resistance="0.11")
    # 0.139 Ω: IEC 60228 class 5, 1.5 m of 0.75 mm², plus 0.1 Ω.
    assert "pass" in line_of(html, "protective-conductor-resistance")
    assert "0.029\u00a0Ω to spare" in line_of(html, "protective-conductor-resistance")
    assert line_of(html, "insulation-resistance") == ""
    assert 'data-verdict="incomplete"' in html
    assert "Insulation resistance still to do." in html


def test_a_failing_reading_explains_itself_and_locks_the_rest(asking: Browse, world: World) -> None:
    html = ask(asking, world, visual="satisfactory", protective_conductor_resistance="0.21")
    assert "0.071\u00a0Ω over" in line_of(html, "protective-conductor-resistance")
    assert 'data-verdict="fail"' in html
    for check in ("insulation-resistance", "protective-conductor-current", "functional", "load"):
        assert f'<li data-locks="{check}">The protective conductor resistance failed: stop here' in html


def test_what_stood_in_a_field_that_locks_is_not_judged(asking: Browse, world: World) -> None:
    html = ask(asking, world, visual="satisfactory", protective_conductor_resistance="0.21", insulation_resistance="99")
    assert line_of(html, "insulation-resistance") == ""
    assert 'data-locks="insulation-resistance"' in html


def test_a_defect_counts_before_it_is_described(asking: Browse, world: World) -> None:
    html = ask(asking, world, visual="defect")
    assert 'data-verdict="fail"' in html
    assert 'data-locks="protective-conductor-resistance"' in html


@pytest.mark.parametrize("half_typed", ["", ">", "> ", "0.", "0,", "<"])
def test_a_number_still_being_typed_is_no_mistake(asking: Browse, world: World, half_typed: str) -> None:
    html = ask(asking, world, visual="satisfactory", insulation_resistance=half_typed)
    assert line_of(html, "insulation-resistance") == ""


def test_what_is_no_number_is_said_at_once(asking: Browse, world: World) -> None:
    html = ask(asking, world, insulation_resistance="twenty")
    assert "That is not a number." in line_of(html, "insulation-resistance")
    assert 'data-verdict=""' in html


def test_energising_checks_wait_for_the_safety_checks(asking: Browse, world: World) -> None:
    html = ask(asking, world, visual="satisfactory", protective_conductor_resistance="0.11")
    assert '<li data-waits="functional">Do the insulation resistance first' in html


def test_the_answer_is_the_verdict_that_saving_gives_and_writes_nothing(
    asking: Browse, world: World, desk: Desk
) -> None:
    html = ask(asking, world, **{name.replace("-", "_"): value for name, value in GOOD_KETTLE.items()})
    assert 'data-verdict="pass"' in html
    assert kept(desk, world) == (None, {})
    asking.post(sheet_of(world), GOOD_KETTLE)
    assert kept(desk, world)[0] == "pass"


def test_typed_text_is_shown_as_text(asking: Browse, world: World) -> None:
    html = ask(asking, world, insulation_resistance="<b>1</b>")
    assert "<b>1" not in html
    assert words_of(asking.get(sheet_of(world)))
