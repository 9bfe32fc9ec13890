"""Drawing a customer's statement of account."""

from datetime import date

from app.actions.deeds import Desk
from app.actions.paper_files import draw_paper
from app.documents.statement import StatementFacts, statement_from
from app.rules.statements import total_statement
from app.store.accounts import facts_of_account_holder, list_account_entries, list_debts
from app.store.firms import get_firm


def draw_statement(desk: Desk, customer_id: int, starts_on: date, ends_on: date) -> bytes:
    """The statement as a PDF, made anew each time; it has no number and keeps nothing."""
    with desk.reading_only() as session:
        firm, customer = get_firm(session), facts_of_account_holder(session, customer_id)
        told = total_statement(
            list_account_entries(session, customer_id), list_debts(session, customer_id), starts_on, ends_on
        )
        data = statement_from(StatementFacts(firm.facts, customer, told, desk.today))
        logo = firm.logo_png
    return draw_paper("statement", data, logo)
