"""The line: time against distance, planned and done, and how long each wet stretch may wait."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from stillwet.web.door import Door
from stillwet.web.show import page


async def line(request: Request) -> Response:
    """The frame of the page; its data comes from /api/lines and follows /api/events."""
    return await page(request, "line.html", "Line")


DOORS = (Door("/line", line),)
