"""Keep the mail server, the texts of e-mails, and the outbox.

No firm has any of it yet, so nothing moves. The server's password is not in the database.
"""

import sqlalchemy as sa
from alembic import op

revision = "0016_mails"
down_revision = "0015_keyed_writes"


def upgrade() -> None:
    op.create_table(
        "mail_servers",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("host", sa.String(), nullable=False),
        sa.Column("port", sa.Integer(), nullable=False),
        sa.Column("security", sa.String(), nullable=False),
        sa.Column("user", sa.String(), nullable=False),
        sa.Column("from_address", sa.String(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_mail_servers"),
        sqlite_strict=True,
    )
    op.create_table(
        "mail_texts",
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("subject", sa.String(), nullable=False),
        sa.Column("body", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("kind", name="pk_mail_texts"),
        sqlite_strict=True,
    )
    op.create_table(
        "mails",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("customer_id", sa.Integer(), nullable=False),
        sa.Column("visit_id", sa.Integer(), nullable=False),
        sa.Column("certificate_id", sa.Integer(), nullable=True),
        sa.Column("invoice_id", sa.Integer(), nullable=True),
        sa.Column("share_link_id", sa.Integer(), nullable=True),
        sa.Column("link_days", sa.Integer(), nullable=False),
        sa.Column("to_address", sa.String(), nullable=False),
        sa.Column("subject", sa.String(), nullable=False),
        sa.Column("body", sa.String(), nullable=False),
        sa.Column("message_id", sa.String(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("attempts", sa.Integer(), nullable=False),
        sa.Column("next_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("doubted", sa.Boolean(), nullable=False),
        sa.Column("problem", sa.String(), nullable=False),
        sa.Column("attachment_sha256", sa.String(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("made_by_id", sa.Integer(), nullable=False),
        sa.Column("tried_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("sent_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["customer_id"], ["customers.id"], name="fk_mails_customer_id"),
        sa.ForeignKeyConstraint(["visit_id"], ["visits.id"], name="fk_mails_visit_id"),
        sa.ForeignKeyConstraint(["certificate_id"], ["certificates.id"], name="fk_mails_certificate_id"),
        sa.ForeignKeyConstraint(["invoice_id"], ["invoices.id"], name="fk_mails_invoice_id"),
        sa.ForeignKeyConstraint(["share_link_id"], ["share_links.id"], name="fk_mails_share_link_id"),
        sa.ForeignKeyConstraint(["made_by_id"], ["people.id"], name="fk_mails_made_by_id"),
        sa.PrimaryKeyConstraint("id", name="pk_mails"),
        sqlite_strict=True,
    )
    op.create_index("ix_mails_customer_id", "mails", ["customer_id"], unique=False)
    op.create_index("ix_mails_state", "mails", ["state"], unique=False)
