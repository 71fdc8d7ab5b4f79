"""The demo's job, kept, planned and served by ``stillwet serve`` in a process of its own."""

from __future__ import annotations

import json
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from stillwet.services.clock import moment_s
from stillwet.services.crewing import Knobs, crew_job
from stillwet.services.demo import copy_data
from stillwet.services.keeping import keep_job
from stillwet.services.lines import lines_of_job
from stillwet.services.planning import plan_job

NOW = "2030-08-14T11:00:00-06:00"  # of the demo's day
_PATIENCE_S = 120.0


@dataclass(frozen=True)
class Served:
    """A server that is up, and warm: it has answered once for the board."""

    address: str
    port: int
    path: Path

    def ask(self, path: str, body: dict[str, Any] | None = None) -> Any:
        """The answer of the API, as a program on this machine gets it."""
        raw = None if body is None else json.dumps(body).encode()
        kind = {"content-type": "application/json", "origin": self.address}
        request = urllib.request.Request(self.address + path, raw, kind)
        with urllib.request.urlopen(request, timeout=_PATIENCE_S) as answer:
            return json.load(answer)


@contextmanager
def served_demo() -> Iterator[Served]:
    """Serve it on a free port with its clock at ``NOW``; every kind of plan is kept in it."""
    with tempfile.TemporaryDirectory(prefix="stillwet-") as scratch:
        path = Path(scratch) / "day.gpkg"
        now_s = moment_s(NOW)
        copy_data("demo", Path(scratch) / "demo")
        keep_job(Path(scratch) / "demo" / "job.toml", path, now_s=now_s)
        plan_job(path, None, now_s=now_s)
        crew_job(path, None, now_s=now_s, knobs=Knobs(iterations=1))
        lines_of_job(path, None, now_s=now_s)
        with socket.create_server(("127.0.0.1", 0)) as probe:
            port = int(probe.getsockname()[1])
        command = [sys.executable, "-m", "stillwet.cli", "serve", str(path)]
        server = subprocess.Popen(
            [*command, "--port", str(port), "--now", NOW], stderr=subprocess.DEVNULL
        )
        try:
            found = Served(f"http://127.0.0.1:{port}", port, path)
            _await(found)
            found.ask("/api/board")
            yield found
        finally:
            server.terminate()
            server.wait()


def _await(served: Served) -> None:
    until = time.monotonic() + _PATIENCE_S
    while True:
        try:
            served.ask("/api/job")
        except OSError:
            if time.monotonic() > until:
                raise
            time.sleep(0.1)
        else:
            return
