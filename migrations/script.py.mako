"""${message.replace("_", " ").capitalize()}.

What happens to the firm's data: say it here in a sentence or two.
"""

import sqlalchemy as sa
from alembic import op

revision = ${repr(up_revision)}
down_revision = ${repr(down_revision)}


def upgrade() -> None:
    ${upgrades if upgrades else "pass"}
