"""What is usually wrong at a point of the visual inspection, in the trade's words (common practice, no source)."""

_WORDS: dict[str, tuple[str, ...]] = {
    "plug-body": ("cracked", "pin loose or bent", "burnt or discoloured", "wrong pattern for the socket"),
    "plug-grip": ("cord pulled out of the grip", "grip missing", "cores showing"),
    "plug-wiring": ("terminal loose", "live and neutral crossed", "earth core off", "loose strands"),
    "plug-fuse": ("too large for the cord", "not to BS 1362", "bridged", "carrier burnt"),
    "cord-sheath": ("cut", "taped joint", "crushed", "heat damage"),
    "cord-entry": ("loose at the entry", "cord guard missing", "stiff or cracked"),
    "case": ("cracked or broken", "cover or screw missing", "live part can be touched"),
    "switch": ("broken", "does not switch off", "knob missing"),
    "heat": ("smoke marks", "melted", "liquid inside"),
    "suitable": ("not for use in the wet", "vents blocked", "too light for the work"),
    "marking": ("rating cannot be read", "class not known"),
    "outlets": ("cracked", "contact burnt", "contacts do not grip", "shutter stuck"),
    "lead-earth": ("no earth core",),
    "lead-flex": ("made of cable for fixed wiring",),
    "lead-use": ("overloaded", "plugged into another lead", "used wound up under load"),
    "connector": ("cracked", "contact pushed back", "burnt"),
    "rcd-button": ("button does not trip it", "case broken"),
    "door": ("seal torn or dirty", "does not close", "hinge loose", "heats with the door open"),
    "output-cord": ("damaged", "output marking does not match"),
    "guards": ("guard missing", "guard loose", "handle broken"),
    "industrial-plug": ("cap or seal missing", "pin bent", "wrong colour for the voltage"),
}


def list_defect_words(code: str) -> tuple[str, ...]:
    """List what is usually wrong at a point, to be chosen or written over; nothing for a point without usual faults."""
    return _WORDS.get(code, ())
