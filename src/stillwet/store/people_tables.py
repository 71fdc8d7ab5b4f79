"""Who may do what in a job file, which devices have joined, and who did what."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from stillwet.domain.sharing import AuditLine, Person, Role
from stillwet.store.job_file import JobFile
from stillwet.store.job_tables import sound

_PERSON = "people.id, handle, name, role, people.made_s, revoked_s"


@dataclass(frozen=True, slots=True)
class CodeHash:
    """A join code as it is kept: never the code itself. Both in hexadecimal."""

    salt: str
    hash: str


def add_person(
    job_file: JobFile, handle: str, name: str, role: Role, code: CodeHash, *, made_s: float
) -> Person | None:
    """Let somebody in; None when the handle is taken."""
    with job_file.writing() as connection:
        added = connection.execute(
            "INSERT OR IGNORE INTO people (handle, name, role, code_salt, code_hash, made_s) "
            "VALUES (?, ?, ?, ?, ?, ?)",
            (handle, sound(name), role.value, code.salt, code.hash, float(made_s)),
        )
        if added.rowcount != 1:
            return None
        return Person(int(added.lastrowid or 0), handle, sound(name), role, float(made_s))


def load_people(job_file: JobFile) -> tuple[Person, ...]:
    """Everybody, in the order they were let in; those revoked too."""
    with job_file.reading() as connection:
        rows = connection.execute(f"SELECT {_PERSON} FROM people ORDER BY id").fetchall()
    return tuple(_person(row) for row in rows)


def person_by_handle(job_file: JobFile, handle: str) -> tuple[Person, CodeHash] | None:
    """Somebody and the hash of their code."""
    with job_file.reading() as connection:
        row = connection.execute(
            f"SELECT {_PERSON}, code_salt, code_hash FROM people WHERE handle = ?", (handle,)
        ).fetchone()
    return None if row is None else (_person(row[:6]), CodeHash(row[6], row[7]))


def revoke_person(job_file: JobFile, person_id: int, *, when_s: float) -> bool:
    """Let somebody out and end their sessions, in one transaction; False when they are out."""
    with job_file.writing() as connection:
        done = connection.execute(
            "UPDATE people SET revoked_s = ? WHERE id = ? AND revoked_s IS NULL",
            (float(when_s), person_id),
        ).rowcount
        connection.execute(
            "UPDATE sessions SET ended_s = ? WHERE person_id = ? AND ended_s IS NULL",
            (float(when_s), person_id),
        )
    return done == 1


def add_session(
    job_file: JobFile,
    token_hash: str,
    person_id: int,
    device: str,
    *,
    made_s: float,
    expires_s: float,
) -> None:
    """A device joins."""
    with job_file.writing() as connection:
        connection.execute(
            "INSERT INTO sessions (token_hash, person_id, device, made_s, expires_s) "
            "VALUES (?, ?, ?, ?, ?)",
            (token_hash, person_id, sound(device), float(made_s), float(expires_s)),
        )


def session_person(job_file: JobFile, token_hash: str, *, now_s: float) -> Person | None:
    """Whose session this is; None when it is unknown, ended or expired, or they are out."""
    with job_file.reading() as connection:
        row = connection.execute(
            f"SELECT {_PERSON} FROM sessions JOIN people ON people.id = person_id "
            "WHERE token_hash = ? AND ended_s IS NULL AND revoked_s IS NULL AND expires_s > ?",
            (token_hash, float(now_s)),
        ).fetchone()
    return None if row is None else _person(row)


def end_session(job_file: JobFile, token_hash: str, *, when_s: float) -> None:
    """A device leaves."""
    with job_file.writing() as connection:
        connection.execute(
            "UPDATE sessions SET ended_s = ? WHERE token_hash = ? AND ended_s IS NULL",
            (float(when_s), token_hash),
        )


def add_audit(job_file: JobFile, lines: Iterable[AuditLine]) -> None:
    """Write down who did what, all of it in one transaction."""
    rows = [
        (float(one.when_s), *map(sound, (one.who, one.device, one.address, one.what)))
        for one in lines
    ]
    with job_file.writing() as connection:
        connection.executemany(
            "INSERT INTO audit (when_s, who, device, address, what) VALUES (?, ?, ?, ?, ?)", rows
        )


def load_audit(
    job_file: JobFile, most: int, before_row: int | None = None
) -> tuple[tuple[int, AuditLine], ...]:
    """The last lines, newest first, at most so many, with their rows; those before a row."""
    until = "" if before_row is None else "WHERE id < ? "
    asked = (most,) if before_row is None else (before_row, most)
    with job_file.reading() as connection:
        rows = connection.execute(
            f"SELECT id, when_s, who, device, address, what FROM audit {until}"
            "ORDER BY id DESC LIMIT ?",
            asked,
        ).fetchall()
    return tuple((row, AuditLine(*rest)) for row, *rest in rows)


def _person(row: Any) -> Person:
    number, handle, name, role, made_s, revoked_s = row
    return Person(number, handle, name, Role(role), made_s, revoked_s)
