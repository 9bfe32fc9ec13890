"""Equipment types with their usual values, and the columns that hold the facts about an item."""

from decimal import Decimal
from typing import Any

from sqlalchemy import func, select, text
from sqlalchemy.orm import Mapped, Session, mapped_column

from app.rules.equipment import Construction, Cord, ItemFacts, Kind, Rcd, Reel, Supply, Use
from app.store.database import Base, Missing


class FactsColumns:
    """The columns for an ItemFacts; equipment types and items both have them."""

    kind: Mapped[str]
    construction: Mapped[str]
    use: Mapped[str]
    heating: Mapped[bool]
    rated_power_w: Mapped[Decimal | None]
    rated_current_a: Mapped[Decimal | None]
    supply: Mapped[str]
    has_cord: Mapped[bool]
    cord_csa_mm2: Mapped[Decimal | None]
    cord_length_m: Mapped[Decimal | None]
    cord_detachable: Mapped[bool]
    cord_moulded_plug: Mapped[bool | None]
    cord_tinned: Mapped[bool]
    fuse_a: Mapped[Decimal | None]
    rcd_rated_ma: Mapped[Decimal | None]
    rcd_product: Mapped[str]
    rcd_selective: Mapped[bool]
    rcd_delay_ms: Mapped[Decimal | None]
    earthed_metal: Mapped[bool]
    through_earth: Mapped[bool]
    sensitive: Mapped[bool]
    motor: Mapped[bool]
    outlets: Mapped[int]
    reel_layers: Mapped[int | None]
    reel_ventilated: Mapped[bool]
    reel_radial: Mapped[bool]
    extra_low_voltage: Mapped[bool]

    @property
    def facts(self) -> ItemFacts:
        cord = Cord(
            self.cord_csa_mm2, self.cord_length_m, self.cord_detachable, self.cord_moulded_plug, self.cord_tinned
        )
        reel = Reel(self.reel_ventilated, self.reel_radial, self.reel_layers) if self.reel_layers is not None else None
        rcd = None
        if self.rcd_rated_ma is not None:
            rcd = Rcd(self.rcd_rated_ma, self.rcd_product, self.rcd_selective, self.rcd_delay_ms)
        return ItemFacts(
            kind=Kind(self.kind),
            construction=Construction(self.construction),
            use=Use(self.use),
            heating=self.heating,
            rated_power_w=self.rated_power_w,
            rated_current_a=self.rated_current_a,
            supply=Supply(self.supply),
            cord=cord if self.has_cord else None,
            fuse_a=self.fuse_a,
            rcd=rcd,
            earthed_metal=self.earthed_metal,
            through_earth=self.through_earth,
            sensitive=self.sensitive,
            motor=self.motor,
            outlets=self.outlets,
            reel=reel,
            extra_low_voltage=self.extra_low_voltage,
        )


def facts_columns(facts: ItemFacts) -> dict[str, Any]:
    """The columns of FactsColumns for some facts, by name."""
    cord, rcd, reel = facts.cord or Cord(), facts.rcd, facts.reel
    return {
        "kind": facts.kind.value,
        "construction": facts.construction.value,
        "use": facts.use.value,
        "heating": facts.heating,
        "rated_power_w": facts.rated_power_w,
        "rated_current_a": facts.rated_current_a,
        "supply": facts.supply.value,
        "has_cord": facts.cord is not None,
        "cord_csa_mm2": cord.csa_mm2,
        "cord_length_m": cord.length_m,
        "cord_detachable": cord.detachable,
        "cord_moulded_plug": cord.moulded_plug,
        "cord_tinned": cord.tinned,
        "fuse_a": facts.fuse_a,
        "rcd_rated_ma": rcd.rated_ma if rcd else None,
        "rcd_product": rcd.product if rcd else "",
        "rcd_selective": rcd.selective if rcd else False,
        "rcd_delay_ms": rcd.delay_ms if rcd else None,
        "earthed_metal": facts.earthed_metal,
        "through_earth": facts.through_earth,
        "sensitive": facts.sensitive,
        "motor": facts.motor,
        "outlets": facts.outlets,
        "reel_layers": reel.layers if reel else None,
        "reel_ventilated": reel.ventilated if reel else False,
        "reel_radial": reel.radial if reel else False,
        "extra_low_voltage": facts.extra_low_voltage,
    }


class EquipmentTypeRow(FactsColumns, Base):
    __tablename__ = "equipment_types"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(unique=True)
    interval_months: Mapped[int | None]
    interval_reason: Mapped[str] = mapped_column(default="", server_default=text("''"))
    own_checks: Mapped[list[str] | None]
    version: Mapped[int] = mapped_column(default=1)

    __mapper_args__ = {"version_id_col": version}


def get_equipment_type(session: Session, equipment_type_id: int) -> EquipmentTypeRow:
    """Raises Missing."""
    row = session.get(EquipmentTypeRow, equipment_type_id)
    if row is None:
        raise Missing("equipment type")
    return row


def list_equipment_types(session: Session) -> list[EquipmentTypeRow]:
    return list(session.scalars(select(EquipmentTypeRow).order_by(func.lower(EquipmentTypeRow.name))))
