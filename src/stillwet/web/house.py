"""The house: the one job that is open, its clock, its worker, and who is to hear of changes."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Coroutine, Hashable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

from starlette.requests import Request

from stillwet.errors import Problem
from stillwet.services.authority import Authority
from stillwet.services.bench import BenchDesk
from stillwet.services.board import BoardDesk
from stillwet.services.clock import moment_s
from stillwet.services.crew_phone import PhoneDesk
from stillwet.services.draft_planning import DraftDesk
from stillwet.services.drafting import DraftBook
from stillwet.services.field_log import Posted, need_few, post_log
from stillwet.services.ground import Ground
from stillwet.services.job_view import (
    JobView,
    PageHead,
    empty_head,
    is_only_log,
    job_stamp,
    page_head,
    view_job,
)
from stillwet.services.sharing import audit
from stillwet.web.door import Person
from stillwet.web.live import Hub
from stillwet.web.runs import Runs
from stillwet.web.together import Together
from stillwet.web.tries import Tries
from stillwet.web.trouble import RefusedError
from stillwet.web.workers import READING_BYTES, Desk, Worker

Found = TypeVar("Found")

WATCH_S = 0.4  # how often the file is asked whether another program has written to it
BOARD_LIMIT_S = 120.0
_BOARD_STEP_S = 60.0  # moments of the board, so that many screens share one reckoning


@dataclass(frozen=True, slots=True)
class Place:
    """Where the house stands: the hosts it answers to ("127.0.0.1:8642"), plain and by HTTPS."""

    hosts: frozenset[str]
    is_network: bool = False
    secure_hosts: frozenset[str] = frozenset()

    def hosts_of(self, scheme: str) -> frozenset[str]:
        """The hosts of one scheme: each listener answers only to its own."""
        return self.secure_hosts if scheme == "https" else self.hosts

    def origins_of(self, scheme: str) -> frozenset[str]:
        """What a browser on one of its own pages of that scheme gives as origin."""
        return frozenset(f"{scheme}://{host}" for host in self.hosts_of(scheme))

    def phone_address(self, scheme: str) -> str:
        """The address to open on a phone; on this machine only, its own; empty without HTTPS."""
        far = [one for one in self.hosts_of(scheme) if not one.startswith(("127.", "localhost"))]
        # An address before a name: not every phone finds names of the local network.
        hosts = sorted(far or self.hosts_of(scheme), key=lambda one: (not one[0].isdigit(), one))
        return f"{scheme}://{hosts[0]}" if hosts else ""


def clock_now() -> float:
    """The clock of the house, epoch seconds."""
    return moment_s(None)


class House:
    """The open job. All looks into the file are made in threads, all reckoning in the worker."""

    def __init__(
        self,
        path: Path,
        place: Place,
        *,
        clock: Callable[[], float] = clock_now,
        desk: Desk | None = None,
        authority: Authority | None = None,
        drafts: Desk | None = None,
        reasons: Desk | None = None,
        bench: Desk | None = None,
        ground: Ground | None = None,
    ) -> None:
        self.path, self.place, self.clock = path, place, clock
        self.hub = Hub()
        self.tries = Tries(clock)
        self.phones = PhoneDesk(path)
        self.book = DraftBook(path)  # of the job that is being made
        self.authority = authority  # that phones may install, where HTTPS is served
        self.desk: Desk = desk or Worker(BoardDesk, path)
        self.drafts: Desk = drafts or Worker(DraftDesk, path, most_bytes=READING_BYTES)
        self.reasons: Desk = reasons or Worker(DraftDesk, path)  # slower: why, and what flips
        self.runs = Runs()
        self.ground = ground or Ground()  # under the maps; of the user's own tiles
        self.bench: Desk = bench or Worker(BenchDesk, path)  # starts when it is first asked
        self._audit = Together(self._write_audit)
        self._log = Together(self._write_log)
        self._view: JobView | None = None
        self._answers: dict[Hashable, asyncio.Task[Any]] = {}
        self._tasks: set[asyncio.Task[Any]] = set()

    async def start(self) -> None:
        """Look at the job, warm the worker up, and watch the file."""
        await self.head()
        self._spawn(self._watch())
        self._spawn(self._warm_up())

    async def close(self) -> None:
        """End streams, tasks and the worker."""
        self.hub.close()
        for task in tuple(self._tasks):
            task.cancel()
        for desk in (self.desk, self.drafts, self.reasons, self.bench, self.runs):
            desk.stop()
        await asyncio.gather(*self._tasks, return_exceptions=True)
        self.ground.close()

    async def ask(self, use_case: Callable[..., Found], *arguments: Any, **named: Any) -> Found:
        """Run a use case in a thread."""
        return await asyncio.to_thread(use_case, *arguments, **named)

    async def view(self) -> JobView:
        """The job as the file has it now; read again only when the file has changed."""
        stamp = await self.ask(job_stamp, self.path, now_s=self.clock())
        _need_job(stamp.input_hash)
        if self._view is None or self._view.stamp != stamp:
            self._view = await self.ask(view_job, self.path, now_s=self.clock())
        return self._view

    async def head(self) -> PageHead:
        """The head of a page, also while the file holds no job yet."""
        now_s = self.clock()
        stamp = await self.ask(job_stamp, self.path, now_s=now_s)
        if not stamp.input_hash:
            return empty_head(now_s=now_s)
        return page_head(await self.view(), now_s=now_s)

    async def board(self, at_s: float | None, units: str) -> dict[str, Any]:
        """The board at a moment (now where none is given), reckoned once for all who ask."""
        now_s = self.clock() // _BOARD_STEP_S * _BOARD_STEP_S
        chosen = now_s if at_s is None else at_s
        stamp = await self.ask(job_stamp, self.path, now_s=now_s)
        _need_job(stamp.input_hash)
        found: dict[str, Any] = await self._once(
            ("board", stamp, chosen, now_s, units),
            lambda: self.desk.call("board_json", chosen, now_s, units, limit_s=BOARD_LIMIT_S),
        )
        return {**found, "is_now": at_s is None}

    async def write_down(self, person: Person, what: str) -> None:
        """One line of the audit: who asked for what, from where, before it is done."""
        await self._audit.add((person.name, person.device, person.address, what))

    async def post(self, entries: Sequence[object]) -> tuple[Posted, ...]:
        """Keep entries of the log; of each what became of it, once the disk has it."""
        need_few(entries)
        return await self._log.add(entries)

    async def _write_audit(self, lines: Sequence[tuple[str, str, str, str]]) -> Sequence[None]:
        await self.ask(audit, self.path, lines, self.clock())
        return [None] * len(lines)

    async def _write_log(self, batches: Sequence[Sequence[object]]) -> Sequence[tuple[Posted, ...]]:
        zone = (await self.view()).job.time_zone
        return await self.ask(post_log, self.path, batches, time_zone=zone, now_s=self.clock())

    def changed(self, topic: str) -> None:
        """Tell every screen of a change."""
        self.hub.publish(topic)

    async def _once(self, key: Hashable, work: Callable[[], Any]) -> Any:
        """One reckoning for all who ask the same at the same time."""
        if key not in self._answers:
            task = asyncio.ensure_future(work())
            self._answers[key] = task
            task.add_done_callback(lambda _done: self._answers.pop(key, None))
        return await asyncio.shield(self._answers[key])

    def _spawn(self, work: Coroutine[Any, Any, None]) -> None:
        task = asyncio.ensure_future(work)
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)

    async def _warm_up(self) -> None:
        with suppress(Exception):  # a job that cannot be reckoned says so on its pages
            await self.board(None, (await self.head()).units)

    async def _watch(self) -> None:
        """Hear of what other programs write, too: the command line, or a second server."""
        before = await self.ask(job_stamp, self.path, now_s=self.clock())
        while True:
            await asyncio.sleep(WATCH_S)
            with suppress(Exception):  # a file that cannot be read just now is asked again
                now = await self.ask(job_stamp, self.path, now_s=self.clock())
                if now != before:
                    self.changed("log" if is_only_log(before, now) else "plan")
                before = now


def _need_job(input_hash: str) -> None:
    """Refuse while there is no job, in words for a screen: where the file lies concerns nobody."""
    if not input_hash:
        raise RefusedError(404, Problem("job", "a job", "none yet", "", "make one at the desk"))


def house_of(request: Request) -> House:
    """The house that a request came to."""
    house = request.app.state.house
    assert isinstance(house, House)
    return house
