"""Let share links open one paper, premises or a whole folder, and keep what customers say through them.

1. Every share link there is stays a link to its visit, with its invoice, and its address opens as before; a link can
   now be without a visit and without a last day.
2. An open defect can have somebody who must act and a day; those there have neither, and the rules say who acts.
3. New tables for tasks, their photos, and the history of a defect.
"""

import sqlalchemy as sa
from alembic import op

revision = "0022_customers_word"
down_revision = "0021_recalls_and_views"


def upgrade() -> None:
    _free_links()
    _add_duties()
    _make_tasks()


def _free_links() -> None:
    """On SQLite a table is made anew to let a column be empty; links that e-mails name are put back afterwards."""
    bind = op.get_bind()
    sqlite = bind.dialect.name == "sqlite"
    named = bind.execute(sa.text("SELECT id, share_link_id FROM mails WHERE share_link_id IS NOT NULL")).all()
    if sqlite:
        op.execute("UPDATE mails SET share_link_id = NULL")
    strict = {"table_kwargs": {"sqlite_strict": True}, "recreate": "always" if sqlite else "never"}
    with op.batch_alter_table("share_links", **strict) as batch:
        batch.alter_column("visit_id", existing_type=sa.Integer(), nullable=True)
        batch.alter_column("expires_on", existing_type=sa.Date(), nullable=True)
        batch.add_column(sa.Column("premises_id", sa.Integer(), nullable=True))
        batch.add_column(sa.Column("paper_kind", sa.String(), nullable=False, server_default=sa.text("''")))
        batch.add_column(sa.Column("paper_id", sa.Integer(), nullable=True))
        batch.add_column(sa.Column("paper_number", sa.String(), nullable=False, server_default=sa.text("''")))
        batch.add_column(sa.Column("with_money", sa.Boolean(), nullable=False, server_default=sa.true()))
        batch.create_foreign_key("fk_share_links_premises_id", "premises", ["premises_id"], ["id"])
    op.create_index("ix_share_links_premises_id", "share_links", ["premises_id"], unique=False)
    if sqlite:
        for mail_id, share_link_id in named:
            bind.execute(
                sa.text("UPDATE mails SET share_link_id = :link WHERE id = :mail"),
                {"link": share_link_id, "mail": mail_id},
            )


def _add_duties() -> None:
    op.add_column("defects", sa.Column("duty", sa.String(), nullable=False, server_default=sa.text("''")))
    op.add_column("defects", sa.Column("duty_person_id", sa.Integer(), nullable=True))
    op.add_column("defects", sa.Column("act_by", sa.Date(), nullable=True))
    op.add_column("defects", sa.Column("said_done_at", sa.DateTime(timezone=True), nullable=True))
    op.add_column("defects", sa.Column("version", sa.Integer(), nullable=False, server_default=sa.text("1")))
    op.create_table(
        "defect_steps",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("defect_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("by_name", sa.String(), nullable=False),
        sa.Column("sentence", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["defect_id"], ["defects.id"], name="fk_defect_steps_defect_id"),
        sa.PrimaryKeyConstraint("id", name="pk_defect_steps"),
        sqlite_strict=True,
    )
    op.create_index("ix_defect_steps_defect_id", "defect_steps", ["defect_id"], unique=False)


def _make_tasks() -> None:
    op.create_table(
        "tasks",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("customer_id", sa.Integer(), nullable=False),
        sa.Column("premises_id", sa.Integer(), nullable=True),
        sa.Column("item_id", sa.Integer(), nullable=True),
        sa.Column("share_link_id", sa.Integer(), nullable=True),
        sa.Column("came_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("contact", sa.String(), nullable=False),
        sa.Column("said", sa.String(), nullable=False),
        sa.Column("wished", sa.String(), nullable=False),
        sa.Column("taken_by_id", sa.Integer(), nullable=True),
        sa.Column("taken_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("done_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("done_by", sa.String(), nullable=False),
        sa.Column("done_note", sa.String(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["customer_id"], ["customers.id"], name="fk_tasks_customer_id"),
        sa.ForeignKeyConstraint(["premises_id"], ["premises.id"], name="fk_tasks_premises_id"),
        sa.ForeignKeyConstraint(["item_id"], ["items.id"], name="fk_tasks_item_id"),
        sa.ForeignKeyConstraint(["share_link_id"], ["share_links.id"], name="fk_tasks_share_link_id"),
        sa.ForeignKeyConstraint(["taken_by_id"], ["people.id"], name="fk_tasks_taken_by_id"),
        sa.PrimaryKeyConstraint("id", name="pk_tasks"),
        sqlite_strict=True,
    )
    for name in ("customer_id", "item_id", "share_link_id", "taken_by_id", "came_at"):
        op.create_index(f"ix_tasks_{name}", "tasks", [name], unique=False)
    op.create_table(
        "task_photos",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("task_id", sa.Integer(), nullable=False),
        sa.Column("width", sa.Integer(), nullable=False),
        sa.Column("height", sa.Integer(), nullable=False),
        sa.Column("sha256", sa.String(), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.Column("small", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(["task_id"], ["tasks.id"], name="fk_task_photos_task_id"),
        sa.PrimaryKeyConstraint("id", name="pk_task_photos"),
        sqlite_strict=True,
    )
    op.create_index("ix_task_photos_task_id", "task_photos", ["task_id"], unique=False)
