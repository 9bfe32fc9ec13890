"""What the owner sets for planning, with what is usual until then (ours)."""

from dataclasses import dataclass


@dataclass(frozen=True)
class PlanningSettings:
    """Days: how early and how late one visit may serve what falls due, how long before a visit its reminder goes, and
    how long before something falls due its letter goes.
    """

    early_days: int = 30
    late_days: int = 0
    remind_days: int = 3
    recall_days: int = 42


#: The most that can be set for each.
DAYS_MOST = {"early_days": 366, "late_days": 366, "remind_days": 60, "recall_days": 180}


def check_planning_settings(settings: PlanningSettings) -> dict[str, str]:
    """What is wrong, by field name."""
    return {
        name: f"Give whole days from 0 to {most}."
        for name, most in DAYS_MOST.items()
        if not 0 <= getattr(settings, name) <= most
    }
