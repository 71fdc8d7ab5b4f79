"""A real server on a free port, a job with a fixed clock, and real browsers at it.

Every request that would leave the machine is stopped and remembered, and fails the test; so does
anything that a page complains of (errors of scripts, and whatever the content policy refused).
"""

from __future__ import annotations

import shutil
import socket
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

playwright_api = pytest.importorskip("playwright.sync_api")

import uvicorn  # noqa: E402 (the browser's own library decides whether this room is run at all)
from playwright.sync_api import (  # noqa: E402
    Browser,
    BrowserContext,
    Page,
    Route,
    expect,
    sync_playwright,
)

from own_loop import run_alone  # noqa: E402
from stillwet.services.bench import BenchDesk  # noqa: E402
from stillwet.services.board import BoardDesk  # noqa: E402
from stillwet.services.ground import Ground  # noqa: E402
from stillwet.web.app import make_app  # noqa: E402
from stillwet.web.house import House, Place  # noqa: E402
from stillwet.web.serve import uvicorn_config  # noqa: E402
from stillwet.web.workers import Worker  # noqa: E402
from web_fixture import NOW_S, Inline, kept_yard  # noqa: E402

CHROMIUM = shutil.which("chromium")
FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
DESK = {"width": 1400, "height": 900}
PHONE = {"width": 360, "height": 740}
_PATIENCE_S = 30.0
expect.set_options(timeout=30_000)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Everything here needs the browser: mark it, and skip it where there is none."""
    here = Path(__file__).parent
    for item in items:
        if here in item.path.parents:
            item.add_marker(pytest.mark.browser)
            if CHROMIUM is None:
                item.add_marker(pytest.mark.skip(reason="no chromium: make browser installs it"))


@dataclass
class Clock:
    """A clock that stands still until a test moves it on."""

    now_s: float = NOW_S

    def __call__(self) -> float:
        """The moment it shows."""
        return self.now_s


class ManyDesks:
    """The boards of all tests in one worker process, so that it is warmed up only once."""

    def __init__(self) -> None:
        self._desks: dict[Path, BoardDesk] = {}

    def board_json(self, path: Path, *arguments: Any) -> dict[str, Any]:
        """The board of the job at ``path``."""
        return self._desks.setdefault(path, BoardDesk(path)).board_json(*arguments)


@dataclass
class OneDesk:
    """One test's part of it."""

    worker: Worker
    path: Path

    async def call(self, name: str, *arguments: object, limit_s: float) -> Any:
        """The answer of the worker for this test's job."""
        return await self.worker.call(name, self.path, *arguments, limit_s=limit_s)

    def stop(self) -> None:
        """Leave the worker to the next test."""


@pytest.fixture(scope="session")
def worker(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Worker]:
    """The worker process of all tests, warmed up."""
    found = Worker(ManyDesks)
    path = kept_yard(tmp_path_factory.mktemp("warm"))
    first = found.call("board_json", path, NOW_S, NOW_S, "us", limit_s=300.0)
    run_alone(first)
    yield found
    found.stop()


@dataclass
class Served:
    """A server that is up; ``stop`` and ``start`` are those of a laptop closed and opened."""

    path: Path
    clock: Clock
    port: int
    worker: Worker
    ground: Ground | None = None
    _server: uvicorn.Server | None = None
    _thread: threading.Thread | None = None

    @property
    def address(self) -> str:
        """Where it is, without a slash at the end."""
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> None:
        """Serve the job on the port; returns once it answers."""
        place = Place(frozenset({f"127.0.0.1:{self.port}"}))
        house = House(
            self.path,
            place,
            clock=self.clock,
            desk=OneDesk(self.worker, self.path),
            bench=Inline(BenchDesk(self.path)),
            ground=self.ground,
        )
        server = uvicorn.Server(uvicorn_config(make_app(house)))
        listening = socket.create_server(("127.0.0.1", self.port))
        self._server = server
        self._thread = threading.Thread(
            target=server.run, kwargs={"sockets": [listening]}, daemon=True
        )
        self._thread.start()
        until = time.monotonic() + _PATIENCE_S
        while not server.started:
            assert time.monotonic() < until, "the server did not start"
            time.sleep(0.02)

    def stop(self) -> None:
        """Stop serving; the port is free afterwards."""
        assert self._server is not None
        assert self._thread is not None
        self._server.should_exit = True
        self._thread.join(_PATIENCE_S)
        assert not self._thread.is_alive()


def free_port() -> int:
    """A port that nobody listens on."""
    with socket.create_server(("127.0.0.1", 0)) as probe:
        return int(probe.getsockname()[1])


@pytest.fixture
def served(tmp_path: Path, worker: Worker) -> Iterator[Served]:
    """The yard's job, kept and planned, served at 09:00 of its day."""
    found = Served(kept_yard(tmp_path), Clock(), free_port(), worker)
    found.start()
    yield found
    found.stop()


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """One browser for all tests of this worker; each page gets a context of its own."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=list(FLAGS))
        yield browser
        browser.close()


@dataclass
class Watched:
    """What must not happen: requests that leave the machine, and complaints of pages."""

    outside: list[str] = field(default_factory=list)
    complaints: list[str] = field(default_factory=list)

    def over(self, context: BrowserContext, address: str) -> None:
        """Watch a context that may ask ``address`` and nothing else."""

        def gate(route: Route) -> None:
            if route.request.url.startswith((address, "data:", "blob:")):
                route.continue_()
            else:
                self.outside.append(route.request.url)
                route.abort()

        context.route("**/*", gate)
        context.on("weberror", lambda error: self.complaints.append(str(error.error)))
        context.on(
            "console",
            lambda said: self.complaints.append(said.text) if said.type == "error" else None,
        )


@pytest.fixture
def watched() -> Iterator[Watched]:
    """Fails the test at its end for anything that must not happen."""
    found = Watched()
    yield found
    assert found.outside == []
    assert found.complaints == []


@dataclass
class Screens:
    """Opens pages of the server, each as another person's browser."""

    browser: Browser
    served: Served
    watched: Watched
    contexts: list[BrowserContext] = field(default_factory=list)

    def open(self, path: str, *, size: dict[str, int] | None = None, light: str = "light") -> Page:
        """A page in a fresh browser of this size, in this light ("light" or "dark")."""
        width, height = (size or DESK).values()
        context = self.browser.new_context(
            viewport={"width": width, "height": height},
            color_scheme="dark" if light == "dark" else "light",
        )
        context.set_default_timeout(_PATIENCE_S * 1000)
        self.watched.over(context, self.served.address)
        self.contexts.append(context)
        page = context.new_page()
        page.goto(self.served.address + path)
        return page


@pytest.fixture
def screens(chromium: Browser, served: Served, watched: Watched) -> Iterator[Screens]:
    """Opens as many screens as a test wants."""
    found = Screens(chromium, served, watched)
    yield found
    for context in found.contexts:
        context.close()
