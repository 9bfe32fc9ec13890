"""Keep the parts of papers that are too long for one file.

1. A part has its file, its SHA-256, its pages and its items; the papers there are have none.
2. Triggers refuse to change or remove one, as with the papers themselves.
"""

import sqlalchemy as sa
from alembic import op

revision = "0018_paper_parts"
down_revision = "0017_papers"

SENTENCE = "a part of an issued paper is frozen"


def upgrade() -> None:
    op.create_table(
        "paper_parts",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("paper", sa.String(), nullable=False),
        sa.Column("paper_id", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("file_name", sa.String(), nullable=False),
        sa.Column("sha256", sa.String(), nullable=False),
        sa.Column("size_bytes", sa.Integer(), nullable=False),
        sa.Column("first_page", sa.Integer(), nullable=False),
        sa.Column("pages", sa.Integer(), nullable=False),
        sa.Column("items", sa.Integer(), nullable=False),
        sa.Column("first_item", sa.String(), nullable=False),
        sa.Column("last_item", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_paper_parts"),
        sa.UniqueConstraint("file_name", name="uq_paper_parts_file_name"),
        sa.UniqueConstraint("paper", "paper_id", "place", name="uq_paper_parts_paper_paper_id_place"),
        sqlite_strict=True,
    )
    if op.get_bind().dialect.name != "sqlite":
        op.execute(
            "CREATE TRIGGER paper_parts_keep BEFORE UPDATE OR DELETE ON paper_parts FOR EACH ROW "
            f"EXECUTE FUNCTION ohmstead_refuse('{SENTENCE}')"
        )
        return
    for deed in ("UPDATE", "DELETE"):
        op.execute(
            f"CREATE TRIGGER paper_parts_keep_{deed.lower()} BEFORE {deed} ON paper_parts "
            f"BEGIN SELECT RAISE(ABORT, '{SENTENCE}'); END"
        )
