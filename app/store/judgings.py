"""What a visit to a customer is judged by when it starts: the customer's own rulebook and decision rule, else the
firm's, the firm's reading of that rulebook, and the house limits of that day.
"""

from datetime import date

from sqlalchemy.orm import Session

from app.rules.decisions import DecisionRule
from app.rules.house_limits import list_house_limits_on
from app.rules.judging import Judging
from app.rules.rulebooks import RULEBOOKS, Rulebook, rulebook_named
from app.store.customers import CustomerRow, list_customers
from app.store.firms import FirmRow, get_firm
from app.store.house_limits import list_house_limits_for
from app.store.people import get_person


def facts_for_judging_on(session: Session, customer: CustomerRow | None, day: date) -> Judging:
    """What a visit that starts on a day is judged by. The instrument's ranges and the method are the visit's own.

    Without a customer: what holds where a customer has nothing of its own.
    """
    firm = get_firm(session)
    if customer is None:
        customer = CustomerRow(id=0, rulebook_id="", decision_rule="")  # belongs to no session
    rows = [row.details for row in list_house_limits_for(session, customer.id, day)]
    competent = get_person(session, firm.dielectric_by_id) if firm.dielectric_by_id else None
    rulebook, house = _as_read(firm, customer.rulebook_id or firm.rulebook_id), list_house_limits_on(rows, day)
    return Judging(
        rulebook.with_house(house) if house else rulebook,
        DecisionRule(customer.decision_rule or firm.decision_rule),
        dielectric_by=competent.name if competent and competent.active else "",
    )


def facts_of_rulebook(session: Session, rulebook_id: str) -> Rulebook:
    """A rulebook as the firm reads it, without house limits. Raises KeyError."""
    return _as_read(get_firm(session), rulebook_id)


def list_rulebooks_in_use(session: Session, customer_id: int | None = None) -> list[Rulebook]:
    """The rulebooks that visits are judged by, as the firm reads them: the firm's own first, then those that customers
    have for themselves; for one customer the one that holds there.
    """
    firm = get_firm(session)
    asked = {row.id: row.rulebook_id for row in list_customers(session)}
    if customer_id in asked:
        used = {asked[customer_id] or firm.rulebook_id}
    else:
        used = {firm.rulebook_id, *filter(None, asked.values())}
    order = sorted(used, key=lambda each: (each != firm.rulebook_id, list(RULEBOOKS).index(each)))
    return [_as_read(firm, each) for each in order]


def _as_read(firm: FirmRow, rulebook_id: str) -> Rulebook:
    return rulebook_named(rulebook_id).with_settings((firm.rulebook_settings or {}).get(rulebook_id, {}))
