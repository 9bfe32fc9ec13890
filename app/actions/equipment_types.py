"""The firm's equipment types with their usual values."""

from dataclasses import replace

from app.actions.deeds import Deed, check_version, columns_of, fill
from app.rules.equipment import Environment, ItemFacts
from app.rules.interval_decisions import (
    REASON_MOST,
    YEARS_USUAL,
    Doubted,
    describe_months,
    judge_longer,
    list_table_doubts,
    may_lengthen,
)
from app.rules.intervals import suggest_interval
from app.rules.items import EquipmentTypeDetails
from app.rules.verdicts import Mistakes
from app.store.equipment_types import EquipmentTypeRow, get_equipment_type, list_equipment_types
from app.store.evidence import list_evidence_groups
from app.store.intervals import list_environments_of_type


def add_equipment_type(deed: Deed, details: EquipmentTypeDetails, all_the_same: bool = False) -> EquipmentTypeRow:
    """Add an equipment type. all_the_same: what speaks against its usual interval was seen. Raises Mistakes."""
    _check_name(deed, details, None)
    _check_interval(deed, details, None, all_the_same)
    details = _tidied(details)
    row = EquipmentTypeRow(**columns_of(details))
    deed.session.add(row)
    deed.session.flush()
    usual = _usual(details) if details.interval_months is not None else ""
    deed.note("equipment type", row.id, f"Added the equipment type {row.name}.{usual}")
    return row


def change_equipment_type(
    deed: Deed,
    equipment_type_id: int,
    details: EquipmentTypeDetails,
    version: int | None = None,
    all_the_same: bool = False,
) -> EquipmentTypeRow:
    """Change an equipment type. Items made from it earlier keep their own values; its usual interval holds for them
    from their next test on. all_the_same: what speaks against that interval was seen. Raises Mistakes.
    """
    row = get_equipment_type(deed.session, equipment_type_id)
    check_version(row, version, "this equipment type")
    _check_name(deed, details, row)
    _check_interval(deed, details, row, all_the_same)
    before = row.interval_months
    told = _tidied(details)
    if told.interval_months == before and not told.interval_reason:
        told = replace(told, interval_reason=row.interval_reason)
    fill(row, told)
    # The reason as it was typed: without an interval the type keeps none, but the journal does.
    usual = _usual(details, f", before that {_say(before)}") if told.interval_months != before else ""
    deed.note("equipment type", row.id, f"Changed the equipment type {row.name}.{usual}")
    return row


def _weigh(deed: Deed, details: EquipmentTypeDetails, row: EquipmentTypeRow | None) -> tuple[bool, tuple[str, ...]]:
    """Say whether the usual interval of a type grows in any kind of place where the firm has such equipment (in an
    office where it has none), and what speaks against it there.
    """
    places = [Environment(each) for each in list_environments_of_type(deed.session, row.id)] if row else []
    where: dict[str, list[str]] = {}
    longer = False
    for place in places or [Environment.OFFICE]:
        advice = suggest_interval(details.facts, place)
        now, then = _before(details.facts, row, place), details.interval_months or advice.due_months
        longer = longer or judge_longer(now, then)
        for doubt in list_table_doubts(now, then, advice):
            where.setdefault(doubt, []).append(place.word)
    doubts = [f"{', '.join(words).capitalize()}: {doubt}" for doubt, words in where.items()]
    if longer and (evidence := _doubt_by_evidence(deed, row)):
        doubts.append(evidence)
    return longer, tuple(doubts)


def _before(facts: ItemFacts, row: EquipmentTypeRow | None, place: Environment) -> int | None:
    """The months that held until now for such equipment in such a place; those of another kind of it say nothing."""
    advice = suggest_interval(facts, place)
    if row is None or suggest_interval(row.facts, place).key != advice.key:
        return advice.due_months
    return row.interval_months if row.interval_months is not None else advice.due_months


def _doubt_by_evidence(deed: Deed, row: EquipmentTypeRow | None) -> str:
    """What the groups of like items in like places say against it; nothing where all of them carry it."""
    groups = list_evidence_groups(deed.session, deed.today, YEARS_USUAL, equipment_type_id=row.id) if row else []
    if not groups:
        return f"Nothing of this type was tested in the last {YEARS_USUAL} years, so there is no evidence for it."
    weak = [group for group in groups if not group.rate.supports_longer]
    if not weak:
        return ""
    return (
        f"It would hold at every customer, and the evidence does not carry it in {len(weak)} of {len(groups)} groups "
        f"of like items. The largest of them: {weak[0].sentence}"
    )


def _check_interval(
    deed: Deed, details: EquipmentTypeDetails, row: EquipmentTypeRow | None, all_the_same: bool
) -> None:
    """Raises Mistakes where a usual interval would be longer without a reason, or before the doubts were seen."""
    if len(details.interval_reason) > REASON_MOST:
        raise Mistakes({"interval_reason": f"Use at most {REASON_MOST} characters."})
    office = Environment.OFFICE
    if row is not None and row.interval_months == details.interval_months:
        # Kept as it is, unless it would now hold for another kind of equipment.
        same = suggest_interval(row.facts, office).key == suggest_interval(details.facts, office).key
        if same or details.interval_months is None:
            return
    longer, doubts = _weigh(deed, details, row)
    if not longer:
        return
    if deed.person is not None and (sentence := may_lengthen(deed.person.role)):
        raise Mistakes({"interval_months": sentence})
    mistakes = {} if details.interval_reason.strip() else {"interval_reason": "Say why; the journal keeps it."}
    if mistakes or (doubts and not all_the_same):
        raise Doubted(doubts, mistakes, all_the_same)


def _tidied(details: EquipmentTypeDetails) -> EquipmentTypeDetails:
    reason = details.interval_reason.strip() if details.interval_months is not None else ""
    return replace(details, interval_reason=reason)


def _usual(details: EquipmentTypeDetails, before: str = "") -> str:
    reason = details.interval_reason.strip().rstrip(".")
    return f" Its usual interval: {_say(details.interval_months)}{before}." + (f" Reason: {reason}." if reason else "")


def _say(months: int | None) -> str:
    return "as suggested for item and place" if months is None else describe_months(months)


def _check_name(deed: Deed, details: EquipmentTypeDetails, row: EquipmentTypeRow | None) -> None:
    if not details.name.strip():
        raise Mistakes({"name": "Give the equipment type a name."})
    for other in list_equipment_types(deed.session):
        if other is not row and other.name.casefold() == details.name.strip().casefold():
            raise Mistakes({"name": "There is an equipment type of this name already."})
