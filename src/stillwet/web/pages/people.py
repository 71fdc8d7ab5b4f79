"""/people: who may do what; and /join, where a code is typed."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from stillwet.web.door import Door, Role
from stillwet.web.show import bare_page, page


async def people(request: Request) -> Response:
    """Let people in and out."""
    return await page(request, "people.html", "People")


async def join(request: Request) -> Response:
    """Type a join code. Shows nothing of the job: nobody knows yet who is looking."""
    return bare_page(request, "join.html", "Join")


DOORS = (Door("/people", people, role=Role.LEAD), Door("/join", join, role=Role.NOBODY))
