"""The firm's equipment types with their usual values."""

from app.actions.deeds import Deed, check_version, columns_of, fill
from app.rules.items import EquipmentTypeDetails
from app.rules.verdicts import Mistakes
from app.store.equipment_types import EquipmentTypeRow, get_equipment_type, list_equipment_types


def add_equipment_type(deed: Deed, details: EquipmentTypeDetails) -> EquipmentTypeRow:
    """Add an equipment type. Raises Mistakes."""
    _check_name(deed, details, None)
    row = EquipmentTypeRow(**columns_of(details))
    deed.session.add(row)
    deed.session.flush()
    deed.note("equipment type", row.id, f"Added the equipment type {row.name}.")
    return row


def change_equipment_type(
    deed: Deed, equipment_type_id: int, details: EquipmentTypeDetails, version: int | None = None
) -> EquipmentTypeRow:
    """Change an equipment type. Items made from it earlier keep their own values. Raises Mistakes."""
    row = get_equipment_type(deed.session, equipment_type_id)
    check_version(row, version, "this equipment type")
    _check_name(deed, details, row)
    fill(row, details)
    deed.note("equipment type", row.id, f"Changed the equipment type {row.name}.")
    return row


def _check_name(deed: Deed, details: EquipmentTypeDetails, row: EquipmentTypeRow | None) -> None:
    if not details.name.strip():
        raise Mistakes({"name": "Give the equipment type a name."})
    for other in list_equipment_types(deed.session):
        if other is not row and other.name.casefold() == details.name.strip().casefold():
            raise Mistakes({"name": "There is an equipment type of this name already."})
