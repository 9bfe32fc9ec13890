"""What an e-mail is about, which kinds of messages there are about it, and what their links open."""

from dataclasses import dataclass
from datetime import date

from app.rules.mail_texts import AFTER_THE_VISIT, MailKind
from app.rules.reminders import Tone
from app.rules.share_links import FolderKind, LinkKind, LinkScope

_OF_PAPERS = {
    FolderKind.INVOICE: MailKind.INVOICE,
    FolderKind.QUOTE: MailKind.QUOTE,
    FolderKind.CREDIT_NOTE: MailKind.CREDIT_NOTE,
    FolderKind.CLAIM: MailKind.CLAIM,
}
#: Messages whose sender chooses if the link shows papers about money; those about money always do.
_MONEY_CHOSEN = (MailKind.CERTIFICATE, MailKind.LINK, MailKind.FOLDER)


@dataclass(frozen=True)
class Topic:
    """What a message is about. scope: what a link in it opens. period: of a statement; tone: of a reminder."""

    kind: MailKind
    scope: LinkScope
    period: tuple[date, date] | None = None
    tone: Tone = Tone.FRIENDLY

    @property
    def asks_money(self) -> bool:
        return self.kind in _MONEY_CHOSEN and self.scope.kind != LinkKind.PAPER


def list_mail_kinds(scope: LinkScope) -> tuple[MailKind, ...]:
    """The kinds of messages about a paper, a visit, premises or a customer; the usual one first."""
    if scope.paper is not None:
        return (_OF_PAPERS.get(scope.paper[0], MailKind.PAPER),)
    if scope.kind == LinkKind.VISIT:
        return AFTER_THE_VISIT
    if scope.kind == LinkKind.PREMISES:
        return (MailKind.FOLDER,)
    return (MailKind.FOLDER, MailKind.STATEMENT, MailKind.REMINDER)


def describe_link(topic: Topic) -> str:
    """What the link in a message opens, as the end of a sentence."""
    opens = {
        LinkKind.PAPER: "this paper alone",
        LinkKind.VISIT: "the papers of this visit",
        LinkKind.PREMISES: "the folder of these premises",
        LinkKind.CUSTOMER: "the whole folder of this customer",
    }[topic.scope.kind]
    with_money = topic.scope.kind != LinkKind.PAPER and not topic.asks_money
    return f"{opens}, papers about money among them" if with_money else opens
