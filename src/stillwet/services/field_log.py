"""Use case: phones and screens send entries of the field log, and ask for what is new."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from stillwet.domain.log import Entry
from stillwet.domain.log_merge import in_order
from stillwet.errors import Problem, StillwetError, shown

if TYPE_CHECKING:
    from stillwet.store.job_file import JobFile

MOST_AT_ONCE = 500


@dataclass(frozen=True, slots=True)
class Posted:
    """What became of one entry: kept, already here, conflict, or refused with its problems."""

    id: str
    became: str
    problems: tuple[Problem, ...] = ()


def post_log(path: Path, entries: Sequence[object], *, now_s: float) -> tuple[Posted, ...]:
    """Keep entries sent as plain data, once each; of each what became of it, in order.

    A faulty entry is refused and hinders no other. When this returns, the disk has the rest.
    """
    from stillwet.store.job_file import open_job_file

    if len(entries) > MOST_AT_ONCE:
        wanted = f"at most {MOST_AT_ONCE} at once"
        raise StillwetError(
            Problem("entries", wanted, str(len(entries)), "", "send the rest later")
        )
    read = [_read(plain, number) for number, plain in enumerate(entries, 1)]
    sound = [one for one in read if isinstance(one, Entry)]
    became: Iterator[str] = iter(())
    if sound:
        with open_job_file(path, now_s=now_s) as job_file:
            became = iter([_keep(job_file, entry) for entry in sound])
    return tuple(one if isinstance(one, Posted) else Posted(one.id, next(became)) for one in read)


def _keep(job_file: JobFile, entry: Entry) -> str:
    from stillwet.store.log_table import add_entries, load_log

    rivals = [one for one in load_log(job_file) if one.id == entry.id and one != entry]
    if not add_entries(job_file, [entry]):
        return "already here"
    return "conflict" if rivals else "kept"


def _read(plain: object, number: int) -> Entry | Posted:
    from stillwet.exchange.log_json import entry_from_json

    try:
        return entry_from_json(plain, f"entry {number}")
    except StillwetError as error:
        name = plain.get("id") if isinstance(plain, dict) else None
        return Posted(
            shown(name).strip("'") if isinstance(name, str) else "", "refused", error.problems
        )


def log_after(path: Path, row: int, *, now_s: float, limit: int = MOST_AT_ONCE) -> dict[str, Any]:
    """Entries that came in after a row, as plain data, with the row to ask from next."""
    from stillwet.exchange.log_json import entry_to_json
    from stillwet.store.job_file import open_job_file
    from stillwet.store.log_table import load_log

    with open_job_file(path, now_s=now_s) as job_file:
        rows = tuple(enumerate(in_order(load_log(job_file)), 1))[row : row + limit]
    return {
        "entries": [{"row": number, **entry_to_json(entry)} for number, entry in rows],
        "last": rows[-1][0] if rows else row,
        "more": len(rows) == limit,
    }


def entry_schema() -> dict[str, Any]:
    """JSON Schema of an entry as it is sent."""
    from stillwet.exchange.log_json import entry_schema as made

    return made()
