"""Start the server: bind, tell the addresses, open a browser if asked, run until stopped."""

from __future__ import annotations

import asyncio
import socket
import webbrowser
from collections.abc import Callable, Sequence
from contextlib import ExitStack
from pathlib import Path

import uvicorn

from stillwet.errors import Problem, StillwetError
from stillwet.services.authority import Authority, authority_folder, is_local, issue, open_authority
from stillwet.services.ground import Ground
from stillwet.web.app import make_app
from stillwet.web.house import House, Place, clock_now
from stillwet.web.patience import HurriedProtocol

PORT = 8642
MOST_CONNECTIONS = 400


def serve_job(
    path: Path,
    *,
    port: int = PORT,
    network: bool = False,
    authority_in: Path | None = None,
    open_browser: bool = False,
    clock: Callable[[], float] = clock_now,
    ground: Ground | None = None,
    tell: Callable[[str], None],
) -> None:
    """Serve the job in a job file until stopped; ``tell`` hears the addresses.

    On this machine only, unless ``network``: then also to others on the same network, who have to
    join with a code; plain, and on the next port by HTTPS with the authority kept in
    ``authority_in`` (else in the user's own folder), made there if there is none. ``ground`` lies
    under the maps.
    """
    names = ("127.0.0.1", "localhost", *((*_own_addresses(), *_own_names()) if network else ()))
    host = "0.0.0.0" if network else "127.0.0.1"
    with ExitStack() as open_sockets:
        listening = [open_sockets.enter_context(_bound(host, port))]
        made = None
        if network:
            folder = authority_in or authority_folder()
            made = open_authority(folder, now_s=clock_now())  # of this machine, not a rehearsal's
            listening.append(open_sockets.enter_context(_bound(host, port + 1 if port else 0)))
        place = Place(
            _hosts(names, listening[:1]),
            is_network=network,
            secure_hosts=_hosts([name for name in names if is_local(name)], listening[1:]),
        )
        house = House(path, place, clock=clock, authority=made, ground=ground)
        app = make_app(house)
        servers = [Server(uvicorn_config(app), house)]
        if made is not None:
            servers.append(Server(uvicorn_config(app, _certificate(made, names, tell)), house))
        _tell_addresses(names if network else names[:1], place, made, tell)
        if open_browser:
            webbrowser.open(f"http://127.0.0.1:{listening[0].getsockname()[1]}/")
        asyncio.run(run_together(servers, listening))


def _hosts(names: Sequence[str], listening: Sequence[socket.socket]) -> frozenset[str]:
    return frozenset(f"{name}:{one.getsockname()[1]}" for one in listening for name in names)


async def run_together(
    servers: Sequence[uvicorn.Server], listening: Sequence[socket.socket]
) -> None:
    """Run servers of one app until any of them is told to stop; the first one starts the app."""
    first, *others = servers
    tasks = [asyncio.create_task(first.serve(sockets=[listening[0]]))]
    while not first.started and not tasks[0].done():
        await asyncio.sleep(0.02)
    tasks += [
        asyncio.create_task(one.serve(sockets=[its]))
        for one, its in zip(others, listening[1:], strict=True)
    ]
    await asyncio.wait(tasks, return_when=asyncio.FIRST_COMPLETED)
    for one in servers:
        one.should_exit = True
    await asyncio.gather(*reversed(tasks))


class Server(uvicorn.Server):
    """A server that ends its streams before it waits for connections to close."""

    def __init__(self, config: uvicorn.Config, house: House) -> None:
        super().__init__(config)
        self._house = house

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        """End the streams, then all else."""
        self._house.hub.close()
        await super().shutdown(sockets)


def uvicorn_config(app: object, certificate: Path | None = None) -> uvicorn.Config:
    """The server's settings; headers of forwarders are not believed. By HTTPS with a certificate.

    The plain server starts and ends the app; the one by HTTPS serves the same app beside it.
    """
    return uvicorn.Config(
        app,  # type: ignore[arg-type]  # any ASGI app; its own type is narrower
        http=HurriedProtocol,
        proxy_headers=False,
        server_header=False,
        date_header=True,
        access_log=False,
        log_level="warning",
        timeout_keep_alive=10,
        timeout_graceful_shutdown=2,
        limit_concurrency=MOST_CONNECTIONS,
        ws="none",
        lifespan="on" if certificate is None else "off",
        ssl_certfile=certificate,
    )


def _certificate(made: Authority, names: Sequence[str], tell: Callable[[str], None]) -> Path:
    path, left = issue(made, names, now_s=clock_now())
    if left:
        tell(f"not by HTTPS, as these are no private addresses or local names: {', '.join(left)}")
    return path


def _tell_addresses(
    names: Sequence[str], place: Place, made: Authority | None, tell: Callable[[str], None]
) -> None:
    port = next(iter(place.hosts)).rpartition(":")[2]
    for name in names:
        tell(f"open http://{name}:{port}/")
    if made is not None:
        tell(f"phones: {place.phone_address('http')}/crew")
        tell(f"by HTTPS, once the authority is installed: {place.phone_address('https')}/crew")
        tell(f"how to install it: {place.phone_address('http')}/trust")
        tell(f"authority's fingerprint: {made.fingerprint}")


def _bound(host: str, port: int) -> socket.socket:
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listening.setsockopt(socket.SOL_SOCKET, _own_port_option(), 1)
    try:
        listening.bind((host, port))
    except OSError as error:
        listening.close()
        got = error.strerror or str(error)
        hint = "choose another with --port, or 0 for any that is free"
        raise StillwetError(Problem("--port", "a free port", got, str(port), hint)) from None
    listening.listen(128)
    return listening


def _own_port_option() -> int:
    """What binds a port left a moment ago, and never one that another program holds.

    On Windows SO_REUSEADDR would let two programs share it ("Using SO_REUSEADDR and
    SO_EXCLUSIVEADDRUSE", Microsoft Learn, from memory).
    """
    return int(getattr(socket, "SO_EXCLUSIVEADDRUSE", socket.SO_REUSEADDR))


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


def _own_names() -> tuple[str, ...]:
    """The machine's own name as its neighbours on the network find it (multicast DNS)."""
    name = socket.gethostname().partition(".")[0].lower()
    return (f"{name}.local",) if name else ()


def _lookup() -> list[tuple[object, object, object, object, tuple[object, ...]]]:
    try:
        return list(socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET))
    except OSError:
        return []
