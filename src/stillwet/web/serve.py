"""Start the server: bind, tell the addresses, open a browser if asked, run until stopped."""

from __future__ import annotations

import socket
import webbrowser
from collections.abc import Callable
from pathlib import Path

import uvicorn

from stillwet.errors import Problem, StillwetError
from stillwet.web.app import make_app
from stillwet.web.house import House, Place, clock_now

PORT = 8642
MOST_CONNECTIONS = 400


def serve_job(
    path: Path,
    *,
    port: int = PORT,
    network: bool = False,
    open_browser: bool = False,
    clock: Callable[[], float] = clock_now,
    tell: Callable[[str], None],
) -> None:
    """Serve the job in a job file until stopped; ``tell`` hears the addresses.

    On this machine only, unless ``network``: then also to others on the same network, who have to
    join with a code.
    """
    names = ("127.0.0.1", "localhost", *(_own_addresses() if network else ()))
    with _bound("0.0.0.0" if network else "127.0.0.1", port) as listening:
        bound_port = int(listening.getsockname()[1])
        place = Place(frozenset(f"{name}:{bound_port}" for name in names), is_network=network)
        app = make_app(House(path, place, clock=clock))
        for name in names if network else names[:1]:
            tell(f"open http://{name}:{bound_port}/")
        if open_browser:
            webbrowser.open(f"http://127.0.0.1:{bound_port}/")
        uvicorn.Server(uvicorn_config(app)).run(sockets=[listening])


def uvicorn_config(app: object) -> uvicorn.Config:
    """The server's settings; headers of forwarders are not believed."""
    return uvicorn.Config(
        app,  # type: ignore[arg-type]  # any ASGI app; its own type is narrower
        proxy_headers=False,
        server_header=False,
        date_header=True,
        access_log=False,
        log_level="warning",
        timeout_keep_alive=10,
        timeout_graceful_shutdown=2,
        limit_concurrency=MOST_CONNECTIONS,
        ws="none",
        lifespan="on",
    )


def _bound(host: str, port: int) -> socket.socket:
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((host, port))
    except OSError as error:
        listening.close()
        got = error.strerror or str(error)
        hint = "choose another with --port, or 0 for any that is free"
        raise StillwetError(Problem("--port", "a free port", got, str(port), hint)) from None
    listening.listen(128)
    return listening


def _own_addresses() -> tuple[str, ...]:
    """Addresses of the machine on its networks, without asking anything outside."""
    found = {str(info[4][0]) for info in _lookup() if not str(info[4][0]).startswith("127.")}
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:  # names a route and sends nothing
            probe.connect(("192.0.2.1", 9))  # an address kept for documentation (RFC 5737)
            found.add(str(probe.getsockname()[0]))
        except OSError:
            pass
    return tuple(sorted(found))


def _lookup() -> list[tuple[object, object, object, object, tuple[object, ...]]]:
    try:
        return list(socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET))
    except OSError:
        return []
