"""A door: one route with who may pass, what it takes and what it gives. All routes are doors."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any, TypeAlias

from starlette.requests import Request
from starlette.responses import Response

Schema: TypeAlias = Mapping[str, Any]
Endpoint: TypeAlias = Callable[[Request], Awaitable[Response]]


class Role(StrEnum):
    """Who somebody is: each may do what those before may."""

    NOBODY = "nobody"  # has not joined
    VIEW = "look"
    LOG = "log"
    PLAN = "plan"
    LEAD = "lead"  # also lets people in and out

    def covers(self, wanted: Role) -> bool:
        """True when this role may do what ``wanted`` may."""
        order = list(Role)
        return order.index(self) >= order.index(wanted)


@dataclass(frozen=True, slots=True)
class Person:
    """Who a request comes from."""

    role: Role
    name: str = ""
    device: str = ""
    address: str = ""  # of the network, for the audit


@dataclass(frozen=True, slots=True)
class Ask:
    """One query parameter."""

    name: str
    schema: Schema
    says: str


@dataclass(frozen=True, slots=True)
class Door:
    """One route. ``says`` is its line in the API's description; pages have none.

    ``takes`` and ``gives`` are JSON Schemas of the body and the answer, ``takes_media`` and
    ``media`` their kinds; ``status`` is that of success. ``most_bytes`` bounds the body.
    """

    path: str
    endpoint: Endpoint
    method: str = "GET"
    role: Role = Role.VIEW
    says: str = ""
    asks: tuple[Ask, ...] = ()
    takes: Schema | None = None
    takes_media: str = "application/json"
    gives: Schema | None = None
    status: int = 200
    most_bytes: int = 1_000_000
    media: str = "application/json"
    names: Mapping[str, Schema] = field(default_factory=dict)  # of what stands in the path
