"""/api/crew/{crew_id}: a crew's day for its phone; /api/clock: how far a phone's clock is off."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from stillwet.errors import Problem, StillwetError, shown
from stillwet.services.clock import moment_s
from stillwet.services.crew_phone import clock_words, crew_code_svg
from stillwet.web.answers_phone import AHEAD, CREW
from stillwet.web.ask import json_body, query_choice
from stillwet.web.door import Ask, Door, Role
from stillwet.web.house import house_of
from stillwet.web.pages.crew import need_crew
from stillwet.web.show import person_of
from stillwet.web.trouble import RefusedError

_MOST_DEVICE = 60


async def crew(request: Request) -> Response:
    """The crew's stops, the faces it may log, and what was logged."""
    house, crew_id = house_of(request), request.path_params["crew_id"]
    await need_crew(house, crew_id)
    view = await house.view()
    found = await house.ask(house.phones.crew_json, view, crew_id, now_s=house.clock())
    person = person_of(request)
    return JSONResponse({**found, "person": person.name, "may_log": person.role.covers(Role.LOG)})


async def code(request: Request) -> Response:
    """The square code that opens the crew's page on a phone."""
    house, crew_id = house_of(request), request.path_params["crew_id"]
    await need_crew(house, crew_id)
    scheme = query_choice(request, "by", ("http", "https"))
    address = house.place.phone_address(scheme)
    if not address:
        wanted, hint = "a server with HTTPS", "start it with --network"
        raise RefusedError(404, Problem("by", wanted, "one without", "", hint))
    return Response(crew_code_svg(address, crew_id), media_type="image/svg+xml")


async def clock(request: Request) -> Response:
    """Hold a device's clock against this machine's; a difference is written down."""
    house, now_s = house_of(request), house_of(request).clock()
    plain = await json_body(request)
    device = plain.get("device")
    if not isinstance(device, str) or not 0 < len(device.strip()) <= _MOST_DEVICE:
        wanted = f"a text of 1 to {_MOST_DEVICE} characters"
        raise StillwetError(Problem("device", wanted, shown(device)))
    try:
        ahead_s = moment_s(str(plain.get("now"))) - now_s
    except (StillwetError, OverflowError):
        wanted = "a date and time with its offset from UTC, such as 2030-08-14T12:00:00Z"
        raise StillwetError(Problem("now", wanted, shown(plain.get("now")))) from None
    words = clock_words(device.strip(), ahead_s)
    if words:
        await house.write_down(person_of(request), words)
    return JSONResponse({"ahead_s": round(ahead_s, 1)})


_CLOCK = {
    "type": "object",
    "properties": {
        "device": {"type": "string", "minLength": 1, "maxLength": _MOST_DEVICE, "pattern": r"\S"},
        "now": {"type": "string", "format": "date-time"},
    },
    "required": ["device", "now"],
}
_CREW = {"crew_id": {"type": "string", "examples": ["c1"]}}
DOORS = (
    Door(
        "/api/crew/{crew_id}",
        crew,
        says="A crew's day for its phone: stops in words of both unit systems, and its log",
        gives=CREW,
        names=_CREW,
    ),
    Door(
        "/api/crew/{crew_id}/code.svg",
        code,
        says="The square code (QR) that opens the crew's page on a phone",
        asks=(Ask("by", {"enum": ["http", "https"]}, "The scheme; http where it is not given"),),
        gives={"type": "string"},
        names=_CREW,
        media="image/svg+xml",
    ),
    Door(
        "/api/clock",
        clock,
        method="POST",
        role=Role.LOG,
        says="By how many seconds a device's clock is ahead of this machine's",
        takes=_CLOCK,
        gives=AHEAD,
        most_bytes=10_000,
    ),
)
