"""/people: who may do what; and /join, where a code is typed."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from stillwet.services.crew_phone import crew_choices
from stillwet.web.door import Door, Role
from stillwet.web.house import house_of
from stillwet.web.show import bare_page, page


async def people(request: Request) -> Response:
    """Let people in and out."""
    house = house_of(request)
    is_empty = (await house.head()).is_empty
    crews = [] if is_empty else crew_choices(await house.view())
    addresses = [(scheme, house.place.phone_address(scheme)) for scheme in ("http", "https")]
    return await page(
        request,
        "people.html",
        "People",
        crews=crews,
        addresses=[one for one in addresses if one[1]],
    )


async def join(request: Request) -> Response:
    """Type a join code. Shows nothing of the job: nobody knows yet who is looking."""
    return bare_page(request, "join.html", "Join")


DOORS = (Door("/people", people, role=Role.LEAD), Door("/join", join, role=Role.NOBODY))
