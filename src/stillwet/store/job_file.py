"""Opening a job file: checked, brought up to date after a backup, and written one at a time.

Journal DELETE with synchronous EXTRA: when a write is acknowledged it is on the disk, in the one
file that there is (docs/decisions says why not WAL). One transaction is one writer; others wait.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from urllib.parse import quote

from stillwet.errors import Problem, StillwetError, shown
from stillwet.store import migrations
from stillwet.store.geopackage import APPLICATION_ID

SUFFIX = ".gpkg"
WAIT_S = 30.0  # for another program's write to end
_SAFE = (
    "PRAGMA foreign_keys = ON",
    "PRAGMA trusted_schema = OFF",  # a file from elsewhere may hold anything
    "PRAGMA cell_size_check = ON",
    "PRAGMA synchronous = EXTRA",
)


@dataclass(frozen=True, slots=True)
class JobFile:
    """An open job file. ``backup`` is the copy made before it was brought up to date, if it was."""

    path: Path
    connection: sqlite3.Connection
    backup: Path | None = None

    @contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """One transaction: whole when this ends, nothing at all if anything fails inside.

        When it ends without an exception, what was written has been acknowledged by the disk.
        """
        with telling(self.path):
            self.connection.execute("BEGIN IMMEDIATE")
            try:
                yield self.connection
                self.connection.execute("COMMIT")
            except BaseException:
                with suppress(sqlite3.Error):  # a full disk has rolled back by itself
                    self.connection.execute("ROLLBACK")
                raise

    @contextmanager
    def reading(self) -> Iterator[sqlite3.Connection]:
        """One look at the file as it stands at a single moment, whatever others write meanwhile."""
        with telling(self.path):
            self.connection.execute("BEGIN")
            try:
                yield self.connection
            finally:
                with suppress(sqlite3.Error):
                    self.connection.execute("ROLLBACK")


def iso(time_s: float) -> str:
    """A moment as the standard wants it (R15): UTC with milliseconds and Z."""
    moment = datetime.fromtimestamp(time_s, tz=UTC)
    return f"{moment:%Y-%m-%dT%H:%M:%S}.{moment.microsecond // 1000:03d}Z"


@contextmanager
def make_job_file(path: Path, *, now_s: float) -> Iterator[JobFile]:
    """A new, empty job file at a path where there is none or an empty one."""
    if path.suffix.lower() != SUFFIX:
        raise StillwetError(Problem("job file", f"a name ending in {SUFFIX}", repr(path.name)))
    with telling(path), closing(sqlite3.connect(path, isolation_level=None)) as connection:
        _settle(connection)
        made = JobFile(path, connection)
        for step in migrations.MIGRATIONS:
            with made.writing():
                migrations.apply(connection, step, when=iso(now_s))
        yield made


@contextmanager
def open_job_file(path: Path, *, now_s: float) -> Iterator[JobFile]:
    """An existing job file, brought up to date; a newer or foreign one is refused."""
    with telling(path), closing(connect(path)) as connection:
        _settle(connection)
        need_job_file(connection, path)
        yield JobFile(path, connection, _bring_up_to_date(path, connection, now_s))


@contextmanager
def look_into(path: Path) -> Iterator[JobFile]:
    """An existing job file as it is, for reading only: somebody else's, or one to be examined."""
    with telling(path), closing(connect(path)) as connection:
        for pragma in (*_SAFE, "PRAGMA query_only = ON"):
            connection.execute(pragma)
        need_job_file(connection, path)
        yield JobFile(path, connection)


def connect(path: Path) -> sqlite3.Connection:
    """A connection to a file that must exist; read-only where the medium is.

    Opened for writing even to look, because only a writer can roll back what a crash left.
    """
    if not path.is_file():
        got = "a folder" if path.is_dir() else "no such file"
        raise StillwetError(Problem("job", "a job file", got, str(path)))
    mode = "rw" if os.access(path, os.W_OK) and os.access(path.parent, os.W_OK) else "ro"
    address = f"file:{quote(os.fsencode(path.absolute()))}?mode={mode}"
    return sqlite3.connect(address, uri=True, isolation_level=None, timeout=WAIT_S)


def need_job_file(connection: sqlite3.Connection, path: Path) -> None:
    """Raise unless this is a job file, and one that this program knows how to read."""
    number = connection.execute("PRAGMA application_id").fetchone()[0]
    if number != APPLICATION_ID or not migrations.applied_names(connection):
        hint = "make one with: stillwet keep JOB.toml JOB.gpkg"
        raise StillwetError(
            Problem("job", "a job file made by stillwet keep", "another file", str(path), hint)
        )
    newer = migrations.unknown_names(connection)
    if newer:
        known = migrations.MIGRATIONS[-1].number
        raise StillwetError(
            Problem(
                "job",
                f"a file of schema {known} or older",
                f'a newer one, which has "{newer[-1]}"',
                str(path),
                "open it with the Stillwet that wrote it, or bring this one up to date",
            )
        )


def _settle(connection: sqlite3.Connection) -> None:
    for pragma in _SAFE:
        connection.execute(pragma)
    # A GIS may have switched a file to WAL. If another program holds it open, that has to stay.
    connection.execute("PRAGMA journal_mode = DELETE")


def _bring_up_to_date(path: Path, connection: sqlite3.Connection, now_s: float) -> Path | None:
    if not migrations.pending(connection):
        return None
    backup = None
    job_file = JobFile(path, connection)
    while steps := migrations.pending(connection):
        with job_file.writing():
            if steps != migrations.pending(connection):
                continue  # another program was quicker
            if backup is None:
                backup = back_up(path, now_s)
            migrations.apply(connection, steps[0], when=iso(now_s))
    return backup


def back_up(path: Path, now_s: float) -> Path:
    """Copy the file as it stands, whole or not at all, to a name of its own beside it.

    Made through a second connection, so that it is a copy of what is committed.
    """
    stamp = datetime.fromtimestamp(now_s, tz=UTC).strftime("%Y%m%dT%H%M%SZ")
    target = _free_name(path, stamp)
    fresh = target.with_name(f".{target.name}.part")
    try:
        with closing(connect(path)) as source, closing(sqlite3.connect(fresh)) as copy:
            copy.execute("PRAGMA synchronous = EXTRA")
            source.backup(copy)
        os.replace(fresh, target)
    except BaseException:
        fresh.unlink(missing_ok=True)
        raise
    sync_folder(target.parent)
    return target


def _free_name(path: Path, stamp: str) -> Path:
    for number in range(1, 1000):
        mark = stamp if number == 1 else f"{stamp}-{number}"
        target = path.with_name(f"{path.stem}.backup-{mark}{SUFFIX}")
        if not target.exists():
            return target
    raise StillwetError(Problem("backup", "a free name for it", "a thousand taken", str(path)))


def sync_folder(folder: Path) -> None:
    """Have the disk keep a folder's names, where the system can say so."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


_KEPT = "nothing that was acknowledged is lost"


@contextmanager
def telling(path: Path) -> Iterator[None]:
    """Turn the database's own troubles into problems that a person can act on."""
    try:
        yield
    except sqlite3.DatabaseError as error:
        raise StillwetError(_problem(path, error)) from error
    except UnicodeEncodeError as error:  # half of a character pair, as JSON can hold it
        got = shown(ascii(error.object))
        raise StillwetError(Problem("text", "whole characters", got, str(path))) from error


def _problem(path: Path, error: sqlite3.DatabaseError) -> Problem:
    code = getattr(error, "sqlite_errorcode", 0) & 0xFF
    if code == sqlite3.SQLITE_FULL:
        hint = f"free some space and do it again; {_KEPT}"
        return Problem("disk", "room to write", "a full disk", str(path), hint)
    if code in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        hint = "close the other program and do it again"
        got = f"another program writing to it for over {WAIT_S:.0f} s"
        return Problem("job", "the file to be free", got, str(path), hint)
    if code in (sqlite3.SQLITE_IOERR, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_READONLY):
        hint = f"is the disk full, read-only or taken out? {_KEPT}"
        return Problem("disk", "a file that can be written", str(error), str(path), hint)
    if code in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB):
        hint = "run: stillwet doctor; a backup made beside it may be sound"
        return Problem("job", "a sound job file", str(error), str(path), hint)
    return Problem("job", "a change that the file allows", str(error), str(path))
