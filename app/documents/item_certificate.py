"""The certificate of a single item as data: what the certificate of its visit says, for this item alone, and for what
it is wanted.
"""

from typing import Any

from app.documents.certificate import certificate_from
from app.documents.typesetting import day_from
from app.rules.certificates import CertificateFacts
from app.rules.papers import PaperKind, Purpose

TITLE = "Certificate of one item"
_GOING_OUT = (
    "Whoever hires out, lends or sells the item looks it over each time it goes out: plug, cord, case and label. What "
    "happened to it after the day of the test, this certificate cannot know."
)


def item_certificate_from(facts: CertificateFacts, purpose: Purpose, later: str = "") -> dict[str, Any]:
    """Give all that the certificate says. facts hold one row; later: what is known of a newer test, or empty."""
    data = certificate_from(facts)
    [row] = data["schedule"]["rows"]
    method = [pair for pair in data["method"] if pair[0] != "Items"]
    wanted = f"{purpose.word[:1].upper()}{purpose.word[1:]}"
    return data | {
        "paper": PaperKind.ITEM_CERTIFICATE.drawing,
        "kind": PaperKind.ITEM_CERTIFICATE.value,
        "title": TITLE,
        "purpose": wanted,
        "as_at": facts.tested_until.isoformat(),
        "particulars": [*data["particulars"], ["Purpose", wanted]],
        "summary": data["summary"] | {"sentence": f"{row['number']} {row['description']}: {_said(row)}"},
        "method": [*method, ["Item", f"The one named here, as it was presented on {day_from(facts.tested_until)}."]],
        "deviations": [*data["deviations"], *((later,) if later else ())],
        "cautions": [*data["cautions"], *((_GOING_OUT,) if purpose in (Purpose.HIRE, Purpose.SALE) else ())],
    }


def _said(row: dict[str, Any]) -> str:
    if row["verdict"] == "pass":
        return "passed."
    if row["verdict"] == "fail":
        return "failed. It stays out of use until put right and tested again."
    return f"{row['word']}."
