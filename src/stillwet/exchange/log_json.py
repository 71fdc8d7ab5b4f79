"""Entries of the field log as JSON: what a phone sends and what it is told. SI; ISO 8601 times."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import MISSING, fields
from datetime import UTC, datetime
from typing import Any, cast

from stillwet.domain.codec import CodecError, from_plain, to_plain
from stillwet.domain.json_schema import schema_of
from stillwet.domain.log import KINDS, Entry
from stillwet.errors import Problem, StillwetError, shown

MOST_NOTE = 2000  # characters
_TEXTS = {"writer": 80, "device": 80, "note": MOST_NOTE}
_UUID = "^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$"
_NEEDED = ("id", "when", "written", "writer", "device", "kind", "body")
_KEYS = (*_NEEDED, "replaces", "note")


def entry_to_json(entry: Entry) -> dict[str, Any]:
    """One entry as plain data."""
    return {
        "id": entry.id,
        "when": _iso(entry.when_s),
        "written": _iso(entry.written_s),
        "writer": entry.writer,
        "device": entry.device,
        "kind": entry.kind,
        "body": to_plain(entry.body, type(entry.body)),
        "replaces": entry.replaces,
        "note": entry.note,
    }


def entry_from_json(plain: object, place: str = "") -> Entry:
    """The entry that plain data stands for; raises StillwetError with every problem found."""
    if not isinstance(plain, dict):
        raise StillwetError(Problem("entry", "an object", shown(plain), place))
    problems = [*_missing(plain, place), *_texts(plain, place)]
    kind = plain.get("kind")
    if "kind" in plain and (not isinstance(kind, str) or kind not in KINDS):
        problems.append(Problem("kind", "one of " + ", ".join(KINDS), shown(kind), place))
    times = {name: _moment(plain.get(name), name, place, problems) for name in ("when", "written")}
    if problems:
        raise StillwetError(problems)
    try:
        body = from_plain(plain["body"], KINDS[cast(str, kind)])
    except CodecError as error:
        raise StillwetError(Problem("body", f"what a {kind} says", str(error), place)) from None
    except StillwetError as error:
        raise StillwetError(_placed(problem, place) for problem in error.problems) from None
    return Entry(
        id=plain["id"],
        when_s=times["when"],
        written_s=times["written"],
        writer=plain["writer"],
        device=plain["device"],
        body=body,
        replaces=plain.get("replaces"),
        note=plain.get("note", ""),
    )


def entry_schema() -> dict[str, Any]:
    """JSON Schema (2020-12) of an entry as it is sent, from the records themselves."""
    moment = {"type": "string", "format": "date-time"}
    text = {name: {"type": "string", "maxLength": most} for name, most in _TEXTS.items()}
    common = {
        "id": {"type": "string", "pattern": _UUID},
        "when": moment,
        "written": moment,
        **text,
        "writer": {**text["writer"], "minLength": 1, "pattern": r"\S"},
        "replaces": {"type": ["string", "null"], "pattern": _UUID},
    }
    kinds = [
        {
            "type": "object",
            "properties": {**common, "kind": {"const": word}, "body": _body_schema(kind)},
            "required": list(_NEEDED),
            "additionalProperties": False,
        }
        for word, kind in KINDS.items()
    ]
    return {"oneOf": kinds}


def _body_schema(kind: type[Any]) -> dict[str, Any]:
    needed = [one.name for one in fields(kind) if one.default is MISSING]
    return {**schema_of(kind), "required": needed}


def _missing(plain: Mapping[str, Any], place: str) -> list[Problem]:
    lacking = [
        Problem(name, "to be there", "nothing", place) for name in _NEEDED if name not in plain
    ]
    unknown = [
        Problem(shown(str(name)), "one of " + ", ".join(_KEYS), "an unknown field", place)
        for name in plain
        if name not in _KEYS
    ]
    return lacking + unknown


def _texts(plain: Mapping[str, Any], place: str) -> list[Problem]:
    found = []
    for name in ("id", "writer", "device", "note", "replaces"):
        value = plain.get(name, "")
        if value is None and name == "replaces":
            continue
        if not isinstance(value, str):
            found.append(Problem(name, "a text", shown(value), place))
        elif len(value) > _TEXTS.get(name, MOST_NOTE):
            wanted = f"at most {_TEXTS.get(name, MOST_NOTE)} characters"
            found.append(Problem(name, wanted, f"{len(value)}", place))
        elif not _is_utf8(value):
            found.append(Problem(name, "whole characters", "half of a character", place))
    return found


def _is_utf8(text: str) -> bool:
    """False for text with a lone surrogate, which no file can hold."""
    try:
        text.encode()
    except UnicodeEncodeError:
        return False
    return True


def _moment(value: object, name: str, place: str, problems: list[Problem]) -> float:
    wanted = "a date and time with its offset from UTC, such as 2030-08-14T12:00:00Z"
    try:
        moment = datetime.fromisoformat(value) if isinstance(value, str) else None
        if moment is not None and moment.tzinfo is not None:
            return moment.timestamp()
    except (ValueError, OverflowError):
        pass
    if value is not None:
        problems.append(Problem(name, wanted, shown(value), place))
    return math.nan


def _placed(problem: Problem, place: str) -> Problem:
    return Problem(problem.field, problem.wanted, problem.got, problem.place or place, problem.hint)


def _iso(time_s: float) -> str:
    return datetime.fromtimestamp(time_s, UTC).isoformat(timespec="milliseconds")
