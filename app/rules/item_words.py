"""How papers and the sheet name what an item is beside its class, where that is not taken for granted."""

from app.rules.equipment import ItemFacts, Kind, Rcd, Supply, Use
from app.rules.quantities import describe_number


def describe_kind(item: ItemFacts, description: str) -> str:
    """Name the kind of an item; nothing for an appliance, and where its description says it."""
    said = description.casefold()
    plain = (item.kind.word.casefold(), item.kind.word.split()[0].casefold() if item.kind not in _LEADS else "-")
    return "" if item.kind is Kind.APPLIANCE or any(word in said for word in plain) else item.kind.word


#: Their first word alone ("extension", "portable") does not say what they are.
_LEADS = (
    Kind.EXTENSION_LEAD, Kind.MULTIWAY_LEAD, Kind.DETACHABLE_CORD, Kind.RCD_LEAD, Kind.PORTABLE_RCD,
    Kind.THREE_PHASE_LEAD, Kind.POWER_SUPPLY, Kind.APPLIANCE,
)  # fmt: skip


def list_fact_words(item: ItemFacts) -> tuple[str, ...]:
    """List what of an item changes its tests and limits beside class, cord, fuse and load, each in a few words."""
    words = [
        describe_supply(item),
        "" if item.use is Use.PORTABLE else item.use.word,
        "heating" if item.heating else "",
        "metal not joined to earth" if item.tested_as is not item.construction else "",
        "passes an earth on" if item.through_earth else "",
        f"{item.outlets} outlets" if item.outlets > 1 else "",
        "on a reel" if item.reel is not None else "",
        "500 V could harm it" if item.sensitive else "",
        describe_rcd(item.rcd),
    ]
    return tuple(word for word in words if word)


def describe_supply(item: ItemFacts) -> str:
    """Name a supply other than the usual 230 V, "" for that."""
    return "" if item.supply is Supply.SINGLE_230 else item.supply.word


def describe_rcd(rcd: Rcd | None) -> str:
    """Write what a residual current device is: "RCD 30 mA, EN 61008, type S"."""
    if rcd is None:
        return ""
    parts = [f"RCD {describe_number(rcd.rated_ma)} mA", rcd.product]
    parts += ["type S"] if rcd.selective else []
    parts += [f"delay {describe_number(rcd.delay_ms)} ms"] if rcd.delay_ms else []
    return ", ".join(parts)
