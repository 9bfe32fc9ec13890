"""Drawing a customer's three years as a paper."""

from app.actions.deeds import Desk
from app.actions.paper_files import draw_paper
from app.documents.story import story_from
from app.rules.stories import describe_story
from app.store.accounts import facts_of_account_holder
from app.store.firms import get_firm
from app.store.stories import facts_of_story


def draw_story(desk: Desk, customer_id: int) -> bytes:
    """The story as a PDF, made anew each time; it has no number and keeps nothing."""
    with desk.reading_only() as session:
        firm, customer = get_firm(session), facts_of_account_holder(session, customer_id)
        story = describe_story(facts_of_story(session, customer_id, desk.today), desk.today)
        data, logo = story_from(firm.facts, customer, story, desk.today), firm.logo_png
    return draw_paper("story", data, logo)
