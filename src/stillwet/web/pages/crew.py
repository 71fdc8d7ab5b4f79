"""The crew's phone: /crew to choose a crew, /crew/{crew_id} for its own stops and log."""

from __future__ import annotations

import hashlib
import json
from functools import cache

from starlette.requests import Request
from starlette.responses import Response

from stillwet.errors import Problem, shown
from stillwet.services.crew_phone import crew_choices, is_crew
from stillwet.web.door import Door, Role
from stillwet.web.house import House, house_of
from stillwet.web.show import STATIC, job_page, page
from stillwet.web.trouble import RefusedError

# What the page loads beside its own scripts.
_KEPT = (
    "css/base.css",
    "css/phone.css",
    "img/mark.svg",
    *(f"js/{name}.js" for name in ("api", "base", "dom", "ids", "live", "times")),
)


async def choose(request: Request) -> Response:
    """The crews of the job, each a big button."""
    house = house_of(request)
    is_empty = (await house.head()).is_empty
    crews = [] if is_empty else crew_choices(await house.view())
    return await job_page(request, "crews.html", "Crew's phone", crews=crews)


async def crew(request: Request) -> Response:
    """The frame of a crew's page; its stops come from /api/crew/{crew_id}."""
    crew_id = request.path_params["crew_id"]
    await need_crew(house_of(request), crew_id)
    return await page(request, "crew.html", "Crew's phone", crew_id=crew_id)


async def need_crew(house: House, crew_id: str) -> None:
    """Raise RefusedError unless the job has this crew."""
    if not is_crew(await house.view(), crew_id):
        wanted, hint = "a crew of this job", "choose one at /crew"
        raise RefusedError(404, Problem("crew", wanted, shown(crew_id), "", hint))


async def worker(_request: Request) -> Response:
    """The worker that opens the page without a network; new bytes whenever a file changes."""
    return Response(
        worker_text(), media_type="text/javascript", headers={"cache-control": "no-cache"}
    )


@cache
def worker_text() -> str:
    """The worker's script: which files it keeps, and a version that follows their content."""
    scripts = sorted(path.name for path in (STATIC / "js" / "phone").glob("*.js"))
    files = [*_KEPT, *(f"js/phone/{name}" for name in scripts if name != "worker.js")]
    script = (STATIC / "js" / "phone" / "worker.js").read_text(encoding="utf-8")
    digest = hashlib.sha256(script.encode())
    for name in files:
        digest.update((STATIC / name).read_bytes())
    listed = json.dumps([f"/static/{name}" for name in files])
    return f'const VERSION = "{digest.hexdigest()[:16]}";\nconst FILES = {listed};\n{script}'


DOORS = (
    Door("/crew", choose, role=Role.VIEW),
    Door("/crew/{crew_id}", crew, role=Role.VIEW),
    Door(
        "/phone-worker.js",
        worker,
        role=Role.NOBODY,  # it holds nothing of the job
        says="The script that opens the crew's page without a network",
        gives={"type": "string"},
        media="text/javascript",
    ),
)
