"""Edits of the job in their table: each goes in once and stays as it is."""

from __future__ import annotations

from collections.abc import Iterable

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
    there = job_file.connection.execute(
        "SELECT edit_id, made_s, writer, device, record FROM drafts WHERE edit_id = ?",
        (draft.edit_id,),
    ).fetchone()
    if there is None:
        job_file.connection.execute(
            "INSERT INTO drafts (edit_id, made_s, writer, device, record) VALUES (?, ?, ?, ?, ?)",
            row,
        )
    elif there != row:
        got = "one that another edit has"
        raise StillwetError(Problem("edit_id", "an id of its own", got, draft.edit_id))
    return there is None


def load_drafts(job_file: JobFile, after_row: int = 0) -> tuple[tuple[int, Draft], ...]:
    """Edits added after a row of the table, with their rows, in the order they came in."""
    with job_file.reading() as connection:
        rows = connection.execute(
            "SELECT id, edit_id, made_s, writer, device, record FROM drafts WHERE id > ? "
            "ORDER BY id",
            (after_row,),
        ).fetchall()
    return tuple((row, Draft(*rest)) for row, *rest in rows)
