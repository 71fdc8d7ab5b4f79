"""The wet board: every face as a band running out, worst first."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from stillwet.web.door import Door
from stillwet.web.show import job_page


async def board(request: Request) -> Response:
    """The frame of the board; its data comes from /api/board and follows /api/events."""
    return await job_page(request, "board.html", "Wet board")


DOORS = (Door("/board", board),)
