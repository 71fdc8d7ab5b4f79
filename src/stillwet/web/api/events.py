"""GET /api/events: server-sent events, one a change."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response, StreamingResponse

from stillwet.errors import Problem
from stillwet.web.door import Door
from stillwet.web.house import house_of
from stillwet.web.live import MOST_LISTENERS
from stillwet.web.trouble import RefusedError


async def events(request: Request) -> Response:
    """The stream; with Last-Event-ID it goes on from there."""
    hub = house_of(request).hub
    if hub.listeners >= MOST_LISTENERS:
        wanted = f"at most {MOST_LISTENERS} screens"
        raise RefusedError(503, Problem("listeners", wanted, "one more", "", "close some"))
    last = request.headers.get("last-event-id", "")[:64]
    return StreamingResponse(hub.listen(last), media_type="text/event-stream")


DOORS = (
    Door(
        "/api/events",
        events,
        says="Server-sent events: what has changed (log, plan, trials, ...), to be asked for",
        media="text/event-stream",
    ),
)
