"""/api/lines: the plans of the lines held against the log; reckon them."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from stillwet.services.line_watch import lines_now, reckon_lines
from stillwet.services.view import UNITS
from stillwet.web.answers import KEPT, LINES
from stillwet.web.door import Ask, Door, Role
from stillwet.web.house import house_of
from stillwet.web.show import units_of
from stillwet.web.workers import Job

_LIMIT_S = 300.0


async def read(request: Request) -> Response:
    """The lines as they stand now."""
    house = house_of(request)
    units, view = await units_of(request), await house.view()
    found = await house.ask(lines_now, house.path, now_s=house.clock(), units=units)
    job_lines = [line.id for line in view.job.lines]
    return JSONResponse({**found, "job_lines": job_lines})


async def reckon(request: Request) -> Response:
    """Reckon the lines in a process of their own and keep their plan."""
    house = house_of(request)
    await house.view()  # refused in its own words while there is no job
    kept = await Job(reckon_lines, house.path, house.clock(), limit_s=_LIMIT_S).result()
    house.changed("plan")
    return JSONResponse({"kept": kept})


_ASKS = (Ask("units", {"enum": list(UNITS)}, "Units of the words; numbers are always SI"),)
DOORS = (
    Door(
        "/api/lines",
        read,
        says="The latest plan of the lines, and what the log makes of it",
        asks=_ASKS,
        gives=LINES,
    ),
    Door(
        "/api/lines",
        reckon,
        method="POST",
        role=Role.PLAN,
        says="Reckon the lines of the job as it is kept now, and keep their plan",
        gives=KEPT,
    ),
)
