"""Use cases of a job that several people work on: edits, joining by a code, who did what."""

from __future__ import annotations

import hashlib
import hmac
import json
import secrets
from collections.abc import Iterable
from contextlib import AbstractContextManager
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from stillwet.domain.checks import need_text
from stillwet.domain.sharing import AuditLine, Draft, Person, Role, SourceFile
from stillwet.errors import Problem, StillwetError, shown
from stillwet.services.clock import moment_s

if TYPE_CHECKING:
    from stillwet.store.job_file import JobFile

# No letter or digit that is taken for another when read aloud or from paper.
_LETTERS = "ABCDEFGHJKMNPQRSTUVWXYZ23456789"
_GROUP, _GROUPS = 4, 4  # the first group is the handle, three are secret: 59 bits
_SCRYPT = {"n": 2**14, "r": 8, "p": 1}
SESSION_S = 7 * 86400.0
_NOT_LET_IN = "ask the lead for a new one"


def add_drafts(path: Path, drafts: Iterable[Draft]) -> tuple[bool, ...]:
    """Add edits to a job file; of each, whether it was new. Sending one again changes nothing.

    Raises StillwetError, and adds none, for a record that is no JSON or an id used for another.
    """
    from stillwet.store import draft_table

    given = tuple(drafts)
    for draft in given:
        _need_json(draft)
    with _opened(path) as job_file:
        return draft_table.add_drafts(job_file, given)


def drafts_after(path: Path, row: int = 0) -> tuple[tuple[int, Draft], ...]:
    """Edits that came in after a row, each with its row: ask again with the last one's."""
    from stillwet.store import draft_table

    with _opened(path) as job_file:
        return draft_table.load_drafts(job_file, row)


def drafts_named(path: Path, edit_ids: Iterable[str]) -> dict[str, Draft]:
    """Those of the edits with these ids that are there, by id."""
    from stillwet.store import draft_table

    with _opened(path) as job_file:
        return draft_table.find_drafts(job_file, edit_ids)


def sources_of(path: Path) -> tuple[SourceFile, ...]:
    """The files that the job in a job file was read from, the job file itself first."""
    from stillwet.store.file_tables import load_files
    from stillwet.store.job_tables import load_job

    with _opened(path) as job_file:
        return load_files(job_file, load_job(job_file).input_hash)


def let_in(path: Path, name: str, role: Role, *, now_s: float) -> tuple[Person, str]:
    """Let somebody in; returns the join code, which is kept nowhere: only its hash is."""
    from stillwet.store.people_tables import CodeHash, add_person

    need_text("name", name)
    with _opened(path) as job_file:
        while True:
            groups = [_letters(_GROUP) for _ in range(_GROUPS)]
            salt = secrets.token_hex(16)
            code = CodeHash(salt, _hash("".join(groups[1:]), salt))
            person = add_person(job_file, groups[0], name, role, code, made_s=now_s)
            if person is not None:
                return person, "-".join(groups)


def people_of(path: Path) -> tuple[Person, ...]:
    """Everybody who was let in, also those let out again."""
    from stillwet.store.people_tables import load_people

    with _opened(path) as job_file:
        return load_people(job_file)


def let_out(path: Path, person_id: int, *, now_s: float) -> bool:
    """Let somebody out and end their sessions; False when they were out or never in."""
    from stillwet.store.people_tables import revoke_person

    with _opened(path) as job_file:
        return revoke_person(job_file, person_id, when_s=now_s)


def join(path: Path, code: str, device: str, *, now_s: float) -> tuple[Person, str]:
    """Join with a code; returns who that is and the token of the session.

    Raises StillwetError for a code that is not known, without saying what about it is wrong.
    """
    from stillwet.store.people_tables import add_session, person_by_handle

    plain = "".join(letter for letter in code.upper() if letter.isalnum())
    handle, secret = plain[:_GROUP], plain[_GROUP:]
    with _opened(path) as job_file:
        found = person_by_handle(job_file, handle)
        # The work is the same for a handle that is not there, so that time tells nothing.
        salt = found[1].salt if found else "00" * 16
        fits = hmac.compare_digest(_hash(secret, salt), found[1].hash if found else "")
        if found is None or not fits or found[0].revoked_s is not None:
            wanted, got = "a join code of this job", "one that lets nobody in"
            raise StillwetError(Problem("code", wanted, got, hint=_NOT_LET_IN))
        token = secrets.token_urlsafe(32)
        add_session(
            job_file,
            _token_hash(token),
            found[0].id,
            device,
            made_s=now_s,
            expires_s=now_s + SESSION_S,
        )
    return found[0], token


def who_is(path: Path, token: str, *, now_s: float) -> Person | None:
    """Whose session a token is, or None."""
    from stillwet.store.people_tables import session_person

    with _opened(path) as job_file:
        return session_person(job_file, _token_hash(token), now_s=now_s)


def leave(path: Path, token: str, *, now_s: float) -> None:
    """End a session; a token that is none changes nothing."""
    from stillwet.store.people_tables import end_session

    with _opened(path) as job_file:
        end_session(job_file, _token_hash(token), when_s=now_s)


def write_audit(path: Path, *lines: AuditLine) -> None:
    """Write down who did what, from where: all the lines in one transaction."""
    from stillwet.store.people_tables import add_audit

    with _opened(path) as job_file:
        add_audit(job_file, lines)


def last_audit(
    path: Path, most: int, before_row: int | None = None
) -> tuple[tuple[int, AuditLine], ...]:
    """What was asked for last, newest first, each line with its row; further back: before a row."""
    from stillwet.store.people_tables import load_audit

    with _opened(path) as job_file:
        return load_audit(job_file, most, before_row)


def _opened(path: Path) -> AbstractContextManager[JobFile]:
    from stillwet.store.job_file import open_job_file

    return open_job_file(path, now_s=moment_s(None))


def _need_json(draft: Draft) -> None:
    try:
        json.loads(draft.record)
    except (ValueError, RecursionError):
        raise StillwetError(
            Problem("record", "JSON text", shown(draft.record), draft.edit_id)
        ) from None


def _letters(count: int) -> str:
    return "".join(secrets.choice(_LETTERS) for _ in range(count))


def _hash(secret: str, salt: str) -> str:
    return hashlib.scrypt(secret.encode(), salt=bytes.fromhex(salt), **_SCRYPT).hex()


def _token_hash(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


def people_json(path: Path) -> list[dict[str, object]]:
    """Everybody as plain data, without a code: that is kept nowhere."""
    return [
        {
            "id": one.id,
            "handle": one.handle,
            "name": one.name,
            "role": one.role.value,
            "is_out": one.revoked_s is not None,
        }
        for one in people_of(path)
    ]


def let_in_json(path: Path, name: str, role: str, *, now_s: float) -> dict[str, object]:
    """Let somebody in by the word of their role; tells the code, this once."""
    known = [one.value for one in Role]
    if role not in known:
        raise StillwetError(Problem("role", "one of " + ", ".join(known), shown(role)))
    person, code = let_in(path, name, Role(role), now_s=now_s)
    return {"id": person.id, "name": person.name, "role": person.role.value, "code": code}


def audit(path: Path, lines: Iterable[tuple[str, str, str, str]], when_s: float) -> None:
    """Write down who (name, device, address) did what, line by line."""
    write_audit(path, *(AuditLine(when_s, *line) for line in lines))


def audit_json(path: Path, most: int, before_row: int | None) -> dict[str, Any]:
    """The same as plain data, and whether there are older lines."""
    found = last_audit(path, most + 1, before_row)
    return {
        "lines": [
            {
                "row": row,
                "when": datetime.fromtimestamp(line.when_s, UTC).isoformat(),
                "who": line.who,
                "device": line.device,
                "address": line.address,
                "what": line.what,
            }
            for row, line in found[:most]
        ],
        "has_more": len(found) > most,
    }
