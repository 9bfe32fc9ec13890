"""The JSON Schema (draft 2020-12) of what the machine interface takes and answers, as data."""

from enum import StrEnum

from app.rules.case_parsing import ID_MOST, SETTINGS
from app.rules.case_readings import ALSO, Said
from app.rules.checks import UNITS, Check
from app.rules.decisions import DecisionRule
from app.rules.equipment import Construction, Kind, Supply, Use
from app.rules.quantities import Bound, Unit
from app.rules.rcds import PRODUCTS
from app.rules.rulebooks import RULEBOOKS
from app.rules.verdicts import Outcome, Verdict

Schema = dict[str, object]

_TEXT: Schema = {"type": ["string", "null"]}
_NOTHING: Schema = {"type": "null"}
_FLAG: Schema = {"type": ["boolean", "null"]}


def _number(
    about: str, *, above: bool = False, most: int | None = None, least: int = 0, needed: bool = False
) -> Schema:
    """A decimal as text or as a number; above: not zero itself; least and most bind numbers only, as text has none."""
    not_zero = r"(?!0+(\.0+)?$)" if above else ""
    number: Schema = {"type": "number", **({"exclusiveMinimum": 0} if above else {"minimum": least})}
    if most is not None:
        number["maximum"] = most
    return {
        "description": about,
        "anyOf": [
            {"type": "string", "pattern": rf"^{not_zero}[0-9]{{1,15}}(\.[0-9]{{1,12}})?$"},
            number,
            *([] if needed else [_NOTHING]),
        ],
    }


def _one_of(kind: type[StrEnum] | tuple[str, ...], about: str = "", required: bool = False) -> Schema:
    words: list[str | None] = [str(word) for word in kind]
    if not required:
        words.append(None)
    return {"enum": words, **({"description": about} if about else {})}


def _object(about: str, fields: dict[str, Schema], required: tuple[str, ...] = (), nullable: bool = False) -> Schema:
    return {
        "description": about,
        "type": ["object", "null"] if nullable else "object",
        "properties": fields,
        "required": list(required),
        "additionalProperties": False,
    }


_CORD = _object(
    "The supply cord. null: no cord in the measured path. Left out: nothing is known of it.",
    {
        "csa_mm2": _number("conductor size in mm²", above=True, most=1000),
        "length_m": _number("length in m", most=1000),
        "detachable": _FLAG,
        "moulded_plug": {**_FLAG, "description": "false: rewirable; left out: not noted"},
        "tinned": _FLAG,
    },
    nullable=True,
)
_RCD = _object(
    "The residual current device in the item.",
    {
        "rated_ma": _number("rated residual current in mA", above=True, most=100_000, needed=True),
        "product": _one_of(PRODUCTS, "product standard; where left out, the strictest time is used"),
        "selective": {**_FLAG, "description": "type S of EN 61008 and EN 61009, above 30 mA"},
        "delay_ms": _number("set delay in ms, BS 4293 only", most=10_000),
    },
    ("rated_ma",),
    nullable=True,
)
_REEL = _object(
    "The reel that a lead is wound on.",
    {"ventilated": _FLAG, "radial": _FLAG, "layers": {"type": ["integer", "null"], "minimum": 1, "maximum": 20}},
    nullable=True,
)
_ITEM = _object(
    "One item of equipment.",
    {
        "kind": _one_of(Kind, required=True),
        "construction": _one_of(Construction, "construction class", required=True),
        "use": _one_of(Use, "where left out and a limit hangs on it, the strictest is used"),
        "heating": _FLAG,
        "rated_power_w": _number("rated power in W", above=True, most=1_000_000),
        "rated_current_a": _number("rated current in A", above=True, most=1000),
        "supply": _one_of(Supply, "230-single where left out"),
        "cord": _CORD,
        "fuse_a": _number("plug fuse in A", above=True, most=1000),
        "rcd": _RCD,
        "earthed_metal": {**_FLAG, "description": "false: Class I whose metal is not joined to earth"},
        "through_earth": {**_FLAG, "description": "true: Class II that passes an earth on to an outlet"},
        "sensitive": {**_FLAG, "description": "true: an insulation test at 500 V could harm it"},
        "motor": _FLAG,
        "outlets": {"type": ["integer", "null"], "minimum": 0, "maximum": 100},
        "reel": _REEL,
        "extra_low_voltage": _FLAG,
    },
    ("kind", "construction"),
)


def _for_check(check: Check) -> Schema:
    """What belongs to one check alone: its units, and the fields of trip tests and of protective conductors."""
    home = UNITS.get(check)
    units = [str(unit) for unit in Unit if home is not None and unit.dimension in (home.dimension, ALSO.get(check))]
    own: Schema = {"unit": {"enum": [*units, None]}} if units else {"value": _NOTHING}
    if check is not Check.RCD_TRIP_TIME:
        own |= dict.fromkeys(("multiple", "phase_deg", "test_current_ma"), _NOTHING)
        own["outcome"] = {"enum": [str(said) for said in Said if said not in (Said.TRIP, Said.NO_TRIP)] + [None]}
    if check is not Check.PROTECTIVE_CONDUCTOR_RESISTANCE:
        own |= dict.fromkeys(("test_lead", "conductor_c"), _NOTHING) | {"steady": {"enum": [True, None]}}
    return {"if": {"properties": {"check": {"const": check.value}}}, "then": {"properties": own}}


_READING = _object(
    "What was found for one check: value with unit, or outcome.",
    {
        "check": _one_of(Check, required=True),
        "value": _number("the number shown"),
        "unit": _one_of(Unit),
        "bound": _one_of(Bound, "above: more than the value (over-range); below: less than it; exact where left out"),
        "outcome": _one_of(Said, "in place of a value, or beside the V of dielectric-strength; trip and no-trip: RCDs"),
        "multiple": {
            "description": "rcd-trip-time: times the rating",
            "anyOf": [
                {"type": "string", "pattern": r"^0*(0\.50*|[125](\.0+)?)$"},
                {"type": "number", "exclusiveMinimum": 0, "maximum": 5},
                {"type": "null"},
            ],
        },
        "test_current_ma": _number(
            "rcd-trip-time: in place of multiple; 250 mA may stand for 5 × up to 30 mA", above=True
        ),
        "phase_deg": {"enum": [0, 180, "0", "180", None]},
        "point": {**_TEXT, "description": "the metal part or outlet; “output” for the output side of a supply"},
        "note": _TEXT,
        "test_lead": _number("resistance of the test lead still to be subtracted, in the reading's unit"),
        "conductor_c": _number("temperature of the cord's conductor in °C; 20 where left out", least=5, most=40),
        "steady": {**_FLAG, "description": "false: the protective conductor reading jumped while the cord was moved"},
        "expanded_uncertainty": _number("of this reading, k = 2, in its unit"),
    },
    ("check",),
) | {
    "if": {"properties": {"value": {"not": {"type": "null"}}}, "required": ["value"]},
    "then": {
        "required": ["unit"],
        "properties": {"unit": {"type": "string"}},
        "if": {"properties": {"unit": {"const": "V"}}},
        "then": {"required": ["outcome"], "properties": {"outcome": {"type": "string"}}},
        "else": {"properties": {"outcome": {"enum": ["trip", None]}}},
    },
    "else": {"required": ["outcome"], "properties": {"outcome": {"type": "string"}}},
    "allOf": [_for_check(check) for check in Check],
}
CASE_SCHEMA: Schema = {
    "$schema": "https://json-schema.org/draft/2020-12/schema",
    "title": "A case to be judged",
    **_object(
        "One item with its readings, to be judged under a rulebook. Numbers are decimals as text.",
        {
            "id": {"type": ["string", "integer", "null"], "maxLength": ID_MOST},
            "rulebook": _one_of(tuple(RULEBOOKS), required=True),
            "item": _ITEM,
            "decision": _object(
                "The decision rule; simple acceptance where left out.",
                {
                    "rule": _one_of(DecisionRule),
                    "expanded_uncertainty": _number("k = 2; in unit, or where that is left out in each limit's unit"),
                    "unit": _one_of(Unit),
                },
                nullable=True,
            ),
            "readings": {"type": "array", "items": _READING},
            "partial": {
                **_FLAG,
                "description": "judge just what is given; what is missing is still listed",
            },
            "dielectric": {**_FLAG, "description": "the dielectric strength test may be done; it is never required"},
            "after_repair": {**_FLAG, "description": "the functional check is required"},
            "sequence": {
                "description": "a firm's own sequence in place of the rulebook's",
                "type": ["array", "null"],
                "items": _one_of(Check, required=True),
            },
            "settings": _object(
                "Named settings of the rulebook (en-50699).", dict.fromkeys(SETTINGS, _TEXT), nullable=True
            ),
            "house_limits": {
                "description": "a firm's own limits; they hold only where stricter than the rulebook's",
                "type": ["array", "null"],
                "items": _object(
                    "One own limit: at_most or at_least.",
                    {
                        "check": _one_of(Check, required=True),
                        "at_most": _number(""),
                        "at_least": _number(""),
                        "unit": _one_of(Unit, required=True),
                        "construction": _one_of(Construction),
                        "reason": _TEXT,
                        "since": {"type": ["string", "null"], "pattern": r"^(\d{4}-\d{2}-\d{2})?$"},
                    },
                    ("check", "unit"),
                ),
            },
        },
        ("rulebook", "item", "readings"),
    ),
}

_BOUNDS: Schema = {
    "type": ["object", "null"],
    "properties": {"at_most": {"type": "string"}, "at_least": {"type": "string"}, "unit": _one_of(Unit, required=True)},
}
_CODED: Schema = {"type": "object", "properties": {"check": _one_of(Check, required=True), "text": {"type": "string"}}}
_JUDGED: dict[str, Schema] = {
    "check": _one_of(Check, required=True),
    "outcome": _one_of(Outcome, required=True),
    "limit": _BOUNDS,
    "acceptance": _BOUNDS,
    "working": {"type": "string"},
    "source": {"type": "string"},
    "status": {"enum": ["seen", "memory", None]},
    "margin": {"type": ["string", "null"], "description": "in the limit's unit, below zero outside the limit"},
    "sentence": {"type": "string"},
    "expanded_uncertainty": {"type": "string", "description": "k = 2, in the limit's unit"},
    "conformance_probability": {"type": "string", "description": "that the true value meets the limit (JCGM 106)"},
    "point": {"type": "string"},
    "multiple": {"type": "string"},
    "test_current_ma": {"type": "string", "description": "in place of multiple"},
    "phase_deg": {"type": "integer"},
}
ANSWER_SCHEMA: Schema = {
    "$schema": "https://json-schema.org/draft/2020-12/schema",
    "title": "A judged case",
    "type": "object",
    "properties": {
        "id": {"type": ["string", "integer", "null"]},
        "verdict": _one_of(Verdict, required=True),
        "sentence": {"type": "string"},
        "checks": {
            "type": "array",
            "items": {
                "type": "object",
                "properties": {
                    **_JUDGED,
                    "readings": {
                        "description": "every reading of a check with several; the worst is the answer above",
                        "type": "array",
                        "items": {"type": "object", "properties": _JUDGED},
                    },
                },
            },
        },
        "missing": {"type": "array", "items": _one_of(Check, required=True)},
        "unfinished": {"type": "array", "items": _CODED},
        "locked": {"type": "array", "items": _CODED},
        "advice": {
            "type": "array",
            "items": {
                "type": "object",
                "properties": {
                    "code": {"type": "string"},
                    "text": {"type": "string"},
                    "severity": {"enum": ["note", "advice", "fail"]},
                },
            },
        },
        "suggestions": {
            "description": "what follows from the item's own facts: fuse, cord, lead, what to test with",
            "type": "array",
            "items": {
                "type": "object",
                "properties": {
                    "code": {"type": "string"},
                    "text": {"type": "string"},
                    "value": {"type": "string", "description": "in unit, where it is one number"},
                    "unit": {"type": "string"},
                },
                "required": ["code", "text"],
            },
        },
        "rulebook": {
            "type": "object",
            "properties": {"id": {"type": "string"}, "version": {"type": "string"}},
        },
    },
    "required": ["id", "verdict", "checks", "missing", "advice", "rulebook"],
}
PROBLEMS_SCHEMA: Schema = {
    "title": "What is wrong with the cases",
    "type": "array",
    "items": {
        "type": "object",
        "properties": {
            "path": {"type": "string", "description": "JSON Pointer into what was sent; / for all of it"},
            "message": {"type": "string"},
        },
        "required": ["path", "message"],
    },
}
