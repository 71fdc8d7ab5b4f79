"""An app served plain and by HTTPS at once, in a thread of its own."""

from __future__ import annotations

import asyncio
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from stillwet.web.app import make_app
from stillwet.web.house import House
from stillwet.web.serve import Server, run_together, uvicorn_config


def two_sockets(name: str) -> tuple[list[socket.socket], str, str]:
    """Sockets of this machine, and the host and port of the plain and of the secure one."""
    listening = [socket.create_server(("127.0.0.1", 0)) for _ in range(2)]
    plain, secure = (f"{name}:{one.getsockname()[1]}" for one in listening)
    return listening, plain, secure


@contextmanager
def served_together(house: House, cert: Path, listening: list[socket.socket]) -> Iterator[None]:
    """Both servers answer inside; after it both have stopped."""
    app = make_app(house)
    servers = [Server(uvicorn_config(app), house), Server(uvicorn_config(app, cert), house)]
    thread = threading.Thread(target=lambda: asyncio.run(run_together(servers, listening)))
    thread.start()
    try:
        until = time.monotonic() + 30.0
        while not all(one.started for one in servers):
            assert time.monotonic() < until
            time.sleep(0.02)
        yield
    finally:
        servers[0].should_exit = True
        thread.join(20)
    assert not thread.is_alive()
