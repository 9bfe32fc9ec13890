"""Keep recall lists with what was found by them, letters about it, and saved views of lists.

No firm has any of it yet, so nothing moves. Items get a batch, which is empty at first; no defect is of a recall yet.
A message of the outbox need not be about a visit any more.
"""

import sqlalchemy as sa
from alembic import op

revision = "0021_recalls_and_views"
down_revision = "0020_booking_proposals"


def upgrade() -> None:
    op.create_table(
        "recall_letters",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("customer_id", sa.Integer(), nullable=False),
        sa.Column("subject", sa.String(), nullable=False),
        sa.Column("body", sa.String(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("made_by_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["customer_id"], ["customers.id"], name="fk_recall_letters_customer_id"),
        sa.ForeignKeyConstraint(["made_by_id"], ["people.id"], name="fk_recall_letters_made_by_id"),
        sa.PrimaryKeyConstraint("id", name="pk_recall_letters"),
        sqlite_strict=True,
    )
    op.create_index("ix_recall_letters_customer_id", "recall_letters", ["customer_id"], unique=False)
    op.create_table(
        "recall_lists",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=True),
        sa.Column("mark", sa.String(), nullable=False),
        sa.Column("columns", sa.JSON(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("taken", sa.Integer(), nullable=False),
        sa.Column("known", sa.Integer(), nullable=False),
        sa.Column("uploaded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("uploaded_by_id", sa.Integer(), nullable=True),
        sa.ForeignKeyConstraint(["uploaded_by_id"], ["people.id"], name="fk_recall_lists_uploaded_by_id"),
        sa.PrimaryKeyConstraint("id", name="pk_recall_lists"),
        sqlite_strict=True,
    )
    op.create_index("ix_recall_lists_mark", "recall_lists", ["mark"], unique=False)
    op.create_table(
        "saved_views",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("path", sa.String(), nullable=False),
        sa.Column("query", sa.String(), nullable=False),
        sa.Column("shared", sa.Boolean(), server_default=sa.false(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["person_id"], ["people.id"], name="fk_saved_views_person_id"),
        sa.PrimaryKeyConstraint("id", name="pk_saved_views"),
        sqlite_strict=True,
    )
    op.create_index("ix_saved_views_path", "saved_views", ["path"], unique=False)
    op.create_index("ix_saved_views_person_id", "saved_views", ["person_id"], unique=False)
    op.create_table(
        "recall_notices",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("recall_list_id", sa.Integer(), nullable=False),
        sa.Column("make", sa.String(), nullable=False),
        sa.Column("model", sa.String(), nullable=False),
        sa.Column("batch", sa.String(), nullable=False),
        sa.Column("serial", sa.String(), nullable=False),
        sa.Column("product", sa.String(), nullable=False),
        sa.Column("hazard", sa.String(), nullable=False),
        sa.Column("advice", sa.String(), nullable=False),
        sa.Column("reference", sa.String(), nullable=False),
        sa.Column("mark", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["recall_list_id"], ["recall_lists.id"], name="fk_recall_notices_recall_list_id"),
        sa.PrimaryKeyConstraint("id", name="pk_recall_notices"),
        sa.UniqueConstraint("mark", name="uq_recall_notices_mark"),
        sqlite_strict=True,
    )
    op.create_index("ix_recall_notices_recall_list_id", "recall_notices", ["recall_list_id"], unique=False)
    op.create_table(
        "recall_hits",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("recall_notice_id", sa.Integer(), nullable=False),
        sa.Column("item_id", sa.Integer(), nullable=False),
        sa.Column("score", sa.Integer(), nullable=False),
        sa.Column("reasons", sa.JSON(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("found_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("decided_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("decided_by_id", sa.Integer(), nullable=True),
        sa.Column("decided_reason", sa.String(), nullable=False),
        sa.Column("defect_id", sa.Integer(), nullable=True),
        sa.Column("recall_letter_id", sa.Integer(), nullable=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["decided_by_id"], ["people.id"], name="fk_recall_hits_decided_by_id"),
        sa.ForeignKeyConstraint(["defect_id"], ["defects.id"], name="fk_recall_hits_defect_id"),
        sa.ForeignKeyConstraint(["item_id"], ["items.id"], name="fk_recall_hits_item_id"),
        sa.ForeignKeyConstraint(["recall_letter_id"], ["recall_letters.id"], name="fk_recall_hits_recall_letter_id"),
        sa.ForeignKeyConstraint(["recall_notice_id"], ["recall_notices.id"], name="fk_recall_hits_recall_notice_id"),
        sa.PrimaryKeyConstraint("id", name="pk_recall_hits"),
        sa.UniqueConstraint("recall_notice_id", "item_id", name="uq_recall_hits_recall_notice_id_item_id"),
        sqlite_strict=True,
    )
    op.create_index("ix_recall_hits_item_id", "recall_hits", ["item_id"], unique=False)
    op.create_index("ix_recall_hits_recall_letter_id", "recall_hits", ["recall_letter_id"], unique=False)
    op.create_index("ix_recall_hits_state", "recall_hits", ["state"], unique=False)
    op.add_column("defects", sa.Column("recalled", sa.Boolean(), server_default=sa.false(), nullable=False))
    op.add_column("items", sa.Column("batch", sa.String(), server_default=sa.text("''"), nullable=False))
    op.add_column("mails", sa.Column("recall_letter_id", sa.Integer(), nullable=True))
    visit = next(each for each in sa.inspect(op.get_bind()).get_columns("mails") if each["name"] == "visit_id")
    if not visit["nullable"]:
        with op.batch_alter_table("mails", table_kwargs={"sqlite_strict": True}) as mails:
            mails.alter_column("visit_id", existing_type=sa.Integer(), nullable=True)
