"""Keep photos, earlier sets of readings of items put right on the spot, and why a visit was reopened.

1. Photos are new; no visit has any.
2. A reading or defect can belong to an earlier set; all there are belong to the newest, so nothing moves.
3. A visit can be reopened; none there is was.
"""

import sqlalchemy as sa
from alembic import op

revision = "0013_photos_and_rounds"
down_revision = "0012_money_after_issue"


def upgrade() -> None:
    op.create_table(
        "rounds",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("visit_item_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("own_checks", sa.JSON(), nullable=True),
        sa.Column("after_repair", sa.Boolean(), nullable=False),
        sa.Column("verdict", sa.String(), nullable=False),
        sa.Column("advice", sa.JSON(), nullable=False),
        sa.Column("missing", sa.JSON(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("tested_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("tested_on", sa.Date(), nullable=True),
        sa.Column("tested_by_id", sa.Integer(), nullable=True),
        sa.Column("change", sa.String(), nullable=False),
        sa.Column("put_right", sa.String(), nullable=False),
        sa.Column("put_right_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("put_right_by_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("construction", sa.String(), nullable=False),
        sa.Column("use", sa.String(), nullable=False),
        sa.Column("heating", sa.Boolean(), nullable=False),
        sa.Column("rated_power_w", sa.String(), nullable=True),
        sa.Column("rated_current_a", sa.String(), nullable=True),
        sa.Column("supply", sa.String(), nullable=False),
        sa.Column("has_cord", sa.Boolean(), nullable=False),
        sa.Column("cord_csa_mm2", sa.String(), nullable=True),
        sa.Column("cord_length_m", sa.String(), nullable=True),
        sa.Column("cord_detachable", sa.Boolean(), nullable=False),
        sa.Column("cord_moulded_plug", sa.Boolean(), nullable=True),
        sa.Column("cord_tinned", sa.Boolean(), nullable=False),
        sa.Column("fuse_a", sa.String(), nullable=True),
        sa.Column("rcd_rated_ma", sa.String(), nullable=True),
        sa.Column("rcd_product", sa.String(), nullable=False),
        sa.Column("rcd_selective", sa.Boolean(), nullable=False),
        sa.Column("rcd_delay_ms", sa.String(), nullable=True),
        sa.Column("earthed_metal", sa.Boolean(), nullable=False),
        sa.Column("through_earth", sa.Boolean(), nullable=False),
        sa.Column("sensitive", sa.Boolean(), nullable=False),
        sa.Column("motor", sa.Boolean(), nullable=False),
        sa.Column("outlets", sa.Integer(), nullable=False),
        sa.Column("reel_layers", sa.Integer(), nullable=True),
        sa.Column("reel_ventilated", sa.Boolean(), nullable=False),
        sa.Column("reel_radial", sa.Boolean(), nullable=False),
        sa.Column("extra_low_voltage", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(["put_right_by_id"], ["people.id"], name="fk_rounds_put_right_by_id"),
        sa.ForeignKeyConstraint(["tested_by_id"], ["people.id"], name="fk_rounds_tested_by_id"),
        sa.ForeignKeyConstraint(["visit_item_id"], ["visit_items.id"], name="fk_rounds_visit_item_id"),
        sa.PrimaryKeyConstraint("id", name="pk_rounds"),
        sa.UniqueConstraint("visit_item_id", "position", name="uq_rounds_visit_item_id_position"),
        sqlite_strict=True,
    )
    for table in ("readings", "defects"):
        # Said in full: SQLite takes a foreign key only together with its column.
        op.execute(
            f"ALTER TABLE {table} ADD COLUMN round_id INTEGER CONSTRAINT fk_{table}_round_id REFERENCES rounds (id)"
        )
        op.create_index(f"ix_{table}_round_id", table, ["round_id"], unique=False)
    op.create_table(
        "photos",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("visit_item_id", sa.Integer(), nullable=False),
        sa.Column("taken_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("taken_by_id", sa.Integer(), nullable=False),
        sa.Column("caption", sa.String(), nullable=False),
        sa.Column("width", sa.Integer(), nullable=False),
        sa.Column("height", sa.Integer(), nullable=False),
        sa.Column("sha256", sa.String(), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.Column("small", sa.LargeBinary(), nullable=False),
        sa.Column("removed_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["taken_by_id"], ["people.id"], name="fk_photos_taken_by_id"),
        sa.ForeignKeyConstraint(["visit_item_id"], ["visit_items.id"], name="fk_photos_visit_item_id"),
        sa.PrimaryKeyConstraint("id", name="pk_photos"),
        sqlite_strict=True,
    )
    op.create_index("ix_photos_visit_item_id", "photos", ["visit_item_id"], unique=False)
    op.add_column("visits", sa.Column("reopened_at", sa.DateTime(timezone=True), nullable=True))
    op.add_column("visits", sa.Column("reopened_reason", sa.String(), nullable=False, server_default=sa.text("''")))
