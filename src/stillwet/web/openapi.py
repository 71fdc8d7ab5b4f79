"""The description of the JSON API (OpenAPI 3.1), made from its doors."""

from __future__ import annotations

from functools import cache
from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from stillwet.version import VERSION
from stillwet.web.answers import DESCRIPTION, PROBLEMS
from stillwet.web.door import Door


@cache
def description() -> dict[str, Any]:
    """The whole document."""
    from stillwet.web.app import all_doors

    paths: dict[str, dict[str, Any]] = {}
    for door in all_doors():
        if door.says:
            paths.setdefault(door.path, {})[door.method.lower()] = _operation(door)
    return {
        "openapi": "3.1.0",
        "info": {
            "title": "Stillwet",
            "version": VERSION,
            "description": "The local API of one open job. SI; ISO 8601 times in UTC. "
            "Writes need the header Origin with the app's own address.",
        },
        "paths": paths,
        "components": {"schemas": {"Problems": PROBLEMS}},
    }


def _operation(door: Door) -> dict[str, Any]:
    found: dict[str, Any] = {
        "summary": door.says,
        "operationId": f"{door.method.lower()} {door.path}",
        "description": f'For the role "{door.role}" and above.',
        "parameters": [*_in_query(door), *_in_path(door)],
        "responses": {
            str(door.status): {
                "description": "Done",
                "content": {door.media: {"schema": door.gives or {}}},
            },
            "default": {
                "description": "Refused",
                "content": {
                    "application/json": {"schema": {"$ref": "#/components/schemas/Problems"}}
                },
            },
        },
    }
    if door.takes is not None:
        content = {door.takes_media: {"schema": door.takes}}
        found["requestBody"] = {"required": True, "content": content}
    return found


def _in_query(door: Door) -> list[dict[str, Any]]:
    return [
        {"name": one.name, "in": "query", "description": one.says, "schema": one.schema}
        for one in door.asks
    ]


def _in_path(door: Door) -> list[dict[str, Any]]:
    return [
        {"name": name, "in": "path", "required": True, "schema": schema}
        for name, schema in door.names.items()
    ]


async def openapi(_request: Request) -> Response:
    """The document as JSON."""
    return JSONResponse(description())


DOORS = (Door("/api/openapi.json", openapi, says="This description", gives=DESCRIPTION),)
