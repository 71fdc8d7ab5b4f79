"""What a request says, read and checked: JSON bodies, moments, numbers."""

from __future__ import annotations

import json
from typing import Any

from starlette.requests import Request

from stillwet.errors import Problem, StillwetError, shown
from stillwet.services.clock import moment_s
from stillwet.web.trouble import RefusedError

_DEEPEST = 40


async def json_body(request: Request) -> dict[str, Any]:
    """The body as an object; a wrong kind, bad JSON or anything else is refused."""
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind != "application/json":
        raise RefusedError(415, Problem("Content-Type", "application/json", shown(kind) or "none"))
    raw = await request.body()
    try:
        plain = json.loads(raw, parse_constant=_no_constant)
    except (ValueError, RecursionError) as error:
        raise StillwetError(Problem("body", "JSON", shown(str(error)))) from None
    if not isinstance(plain, dict):
        raise StillwetError(Problem("body", "an object", type(plain).__name__))
    _need_shallow(plain)
    return plain


def query_moment(request: Request, name: str) -> float | None:
    """A moment of the query in epoch seconds; None where it is not there."""
    text = request.query_params.get(name)
    if text is None:
        return None
    try:
        return moment_s(text)
    except (StillwetError, OverflowError):
        wanted = "a date and time with its offset from UTC, such as 2030-08-14T12:00:00Z"
        raise StillwetError(Problem(name, wanted, shown(text))) from None


def query_count(request: Request, name: str, *, default: int, most: int) -> int:
    """A whole number of the query from 0 to ``most``."""
    text = request.query_params.get(name)
    if text is None:
        return default
    if not (text.isascii() and text.isdecimal() and len(text) <= 18 and int(text) <= most):
        raise StillwetError(Problem(name, f"a whole number from 0 to {most}", shown(text)))
    return int(text)


def query_choice(request: Request, name: str, known: tuple[str, ...]) -> str:
    """One of the known words; the first where none is given."""
    text = request.query_params.get(name, known[0])
    if text not in known:
        raise StillwetError(Problem(name, " or ".join(known), shown(text)))
    return text


def _no_constant(word: str) -> float:
    raise ValueError(f"{word} is not JSON")


def _need_shallow(plain: object, depth: int = 0) -> None:
    if depth > _DEEPEST:
        raise StillwetError(Problem("body", f"at most {_DEEPEST} levels", "more"))
    parts = plain.values() if isinstance(plain, dict) else plain if isinstance(plain, list) else ()
    for part in parts:
        _need_shallow(part, depth + 1)
