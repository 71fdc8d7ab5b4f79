"""The field log in its table: entries go in once and stay as they are."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from enum import StrEnum

from stillwet.domain.codec import CodecError, from_text, text_hash, to_text
from stillwet.domain.log import Entry
from stillwet.domain.log_merge import Log
from stillwet.errors import Problem, StillwetError
from stillwet.store.job_file import JobFile
from stillwet.store.job_tables import sound


class Receipt(StrEnum):
    """What became of an entry that was handed in."""

    KEPT = "kept"
    HERE = "already here"
    CONFLICT = "conflict"  # kept, but the file has another account under the same id


def add_entries(job_file: JobFile, entries: Iterable[Entry]) -> tuple[Receipt, ...]:
    """Add entries in one transaction; those already there are left. A receipt for each, in order.

    When this returns, the disk has them.
    """
    given = tuple(entries)
    with job_file.writing() as connection:
        return tuple(_add(connection, entry) for entry in given)


def _add(connection: sqlite3.Connection, entry: Entry) -> Receipt:
    text = to_text(entry, Entry)
    rivals = connection.execute(
        "SELECT count(*) FROM log WHERE entry_id = ? AND content_hash <> ?",
        (entry.id, text_hash(text)),
    ).fetchone()[0]
    added = connection.execute(
        "INSERT OR IGNORE INTO log (entry_id, content_hash, kind, when_s, written_s, "
        "writer, device, replaces, note, record) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (
            entry.id,
            text_hash(text),
            entry.kind,
            float(entry.when_s),
            float(entry.written_s),
            sound(entry.writer),
            sound(entry.device),
            entry.replaces,
            sound(entry.note),
            text,
        ),
    ).rowcount
    if not added:
        return Receipt.HERE
    return Receipt.CONFLICT if rivals else Receipt.KEPT


def entries_after(job_file: JobFile, row: int, limit: int = -1) -> tuple[tuple[int, Entry], ...]:
    """Entries added after a row of the table, with their rows, in the order they came in.

    At most ``limit``, unless it is below 0.
    """
    with job_file.reading() as connection:
        rows = connection.execute(
            "SELECT id, record FROM log WHERE id > ? ORDER BY id LIMIT ?", (row, limit)
        ).fetchall()
    return tuple((number, _entry(job_file, text)) for number, text in rows)


def load_log(job_file: JobFile) -> Log:
    """Every entry of the file."""
    return frozenset(entry for _row, entry in entries_after(job_file, 0))


def _entry(job_file: JobFile, text: str) -> Entry:
    try:
        return from_text(text, Entry)
    except CodecError as error:
        hint = "run: stillwet doctor"
        raise StillwetError(
            Problem("log", "sound records", str(error), str(job_file.path), hint)
        ) from error
