"""Keep the key and the answer of writes that a tablet may send twice.

1. Nothing that is there changes; the new table begins empty.
"""

import sqlalchemy as sa
from alembic import op

revision = "0015_keyed_writes"
down_revision = "0014_prices_and_quotes"


def upgrade() -> None:
    op.create_table(
        "keyed_writes",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("key", sa.String(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("body_hash", sa.String(), nullable=False),
        sa.Column("answer", sa.JSON(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["person_id"], ["people.id"], name=op.f("fk_keyed_writes_person_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_keyed_writes")),
        sa.UniqueConstraint("key", name=op.f("uq_keyed_writes_key")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_keyed_writes_at"), "keyed_writes", ["at"])
