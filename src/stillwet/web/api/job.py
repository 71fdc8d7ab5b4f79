"""GET /api/job: the open job."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from stillwet.services.job_view import job_json
from stillwet.web.answers import JOB
from stillwet.web.door import Door
from stillwet.web.house import house_of


async def job(request: Request) -> Response:
    """The job: names, places, faces, crews, fires, cautions."""
    view = await house_of(request).view()
    return JSONResponse(job_json(view))


DOORS = (Door("/api/job", job, says="The open job: names, places, faces, crews, fires", gives=JOB),)
