"""Pages from templates: what every page carries, in the reader's units and light."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from pathlib import Path
from typing import Any

import jinja2
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from stillwet.errors import Problem
from stillwet.services.view import UNITS
from stillwet.web.door import Person, Role
from stillwet.web.house import house_of

HERE = Path(__file__).parent
STATIC = HERE / "static"
LIGHTS = ("auto", "day", "night")

# Address, name, role needed: what stands in the navigation. A page is listed here once it is there.
NAVIGATION: tuple[tuple[str, str, Role], ...] = (
    ("/desk", "Desk", Role.PLAN),
    ("/board", "Wet board", Role.VIEW),
    ("/bench", "Bench", Role.VIEW),
    ("/line", "Line", Role.VIEW),
    ("/crew", "Crew's phone", Role.VIEW),
    ("/people", "People", Role.LEAD),
)


@cache
def _templates() -> jinja2.Environment:
    return jinja2.Environment(
        loader=jinja2.FileSystemLoader(HERE / "templates"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


async def units_of(request: Request) -> str:
    """The reader's units: the query's, else the cookie's, else the job's own."""
    asked = request.query_params.get("units") or request.cookies.get("units")
    return str(asked) if asked in UNITS else (await house_of(request).head()).units


def light_of(request: Request) -> str:
    """Day, night, or as the device has it."""
    return _chosen(request.cookies.get("light"), LIGHTS)


def person_of(request: Request) -> Person:
    """Who the request comes from."""
    person = request.state.person
    assert isinstance(person, Person)
    return person


def bare_page(request: Request, template: str, title: str, **more: Any) -> Response:
    """A page that shows nothing of the job, for whoever has not joined."""
    text = _templates().get_template(template).render(title=title, light=light_of(request), **more)
    return HTMLResponse(text)


async def page(request: Request, template: str, title: str, **more: Any) -> Response:
    """A page with the header, cautions and navigation that every page has.

    ``template`` extends base.html; ``more`` is what it shows beside that.
    """
    house, person = house_of(request), person_of(request)
    head = await house.head()
    doors = [one for one in NAVIGATION if person.role.covers(one[2])]
    text = (
        _templates()
        .get_template(template)
        .render(
            title=title,
            head=head,
            person=person,
            navigation=doors,
            here=request.url.path,
            units=await units_of(request),
            light=light_of(request),
            **more,
        )
    )
    return HTMLResponse(text)


async def job_page(request: Request, template: str, title: str, **more: Any) -> Response:
    """A page of the job; while there is none, a page that says where one is made."""
    if (await house_of(request).head()).is_empty:
        may_plan = person_of(request).role.covers(Role.PLAN)
        return await page(request, "nojob.html", title, may_plan=may_plan)
    return await page(request, template, title, **more)


def trouble_page(
    request: Request,
    status: int,
    problems: Iterable[Problem],
    *,
    title: str = "",
    way: tuple[str, str] | None = ("/", "To the first page"),
) -> Response:
    """A page that says what went wrong and what to do; it needs nothing of the job.

    ``way``: the address and the words of the way on; None where there is none.
    """
    text = (
        _templates()
        .get_template("trouble.html")
        .render(
            title=title or _phrase(status),
            way=way,
            problems=list(problems),
            light=light_of(request),
        )
    )
    return HTMLResponse(text, status)


def _phrase(status: int) -> str:
    if status == 404:
        return "There is no such page"
    if status in (401, 403):
        return "This is not open to you"
    return "That did not work" if status < 500 else "Something went wrong here"


def _chosen(value: str | None, known: tuple[str, ...]) -> str:
    return value if value in known else known[0]
