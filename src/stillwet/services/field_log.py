"""Use case: phones and screens send entries of the field log, and ask for what is new."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from stillwet.domain.log import KINDS, Entry
from stillwet.errors import Problem, StillwetError

if TYPE_CHECKING:
    from stillwet.exchange.log_entry import Here
    from stillwet.exchange.log_fields import Told
    from stillwet.store.log_table import Receipt

MOST_AT_ONCE = 500
REFUSED = "refused"


@dataclass(frozen=True, slots=True)
class Posted:
    """What became of one entry: a receipt's word, or refused with its problems."""

    id: str
    became: str
    problems: tuple[Problem, ...] = ()


def need_few(entries: Sequence[object]) -> None:
    """Raise when more are sent at once than are taken at once."""
    if len(entries) > MOST_AT_ONCE:
        wanted, hint = f"at most {MOST_AT_ONCE} at once", "send the rest later"
        raise StillwetError(Problem("entries", wanted, str(len(entries)), "", hint))


def post_log(
    path: Path, batches: Sequence[Sequence[object]], *, time_zone: str, now_s: float
) -> tuple[tuple[Posted, ...], ...]:
    """Keep batches of entries sent as plain data, once each; of each what became of it, in order.

    All of them share one transaction. A faulty entry is refused and hinders no other. Names of
    faces and crews are not held against the job: a phone may know another version of it, and what
    it saw must not be lost. When this returns, the disk has the rest.
    """
    from stillwet.exchange.clock import read_zone
    from stillwet.exchange.log_entry import Here
    from stillwet.store.job_file import open_job_file
    from stillwet.store.log_table import add_entries

    here = Here(now_s, read_zone(time_zone, field="time_zone", place=""))
    read = [
        [_read(plain, here, f"entry {number}") for number, plain in enumerate(batch, 1)]
        for batch in batches
    ]
    sound = [one for batch in read for one in batch if isinstance(one, Entry)]
    receipts: Iterator[Receipt] = iter(())
    if sound:
        with open_job_file(path, now_s=now_s) as job_file:
            receipts = iter(add_entries(job_file, sound))
    return tuple(
        tuple(
            one if isinstance(one, Posted) else Posted(one.id, next(receipts).value)
            for one in batch
        )
        for batch in read
    )


def _read(plain: object, here: Here, place: str) -> Entry | Posted:
    from stillwet.exchange.log_entry import read_entry

    try:
        return read_entry(plain, here, place=place)
    except StillwetError as error:
        name = plain.get("id") if isinstance(plain, dict) else None
        return Posted(name if isinstance(name, str) else "", REFUSED, error.problems)


def log_after(
    path: Path, row: int, *, time_zone: str, now_s: float, limit: int = MOST_AT_ONCE
) -> dict[str, Any]:
    """Entries that came in after a row, as plain data, with the row to ask from next."""
    from stillwet.exchange.clock import read_zone
    from stillwet.exchange.log_entry import entry_to_json
    from stillwet.store.job_file import open_job_file
    from stillwet.store.log_table import entries_after

    clock = read_zone(time_zone, field="time_zone", place="")
    with open_job_file(path, now_s=now_s) as job_file:
        rows = entries_after(job_file, row, limit)
    return {
        "entries": [{"row": number, **entry_to_json(entry, clock)} for number, entry in rows],
        "last": rows[-1][0] if rows else row,
        "more": len(rows) == limit,
    }


def entry_schema() -> dict[str, Any]:
    """JSON Schema (2020-12) of an entry as it is sent, from the table that reads it."""
    from stillwet.exchange.log_fields import TELLS

    return {"oneOf": [_kind_schema(kind, TELLS[kind]) for kind in KINDS]}


def kept_entry_schema() -> dict[str, Any]:
    """JSON Schema (2020-12) of an entry as it is told by ``log_after``, from the same table."""
    from stillwet.exchange.log_fields import TELLS, WEATHER

    seen = {"anyOf": [_whole({one.attribute: one.gives for one in WEATHER}), {"type": "null"}]}
    return {
        "oneOf": [
            _whole(
                {
                    **_KEPT_HEAD,
                    "kind": {"const": kind},
                    **{one.attribute: one.gives for one in TELLS[kind]},
                    **({"seen": seen} if kind == "coat" else {}),
                }
            )
            for kind in KINDS
        ]
    }


_KEPT_HEAD: dict[str, Any] = {
    "row": {"type": "integer", "minimum": 1},
    "id": {"type": "string"},
    "when": {"type": "string", "format": "date-time"},
    "when_s": {"type": "number"},
    "written": {"type": "string", "format": "date-time"},
    "written_s": {"type": "number"},
    "writer": {"type": "string"},
    "device": {"type": "string"},
    "replaces": {"type": ["string", "null"]},
    "note": {"type": "string"},
}


def _whole(parts: dict[str, Any]) -> dict[str, Any]:
    return {
        "type": "object",
        "properties": parts,
        "required": list(parts),
        "additionalProperties": False,
    }


def _kind_schema(kind: str, tells: tuple[Told, ...]) -> dict[str, Any]:
    from stillwet.exchange.log_fields import WEATHER

    uuid = {"type": "string", "pattern": "^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$"}
    text, moment = {"type": "string"}, {"type": "string", "format": "date-time"}
    told = {one.word: _word_schema(one) for one in (*tells, *(WEATHER if kind == "coat" else ()))}
    return {
        "type": "object",
        "properties": {
            **told,
            "id": uuid,
            "kind": {"const": kind},
            "when": moment,
            "written": moment,
            "by": {"type": "string", "pattern": r"\S"},
            "device": text,
            "replaces": uuid,
            "note": text,
        },
        "required": ["id", "kind", "by", *(["replaces"] if kind == "withdrawn" else [])],
    }


def _word_schema(told: Told) -> dict[str, Any]:
    return {"type": "string", "examples": [told.example]}
