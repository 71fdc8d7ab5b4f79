"""Edits of the job in their table: each goes in once and stays as it is."""

from __future__ import annotations

from collections.abc import Iterable
from sqlite3 import Connection
from typing import Any

from stillwet.domain.sharing import Draft
from stillwet.errors import Problem, StillwetError
from stillwet.store.job_file import JobFile
from stillwet.store.job_tables import sound


def add_drafts(job_file: JobFile, drafts: Iterable[Draft]) -> tuple[bool, ...]:
    """Add edits in one transaction; of each, whether it was new.

    Raises StillwetError, and adds none, when an id is there already for another edit.
    """
    with job_file.writing():
        return tuple(_add(job_file, draft) for draft in drafts)


def _add(job_file: JobFile, draft: Draft) -> bool:
    row = (
        draft.edit_id,
        float(draft.made_s),
        sound(draft.writer),
        sound(draft.device),
        draft.record,
    )
    there = _find(job_file.connection, draft.edit_id)
    if there is None:
        job_file.connection.execute(
            "INSERT INTO drafts (edit_id, made_s, writer, device, record) VALUES (?, ?, ?, ?, ?)",
            row,
        )
    elif there != row:
        got = "one that another edit has"
        raise StillwetError(Problem("edit_id", "an id of its own", got, draft.edit_id))
    return there is None


def _find(connection: Connection, edit_id: str) -> tuple[Any, ...] | None:
    found: tuple[Any, ...] | None = connection.execute(
        "SELECT edit_id, made_s, writer, device, record FROM drafts WHERE edit_id = ?", (edit_id,)
    ).fetchone()
    return found


def find_drafts(job_file: JobFile, edit_ids: Iterable[str]) -> dict[str, Draft]:
    """Those of the edits with these ids that are there, by id; costs the same in a long table."""
    with job_file.reading() as connection:
        rows = [_find(connection, edit_id) for edit_id in edit_ids]
    return {row[0]: Draft(*row) for row in rows if row is not None}


def load_drafts(job_file: JobFile, after_row: int = 0) -> tuple[tuple[int, Draft], ...]:
    """Edits added after a row of the table, with their rows, in the order they came in."""
    with job_file.reading() as connection:
        rows = connection.execute(
            "SELECT id, edit_id, made_s, writer, device, record FROM drafts WHERE id > ? "
            "ORDER BY id",
            (after_row,),
        ).fetchall()
    return tuple((row, Draft(*rest)) for row, *rest in rows)
