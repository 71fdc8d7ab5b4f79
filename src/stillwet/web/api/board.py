"""GET /api/board: what is left on every face, now or at a given moment."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from stillwet.services.view import UNITS
from stillwet.web.answers import BOARD
from stillwet.web.ask import query_moment
from stillwet.web.door import Ask, Door
from stillwet.web.house import house_of
from stillwet.web.show import units_of


async def board(request: Request) -> Response:
    """The wet board as data."""
    house = house_of(request)
    at_s = query_moment(request, "at")
    return JSONResponse(await house.board(at_s, await units_of(request)))


_AT = Ask(
    "at",
    {"type": "string", "format": "date-time"},
    "The moment to look at, with its offset from UTC; now where it is not given",
)
_UNITS = Ask("units", {"enum": list(UNITS)}, "Units of the words; numbers are always SI")
DOORS = (
    Door(
        "/api/board",
        board,
        says="What is left on every face now or at a given moment, worst first",
        asks=(_AT, _UNITS),
        gives=BOARD,
    ),
)
