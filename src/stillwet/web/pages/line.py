"""The line: time against distance, planned and done, and how long each wet stretch may wait."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from stillwet.web.door import Door, Role
from stillwet.web.show import job_page, person_of


async def line(request: Request) -> Response:
    """The frame of the page; its data comes from /api/lines and follows /api/events."""
    role = person_of(request).role
    may = {"may_log": role.covers(Role.LOG), "may_plan": role.covers(Role.PLAN)}
    return await job_page(request, "line.html", "Line", **may)


DOORS = (Door("/line", line),)
