"""Forty phones logging at once on this machine: how fast they are answered, and what arrives.

Run: ``python benchmarks/bench_phones.py [SECONDS]`` (60 unless given). The demo's job is kept with
a crew plan and served by ``stillwet serve`` in a process of its own. Each phone holds a stream of
changes, writes an entry every ten seconds or so, sends every fifth one twice as if its answer had
been lost, and asks for its crew's day within three seconds of hearing of a change: what the page
does. Half way the server is killed and started again; the phones try on. Answers from the kill
until a quarter of a minute after the new start are told apart: libraries are loaded then. Fails
when an entry is lost or there twice, or when of the others one in twenty takes 200 ms or more.
"""

from __future__ import annotations

import asyncio
import json
import os
import random
import signal
import socket
import subprocess
import sys
import tempfile
import time
import uuid
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from stillwet.services.crewing import Knobs, crew_job
from stillwet.services.demo import copy_data
from stillwet.services.keeping import keep_job, read_kept_job
from stillwet.services.logbook import entries_after

PHONES = 40
EVERY_S = 10.0
SOON_S = 3.0
LIMIT_S = 0.2
AWAY_S = 3.0  # between the kill and the new start
SETTLE_S = 15.0  # after the new start
CATCH_UP_S = 30.0  # for what was written last to arrive


@dataclass
class Told:
    """What the phones saw: moment and seconds of each answer, what was written, failed tries."""

    post_s: list[tuple[float, float]] = field(default_factory=list)
    get_s: list[tuple[float, float]] = field(default_factory=list)
    written: set[str] = field(default_factory=set)
    failed: int = 0
    killed: float = 0.0
    settled: float = 0.0

    def calm(self, times: list[tuple[float, float]], *, is_calm: bool = True) -> list[float]:
        """Seconds of the answers to what was asked outside of the server's absence, in order."""
        return sorted(
            took for at, took in times if (self.killed <= at <= self.settled) is not is_calm
        )


class Phone:
    """One phone: an outbox that sends until it is told that the server has it, and a stream."""

    def __init__(self, port: int, crew: str, faces: list[str], told: Told, chance: random.Random):
        self._port, self._crew, self._faces = port, crew, faces
        self._told, self._chance = told, chance
        self._outbox: list[dict[str, Any]] = []
        self._heard = asyncio.Event()

    async def run(self, until: float) -> None:
        """Write until the time is over, then send what is left."""
        tasks = [asyncio.create_task(work()) for work in (self._listen, self._ask)]
        await asyncio.sleep(self._chance.uniform(0.0, EVERY_S))
        while time.monotonic() < until:
            self._outbox.append(self._entry())
            await self._send()
            await asyncio.sleep(self._chance.uniform(0.5, 1.5) * EVERY_S)
        end = time.monotonic() + CATCH_UP_S
        while self._outbox and time.monotonic() < end:
            await self._send()
            await asyncio.sleep(0.5)
        for task in tasks:
            task.cancel()

    def _entry(self) -> dict[str, Any]:
        moment = datetime.now(UTC).isoformat()
        name = str(uuid.UUID(int=self._chance.getrandbits(128), version=4))
        self._told.written.add(name)
        head = {"id": name, "when": moment, "written": moment, "by": self._crew, "device": name[:8]}
        face = self._chance.choice(self._faces)
        return {**head, "kind": "check", "face": face, "feel": "wet"}

    async def _send(self) -> None:
        body = {"entries": self._outbox[:100]}
        for _again in range(2 if self._chance.random() < 0.2 else 1):
            answer = await self._timed("POST", "/api/log", body, self._told.post_s)
            if answer is None:
                return
        sent = {one["id"] for one in answer["entries"] if one["became"] in ("kept", "already here")}
        self._outbox = [one for one in self._outbox if one["id"] not in sent]

    async def _ask(self) -> None:
        """Ask for the crew's day a little after each change, once for all that came until then."""
        while True:
            await self._heard.wait()
            await asyncio.sleep(self._chance.uniform(0.0, SOON_S))
            self._heard.clear()
            await self._timed("GET", f"/api/crew/{self._crew}", None, self._told.get_s)

    async def _listen(self) -> None:
        while True:
            try:
                reader, writer = await asyncio.open_connection("127.0.0.1", self._port)
                writer.write(_head(self._port, "GET", "/api/events", b""))
                while line := await reader.readline():
                    if line.startswith(b"event: changed"):
                        self._heard.set()
                writer.close()
            except OSError:
                pass
            await asyncio.sleep(1.0)

    async def _timed(
        self,
        method: str,
        path: str,
        body: dict[str, Any] | None,
        times: list[tuple[float, float]],
    ) -> Any:
        begun = time.perf_counter()
        try:
            answer = await asyncio.wait_for(_request(self._port, method, path, body), 12.0)
        except (OSError, ValueError, TimeoutError, asyncio.IncompleteReadError):
            self._told.failed += 1
            return None
        times.append((begun, time.perf_counter() - begun))
        return answer


async def _request(port: int, method: str, path: str, body: dict[str, Any] | None) -> Any:
    raw = b"" if body is None else json.dumps(body).encode()
    reader, writer = await asyncio.open_connection("127.0.0.1", port)
    try:
        writer.write(_head(port, method, path, raw, close=True) + raw)
        head = await reader.readuntil(b"\r\n\r\n")
        if b" 200 " not in head.split(b"\r\n")[0]:
            raise ValueError(head.split(b"\r\n")[0])
        return json.loads(await reader.read())
    finally:
        writer.close()


def _head(port: int, method: str, path: str, body: bytes, *, close: bool = False) -> bytes:
    lines = [f"{method} {path} HTTP/1.1", f"Host: 127.0.0.1:{port}"]
    lines += ["Connection: close"] if close else []
    if body:
        lines += [f"Content-Length: {len(body)}", "Content-Type: application/json"]
        lines += [f"Origin: http://127.0.0.1:{port}"]
    return ("\r\n".join(lines) + "\r\n\r\n").encode()


async def _serve(job: Path, port: int) -> asyncio.subprocess.Process:
    command = [sys.executable, "-m", "stillwet.cli", "serve", str(job), "--port", str(port)]
    server = await asyncio.create_subprocess_exec(*command, stderr=subprocess.DEVNULL)
    until = time.monotonic() + 60.0
    while time.monotonic() < until:
        try:
            await _request(port, "GET", "/api/job", None)
        except (OSError, ValueError, asyncio.IncompleteReadError):
            await asyncio.sleep(0.1)
        else:
            return server
    raise SystemExit("the server did not start")


async def measure(job: Path, crews: list[str], faces: list[str], seconds: float) -> Told:
    """Forty phones for so long, with one kill of the server half way."""
    with socket.create_server(("127.0.0.1", 0)) as probe:
        port = int(probe.getsockname()[1])
    told = Told()
    server = await _serve(job, port)
    await asyncio.sleep(20.0)  # the board is reckoned for the first time: hours before the fire
    until = time.monotonic() + seconds
    phones = [
        Phone(port, crews[number % len(crews)], faces, told, random.Random(number))
        for number in range(PHONES)
    ]
    runs = [asyncio.create_task(phone.run(until)) for phone in phones]
    await asyncio.sleep(seconds / 2.0)
    told.killed = time.perf_counter()
    server.send_signal(signal.SIGKILL)
    await server.wait()
    await asyncio.sleep(AWAY_S)
    server = await _serve(job, port)
    told.settled = time.perf_counter() + SETTLE_S
    await asyncio.gather(*runs)
    server.terminate()
    await server.wait()
    return told


def p95(times: list[float]) -> float:
    """The time that 19 answers of 20 stay within, seconds; of times in order."""
    return times[int(0.95 * (len(times) - 1))] if times else 0.0


def main(seconds: float) -> int:
    """Print what was measured; 1 when an entry is lost or doubled or answers are too slow."""
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        copy_data("demo", folder / "demo")
        path = folder / "day.gpkg"
        keep_job(folder / "demo" / "job.toml", path, now_s=time.time())
        crew_job(path, None, now_s=time.time(), knobs=Knobs(iterations=1))
        job = read_kept_job(path)
        crews = [crew.id for crew in job.crews]
        faces = [f"{asset.id}/north-wall" for asset in job.assets if asset.kind == "house"]
        told = asyncio.run(measure(path, crews, faces, seconds))
        there = [entry.id for _row, entry in entries_after(path, 0)]
    lost, doubled = told.written - set(there), len(there) - len(set(there))
    print(f"{PHONES} phones, {seconds:.0f} s, {os.cpu_count()} cores, one kill of the server")
    for name, times in (("entry kept", told.post_s), ("crew's day", told.get_s)):
        calm, away = told.calm(times), told.calm(times, is_calm=False)
        print(
            f"{name}: {len(calm)} answers, median {1e3 * calm[len(calm) // 2]:.0f} ms, "
            f"95 % within {1e3 * p95(calm):.0f} ms, slowest {1e3 * calm[-1]:.0f} ms; "
            f"round the kill {len(away)}, 95 % within {1e3 * p95(away):.0f} ms"
        )
    print(f"tries without an answer (server down): {told.failed}")
    print(f"written {len(told.written)}, there {len(there)}, lost {len(lost)}, doubled {doubled}")
    is_slow = max(p95(told.calm(times)) for times in (told.post_s, told.get_s)) >= LIMIT_S
    return int(bool(lost) or doubled > 0 or is_slow)


if __name__ == "__main__":
    sys.exit(main(float(sys.argv[1]) if len(sys.argv) > 1 else 60.0))
