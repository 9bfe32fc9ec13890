"""All tables in one place, for migrations and for the tests that compare them with a database."""

from app.store import (
    certificates,
    customers,
    equipment_types,
    firms,
    house_limits,
    instruments,
    intervals,
    invoices,
    items,
    journal,
    label_sheets,
    number_runs,
    people,
    premises,
    prices,
    readings,
    reference_checks,
    searches,
    share_links,
    visits,
)
from app.store.database import Base

NOUNS = (
    people,
    firms,
    customers,
    house_limits,
    premises,
    equipment_types,
    items,
    intervals,
    instruments,
    reference_checks,
    prices,
    visits,
    readings,
    certificates,
    invoices,
    share_links,
    searches,
    label_sheets,
    number_runs,
    journal,
)
metadata = Base.metadata
