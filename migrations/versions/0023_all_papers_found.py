"""Let the search find quotes, credit notes and claims too.

The index is emptied; the next start makes it anew from what is there. Nothing else is touched.
"""

from alembic import op

revision = "0023_all_papers_found"
down_revision = "0022_customers_word"


def upgrade() -> None:
    op.execute("DELETE FROM search_entries")
