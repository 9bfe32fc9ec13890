"""The fields of a form for the facts about an item: what they offer, what they show, and what was typed in them.

Items, equipment types and the visit sheet share them; templates/equipment_types/_facts_fields.html draws them.
"""

from collections.abc import Iterable
from decimal import Decimal
from enum import StrEnum

from app.rules.checks import LEADS
from app.rules.equipment import Construction, Cord, ItemFacts, Kind, Rcd, Reel, Supply, Use
from app.rules.fuses import FUSES_A
from app.rules.quantities import describe_number
from app.rules.rcds import PRODUCTS
from app.rules.rulebooks.conductors import PLAIN
from app.web.fields import Form

Options = list[tuple[str, str]]

#: The names of the fields, for a form that carries them along.
NAMES = (
    "kind", "construction", "use", "supply", "heating", "rated_power_w", "rated_current_a", "cord", "cord_csa_mm2",
    "cord_length_m", "cord_tinned", "plug", "fuse_a", "outlets", "reel", "reel_layers", "rcd_rated_ma", "rcd_product",
    "rcd_selective", "rcd_delay_ms", "motor", "sensitive", "unearthed_metal", "through_earth", "extra_low_voltage",
)  # fmt: skip

#: Rated residual currents in mA that items carry; IEC 60755 lists more, which no portable device has.
RCD_RATINGS_MA = (Decimal(10), Decimal(30), Decimal(100), Decimal(300))
RCD_KINDS = (Kind.RCD_LEAD, Kind.PORTABLE_RCD)


class CordChoice(StrEnum):
    """How an item gets its supply."""

    ATTACHED = "attached"
    DETACHABLE = "detachable"
    NONE = "none"

    @property
    def word(self) -> str:
        return {"attached": "Attached", "detachable": "Detachable", "none": "None: plugged or wired in"}[self.value]


class PlugChoice(StrEnum):
    """How the plug is fitted; a plug that nobody has looked at is neither."""

    MOULDED = "moulded"
    REWIRABLE = "rewirable"


class ReelChoice(StrEnum):
    """What a lead is wound on, as far as the current that it carries while wound up depends on it."""

    OPEN = "drum"
    CLOSED = "closed-drum"
    RADIAL = "radial"
    RADIAL_CLOSED = "closed-radial"

    @property
    def word(self) -> str:
        words = {"drum": "Drum, ventilated", "closed-drum": "Drum, closed", "radial": "Flat spiral, ventilated",
                 "closed-radial": "Flat spiral, closed"}  # fmt: skip
        return words[self.value]


def list_facts_choices(form: Form) -> dict[str, Options]:
    """The options of each choice; a number in the form that is not among the usual ones is offered too."""
    return {
        "kind": [(kind.value, _capital(kind.word)) for kind in Kind],
        "construction": [(construction.value, construction.word) for construction in Construction],
        "use": [(use.value, _capital(use.word)) for use in Use],
        "supply": [(supply.value, supply.word) for supply in Supply],
        "cord": [(cord.value, cord.word) for cord in CordChoice],
        "cord_csa_mm2": _numbers(sorted(PLAIN), "mm²", form.value("cord_csa_mm2")),
        "plug": [(plug.value, _capital(plug.value)) for plug in PlugChoice],
        "fuse_a": _numbers(FUSES_A, "A", form.value("fuse_a")),
        "reel": [(reel.value, reel.word) for reel in ReelChoice],
        "rcd_rated_ma": _numbers(RCD_RATINGS_MA, "mA", form.value("rcd_rated_ma")),
        "rcd_product": [(product, product) for product in PRODUCTS],
    }


def show_facts(facts: ItemFacts) -> dict[str, str]:
    """What each field shows for some facts, by field name."""
    cord, rcd, reel = facts.cord, facts.rcd, facts.reel
    held = CordChoice.DETACHABLE if cord and cord.detachable else CordChoice.ATTACHED
    plug = {True: PlugChoice.MOULDED.value, False: PlugChoice.REWIRABLE.value}.get(cord.moulded_plug) if cord else None  # type: ignore[arg-type]
    form = Form.showing(
        kind=facts.kind,
        construction=facts.construction,
        use=facts.use,
        supply=facts.supply,
        heating=facts.heating,
        cord=held if cord else CordChoice.NONE,
        cord_tinned=bool(cord and cord.tinned),
        plug=plug,
        outlets=facts.outlets or None,
        reel=_reel_choice(reel),
        reel_layers=reel.layers if reel else None,
        rcd_product=rcd.product if rcd else "",
        rcd_selective=bool(rcd and rcd.selective),
        motor=facts.motor,
        sensitive=facts.sensitive,
        unearthed_metal=not facts.earthed_metal,
        through_earth=facts.through_earth,
        extra_low_voltage=facts.extra_low_voltage,
    )
    numbers = {
        "rated_power_w": facts.rated_power_w,
        "rated_current_a": facts.rated_current_a,
        "cord_csa_mm2": cord.csa_mm2 if cord else None,
        "cord_length_m": cord.length_m if cord else None,
        "fuse_a": facts.fuse_a,
        "rcd_rated_ma": rcd.rated_ma if rcd else None,
        "rcd_delay_ms": rcd.delay_ms if rcd else None,
    }
    return form.values | {name: _shown(value) for name, value in numbers.items()}


def new_facts(form: Form) -> ItemFacts:
    """The facts typed in the form. Mistakes are noted in the form.

    Fields that the kind does not need are hidden on the page, so what they hold is left out.
    """
    kind = form.choice("kind", Kind, Kind.APPLIANCE)
    is_lead = kind in LEADS
    loads = not is_lead and kind is not Kind.PORTABLE_RCD
    facts = ItemFacts(
        kind=kind,
        construction=form.choice("construction", Construction, Construction.CLASS_I),
        use=form.choice("use", Use, Use.PORTABLE),
        supply=form.choice("supply", Supply, Supply.SINGLE_230),
        heating=loads and form.tick("heating"),
        rated_power_w=form.number("rated_power_w", "0.1", "100000") if loads else None,
        rated_current_a=form.number("rated_current_a", "0.001", "400"),
        cord=_new_cord(form),
        fuse_a=form.number("fuse_a", "0.1", "125"),
        rcd=_new_rcd(form, kind),
        earthed_metal=not form.tick("unearthed_metal"),
        through_earth=form.tick("through_earth"),
        sensitive=form.tick("sensitive"),
        motor=loads and form.tick("motor"),
        outlets=(form.whole("outlets", 0, 50) or 0) if is_lead else 0,
        reel=_new_reel(form) if is_lead else None,
        extra_low_voltage=form.tick("extra_low_voltage"),
    )
    if facts.cord is None and is_lead:
        form.blame("cord", f"This kind ({kind.word}) is a cord itself: choose attached or detachable.")
    return facts


def list_facts_rows(facts: ItemFacts) -> list[tuple[str, str]]:
    """The facts in words, for a list of terms and values; what is not known says so where it matters."""
    cord, rcd = facts.cord, facts.rcd
    rating = _with_units((facts.rated_power_w, "W"), (facts.rated_current_a, "A"))
    special = [
        ("has a motor", facts.motor),
        ("harmed by a 500 V insulation test", facts.sensitive),
        ("metal parts not joined to earth", not facts.earthed_metal),
        ("passes its earth on", facts.through_earth),
        ("extra-low voltage", facts.extra_low_voltage),
    ]
    device = [_shown(rcd.rated_ma, "mA"), rcd.product, "type S" if rcd.selective else ""] if rcd else []
    if rcd and rcd.delay_ms:
        device.append(f"delay {_shown(rcd.delay_ms, 'ms')}")
    return [
        ("Kind", _capital(facts.kind.word)),
        ("Construction", facts.construction.word),
        ("Use", _capital(facts.use.word)),
        ("Supply", facts.supply.word),
        ("Rating", ", ".join([*rating, "heating"] if facts.heating else rating)),
        ("Cord", _cord_words(cord)),
        ("Plug", {True: "Moulded", False: "Rewirable"}.get(cord.moulded_plug, "") if cord else ""),  # type: ignore[arg-type]
        ("Fuse", _shown(facts.fuse_a, "A")),
        ("Outlets", str(facts.outlets or "")),
        ("Reel", _reel_words(facts.reel)),
        ("RCD", ", ".join(word for word in device if word)),
        ("Also", _capital(", ".join(word for word, holds in special if holds))),
    ]


def show_summary(facts: ItemFacts) -> str:
    """What decides the limits, in a line: class, kind, cord, fuse and rating."""
    rows = dict(list_facts_rows(facts))
    fuse = f"{rows['Fuse']} fuse" if rows["Fuse"] else ""
    cord = "" if rows["Cord"] == "None" else rows["Cord"]
    parts = (rows["Construction"], rows["Kind"], cord, fuse, rows["Rating"])
    return " · ".join(part for part in parts if part)


def _new_cord(form: Form) -> Cord | None:
    held = form.choice("cord", CordChoice, CordChoice.ATTACHED)
    csa, length = form.number("cord_csa_mm2", "0.1", "300"), form.number("cord_length_m", "0.05", "500")
    if held == CordChoice.NONE:
        return None
    moulded = form.choice("plug", PlugChoice) == PlugChoice.MOULDED if form.value("plug") else None
    return Cord(csa, length, held == CordChoice.DETACHABLE, moulded, form.tick("cord_tinned"))


def _new_rcd(form: Form, kind: Kind) -> Rcd | None:
    rated, delay = form.number("rcd_rated_ma", "1", "30000"), form.number("rcd_delay_ms", "0", "5000")
    product = form.text("rcd_product")
    if product and product not in PRODUCTS:
        form.blame("rcd_product", "Choose one of these.")
    if rated is None:
        if kind in RCD_KINDS:
            form.blame("rcd_rated_ma", "Give the rated residual current; the RCD is judged by it.")
        return None
    return Rcd(rated, product or PRODUCTS[0], form.tick("rcd_selective"), delay)


def _new_reel(form: Form) -> Reel | None:
    if not form.value("reel"):
        return None
    chosen = form.choice("reel", ReelChoice)
    radial, closed = chosen in (ReelChoice.RADIAL, ReelChoice.RADIAL_CLOSED), chosen.value.startswith("closed")
    return Reel(not closed, radial, form.whole("reel_layers", 1, 20) or 1)


def _reel_choice(reel: Reel | None) -> ReelChoice | None:
    if reel is None:
        return None
    if reel.radial:
        return ReelChoice.RADIAL if reel.ventilated else ReelChoice.RADIAL_CLOSED
    return ReelChoice.OPEN if reel.ventilated else ReelChoice.CLOSED


def _reel_words(reel: Reel | None) -> str:
    chosen = _reel_choice(reel)
    if reel is None or chosen is None:
        return ""
    return chosen.word if reel.radial else f"{chosen.word}, {reel.layers} layer{'s' if reel.layers > 1 else ''}"


def _cord_words(cord: Cord | None) -> str:
    if cord is None:
        return "None"
    parts = _with_units((cord.length_m, "m"), (cord.csa_mm2, "mm²"))
    missing = [word for word, value in (("length", cord.length_m), ("size", cord.csa_mm2)) if value is None]
    if missing:
        parts.append(f"{' and '.join(missing)} not known")
    if cord.tinned:
        parts.append("tinned copper")
    if cord.detachable:
        parts.append("detachable")
    return _capital(", ".join(parts))


def _with_units(*values: tuple[Decimal | None, str]) -> list[str]:
    return [_shown(value, unit) for value, unit in values if value is not None]


def _numbers(usual: Iterable[Decimal], unit: str, typed: str) -> Options:
    options = [(describe_number(value), f"{describe_number(value)}\u00a0{unit}") for value in usual]
    if typed and typed not in dict(options):
        options.append((typed, f"{typed}\u00a0{unit}"))
    return options


def _shown(value: Decimal | None, unit: str = "") -> str:
    if value is None:
        return ""
    return f"{describe_number(value)}\u00a0{unit}" if unit else describe_number(value)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
