"""The bench: trials and what they say, a mix tried with sliders, proportioner checks."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from stillwet.web.door import Door, Role
from stillwet.web.show import job_page, person_of


async def bench(request: Request) -> Response:
    """The frame of the page; its data comes from /api/trials, /api/mix and /api/proportioner."""
    may_log = person_of(request).role.covers(Role.LOG)
    return await job_page(request, "bench.html", "Bench", may_log=may_log)


DOORS = (Door("/bench", bench),)
