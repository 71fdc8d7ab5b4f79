"""A small kept job and the app round it, for tests of the web app and of real browsers."""

from __future__ import annotations

import re
import shutil
import tempfile
import uuid
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import Any

from jsonschema import Draft202012Validator
from jsonschema.exceptions import best_match
from starlette.routing import compile_path
from starlette.testclient import TestClient

from job_fixture import HOUR, START_S, make_asset, make_job
from line_fixture import make_line, make_line_job, make_work
from stillwet.domain.job import Job
from stillwet.domain.lines import Beginning
from stillwet.services.bench import BenchDesk
from stillwet.services.board import BoardDesk
from stillwet.services.planning import plan_job
from stillwet.web.answers import PROBLEMS
from stillwet.web.app import all_doors, make_app
from stillwet.web.door import Door
from stillwet.web.house import House, Place
from store_fixture import kept_job

NOW_S = START_S + HOUR
HOST = "127.0.0.1:8642"
ORIGIN = f"http://{HOST}"
FACE = "a1/north-wall"


class Inline:
    """A desk without a process: calls are answered at once, by the thing itself."""

    def __init__(self, made: object) -> None:
        self._made = made

    async def call(self, name: str, *arguments: object, limit_s: float) -> Any:
        """The answer of a method."""
        del limit_s
        return getattr(self._made, name)(*arguments)

    def stop(self) -> None:
        """Nothing to end."""


def yard_job(**changes: Any) -> Job:
    """A house with an outline and a shed, one crew, 16 members."""
    ring = ((0.0, 0.0), (12.0, 0.0), (12.0, 9.0), (0.0, 9.0))
    shed = make_asset(id="a2", name="Invented shed", kind="shed", x_m=60.0, y_m=20.0)
    values: dict[str, Any] = {
        "assets": (make_asset(footprint_m=ring), shed),
        "members": 16,
        "input_hash": "0f" * 32,
    }
    return make_job(**(values | changes))


@cache
def _planned_yard() -> Path:
    folder = Path(tempfile.mkdtemp(prefix="yard-"))
    path = kept_job(folder, yard_job())
    plan_job(path, None, now_s=START_S)
    return path


def kept_yard(folder: Path) -> Path:
    """A job file with the yard and its plan; made once, copied for each who asks."""
    return Path(shutil.copy(_planned_yard(), folder / "day.gpkg"))


@cache
def _planned_line() -> Path:
    from stillwet.services.lines import lines_of_job

    folder = Path(tempfile.mkdtemp(prefix="line-"))
    line = make_line(work=make_work(beginning=Beginning.FIRST))
    path = kept_job(folder, make_line_job(line, members=16, input_hash="1e" * 32))
    plan_job(path, None, now_s=START_S)
    lines_of_job(path, None, now_s=START_S)
    return path


def kept_line(folder: Path) -> Path:
    """A job file with a burn line of two segments, "l1/s0" and "l1/s80", and its plan."""
    return Path(shutil.copy(_planned_line(), folder / "line.gpkg"))


def stretch_entry(kind: str, segment: str, *, when_s: float, **changes: Any) -> dict[str, Any]:
    """A line wet or lit up to somewhere, as the line's page sends it."""
    values = coat_entry(when_s=when_s) | {"kind": kind, "segment": segment}
    return {name: raw for name, raw in values.items() if name not in ("faces", "coat")} | changes


def make_house(path: Path, **changes: Any) -> House:
    """The house of a job file, with a clock that stands still and no process beside."""
    values: dict[str, Any] = {
        "clock": lambda: NOW_S,
        "desk": Inline(BoardDesk(path)),
        "bench": Inline(BenchDesk(path)),
    }
    return House(path, Place(frozenset({HOST})), **(values | changes))


class HeldClient(TestClient):
    """A client that holds each JSON answer of the API to its description, whatever the test."""

    def request(self, method: str, url: Any, **more: Any) -> Any:
        """The answer; fails when a field is missing, of another kind, or told nowhere."""
        answer = super().request(method, url, **more)
        path = answer.request.url.path
        if path.startswith("/api/") and answer.headers.get("content-type") == "application/json":
            door = door_of(method, path)
            is_done = door is not None and answer.status_code == door.status
            schema = PROBLEMS if door is None or not is_done else door.gives
            assert schema is not None, f"{method} {path} answers JSON that is not described"
            wrong = best_match(Draft202012Validator(schema).iter_errors(answer.json()))
            assert wrong is None, f"{method} {path}{wrong.json_path[1:]}: {wrong.message[:300]}"
        return answer


def door_of(method: str, path: str) -> Door | None:
    """The door that a request goes through; None when there is none."""
    fits = (door for door in all_doors() if door.method == method.upper())
    return next((door for door in fits if _pattern(door.path).fullmatch(path)), None)


@cache
def _pattern(path: str) -> re.Pattern[str]:
    return compile_path(path)[0]


def make_test_client(path: Path, *, client: str = "127.0.0.1", **more: Any) -> TestClient:
    """A client whose requests come from ``client`` and, on writes, from a page of the app."""
    app = make_app(make_house(path), **more)
    return HeldClient(
        app, ORIGIN, client=(client, 50000), headers={"origin": ORIGIN}, follow_redirects=False
    )


def iso(time_s: float) -> str:
    """A moment as the API wants it."""
    return datetime.fromtimestamp(time_s, UTC).isoformat()


def coat_entry(face: str = FACE, *, when_s: float = NOW_S, **changes: Any) -> dict[str, Any]:
    """A coat laid on a face, as a phone sends it."""
    values: dict[str, Any] = {
        "id": str(uuid.uuid4()),
        "when": iso(when_s),
        "written": iso(when_s),
        "by": "Ash",
        "device": "phone 1",
        "kind": "coat",
        "faces": face,
        "coat": "4 mm",
    }
    return values | changes
