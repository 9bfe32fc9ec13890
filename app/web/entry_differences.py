"""Two savings of one item side by side: what somebody else saved, and what was typed meanwhile."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from app.rules.quantities import Unit, parse_reading
from app.rules.remedies import Remedy
from app.rules.visual_points import VisualPoint
from app.web.sheet_steps import SheetStep


@dataclass(frozen=True)
class Difference:
    """One field that differs: its label, what is saved, and what was typed. An empty text is "nothing"."""

    label: str
    saved: str
    typed: str


def list_differences(
    saved: Mapping[str, str], typed: Mapping[str, str], steps: Sequence[SheetStep], points: Sequence[VisualPoint]
) -> list[Difference]:
    """The fields that differ, in the order of the sheet."""
    found = []
    units = {field.name: field.unit for step in steps for field in step.fields if field.unit}
    for name, label, words in _fields(steps, points):
        theirs, mine = saved.get(name, "").strip(), typed.get(name, "").strip()
        if theirs != mine and not _alike(theirs, mine, units.get(name)):
            found.append(Difference(label, words.get(theirs, theirs), words.get(mine, mine)))
    return found


def _alike(theirs: str, mine: str, unit: Unit | None) -> bool:
    """Whether two texts are one reading: "20" and "20 MΩ", "0,1" and "0.1"."""
    if unit is None:
        return False
    try:
        return parse_reading(theirs, unit) == parse_reading(mine, unit)
    except ValueError:
        return False


def _fields(steps: Sequence[SheetStep], points: Sequence[VisualPoint]) -> list[tuple[str, str, Mapping[str, str]]]:
    fields: list[tuple[str, str, Mapping[str, str]]] = []
    for step in steps:
        for field in step.fields:
            label = step.title if field.label == step.title else f"{step.title}: {field.label}"
            good, bad = field.words
            if field.kind == "visual":
                fields.append((field.name, label, {"satisfactory": "all satisfactory", "defect": "defect found"}))
                for point in points:
                    name = point.text.split(":")[0]
                    fields.append((f"note-{point.code}", f"{label}: {name}", {}))
                continue
            choice = {"satisfactory": good, "defect": bad}
            if field.kind == "trip":
                choice = {"satisfactory": "did not trip", "defect": "tripped"}
            unit = field.unit.symbol if field.unit else ""
            fields.append((field.name, f"{label}, in {unit}" if unit else label, {} if unit else choice))
            if field.place > 1:
                fields.append((f"point-{field.place}", f"{label}: name", {}))
            if field.stands_for:
                fields.append((f"note-{field.check.value}", f"{label}: why it stands in", {}))
            for outlet in range(1, field.outlets + 1):
                fields.append((f"outlet-{outlet}", f"{label}: outlet {outlet}", {"yes": "crossed or broken"}))
            if field.kind == "choice":
                fields.append((f"note-{field.check.value}", f"{label}: what is wrong", {}))
    remedies = {remedy.value: remedy.word for remedy in Remedy}
    return [
        *fields,
        ("after_repair", "Tested after a repair", {"yes": "yes"}),
        ("remedy", "What puts it right", remedies),
        ("remedy_more", "What puts it right, in words", {}),
        ("note", "Note for the certificate", {}),
        ("reason", "Not tested", {}),
        ("not_tested_note", "Why not tested", {}),
    ]
