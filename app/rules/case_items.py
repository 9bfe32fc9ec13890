"""Reads the item of a case for the machine interface: its kind, class, cord and RCD."""

from decimal import Decimal

from app.rules.case_fields import Fields
from app.rules.equipment import LEADS, Construction, Cord, ItemFacts, Kind, Rcd, Reel, Supply, Use
from app.rules.rcds import ANY_PRODUCT, PRODUCTS


def parse_item(fields: Fields) -> ItemFacts | None:
    """Read the item; None where it cannot be read at all."""
    if not fields.has("item"):
        fields.problem("item", "is needed")
        return None
    before = len(fields.problems)
    item = Fields(fields.data["item"], f"{fields.path}/item", fields.problems)
    if len(fields.problems) > before:
        return None
    kind = item.choice("kind", Kind, required=True)
    construction = item.choice("construction", Construction, required=True)
    use = item.choice("use", Use)
    supply = item.choice("supply", Supply) or Supply.SINGLE_230
    rcd = _rcd(item)
    facts = ItemFacts(
        kind=kind or Kind.APPLIANCE,
        construction=construction or Construction.CLASS_I,
        use=use or Use.PORTABLE,
        use_known=use is not None,
        heating=item.flag("heating"),
        rated_power_w=item.number("rated_power_w", most=Decimal(1_000_000), above=True),
        rated_current_a=item.number("rated_current_a", most=Decimal(1000), above=True),
        supply=supply,
        cord=_cord(item, kind, use),
        fuse_a=item.number("fuse_a", most=Decimal(1000), above=True),
        rcd=rcd,
        earthed_metal=item.flag("earthed_metal", True),
        through_earth=item.flag("through_earth"),
        sensitive=item.flag("sensitive"),
        motor=item.flag("motor"),
        outlets=item.whole("outlets", 0, 100, 0),
        reel=_reel(item),
        extra_low_voltage=item.flag("extra_low_voltage"),
    )
    if not facts.earthed_metal and kind in LEADS:
        item.problem("earthed_metal", "a lead has no metal parts to join to earth")
    item.close()
    return facts


def _cord(item: Fields, kind: Kind | None, use: Use | None) -> Cord | None:
    """null says that there is no cord in the measured path. A field left out says that nothing is known of the cord,
    except for what has none: fixed equipment and a portable RCD that plugs straight in.
    """
    if item.is_null("cord"):
        return None
    if not item.has("cord"):
        return None if use is Use.FIXED or kind is Kind.PORTABLE_RCD else Cord()
    cord = Fields(item.data["cord"], f"{item.path}/cord", item.problems)
    found = Cord(
        csa_mm2=cord.number("csa_mm2", most=Decimal(1000), above=True),
        length_m=cord.number("length_m", most=Decimal(1000)),
        detachable=cord.flag("detachable"),
        moulded_plug=cord.flag("moulded_plug") if cord.has("moulded_plug") else None,
        tinned=cord.flag("tinned"),
    )
    cord.close()
    return found


def _reel(item: Fields) -> Reel | None:
    if not item.has("reel"):
        return None
    reel = Fields(item.data["reel"], f"{item.path}/reel", item.problems)
    found = Reel(reel.flag("ventilated", True), reel.flag("radial"), reel.whole("layers", 1, 20, 1))
    reel.close()
    return found


def _rcd(item: Fields) -> Rcd | None:
    if not item.has("rcd"):
        return None
    rcd = Fields(item.data["rcd"], f"{item.path}/rcd", item.problems)
    before = len(rcd.problems)
    rated = rcd.number("rated_ma", most=Decimal(100_000), above=True)
    product = rcd.word("product", PRODUCTS)
    selective, delay = rcd.flag("selective"), rcd.number("delay_ms", most=Decimal(10_000))
    if not rcd.has("rated_ma"):
        rcd.problem("rated_ma", "is needed: the rated residual current in mA")
    rcd.close()
    if len(rcd.problems) > before or rated is None:
        return None
    if product is None and (selective or delay):
        rcd.problem("product", f"is needed with selective or delay_ms: one of {', '.join(PRODUCTS)}")
        return None
    if selective and product not in ("EN 61008", "EN 61009"):
        rcd.problem("selective", "type S belongs to EN 61008 and EN 61009; give delay_ms for BS 4293")
    elif selective and rated <= 30:
        rcd.problem("selective", "type S is made only above 30 mA")
    if delay and product != "BS 4293":
        rcd.problem("delay_ms", "a delay in ms belongs to BS 4293 only")
    return Rcd(rated, product or ANY_PRODUCT, selective, delay or None)
