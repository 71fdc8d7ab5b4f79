"""The guard at the gate: every request passes here before anything else sees it.

Against a page from elsewhere that a browser on this machine has open: exact Host (DNS rebinding),
Origin and Sec-Fetch-Site on writes (request forgery), no framing, no script but our own. Against a
bad client: bounded bodies, in bounded time, and plain paths only.
"""

from __future__ import annotations

import asyncio
import re
from collections.abc import Awaitable, Callable, Mapping

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from stillwet.errors import Problem, shown
from stillwet.web.door import Person, Role
from stillwet.web.house import Place
from stillwet.web.trouble import RefusedError, problems_json, wants_page

SAFE_METHODS = frozenset({"GET", "HEAD"})
METHODS = SAFE_METHODS | {"POST", "DELETE"}
BODY_LIMIT_S = 30.0  # for the whole body to come in
MOST_PATH = 1000  # characters
MOST_QUERY = 4000
MOST_HEADERS = 60
_BAD_PATH = re.compile(rb"%2f|%5c|%00|%2e|\\|//|/\.|[\x00-\x20\x7f]", re.IGNORECASE)

CONTENT_POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' data: blob:",
        "font-src 'self'",
        "connect-src 'self'",
        "manifest-src 'self'",
        "worker-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
        "object-src 'none'",
    )
)
SECURITY_HEADERS = {
    "content-security-policy": CONTENT_POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    # not no-referrer: that would send forms with "Origin: null", which this guard refuses
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), payment=(), usb=(), geolocation=(self)",
    "x-dns-prefetch-control": "off",
}


Who = Callable[[Scope], Awaitable[Person]]


class Guard:
    """The gate itself, as the outermost layer of the app."""

    def __init__(self, app: ASGIApp, place: Place, who: Who) -> None:
        self._app, self._place, self._who = app, place, who

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a sound request through and refuse every other."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
        elif scope["type"] == "http":
            await self._http(scope, receive, _with_headers(send))
        else:
            await send({"type": "websocket.close", "code": 1008})

    async def _http(self, scope: Scope, receive: Receive, send: Send) -> None:
        headers = Headers(scope=scope)
        try:
            check_request(scope, headers, self._place)
            person = await self._who(scope)
        except RefusedError as refusal:
            await _refuse(scope, receive, send, refusal)
            return
        scope.setdefault("state", {})["person"] = person
        await self._app(scope, receive, send)


def check_request(scope: Scope, headers: Headers, place: Place) -> None:
    """Raise RefusedError unless a page of this app, at its own address, would ask so."""
    _check_shape(scope, headers)
    hosts = headers.getlist("host")
    if len(hosts) != 1 or hosts[0].lower() not in place.hosts_of(scope["scheme"]):
        got = shown(", ".join(hosts)) if hosts else "none"
        wanted = "the address this app was opened at"
        raise RefusedError(
            421, Problem("Host", wanted, got, "", "open one of the addresses it told")
        )
    if scope["method"] not in SAFE_METHODS:
        _check_write(headers, place.origins_of(scope["scheme"]))
    else:
        _check_read(headers)


def _check_shape(scope: Scope, headers: Headers) -> None:
    raw: bytes = scope.get("raw_path") or scope["path"].encode("utf-8", "surrogatepass")
    if scope["method"] not in METHODS:
        wanted = "one of " + ", ".join(sorted(METHODS))
        raise RefusedError(405, Problem("method", wanted, shown(scope["method"])))
    if len(raw) > MOST_PATH or len(scope["query_string"]) > MOST_QUERY:
        raise RefusedError(414, Problem("address", "a shorter one", f"{len(raw)} characters"))
    if _BAD_PATH.search(raw):
        raise RefusedError(400, Problem("address", "a plain path", shown(raw.decode("latin-1"))))
    if len(headers.raw) > MOST_HEADERS:
        raise RefusedError(
            431, Problem("headers", f"at most {MOST_HEADERS}", str(len(headers.raw)))
        )


def _check_write(headers: Headers, own: frozenset[str]) -> None:
    """A write comes from a page of this very app, and says so."""
    site, origins = headers.get("sec-fetch-site"), headers.getlist("origin")
    if site not in (None, "same-origin"):
        raise RefusedError(403, Problem("Sec-Fetch-Site", "same-origin", shown(site)))
    if not origins and site == "same-origin":
        return
    if len(origins) != 1 or origins[0].lower() not in own:
        got = shown(", ".join(origins)) if origins else "none"
        hint = "programs have to send the app's own address as Origin"
        raise RefusedError(403, Problem("Origin", "this app's own", got, "", hint))


def _check_read(headers: Headers) -> None:
    """A page from elsewhere may link here, and no more."""
    site, mode = headers.get("sec-fetch-site"), headers.get("sec-fetch-mode")
    if site in ("cross-site", "same-site") and mode != "navigate":
        raise RefusedError(403, Problem("Sec-Fetch-Site", "same-origin", shown(site)))


def need_role(person: Person, wanted: Role) -> None:
    """Raise RefusedError unless the person may do what ``wanted`` may."""
    if person.role.covers(wanted):
        return
    if person.role is Role.NOBODY:
        hint = "join with the code that whoever runs this gives you"
        raise RefusedError(401, Problem("who", "somebody who has joined", "nobody known", "", hint))
    hint = "ask whoever runs this for another code"
    raise RefusedError(403, Problem("role", f'"{wanted}"', f'"{person.role}"', "", hint))


def bounded(receive: Receive, headers: Mapping[str, str], most_bytes: int) -> Receive:
    """A ``receive`` that refuses a body too large or too slow."""
    told = headers.get("content-length", "")
    if told.isdecimal() and int(told) > most_bytes:
        raise _too_large(most_bytes, f"{told} bytes")
    loop = asyncio.get_running_loop()
    until_s, count, is_whole = loop.time() + BODY_LIMIT_S, 0, False

    async def receive_bounded() -> Message:
        nonlocal count, is_whole
        if is_whole:
            return await receive()  # waiting for the client to go away: as long as it likes
        try:
            message = await asyncio.wait_for(receive(), max(0.0, until_s - loop.time()))
        except TimeoutError:
            wanted = f"all of it within {BODY_LIMIT_S:.0f} s"
            raise RefusedError(
                408, Problem("body", wanted, "part of it", "", "send it again")
            ) from None
        count += len(message.get("body", b""))
        if count > most_bytes:
            raise _too_large(most_bytes, "more")
        is_whole = message["type"] != "http.request" or not message.get("more_body", False)
        return message

    return receive_bounded


def _too_large(most_bytes: int, got: str) -> RefusedError:
    return RefusedError(413, Problem("body", f"at most {most_bytes} bytes", got))


def _with_headers(send: Send) -> Send:
    async def send_with(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in SECURITY_HEADERS.items():
                headers[name] = value
            headers.setdefault("cache-control", "no-store")
        await send(message)

    return send_with


async def _refuse(scope: Scope, receive: Receive, send: Send, refusal: RefusedError) -> None:
    """Refuse in the one error shape; whoever looks at a page is told on a page."""
    answer: Response = JSONResponse(problems_json(refusal.problems), refusal.status)
    if wants_page(scope["path"]) and "text/html" in Headers(scope=scope).get("accept", ""):
        from stillwet.web.show import trouble_page

        # No way on: what is refused here is most often the address itself.
        answer = trouble_page(Request(scope), refusal.status, refusal.problems, way=None)
    answer.headers["connection"] = "close"
    await answer(scope, receive, send)
