"""A message as it is kept: the one place that writes to the outbox, for e-mails and for letters that are printed."""

from typing import Any

from app.actions.deeds import Deed
from app.actions.mail_servers import new_message_id
from app.rules.mail_texts import MailText
from app.rules.mails import MailState
from app.store.mails import MailRow, find_mail_server


def keep_mail(
    deed: Deed, kind: str, customer_id: int, to: str, text: MailText, link_days: int, **about: Any
) -> MailRow:
    """Keep a message that was looked over: to be sent at once, or as printed where it goes to no address.

    link_days: how long a link in it opens; about: what it is about and what goes with it, as fields of MailRow.
    """
    server = find_mail_server(deed.session)
    row = MailRow(
        kind=kind,
        customer_id=customer_id,
        link_days=link_days,
        to_address=to,
        subject=text.subject,
        body=text.body,
        message_id=new_message_id(server.details) if to and server is not None else "",
        state=(MailState.WAITING if to else MailState.PRINTED).value,
        next_at=deed.now,
        made_at=deed.now,
        made_by_id=deed.doer.id,
        **about,
    )
    deed.session.add(row)
    deed.session.flush()
    how = f"Wrote e-mail {row.id} to {to}" if to else f"Printed letter {row.id}"
    deed.note("customer", customer_id, f"{how}: {row.subject}")
    return row
