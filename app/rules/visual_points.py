"""The points of the visual inspection, by kind of equipment. About nineteen faults in twenty can be found by looking
(local authority guidance after HSE), so this comes first and any defect in it stops the rest.
"""

from dataclasses import dataclass

from app.rules.defect_words import list_defect_words
from app.rules.equipment import Construction, ItemFacts, Kind, Supply


@dataclass(frozen=True)
class VisualPoint:
    """One thing to look at. code is stable and kept with a defect; text is for the person looking."""

    code: str
    text: str

    @property
    def usual(self) -> tuple[str, ...]:
        """What is usually wrong here, in the trade's words."""
        return list_defect_words(self.code)


_PLUG = (
    VisualPoint("plug-body", "Plug: no cracks, burns or loose pins; the right pattern for the socket"),
    VisualPoint("plug-grip", "Plug: the cord grip holds the outer sheath, no cores showing"),
    VisualPoint("plug-wiring", "Rewirable plug: opened, each core at its own terminal, tight, earth core longest"),
)
_FUSE = VisualPoint("plug-fuse", "Fuse: of the right rating for the cord, to BS 1362, fitted in its carrier")
_CORD = (
    VisualPoint("cord-sheath", "Cord: no cuts, splits, taped joints, crushing or heat damage along the whole length"),
    VisualPoint("cord-entry", "Cord: held firmly where it enters, not strained, not stiff"),
)
_BODY = (
    VisualPoint("case", "Case: whole, clean, no covers or screws missing, nothing live can be touched"),
    VisualPoint("switch", "Switches and controls: whole and working by hand"),
    VisualPoint("heat", "No sign of overheating, smoke marks, or liquid having got in"),
)
_PLACE = (
    VisualPoint("suitable", "Suitable for the place and the work; not blocked, covered or left in the wet"),
    VisualPoint("marking", "Rating and class can be read, or are known"),
)
_LEAD = (
    VisualPoint("outlets", "Every outlet: no cracks or burns, contacts grip, shutters close"),
    VisualPoint("lead-earth", "The lead has an earth core; a lead without one is withdrawn"),
    VisualPoint("lead-flex", "Made of flexible cord; cable for fixed wiring is not used as a lead"),
    VisualPoint("lead-use", "Not overloaded, not plugged one into another, unwound when in heavy use"),
)
_CONNECTOR = VisualPoint("connector", "Appliance connector: no cracks or burns, contacts not pushed back")
_RCD = VisualPoint("rcd-button", "RCD: case whole, test button trips it")
_MICROWAVE = VisualPoint(
    "door", "Door, hinges, seal and interlock: whole, clean, close properly; no heating with the door open"
)
_OUTPUT = VisualPoint("output-cord", "Output cord and connector: whole; output marking matches what it supplies")
_GUARDS = VisualPoint("guards", "Guards and handles are fitted and whole")
_INDUSTRIAL = VisualPoint(
    "industrial-plug", "Industrial plug and coupler: right colour and pins, caps and seals in place"
)


_SOMETHING_ELSE = VisualPoint("other", "Something else that is wrong")
_WORDS = {
    "plug-body": "plug", "plug-grip": "cord grip in the plug", "plug-wiring": "wiring in the plug", "plug-fuse": "fuse",
    "cord-sheath": "cord", "cord-entry": "cord entry", "case": "case", "switch": "switches and controls",
    "heat": "overheating or liquid", "suitable": "place and use", "marking": "marking", "outlets": "outlets",
    "lead-earth": "earth core", "lead-flex": "kind of cord", "lead-use": "loading", "connector": "appliance connector",
    "rcd-button": "RCD and its button", "door": "door and seals", "output-cord": "output cord", "guards": "guards",
    "industrial-plug": "plug and coupler", "other": "other",
}  # fmt: skip


def describe_point(code: str) -> str:
    """Name a point in a word or two, as a list of defects does; a code that is not known is given back."""
    return _WORDS.get(code, code)


def list_points_to_mark(item: ItemFacts) -> tuple[VisualPoint, ...]:
    """List what can be marked as wrong: the points to look at, and a place for what is not on the list."""
    return (*list_visual_points(item), _SOMETHING_ELSE)


def list_visual_points(item: ItemFacts) -> tuple[VisualPoint, ...]:
    """List what to look at on this item, in the order in which the eye travels from plug to place of use."""
    points: list[VisualPoint] = []
    if item.cord is not None:
        points += _PLUG if item.supply is Supply.SINGLE_230 else (_PLUG[1], _INDUSTRIAL)
        if item.supply is Supply.SINGLE_230:
            points.append(_FUSE)
        points += _CORD
    if item.kind in (Kind.EXTENSION_LEAD, Kind.MULTIWAY_LEAD, Kind.RCD_LEAD, Kind.THREE_PHASE_LEAD):
        points += _LEAD
    elif item.kind is Kind.DETACHABLE_CORD:
        points.append(_CONNECTOR)
    else:
        points += _BODY
    if item.rcd is not None or item.kind in (Kind.RCD_LEAD, Kind.PORTABLE_RCD):
        points.append(_RCD)
    if item.kind is Kind.MICROWAVE_OVEN:
        points.append(_MICROWAVE)
    if item.kind in (Kind.CHARGER, Kind.POWER_SUPPLY) or item.construction is Construction.CLASS_III:
        points.append(_OUTPUT)
    if item.motor:
        points.append(_GUARDS)
    return (*points, *_PLACE)
