"""The app: doors gathered into routes, behind the guard."""

from __future__ import annotations

from collections.abc import AsyncIterator, Iterable
from contextlib import asynccontextmanager
from typing import Any

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import ClientDisconnect, Request
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles
from starlette.types import Receive, Scope, Send

from stillwet.errors import StillwetError
from stillwet.web import openapi
from stillwet.web.api import bench as api_bench
from stillwet.web.api import board as api_board
from stillwet.web.api import crew as api_crew
from stillwet.web.api import draft as api_draft
from stillwet.web.api import events as api_events
from stillwet.web.api import ground as api_ground
from stillwet.web.api import job as api_job
from stillwet.web.api import lines as api_lines
from stillwet.web.api import log as api_log
from stillwet.web.api import people as api_people
from stillwet.web.api import runs as api_runs
from stillwet.web.api import why as api_why
from stillwet.web.door import Door, Role
from stillwet.web.guard import Guard, Who, bounded, need_role
from stillwet.web.house import House, house_of
from stillwet.web.pages import bench as page_bench
from stillwet.web.pages import board as page_board
from stillwet.web.pages import crew as page_crew
from stillwet.web.pages import desk as page_desk
from stillwet.web.pages import first as page_first
from stillwet.web.pages import line as page_line
from stillwet.web.pages import people as page_people
from stillwet.web.pages import trust as page_trust
from stillwet.web.sessions import who_of
from stillwet.web.show import STATIC, person_of
from stillwet.web.trouble import on_fault, on_gone, on_http, on_problem

# A new page or resource: write its module with its DOORS, import it above, and name it here.
ROOMS: tuple[Any, ...] = (
    page_first,
    page_board,
    page_bench,
    page_line,
    page_desk,
    page_people,
    api_job,
    api_ground,
    api_board,
    api_draft,
    api_runs,
    api_why,
    page_crew,
    page_trust,
    api_crew,
    api_events,
    api_log,
    api_lines,
    api_bench,
    api_people,
    openapi,
)


def all_doors() -> tuple[Door, ...]:
    """Every door of every room."""
    return tuple(door for room in ROOMS for door in room.DOORS)


def make_app(house: House, *, who: Who | None = None) -> Starlette:
    """The app for one open job; the house starts and ends with it."""

    @asynccontextmanager
    async def lifespan(_app: Starlette) -> AsyncIterator[None]:
        await house.start()
        try:
            yield
        finally:
            await house.close()

    app = Starlette(
        routes=[*_routes(all_doors()), Mount("/static", _Files(directory=STATIC))],
        exception_handlers={
            StillwetError: on_problem,
            HTTPException: on_http,
            ClientDisconnect: on_gone,
            Exception: on_fault,
        },
        middleware=[Middleware(Guard, place=house.place, who=who or who_of(house))],
        lifespan=lifespan,
    )
    app.state.house = house
    return app


def _routes(doors: Iterable[Door]) -> list[Route]:
    by_path: dict[str, dict[str, Door]] = {}
    for door in doors:
        methods = by_path.setdefault(door.path, {})
        assert door.method not in methods, f"two doors for {door.method} {door.path}"
        methods[door.method] = door
    return [Route(path, _Doors(methods), methods=None) for path, methods in by_path.items()]


class _Doors:
    """The doors of one address, by method."""

    def __init__(self, by_method: dict[str, Door]) -> None:
        self._by_method = by_method

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        method = "GET" if scope["method"] == "HEAD" else scope["method"]
        door = self._by_method.get(method)
        if door is None:
            raise HTTPException(405, headers={"allow": ", ".join(sorted(self._by_method))})
        request = Request(scope, receive)
        need_role(person_of(request), door.role)
        person = person_of(request)
        if method != "GET" and person.role is not Role.NOBODY:
            await house_of(request).write_down(person, f"{method} {scope['path']}")
        limited = bounded(receive, request.headers, door.most_bytes)
        answer = await door.endpoint(Request(scope, limited))
        await answer(scope, receive, send)


class _Files(StaticFiles):
    """The static files: libraries never change under their name, the rest is asked for again."""

    async def get_response(self, path: str, scope: Scope) -> Any:
        """One file, with how long it may be kept."""
        answer = await super().get_response(path, scope)
        lasting = path.startswith("vendor/") and path.count("/") > 1
        answer.headers["cache-control"] = (
            "public, max-age=31536000, immutable" if lasting else "no-cache"
        )
        return answer
