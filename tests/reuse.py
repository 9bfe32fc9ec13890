"""Databases of PostgreSQL that one test after the other gets, each as a fresh one: to copy one takes half a second."""

from dataclasses import dataclass, field

import psycopg
from sqlalchemy import create_engine
from sqlalchemy.pool import NullPool

from tests.kept_rows import Rows, keep_rows
from tests.postgres import USER, Cluster

#: What tables, columns, triggers and functions there are; a test that changed them leaves a database nobody else gets.
SHAPE = """SELECT md5(string_agg(told, ' ' ORDER BY told)) FROM (
    SELECT concat_ws(' ', relname, relkind, relnatts) AS told FROM pg_class WHERE relnamespace = 'public'::regnamespace
    UNION ALL SELECT concat_ws(' ', tgrelid::regclass, tgname, tgenabled) FROM pg_trigger
    UNION ALL SELECT concat_ws(' ', proname, prosrc) FROM pg_proc WHERE pronamespace = 'public'::regnamespace) found"""
OTHERS = """SELECT pg_terminate_backend(pid, 5000) FROM pg_stat_activity
    WHERE datname = current_database() AND pid <> pg_backend_pid()"""


@dataclass
class Reuse:
    """Databases of one cluster, copied from a template that is only read, and put back to it after each use."""

    cluster: Cluster
    template: str
    spare: list[str] = field(default_factory=list)
    fresh: Rows = field(init=False)
    shape: str = field(init=False)

    def __post_init__(self) -> None:
        engine = create_engine(self.cluster.url(self.template), poolclass=NullPool)
        self.fresh = keep_rows(engine)
        with self._open(self.template) as link:
            self.shape = _shape(link)

    def take(self) -> str:
        """Give the name of a database as fresh; nobody else has it."""
        return self.spare.pop() if self.spare else self.cluster.add_database(self.template)

    def give_back(self, name: str) -> None:
        """End what is still connected and empty the database, or remove it when its tables are not as they were."""
        with self._open(name) as link:
            link.execute(OTHERS)
            sound = _shape(link) == self.shape
            if sound:
                link.execute("SET session_replication_role = replica")
                link.execute("".join(f'DELETE FROM "{table}";' for table in self.fresh.tables).encode())
                self.fresh.copy_into(link)
                link.commit()
        if sound:
            self.spare.append(name)
        else:
            self.cluster.remove_database(name)

    def _open(self, name: str) -> psycopg.Connection:
        return psycopg.connect(f"host={self.cluster.socket_folder} user={USER} dbname={name}")


def _shape(link: psycopg.Connection) -> str:
    found = link.execute(SHAPE).fetchone()
    assert found is not None
    return str(found[0])
