"""GET /api/ground: what lies under the maps; GET /tiles/...: its pictures."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from stillwet.errors import Problem, shown
from stillwet.services.ground import GROUND_LAYERS
from stillwet.web.answers import GROUND
from stillwet.web.door import Ask, Door
from stillwet.web.house import house_of
from stillwet.web.trouble import RefusedError

_MOST_DIGITS = 10
_KEPT_S = 604_800  # a week: the address has the file's version in it
_NUMBER = {"type": "integer", "minimum": 0, "maximum": 2**30 - 1}


async def ground(request: Request) -> Response:
    """The layers that were brought, from below; none where nothing was."""
    return JSONResponse(house_of(request).ground.layers_json())


async def tile(request: Request) -> Response:
    """One picture; 204 where the file has none there."""
    house, layer_id = house_of(request), request.path_params["layer"]
    version = house.ground.version(layer_id)
    if not version:
        hint = "start the server with --base-map or --hillshade"
        raise RefusedError(404, Problem("layer", "one that was brought", shown(layer_id), "", hint))
    z, x, y = (_number(request, name) for name in ("z", "x", "y"))
    found = await house.ask(house.ground.picture, layer_id, z, x, y)
    is_lasting = request.query_params.get("v") == version
    headers = {
        "cache-control": f"private, max-age={_KEPT_S}, immutable" if is_lasting else "no-cache"
    }
    if found is None:
        return Response(status_code=204, headers=headers)
    return Response(found.raw, media_type=found.media, headers=headers)


def _number(request: Request, name: str) -> int:
    """A whole number of the path, written in one way only."""
    text = request.path_params[name]
    is_plain = text.isascii() and text.isdecimal() and len(text) <= _MOST_DIGITS
    if not is_plain or str(int(text)) != text:
        raise RefusedError(404, Problem(name, "a whole number from 0", shown(text)))
    return int(text)


DOORS = (
    Door(
        "/api/ground",
        ground,
        says="What lies under the maps: layers of the user's own tiles, from below",
        gives=GROUND,
    ),
    Door(
        "/tiles/{layer}/{z}/{x}/{y}",
        tile,
        says="A picture of the ground (PNG, JPEG or WebP), rows from the north; 204: none there",
        asks=(Ask("v", {"type": "string"}, "The layer's version: then it may be kept for a week"),),
        gives={},
        media="image/*",
        names={
            "layer": {"enum": list(GROUND_LAYERS)},
            "z": {"type": "integer", "minimum": 0, "maximum": 30},
            "x": _NUMBER,
            "y": _NUMBER,
        },
    ),
)
