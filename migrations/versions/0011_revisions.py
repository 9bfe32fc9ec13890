"""Keep corrections of certificates, and certificates that no longer hold.

1. A correction says which certificate it replaces and why; certificates there are have none.
2. A certificate can be void with a reason; none there is is.
3. Triggers refuse to change or remove either, as with the papers themselves.
"""

import sqlalchemy as sa
from alembic import op

revision = "0011_revisions"
down_revision = "0010_reference_checks"

KEPT = ("certificate_revisions", "certificate_voids")
SENTENCE = "what was said of an issued paper stays"


def upgrade() -> None:
    op.create_table(
        "certificate_revisions",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("certificate_id", sa.Integer(), nullable=False),
        sa.Column("replaces_id", sa.Integer(), nullable=False),
        sa.Column("first_id", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("reason", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(
            ["certificate_id"], ["certificates.id"], name="fk_certificate_revisions_certificate_id"
        ),
        sa.ForeignKeyConstraint(["replaces_id"], ["certificates.id"], name="fk_certificate_revisions_replaces_id"),
        sa.ForeignKeyConstraint(["first_id"], ["certificates.id"], name="fk_certificate_revisions_first_id"),
        sa.PrimaryKeyConstraint("id", name="pk_certificate_revisions"),
        sa.UniqueConstraint("certificate_id", name="uq_certificate_revisions_certificate_id"),
        sa.UniqueConstraint("replaces_id", name="uq_certificate_revisions_replaces_id"),
        sa.UniqueConstraint("first_id", "revision", name="uq_certificate_revisions_first_id_revision"),
        sqlite_strict=True,
    )
    op.create_table(
        "certificate_voids",
        sa.Column("certificate_id", sa.Integer(), nullable=False),
        sa.Column("reason", sa.String(), nullable=False),
        sa.Column("voided_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("voided_by_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["certificate_id"], ["certificates.id"], name="fk_certificate_voids_certificate_id"),
        sa.ForeignKeyConstraint(["voided_by_id"], ["people.id"], name="fk_certificate_voids_voided_by_id"),
        sa.PrimaryKeyConstraint("certificate_id", name="pk_certificate_voids"),
        sqlite_strict=True,
    )
    sqlite = op.get_bind().dialect.name == "sqlite"
    for table in KEPT:
        if not sqlite:
            op.execute(
                f"CREATE TRIGGER {table}_keep BEFORE UPDATE OR DELETE ON {table} FOR EACH ROW "
                f"EXECUTE FUNCTION ohmstead_refuse('{SENTENCE}')"
            )
            continue
        for deed in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER {table}_keep_{deed.lower()} BEFORE {deed} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, '{SENTENCE}'); END"
            )
