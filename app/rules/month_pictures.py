"""Pictures by month: what falls due, the work behind and ahead, money invoiced and received, and debts by age."""

from collections.abc import Iterable, Mapping
from datetime import date
from decimal import Decimal

from app.rules.equipment import Kind
from app.rules.money import convert_from_pence
from app.rules.paces import Basis, Paces
from app.rules.pictures import Column, Picture
from app.rules.quantities import number_rounded
from app.rules.statements import Age

MONTHS = 12
#: Fewer than this say nothing about a month that is fuller than the others.
ITEMS_LEAST = 20

#: So many items of a kind on a day.
Work = Iterable[tuple[date, Kind, int]]


def list_months(first: date, count: int) -> tuple[date, ...]:
    """List the first days of so many months from a day on; fewer than none: those before its month."""
    begin = first.year * 12 + first.month - 1
    places = range(begin, begin + count) if count > 0 else range(begin + count, begin)
    return tuple(date(place // 12, place % 12 + 1, 1) for place in places)


def total_by_month(by_day: Mapping[date, int]) -> dict[date, int]:
    """Add what stands on single days to the first day of its month."""
    found: dict[date, int] = {}
    for day, number in by_day.items():
        found[day.replace(day=1)] = found.get(day.replace(day=1), 0) + number
    return found


def describe_due_picture(by_day: Mapping[date, int], today: date) -> Picture:
    """Make the picture of items by the month in which they fall due: overdue, twelve months, later."""
    overdue = sum(number for day, number in by_day.items() if day < today)
    by_month = total_by_month({day: number for day, number in by_day.items() if day >= today})
    months = list_months(today, MONTHS)
    later = sum(number for month, number in by_month.items() if month > months[-1])
    counts = [(month, by_month.get(month, 0)) for month in months]
    coming = sum(number for _, number in counts)
    if not (coming or overdue or later):
        told = "No item in use has a day on which it falls due."
    else:
        told = f"{_items(coming)} {_falls(coming)} due from today to the end of {_month(months[-1])}"
        fullest = max(counts, key=lambda each: each[1])
        if coming >= ITEMS_LEAST:
            told += f"; the fullest month is {_month(fullest[0])} with {_share(fullest[1], coming)}"
        elif coming:
            told += ", too few to speak of a fullest month"
        told += f". {_items(overdue)} {'is' if overdue == 1 else 'are'} overdue." if overdue else ". None is overdue."
    columns = (
        *([Column("late", (Decimal(overdue),), f"Overdue: {_items(overdue)}", late=True)] if overdue else []),
        *(Column(f"{month:%b}", (Decimal(number),), f"{_month(month)}: {_items(number)}") for month, number in counts),
        *([Column("later", (Decimal(later),), f"Later: {_items(later)}")] if later else []),
    )
    table = (
        *([("Overdue", f"{overdue:,}")] if overdue else []),
        *((_month(month), f"{number:,}") for month, number in counts),
        *([("Later", f"{later:,}")] if later else []),
    )
    return Picture("Items by the month in which they fall due", told, ("Month", "Items"), tuple(table), columns=columns)


def describe_workload_picture(tested: Work, due: Work, paces: Paces, today: date) -> Picture:
    """Make the picture of hours on site: items tested in the twelve months behind, items due in the twelve ahead.

    Both by the firm's pace, so that they can be compared; what is overdue counts in the month of today.
    """
    behind = _minutes_by_month(tested, paces)
    ahead = _minutes_by_month([(max(day, today), kind, count) for day, kind, count in due], paces)
    back, forth = list_months(today, -MONTHS), list_months(today, MONTHS)
    done = [(month, behind.get(month, 0)) for month in back]
    # The month of today has both: what is tested already, and what is still to come in it.
    this = behind.get(forth[0], 0)
    coming = [(month, ahead.get(month, 0)) for month in forth]
    past, future = sum(minutes for _, minutes in done), sum(minutes for _, minutes in coming)
    fullest = max(coming, key=lambda each: each[1])
    told = f"Behind: {_hours(past)} on site in the twelve months before this one. "
    told += f"Ahead: {_hours(future)} in the next twelve"
    told += f", most of them in {_month(fullest[0])} with {_hours(fullest[1])}." if future else "."
    table = [(_month(month), _hours(minutes), "") for month, minutes in done]
    table += [(_month(month), _hours(this) if month == forth[0] else "", _hours(minutes)) for month, minutes in coming]
    nothing = Decimal(0)
    columns = [
        Column(f"{month:%b}", (_in_hours(minutes), nothing), f"{_month(month)}: {_hours(minutes)} behind")
        for month, minutes in done
    ]
    columns += [
        Column(
            f"{month:%b}",
            (_in_hours(this) if month == forth[0] else nothing, _in_hours(minutes)),
            f"{_month(month)}: {_hours(minutes)} ahead",
        )
        for month, minutes in coming
    ]
    return Picture(
        "Hours of work behind and ahead",
        told,
        ("Month", "Behind", "Ahead"),
        tuple(table),
        columns=tuple(columns),
        series=("behind", "ahead"),
        unit=" h",
        note=f"{_paces_told(paces)} Without travel and the time around a visit. What is overdue counts in this month.",
    )


def describe_money_picture(invoiced: Mapping[date, int], received: Mapping[date, int], today: date) -> Picture:
    """Make the picture of pence invoiced, less credit notes, and received, by month; both with VAT."""
    months = (*list_months(today, -(MONTHS - 1)), today.replace(day=1))
    out, into = total_by_month(invoiced), total_by_month(received)
    rows = [(month, out.get(month, 0), into.get(month, 0)) for month in months]
    sent, came = sum(row[1] for row in rows), sum(row[2] for row in rows)
    told = f"From {_month(months[0])} to {_month(months[-1])} {_pounds(sent)} was invoiced and {_pounds(came)} came in"
    if sent > 0:
        told += f", {_of(came, sent)} of it" if came <= sent else ""
        most = max(rows, key=lambda row: row[1])
        told += f"; most was invoiced in {_month(most[0])}, {_pounds(most[1])}"
    columns = tuple(
        Column(
            f"{month:%b}",
            (max(convert_from_pence(a), Decimal(0)), max(convert_from_pence(b), Decimal(0))),
            f"{_month(month)}: {_pounds(a)} invoiced, {_pounds(b)} received",
        )
        for month, a, b in rows
    )
    return Picture(
        "Money by month",
        f"{told}.",
        ("Month", "Invoiced", "Received"),
        tuple((_month(month), _pounds(a), _pounds(b)) for month, a, b in rows),
        columns=columns,
        series=("invoiced", "received"),
        unit="£",
        note="With VAT. Credit notes are taken from what was invoiced, refunds from what was received.",
    )


def describe_ageing_picture(by_age: Mapping[Age, int], customers: int) -> Picture:
    """Make the picture of what is owed by age."""
    owed = sum(by_age.values())
    overdue = owed - by_age.get(Age.NOT_DUE, 0)
    if not owed:
        told = "Nothing is owed."
    else:
        told = f"{_pounds(owed)} is owed by {customers:,} customer{'' if customers == 1 else 's'}"
        told += (
            f"; {_pounds(overdue)} of it, {_of(overdue, owed)}, is overdue." if overdue else "; none of it is overdue."
        )
        if by_age.get(Age.OLDER, 0):
            told += f" {_pounds(by_age[Age.OLDER])} has been overdue for more than 90 days."
    return Picture(
        "What is owed, by age",
        told,
        ("Overdue for", "Owed"),
        tuple((age.value.capitalize(), _pounds(by_age.get(age, 0))) for age in Age),
        columns=tuple(
            Column(
                age.value.replace(" days", ""),
                (convert_from_pence(by_age.get(age, 0)),),
                f"{age.value.capitalize()}: {_pounds(by_age.get(age, 0))}",
                late=age != Age.NOT_DUE,
            )
            for age in Age
        ),
        unit="£",
    )


def list_years(today: date, count: int = 3) -> tuple[tuple[date, date], ...]:
    """List spans of twelve months, both days included, the last ending today, the oldest first."""
    found = []
    for place in range(count, 0, -1):
        begins, ends = _back(today, place), _back(today, place - 1)
        found.append((date.fromordinal(begins.toordinal() + 1), ends))
    return tuple(found)


def _back(day: date, years: int) -> date:
    """The same day some years before; 28 February where there is no 29th."""
    try:
        return day.replace(year=day.year - years)
    except ValueError:
        return day.replace(year=day.year - years, day=28)


def _minutes_by_month(work: Work, paces: Paces) -> dict[date, int]:
    """Whole minutes for the items of each month, each kind at its own pace."""
    found: dict[date, Decimal] = {}
    for day, kind, count in work:
        month = day.replace(day=1)
        found[month] = found.get(month, Decimal(0)) + paces[kind].minutes * count
    return {month: int(number_rounded(minutes, 0)) for month, minutes in found.items()}


def _paces_told(paces: Paces) -> str:
    if all(pace.basis == Basis.STARTING_VALUE for pace in paces.values()):
        return "Minutes an item are starting values of ours, until the firm’s own past says more."
    return "Minutes an item by kind are the firm’s own, from its past visits."


def _month(month: date) -> str:
    return f"{month:%B %Y}"


def _items(number: int) -> str:
    return f"{number:,} item{'' if number == 1 else 's'}"


def _falls(number: int) -> str:
    return "falls" if number == 1 else "fall"


def _share(number: int, whole: int) -> str:
    return f"{number:,} ({_of(number, whole)})"


def _of(part: int, whole: int) -> str:
    return f"{round(Decimal(100 * part) / whole)} %"


def _in_hours(minutes: int) -> Decimal:
    return Decimal(minutes) / 60


def _hours(minutes: int) -> str:
    return f"{round(Decimal(minutes) / 60):,} h" if minutes >= 600 else f"{minutes // 60} h {minutes % 60:02d} min"


def _pounds(pence: int) -> str:
    return f"{'−' if pence < 0 else ''}£{convert_from_pence(abs(pence)):,.2f}"
