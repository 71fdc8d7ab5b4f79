"""The first page: which door to take."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from stillwet.web.door import Door
from stillwet.web.show import page


async def first(request: Request) -> Response:
    """The job in a few words, and the doors."""
    return await page(request, "first.html", "Start")


DOORS = (Door("/", first),)
