"""The desk: make a job step by step, plan it, read why, print it."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from stillwet.web.door import Door, Role
from stillwet.web.show import page


async def desk(request: Request) -> Response:
    """The frame of the desk; forms come from /api/draft/form, what was typed from /api/draft."""
    return await page(request, "desk.html", "Desk")


DOORS = (Door("/desk", desk, role=Role.PLAN),)
