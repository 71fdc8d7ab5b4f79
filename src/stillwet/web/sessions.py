"""Who a request comes from: on this machine itself, whoever sits at it; else by a session."""

from __future__ import annotations

import ipaddress

from starlette.types import Scope

from stillwet.web.door import Role
from stillwet.web.guard import Person

HERE = Person(Role.PLAN, "this machine")
STRANGER = Person(Role.NOBODY)


def is_here(scope: Scope) -> bool:
    """True when the connection comes from this very machine.

    Only the connection counts: no header that a client or a forwarder writes is ever asked.
    """
    client = scope.get("client")
    if not client:
        return False
    try:
        return ipaddress.ip_address(client[0]).is_loopback
    except ValueError:
        return False


async def who_is(scope: Scope) -> Person:
    """The person behind a request."""
    return HERE if is_here(scope) else STRANGER
