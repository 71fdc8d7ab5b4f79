"""Who a request comes from: on this machine itself, whoever sits at it; else by a session.

A session is a cookie that no script can read and no other site can send; the job file keeps only
its hash. Whoever is let out is out at the next request.
"""

from __future__ import annotations

import asyncio
import ipaddress

from starlette.datastructures import Headers
from starlette.requests import cookie_parser
from starlette.types import Scope

from stillwet.services.sharing import who_is as person_of_token
from stillwet.web.door import Person, Role
from stillwet.web.guard import Who
from stillwet.web.house import House

COOKIE = "stillwet_session"
SECURE_COOKIE = f"__Host-{COOKIE}"  # of HTTPS, which a plain page neither reads nor overwrites
MOST_TOKEN = 128  # characters


def is_here(scope: Scope) -> bool:
    """True when the connection comes from this very machine.

    Only the connection counts: no header that a client or a forwarder writes is ever asked.
    """
    try:
        return ipaddress.ip_address(address_of(scope)).is_loopback
    except ValueError:
        return False


def address_of(scope: Scope) -> str:
    """The address of the other end of the connection; empty where there is none."""
    client = scope.get("client")
    return str(client[0]) if client else ""


def device_of(scope: Scope) -> str:
    """What the device says it is, for the audit: never trusted, and cut short."""
    return Headers(scope=scope).get("user-agent", "")[:80]


def cookie_of(scope: Scope) -> str:
    """The name of the session's cookie by the scheme of the request."""
    return SECURE_COOKIE if scope["scheme"] == "https" else COOKIE


def token_of(scope: Scope) -> str:
    """The session's token from the cookie; empty where there is none that could be one."""
    name = cookie_of(scope)
    found = [cookie_parser(line).get(name, "") for line in Headers(scope=scope).getlist("cookie")]
    token = next((one for one in found if one), "")
    return token if len(token) <= MOST_TOKEN and token.isascii() else ""


def who_of(house: House) -> Who:
    """How the guard of this house learns who a request comes from."""

    async def who(scope: Scope) -> Person:
        device, address = device_of(scope), address_of(scope)
        if is_here(scope):
            return Person(Role.LEAD, "this machine", device, address)
        token = token_of(scope)
        if token:
            found = await asyncio.to_thread(person_of_token, house.path, token, now_s=house.clock())
            if found is not None:
                return Person(Role(found.role.value), found.name, device, address)
        return Person(Role.NOBODY, "", device, address)

    return who
