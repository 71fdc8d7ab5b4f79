"""/api/explain and /api/compare: why one asset's answer is what it is; what a change flips."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from stillwet.errors import Problem, StillwetError, shown
from stillwet.services.view import UNITS
from stillwet.web.answers_desk import FLIPS, WHY
from stillwet.web.ask import json_body
from stillwet.web.door import Ask, Door, Role
from stillwet.web.house import house_of
from stillwet.web.show import units_of

LIMIT_S = 300.0
MOST_CHANGES = 10
MOST_TEXT = 200


async def explain(request: Request) -> Response:
    """Why the plan says what it says of one asset."""
    house = house_of(request)
    await house.view()  # refused in its own words while there is no job
    asset, units = request.query_params.get("asset", ""), await units_of(request)
    if not asset:
        raise StillwetError(Problem("asset", "an asset's id or name", "nothing"))
    return JSONResponse(await house.reasons.call("explain", asset, units, limit_s=LIMIT_S))


async def compare(request: Request) -> Response:
    """What the changes flip; without any, the usual doubts one at a time."""
    house, plain = house_of(request), await json_body(request)
    await house.view()  # refused in its own words while there is no job
    changes = plain.get("changes")
    if not isinstance(changes, list) or len(changes) > MOST_CHANGES:
        wanted = f"a list of at most {MOST_CHANGES} changes"
        raise StillwetError(Problem("changes", wanted, shown(changes)))
    for one in changes:
        if not isinstance(one, str) or len(one) > MOST_TEXT:
            raise StillwetError(Problem("changes", 'texts such as "wind=+30%"', shown(one)))
    texts, units = tuple(changes), await units_of(request)
    return JSONResponse(await house.reasons.call("compare", texts, units, limit_s=LIMIT_S))


_UNITS = Ask("units", {"enum": list(UNITS)}, "Units of the words")
_CHANGES = {
    "type": "object",
    "properties": {
        "changes": {
            "type": "array",
            "maxItems": MOST_CHANGES,
            "items": {"type": "string", "maxLength": MOST_TEXT},
        }
    },
    "required": ["changes"],
}
DOORS = (
    Door(
        "/api/explain",
        explain,
        says="Why the plan says what it says of one asset",
        asks=(Ask("asset", {"type": "string"}, "The asset's id or name"), _UNITS),
        gives=WHY,
    ),
    Door(
        "/api/compare",
        compare,
        method="POST",
        role=Role.PLAN,
        says="What changes of the job flip; with none, the usual doubts one at a time",
        takes=_CHANGES,
        gives=FLIPS,
        most_bytes=20_000,
    ),
)
