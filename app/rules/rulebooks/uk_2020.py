"""The UK Code of Practice, 5th edition (2020): as the 4th for resistance and insulation, 5 mA for all leakage, which is
an optional test.
"""

from dataclasses import replace
from decimal import Decimal

from app.rules.quantities import Unit
from app.rules.rulebooks import uk_2012
from app.rules.rulebooks.figures import EarthByCord, Figure, Row, Rulebook, Status
from app.rules.rulebooks.shared_figures import DIELECTRIC, MICROWAVE, SHARED

EDITION = "5th edition, 2020"


def _carried(figure: Figure) -> Figure:
    """A figure of the 4th edition, taken as unchanged in the 5th: known only from memory there."""
    return replace(
        figure, edition=EDITION, status=Status.MEMORY, note=f"Taken over from the 4th edition. {figure.note}".strip()
    )


def _carried_row(row: Row) -> Row:
    return replace(row, figure=_carried(row.figure), loosest=_carried(row.loosest) if row.loosest is not None else None)


EARTH = replace(
    uk_2012.EARTH, edition=EDITION,
    note="The 5th edition changed its guidance on this test to avoid needless failures; the older method stays "
    "acceptable (seen in part).",
)  # fmt: skip
CURRENT = Figure(
    "current.all", Decimal(5), Unit.MILLIAMP, "all equipment, Class I and Class II", uk_2012.CODE, EDITION,
    note="Protective conductor, touch and substitute leakage current are optional tests in this edition.",
)  # fmt: skip

_CURRENTS = (Row(lambda item: not uk_2012.class_iii(item), CURRENT),)

RULEBOOK = Rulebook(
    id="uk-2020",
    title="UK, limits of 2020",
    edition=f"IET {uk_2012.CODE} for in-service inspection and testing, {EDITION}",
    version="1",
    scope="United Kingdom; equipment tested to the Code of Practice, 5th edition",
    earth=EarthByCord(EARTH),
    insulation=tuple(_carried_row(row) for row in uk_2012.INSULATION),
    protective_current=_CURRENTS,
    touch_current=_CURRENTS,
    substitute_current=_CURRENTS,
    microwave=MICROWAVE,
    dielectric=DIELECTRIC,
    current_required=False,
    current_stands_in=False,
    separation_binds=False,
    disagreements=(
        "Leakage: 5 mA for all here; 0.25, 0.75 or 3.5 mA up to the 4th edition; 0.5 and 3.5 mA under EN 50699.",
        "Extension lead lengths are recommendations in this edition, not limits.",
    ),
    extra=(_carried(uk_2012.INSULATION_FROM), *SHARED),
)
