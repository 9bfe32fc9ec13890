"""What the owner sets for planning."""

from app.actions.deeds import Deed, check_version
from app.rules.planning_settings import PlanningSettings, check_planning_settings
from app.rules.verdicts import Mistakes
from app.store.planning_settings import PlanningSettingsRow, find_planning_settings


def change_planning_settings(deed: Deed, settings: PlanningSettings, version: int | None = None) -> None:
    """Set the window of a visit and when letters go. Raises Mistakes."""
    if mistakes := check_planning_settings(settings):
        raise Mistakes(mistakes)
    row = find_planning_settings(deed.session)
    if row is None:
        row = PlanningSettingsRow(id=1)
        deed.session.add(row)
    else:
        check_version(row, version, "these settings")
    row.early_days, row.late_days = settings.early_days, settings.late_days
    row.remind_days, row.recall_days = settings.remind_days, settings.recall_days
    deed.session.flush()
    deed.note(
        "firm",
        1,
        f"Set planning: {settings.early_days} days early and {settings.late_days} late, reminders"
        f" {settings.remind_days} days before, recall letters {settings.recall_days} days before.",
    )
