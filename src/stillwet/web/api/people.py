"""/api/people, /api/audit and /api/join: who may do what, who did, joining by a code, leaving."""

from __future__ import annotations

from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from stillwet.errors import Problem, StillwetError, shown
from stillwet.services.sharing import (
    SESSION_S,
    audit_json,
    join,
    leave,
    let_in_json,
    let_out,
    people_json,
)
from stillwet.web.answers import AUDIT, JOINED, LEFT, LET_IN, LET_OUT, PEOPLE
from stillwet.web.ask import json_body, query_count
from stillwet.web.deeds import deed_words
from stillwet.web.door import Ask, Door, Person, Role
from stillwet.web.house import house_of
from stillwet.web.sessions import address_of, cookie_of, device_of, token_of

MOST_NAME = 60
MOST_LINES = 50  # of the audit, at once
_LAST_ROW = 2**53


async def people(request: Request) -> Response:
    """Everybody who was let in, without their codes."""
    house = house_of(request)
    return JSONResponse({"people": await house.ask(people_json, house.path)})


async def audit(request: Request) -> Response:
    """Who asked for what, newest first."""
    house = house_of(request)
    before = query_count(request, "before", default=_LAST_ROW, most=_LAST_ROW)
    found = await house.ask(audit_json, house.path, MOST_LINES, before)
    lines = [{**line, "words": deed_words(line["what"])} for line in found["lines"]]
    return JSONResponse({**found, "lines": lines})


async def add(request: Request) -> Response:
    """Let somebody in; the code is told this once."""
    house, plain = house_of(request), await json_body(request)
    name, role = _text(plain, "name", MOST_NAME), _text(plain, "role", 20)
    made = await house.ask(let_in_json, house.path, name, role, now_s=house.clock())
    house.changed("people")
    return JSONResponse(made, 201)


async def remove(request: Request) -> Response:
    """Let somebody out; their sessions end at once."""
    house, plain = house_of(request), await json_body(request)
    number = plain.get("id")
    if isinstance(number, bool) or not isinstance(number, int) or not 0 < number < 2**53:
        raise StillwetError(Problem("id", "the number of somebody let in", shown(number)))
    is_out = await house.ask(let_out, house.path, number, now_s=house.clock())
    house.changed("people")
    return JSONResponse({"let_out": is_out})


async def enter(request: Request) -> Response:
    """Join with a code: the session comes as a cookie."""
    house, plain = house_of(request), await json_body(request)
    house.tries.count(address_of(request.scope))
    code = _text(plain, "code", 60)
    device = device_of(request.scope)
    person, token = await house.ask(join, house.path, code, device, now_s=house.clock())
    known = Person(Role(person.role.value), person.name, device, address_of(request.scope))
    await house.write_down(known, "joined")
    answer = JSONResponse({"name": person.name, "role": person.role.value})
    answer.set_cookie(
        cookie_of(request.scope),
        token,
        max_age=int(SESSION_S),
        path="/",
        secure=request.scope["scheme"] == "https",
        httponly=True,
        samesite="strict",
    )
    return answer


async def go(request: Request) -> Response:
    """Leave: the session ends, here and in the job file."""
    house = house_of(request)
    await house.ask(leave, house.path, token_of(request.scope), now_s=house.clock())
    answer = JSONResponse({"left": True})
    answer.delete_cookie(
        cookie_of(request.scope),
        path="/",
        secure=request.scope["scheme"] == "https",
        httponly=True,
        samesite="strict",
    )
    return answer


def _text(plain: dict[str, Any], name: str, most: int) -> str:
    value = plain.get(name)
    if not isinstance(value, str) or not 0 < len(value.strip()) <= most:
        raise StillwetError(Problem(name, f"a text of 1 to {most} characters", shown(value)))
    return value.strip()


_CODE = {
    "type": "object",
    "properties": {"code": {"type": "string", "minLength": 1, "maxLength": 60}},
    "required": ["code"],
}
_NEW = {
    "type": "object",
    "properties": {
        "name": {"type": "string", "minLength": 1, "maxLength": MOST_NAME, "pattern": r"\S"},
        "role": {"enum": ["look", "log", "plan"]},
    },
    "required": ["name", "role"],
}
_OUT = {
    "type": "object",
    "properties": {"id": {"type": "integer", "minimum": 1, "maximum": 2**53 - 1}},
    "required": ["id"],
}
DOORS = (
    Door("/api/people", people, role=Role.LEAD, says="Everybody who was let in", gives=PEOPLE),
    Door(
        "/api/audit",
        audit,
        role=Role.LEAD,
        says=f"Who asked for what from which device, newest first, at most {MOST_LINES} at once",
        asks=(
            Ask(
                "before",
                {"type": "integer", "minimum": 0, "maximum": _LAST_ROW},
                "only lines before this row: the last one's, to see older ones",
            ),
        ),
        gives=AUDIT,
    ),
    Door(
        "/api/people",
        add,
        method="POST",
        role=Role.LEAD,
        says="Let somebody in; tells the join code this once",
        takes=_NEW,
        gives=LET_IN,
        status=201,
        most_bytes=10_000,
    ),
    Door(
        "/api/people",
        remove,
        method="DELETE",
        role=Role.LEAD,
        says="Let somebody out; their sessions end at once",
        takes=_OUT,
        gives=LET_OUT,
        most_bytes=10_000,
    ),
    Door(
        "/api/join",
        enter,
        method="POST",
        role=Role.NOBODY,
        says="Join with a code; the session comes as a cookie",
        takes=_CODE,
        gives=JOINED,
        most_bytes=10_000,
    ),
    Door(
        "/api/leave",
        go,
        method="POST",
        role=Role.NOBODY,
        says="End the session of this device",
        gives=LEFT,
        most_bytes=10_000,
    ),
)
