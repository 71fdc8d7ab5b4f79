"""Runs: long work asked for from a page, in a process of its own, with progress and a stop."""

from __future__ import annotations

import asyncio
import secrets
import sys
import tempfile
import traceback
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from stillwet.errors import Problem, StillwetError
from stillwet.web.trouble import RefusedError, problems_json
from stillwet.web.workers import Job

LIMIT_S = 900.0  # without news
MOST_KEPT = 20
RUN_STATES = ("running", "done", "stopped", "failed")


@dataclass
class Run:
    """One piece of work: what it is, how far it is, and what came of it."""

    id: str
    kind: str
    job: Job
    state: str = "running"  # one of RUN_STATES
    result: dict[str, Any] = field(default_factory=dict)
    problems: tuple[Problem, ...] = ()

    def to_json(self) -> dict[str, Any]:
        """The run for a page."""
        share = 1.0 if self.state == "done" else self.job.share
        return {
            "id": self.id,
            "kind": self.kind,
            "state": self.state,
            "label": self.job.label,
            "share": round(min(1.0, max(0.0, share)), 3),
            "result": self.result,
            **problems_json(self.problems),
        }


class Runs:
    """The runs of one house; one of a kind at a time."""

    def __init__(self) -> None:
        self._runs: dict[str, Run] = {}
        self._tasks: set[asyncio.Task[None]] = set()
        self._folder: tempfile.TemporaryDirectory[str] | None = None

    @property
    def folder(self) -> Path:
        """Where runs may put files; it goes with the server."""
        if self._folder is None:
            self._folder = tempfile.TemporaryDirectory(prefix="stillwet-runs-")
        return Path(self._folder.name)

    def start(
        self, kind: str, work: Callable[..., object], *arguments: object, then: Callable[[], None]
    ) -> Run:
        """Start work; ``then`` is called when it is done. A second of its kind is refused."""
        if any(run.kind == kind and run.state == "running" for run in self._runs.values()):
            hint = "wait for it, or stop it"
            raise RefusedError(409, Problem("kind", "one run at a time", "one running", "", hint))
        run = Run(secrets.token_hex(8), kind, Job(work, *arguments, limit_s=LIMIT_S))
        self._runs[run.id] = run
        for old in list(self._runs)[:-MOST_KEPT]:
            del self._runs[old]
        task = asyncio.ensure_future(self._follow(run, then))
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)
        return run

    def get(self, run_id: str) -> Run:
        """A run by its id; refused with 404 when there is none."""
        run = self._runs.get(run_id)
        if run is None:
            raise RefusedError(404, Problem("id", "a run of this server", "an unknown one"))
        return run

    def latest(self) -> Run | None:
        """The run that was started last."""
        return next(reversed(self._runs.values()), None)

    def cancel(self, run_id: str) -> Run:
        """Stop a run; one that is over stays as it is."""
        run = self.get(run_id)
        if run.state == "running":
            run.state = "stopped"
            run.job.stop()
        return run

    def stop(self) -> None:
        """Stop all of them."""
        for run_id in list(self._runs):
            self.cancel(run_id)
        if self._folder is not None:
            self._folder.cleanup()
            self._folder = None

    async def _follow(self, run: Run, then: Callable[[], None]) -> None:
        try:
            result = await run.job.result()
        except StillwetError as error:
            if run.state == "running":
                run.state, run.problems = "failed", tuple(error.problems)
        except Exception as error:
            traceback.print_exception(error, file=sys.stderr)
            run.state = "failed"
            hint = "try again, and tell whoever runs this"
            run.problems = (Problem("run", "a result", "unexpected trouble", "", hint),)
        else:
            if run.state == "running":
                run.state, run.result = "done", dict(result)
                then()
