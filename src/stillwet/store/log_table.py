"""The field log in its table: entries go in once and stay as they are."""

from __future__ import annotations

from collections.abc import Iterable

from stillwet.domain.codec import CodecError, from_text, text_hash, to_text
from stillwet.domain.log import Entry
from stillwet.domain.log_merge import Log, in_order
from stillwet.errors import Problem, StillwetError
from stillwet.store.job_file import JobFile
from stillwet.store.job_tables import sound


def add_entries(job_file: JobFile, entries: Iterable[Entry]) -> int:
    """Add entries in one transaction; those already there are left. Returns how many were new.

    When this returns, the disk has them.
    """
    added = 0
    with job_file.writing() as connection:
        for entry in in_order(entries):
            text = to_text(entry, Entry)
            added += connection.execute(
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
    return added


def load_log(job_file: JobFile) -> Log:
    """Every entry of the file."""
    with job_file.reading() as connection:
        rows = connection.execute("SELECT record FROM log").fetchall()
    try:
        return frozenset(from_text(text, Entry) for (text,) in rows)
    except CodecError as error:
        hint = "run: stillwet doctor"
        raise StillwetError(
            Problem("log", "sound records", str(error), str(job_file.path), hint)
        ) from error
