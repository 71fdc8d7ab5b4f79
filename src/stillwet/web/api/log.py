"""/api/log: the field log, sent to and asked for."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from stillwet.errors import Problem, StillwetError
from stillwet.services.crew_phone import job_key
from stillwet.services.field_log import MOST_AT_ONCE, entry_schema, log_after
from stillwet.web.answers import LOG, POSTED
from stillwet.web.ask import json_body, query_count
from stillwet.web.door import Ask, Door, Role
from stillwet.web.house import house_of
from stillwet.web.trouble import RefusedError, problems_json

_LAST_ROW = 2**53


async def read(request: Request) -> Response:
    """Entries that came in after a row."""
    house = house_of(request)
    row = query_count(request, "after", default=0, most=_LAST_ROW)
    zone = (await house.view()).job.time_zone
    found = await house.ask(log_after, house.path, row, time_zone=zone, now_s=house.clock())
    return JSONResponse(found)


async def write(request: Request) -> Response:
    """Keep entries; of each what became of it."""
    house = house_of(request)
    plain = await json_body(request)
    entries = plain.get("entries")
    if not isinstance(entries, list):
        got = "none" if entries is None else type(entries).__name__
        raise StillwetError(Problem("entries", "a list of entries", got))
    _need_job(plain.get("job"), job_key(await house.view()))
    posted = await house.post(entries)
    if any(one.became in ("kept", "conflict") for one in posted):
        house.changed("log")
    return JSONResponse(
        {
            "entries": [
                {"id": one.id, "became": one.became, **problems_json(one.problems)}
                for one in posted
            ]
        }
    )


def _need_job(told: object, own: str) -> None:
    """Refuse entries that a phone wrote for another job; whoever names none knows what it does."""
    if told is not None and told != own:
        wanted, hint = "the job that is open here", "open the job they were written for"
        raise RefusedError(409, Problem("job", wanted, "entries of another job", "", hint))


_SENT = {
    "type": "object",
    "properties": {
        "entries": {"type": "array", "maxItems": MOST_AT_ONCE, "items": entry_schema()},
        "job": {"type": "string", "description": "as GET /api/crew/{crew_id} tells it"},
    },
    "required": ["entries"],
}
_AFTER = Ask(
    "after",
    {"type": "integer", "minimum": 0, "maximum": _LAST_ROW},
    "The last row already known",
)
DOORS = (
    Door("/api/log", read, says="Entries that came in after a row", asks=(_AFTER,), gives=LOG),
    Door(
        "/api/log",
        write,
        method="POST",
        role=Role.LOG,
        says="Send entries; each is kept once, however often it is sent",
        takes=_SENT,
        gives=POSTED,
    ),
)
