"""The file's structure as it grew: named steps, only ever added to, each in one transaction.

A step that has shipped is never changed, not even its spacing: the test of this room pins each
one's hash. The record of a step is written in the same transaction as the step itself.
"""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass

from stillwet.domain.codec import text_hash
from stillwet.store.geopackage import APPLICATION_ID, REQUIRED_SYSTEMS, STANDARD_VERSION
from stillwet.store.schema import CONTAINER, JOB_TABLES, LOG_TABLE, PLAN_TABLES
from stillwet.store.schema_shared import FILE_TABLES, PEOPLE_TABLES, TRIAL_TABLES

MIGRATIONS_TABLE = "stillwet_migrations"


@dataclass(frozen=True, slots=True)
class Migration:
    """One step: its number, its name, and its statements as one text."""

    number: int
    name: str
    sql: str

    @property
    def hash(self) -> str:
        """SHA-256 of the statements."""
        return text_hash(self.sql)

    def statements(self) -> list[str]:
        """The statements one by one; a trigger with its inner semicolons is one statement."""
        found: list[str] = []
        pending = ""
        for line in self.sql.splitlines(keepends=True):
            pending += line
            if sqlite3.complete_statement(pending):
                found.append(pending.strip())
                pending = ""
        assert not pending.strip(), f"{self.name}: a statement without its end"
        return found


MIGRATIONS = (
    Migration(1, "container", CONTAINER),
    Migration(2, "job", JOB_TABLES),
    Migration(3, "field log", LOG_TABLE),
    Migration(4, "plans, routes and trials", PLAN_TABLES),
    Migration(5, "source files", FILE_TABLES),
    Migration(6, "drafts, people and audit", PEOPLE_TABLES),
    Migration(7, "typed trials", TRIAL_TABLES),
)


def applied_names(connection: sqlite3.Connection) -> list[str]:
    """The names of the steps a file has been through, in order; none for a foreign file."""
    known = connection.execute(
        "SELECT count(*) FROM sqlite_master WHERE type = 'table' AND name = ?", (MIGRATIONS_TABLE,)
    ).fetchone()
    if not known[0]:
        return []
    rows = connection.execute(f"SELECT name FROM {MIGRATIONS_TABLE} ORDER BY id")
    return [str(name) for (name,) in rows]


def pending(connection: sqlite3.Connection) -> tuple[Migration, ...]:
    """The steps a file still lacks."""
    applied = set(applied_names(connection))
    return tuple(step for step in MIGRATIONS if step.name not in applied)


def unknown_names(connection: sqlite3.Connection) -> list[str]:
    """Steps in the file that this program does not know: the file is newer."""
    known = {step.name for step in MIGRATIONS}
    return [name for name in applied_names(connection) if name not in known]


def apply(connection: sqlite3.Connection, step: Migration, *, when: str) -> None:
    """Take one step inside the transaction that is open; ``when`` is ISO 8601, UTC."""
    for statement in step.statements():
        connection.execute(statement)
    if step.number == 1:
        _fill_container(connection)
    connection.execute(
        f"INSERT INTO {MIGRATIONS_TABLE} (name, applied, sha256) VALUES (?, ?, ?)",
        (step.name, when, step.hash),
    )
    connection.execute("UPDATE gpkg_contents SET last_change = ?", (when,))


def _fill_container(connection: sqlite3.Connection) -> None:
    connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    connection.execute(f"PRAGMA user_version = {STANDARD_VERSION}")
    connection.executemany(
        "INSERT INTO gpkg_spatial_ref_sys (srs_id, srs_name, organization, "
        "organization_coordsys_id, definition) VALUES (?, ?, ?, ?, ?)",
        [
            (each.srs_id, each.name, each.organization, each.organization_id, each.definition)
            for each in REQUIRED_SYSTEMS
        ],
    )
