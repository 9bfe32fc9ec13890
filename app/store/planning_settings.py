"""What the owner sets for planning: the window within which one visit serves what falls due, and when letters go."""

from sqlalchemy.orm import Mapped, Session, mapped_column

from app.rules.planning_settings import PlanningSettings
from app.store.database import Base


class PlanningSettingsRow(Base):
    """There is one, or none."""

    __tablename__ = "planning_settings"

    id: Mapped[int] = mapped_column(primary_key=True)
    early_days: Mapped[int]
    late_days: Mapped[int]
    remind_days: Mapped[int]
    recall_days: Mapped[int]
    version: Mapped[int] = mapped_column(default=1)

    __mapper_args__ = {"version_id_col": version}

    @property
    def details(self) -> PlanningSettings:
        return PlanningSettings(self.early_days, self.late_days, self.remind_days, self.recall_days)


def find_planning_settings(session: Session) -> PlanningSettingsRow | None:
    return session.get(PlanningSettingsRow, 1)


def get_planning_settings(session: Session) -> PlanningSettings:
    """What the owner set, else the usual."""
    row = find_planning_settings(session)
    return row.details if row is not None else PlanningSettings()
