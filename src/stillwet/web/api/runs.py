"""/api/runs, /api/plan, /api/packet.pdf: plan the draft, follow it, stop it; what came of it."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, Response

from stillwet.errors import Problem, StillwetError, shown
from stillwet.services.draft_planning import plan_draft, shown_plan
from stillwet.services.packet_files import make_packet_file, packet_file
from stillwet.services.view import UNITS
from stillwet.web.answers_desk import PLAN, RUN
from stillwet.web.api.draft import writer_of
from stillwet.web.ask import json_body
from stillwet.web.door import Ask, Door, Role
from stillwet.web.house import House, house_of
from stillwet.web.runs import Run
from stillwet.web.show import trouble_page, units_of
from stillwet.web.trouble import RefusedError

KINDS = ("coats", "packet")


async def start(request: Request) -> Response:
    """Start a run of the draft; the screens hear when it is done."""
    house, plain = house_of(request), await json_body(request)
    kind = plain.get("kind")
    if kind == "coats":
        run = house.runs.start(
            kind,
            plan_draft,
            house.path,
            house.clock(),
            writer_of(request),
            then=lambda: house.changed("plan"),
        )
    elif kind == "packet":
        run = _start_packet(house, await units_of(request))
    else:
        raise StillwetError(Problem("kind", "one of " + ", ".join(KINDS), shown(kind)))
    return JSONResponse(run.to_json(), 202)


def _start_packet(house: House, units: str) -> Run:
    return house.runs.start(
        "packet",
        make_packet_file,
        house.path,
        house.runs.folder,
        house.clock(),
        units,
        then=lambda: house.changed("plan"),
    )


async def follow(request: Request) -> Response:
    """How far a run is."""
    return JSONResponse(house_of(request).runs.get(request.path_params["run_id"]).to_json())


async def cancel(request: Request) -> Response:
    """Stop a run; what the file held before it is still there."""
    return JSONResponse(house_of(request).runs.cancel(request.path_params["run_id"]).to_json())


async def plan(request: Request) -> Response:
    """The latest plan of coats, in words."""
    house = house_of(request)
    found = await house.ask(shown_plan, house.path, await units_of(request), house.clock())
    latest = house.runs.latest()
    made = await house.ask(packet_file, house.path, house.runs.folder, house.clock())
    run = None if latest is None else latest.to_json()
    return JSONResponse({**found, "has_packet": made is not None, "run": run})


async def packet(request: Request) -> Response:
    """The packet made last, while it is of the job and the plan that are kept now."""
    house = house_of(request)
    found = await house.ask(packet_file, house.path, house.runs.folder, house.clock())
    if found is None:
        return _no_packet(request)
    return FileResponse(
        found, media_type="application/pdf", filename="packet.pdf", headers=_NEVER_KEPT
    )


def _no_packet(request: Request) -> Response:
    """A packet is made of one plan and goes with the server: say what to press for a new one."""
    got = "none of this plan since the server was started"
    problem = Problem("packet", "a packet of the plan that is kept now", got, "", _PRESS)
    if "text/html" in request.headers.get("accept", ""):
        title = "There is no packet of this plan yet"
        return trouble_page(request, 404, (problem,), title=title, way=_WAY)
    raise RefusedError(404, problem)


_PRESS = 'open the desk, step "Plan", and press "Print the packet"; it takes about a minute'
_WAY = ("/desk#plan", "To the plan at the desk")
_NEVER_KEPT = {"cache-control": "no-store"}
_RUN_ID = {"type": "string", "pattern": "^[0-9a-f]{16}$"}
_KIND = {"type": "object", "properties": {"kind": {"enum": list(KINDS)}}, "required": ["kind"]}
_UNITS = Ask("units", {"enum": list(UNITS)}, "Units of the words")
DOORS = (
    Door(
        "/api/runs",
        start,
        method="POST",
        role=Role.PLAN,
        says="Plan the draft, or make the packet of the kept job, in a process of its own",
        takes=_KIND,
        gives=RUN,
        status=202,
        most_bytes=10_000,
    ),
    Door(
        "/api/runs/{run_id}",
        follow,
        role=Role.PLAN,
        says="How far a run is, and what came of it",
        gives=RUN,
        names={"run_id": _RUN_ID},
    ),
    Door(
        "/api/runs/{run_id}",
        cancel,
        method="DELETE",
        role=Role.PLAN,
        says="Stop a run",
        gives=RUN,
        names={"run_id": _RUN_ID},
    ),
    Door(
        "/api/plan",
        plan,
        says="The latest plan of coats in words, verdicts first",
        asks=(_UNITS,),
        gives=PLAN,
    ),
    Door(
        "/api/packet.pdf",
        packet,
        says="The packet made last, while it is of the plan that is kept now",
        media="application/pdf",
    ),
)
