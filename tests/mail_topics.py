"""What messages of tests are about."""

from app.rules.mail_texts import MailKind
from app.rules.mail_topics import Topic
from app.rules.share_links import LinkScope
from tests.cast import World


def about_visit(world: World, kind: MailKind = MailKind.CERTIFICATE) -> Topic:
    """The first visit of the world, its invoice among its papers."""
    return Topic(kind, LinkScope(world.customer_id, visit_id=world.visit_id, with_money=True))
