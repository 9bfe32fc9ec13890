"""What rules need to know about one piece of equipment: its kind, construction class, use, cord, fuse and load."""

from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum


class Kind(StrEnum):
    APPLIANCE = "appliance"
    EXTENSION_LEAD = "extension-lead"
    MULTIWAY_LEAD = "multiway-lead"
    DETACHABLE_CORD = "detachable-cord"
    RCD_LEAD = "rcd-lead"
    PORTABLE_RCD = "portable-rcd"
    MICROWAVE_OVEN = "microwave-oven"
    CHARGER = "charger"
    POWER_SUPPLY = "power-supply"
    THREE_PHASE_LEAD = "three-phase-lead"

    @property
    def word(self) -> str:
        return self.value.replace("-", " ").replace("rcd", "RCD").replace("three phase", "three-phase")

    @property
    def plural(self) -> str:
        return f"{self.word[:-1]}ies" if self.word.endswith("y") else f"{self.word}s"


LEADS = (Kind.EXTENSION_LEAD, Kind.MULTIWAY_LEAD, Kind.DETACHABLE_CORD, Kind.RCD_LEAD, Kind.THREE_PHASE_LEAD)


class Construction(StrEnum):
    CLASS_I = "I"
    CLASS_II = "II"
    CLASS_III = "III"
    CLASS_II_FUNCTIONAL_EARTH = "II-functional-earth"

    @property
    def word(self) -> str:
        return "Class II with functional earth" if self == "II-functional-earth" else f"Class {self.value}"


class Use(StrEnum):
    """How the equipment is used; the trade's own groups."""

    HAND_HELD = "hand-held"
    PORTABLE = "portable"
    MOVABLE = "movable"
    STATIONARY = "stationary"
    FIXED = "fixed"
    IT = "it"

    @property
    def word(self) -> str:
        return "IT equipment" if self == "it" else self.value


class Supply(StrEnum):
    SINGLE_230 = "230-single"
    CENTRE_TAPPED_110 = "110-centre-tapped"
    THREE_PHASE_400 = "400-three-phase"

    @property
    def word(self) -> str:
        volts, kind = self.value.split("-", 1)
        return f"{volts} V {'single-phase' if kind == 'single' else kind}"


class Environment(StrEnum):
    """The kind of place, as in HSE's tables of suggested intervals."""

    OFFICE = "office"
    SHOP = "shop"
    HOTEL = "hotel"
    CARE_HOME = "care-home"
    SCHOOL = "school"
    PUBLIC = "public"
    LIGHT_INDUSTRIAL = "light-industrial"
    HEAVY_INDUSTRIAL = "heavy-industrial"
    KITCHEN = "commercial-kitchen"
    CONSTRUCTION = "construction"
    HIRE = "hire"

    @property
    def word(self) -> str:
        words = {"public": "place open to the public", "construction": "construction site", "hire": "equipment hire"}
        return words.get(self.value, self.value.replace("-", " "))


@dataclass(frozen=True)
class Cord:
    """The supply flex. csa_mm2 is the conductor size in mm², length_m its length in m; None where not known.

    moulded_plug is None where nobody has noted whether the plug is moulded on or rewirable.
    """

    csa_mm2: Decimal | None = None
    length_m: Decimal | None = None
    detachable: bool = False
    moulded_plug: bool | None = None
    tinned: bool = False


@dataclass(frozen=True)
class Reel:
    """A reel or drum that the lead is wound on. layers counts the layers of cord that stay on it in use."""

    ventilated: bool = True
    radial: bool = False
    layers: int = 1


@dataclass(frozen=True)
class Rcd:
    """A residual current device in the item. product is the product standard it is built to."""

    rated_ma: Decimal
    product: str = "EN 61008"
    selective: bool = False
    delay_ms: Decimal | None = None


@dataclass(frozen=True)
class ItemFacts:
    """One item as the rules see it. cord is None for equipment without a cord in the measured path.

    earthed_metal is False for Class I whose metal parts are not joined to earth; through_earth is True for Class II
    that passes a protective conductor on to an outlet; sensitive is True where an insulation test at 500 V could
    harm (surge protection, electronics); outlets counts the outlets of a lead, 0 where not known. use_known is False
    where nobody has said how it is used, so that use is only a stand-in.
    """

    kind: Kind = Kind.APPLIANCE
    construction: Construction = Construction.CLASS_I
    use: Use = Use.PORTABLE
    heating: bool = False
    rated_power_w: Decimal | None = None
    rated_current_a: Decimal | None = None
    supply: Supply = Supply.SINGLE_230
    cord: Cord | None = field(default_factory=Cord)
    fuse_a: Decimal | None = None
    rcd: Rcd | None = None
    earthed_metal: bool = True
    through_earth: bool = False
    sensitive: bool = False
    motor: bool = False
    outlets: int = 0
    reel: Reel | None = None
    extra_low_voltage: bool = False
    use_known: bool = True

    @property
    def tested_as(self) -> Construction:
        """The class whose limits hold: Class I whose metal is not joined to earth is tested as Class II, but for the
        earth itself (DGUV Information 203-070, 7.2.1). A lead has no such metal.
        """
        if self.construction is Construction.CLASS_I and not self.earthed_metal and self.kind not in LEADS:
            return Construction.CLASS_II
        return self.construction
