"""/api/trials, /api/mix, /api/proportioner: what is tried at the bench and what it says."""

from __future__ import annotations

import base64
import binascii
from functools import partial
from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from stillwet.errors import Problem, StillwetError, shown
from stillwet.services.bench import (
    Question,
    check_form,
    check_rows,
    import_trials,
    keep_trials,
)
from stillwet.services.view import UNITS
from stillwet.web.answers_bench import (
    FIT,
    FORM,
    JUDGED,
    KEPT_TRIALS,
    MIX,
    NEXT,
    TRIALS,
)
from stillwet.web.ask import json_body
from stillwet.web.door import Ask, Door, Role
from stillwet.web.house import House, house_of
from stillwet.web.show import units_of
from stillwet.web.workers import READING_BYTES, Job

_LIMIT_S = 120.0
_READ_LIMIT_S = 60.0
_MOST_FILE = 8_000_000  # a table of trials, not a video of one
_MIX = ("ratio", "hardness", "temperature", "coat", "tilt")


async def trials(request: Request) -> Response:
    """The trials in the file as rows, and the form."""
    return await _at_bench(request, "trials_json")


async def fit(request: Request) -> Response:
    """What the trials say."""
    return await _at_bench(request, "fit_json", _question(request))


async def next_trial(request: Request) -> Response:
    """What to try next."""
    return await _at_bench(request, "next_json", _question(request))


async def mix(request: Request) -> Response:
    """One mix tried."""
    asked = {name: request.query_params.get(name, "")[:60] for name in _MIX}
    return await _at_bench(request, "mix_json", asked)


async def _at_bench(request: Request, name: str, *asked: object) -> Response:
    house = house_of(request)
    await house.view()  # refused in its own words while there is no job
    given = (house.clock(), await units_of(request), *asked)
    return JSONResponse(await house.bench.call(name, *given, limit_s=_LIMIT_S))


def _question(request: Request) -> Question:
    query = request.query_params
    return Question(query.get("coat", "")[:60], query.get("hardness", "")[:60])


async def keep(request: Request) -> Response:
    """Keep typed trials."""
    house = house_of(request)
    plain = await json_body(request)
    found = await house.ask(
        keep_trials,
        house.path,
        _rows(plain),
        units=await _units(request, plain),
        now_s=house.clock(),
    )
    return _kept(house, found)


async def keep_file(request: Request) -> Response:
    """Keep the trials of a table, read in a process of its own."""
    house = house_of(request)
    plain = await json_body(request)
    name, content = _text(plain, "name"), _text(plain, "content_base64")
    try:
        raw = base64.b64decode(content, validate=True)
    except (binascii.Error, ValueError):
        raise StillwetError(Problem("content_base64", "base64", "something else")) from None
    given = (house.path, name, raw, house.clock())
    # A process is handed megabytes only once it is up: nobody else is to wait for that.
    begin = partial(Job, limit_s=_READ_LIMIT_S, most_bytes=READING_BYTES)
    work = await house.ask(begin, import_trials, *given)
    return _kept(house, await work.result())


def _kept(house: House, found: dict[str, Any]) -> Response:
    if found["kept"]:
        house.changed("trials")
    return JSONResponse(found)


async def checks_form(request: Request) -> Response:
    """The form of a check."""
    return JSONResponse(check_form(await units_of(request)))


async def checks(request: Request) -> Response:
    """Judge typed checks; nothing is kept."""
    house = house_of(request)
    plain = await json_body(request)
    found = await house.ask(
        check_rows,
        _rows(plain),
        await _units(request, plain),
        time_zone=(await house.view()).job.time_zone,
        window=_text(plain, "window", otherwise=""),
        wanted=_text(plain, "wanted", otherwise=""),
    )
    return JSONResponse(found)


def _rows(plain: dict[str, Any]) -> list[object]:
    rows = plain.get("rows")
    if not isinstance(rows, list) or not rows:
        got = "none" if not rows else type(rows).__name__
        raise StillwetError(Problem("rows", "a list with at least one row", got))
    return rows


async def _units(request: Request, plain: dict[str, Any]) -> str:
    units = plain.get("units")
    if units is None:
        return await units_of(request)
    if units not in UNITS:
        raise StillwetError(Problem("units", " or ".join(UNITS), shown(units)))
    return str(units)


def _text(plain: dict[str, Any], name: str, *, otherwise: str | None = None) -> str:
    raw = plain.get(name, otherwise)
    if not isinstance(raw, str):
        raise StillwetError(Problem(name, "a text", shown(raw)))
    return raw


_TEXT = {"type": "string"}
_UNITS_SCHEMA = {"enum": list(UNITS)}
_ROWS = {
    "type": "array",
    "minItems": 1,
    "maxItems": 500,
    "items": {"type": "object", "additionalProperties": _TEXT},
}
_TYPED = {
    "type": "object",
    "properties": {"rows": _ROWS, "units": _UNITS_SCHEMA},
    "required": ["rows"],
}
_FILE = {
    "type": "object",
    "properties": {"name": _TEXT, "content_base64": _TEXT},
    "required": ["name", "content_base64"],
}
_CHECKED = {
    "type": "object",
    "properties": {"rows": _ROWS, "units": _UNITS_SCHEMA, "window": _TEXT, "wanted": _TEXT},
    "required": ["rows"],
}
_UNITS = Ask("units", {"enum": list(UNITS)}, "Units of the words; numbers are as their names say")
_COAT = Ask("coat", _TEXT, 'The coat to keep on a wall, such as "1/8 in"')
_HARD = Ask("hardness", _TEXT, 'The water asked about, such as "120 mg/L"; those tried if none')
_ASKED = (_UNITS, _COAT, _HARD)
_SAYS = {
    "ratio": 'Ratio, such as "1.2 %"',
    "hardness": 'Hardness, such as "120 mg/L"',
    "temperature": 'Temperature, such as "70 F"',
    "coat": 'Coat needed, such as "1/8 in"',
    "tilt": 'Tilt of the face from level, such as "90 deg"',
}
DOORS = (
    Door(
        "/api/trials",
        trials,
        says="The trials kept in the job, and the form",
        asks=(_UNITS,),
        gives=TRIALS,
    ),
    Door(
        "/api/trials",
        keep,
        method="POST",
        role=Role.LOG,
        says="Keep typed trials; one under a known name takes its place",
        takes=_TYPED,
        gives=KEPT_TRIALS,
    ),
    Door(
        "/api/trials/file",
        keep_file,
        method="POST",
        role=Role.LOG,
        says="Keep the trials of a table: CSV, TSV or XLSX; all of them or none",
        takes=_FILE,
        gives=KEPT_TRIALS,
        most_bytes=_MOST_FILE * 4 // 3,
    ),
    Door("/api/trials/fit", fit, says="What the trials say", asks=_ASKED, gives=FIT),
    Door("/api/trials/next", next_trial, says="What to try next", asks=_ASKED, gives=NEXT),
    Door(
        "/api/mix",
        mix,
        says="One mix tried: does it cling, can it be pumped",
        asks=(_UNITS, *(Ask(name, _TEXT, says) for name, says in _SAYS.items())),
        gives=MIX,
    ),
    Door("/api/proportioner", checks_form, says="The form of a check", asks=(_UNITS,), gives=FORM),
    Door(
        "/api/proportioner",
        checks,
        method="POST",
        role=Role.LOG,
        says="What typed proportioner checks say; nothing is kept",
        takes=_CHECKED,
        gives=JUDGED,
    ),
)
