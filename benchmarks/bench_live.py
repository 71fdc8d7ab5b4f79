"""From a coat logged to a screen that knows: 1, 10 and 40 screens on server-sent events.

Run: ``python benchmarks/bench_live.py [ROUNDS]`` (20 unless given). The demo's job is served by
``stillwet serve`` on loopback. In each round one program logs a check; every screen hears of it,
asks for the whole board (97 faces) as the page does, and has it. Seconds from before the entry is
sent, so that keeping it on the disk is in them. "Heard" is the event, "board" the answer that shows
it. Fails when one event in twenty takes a second or more to be heard.
"""

from __future__ import annotations

import asyncio
import sys
import time
import uuid

import httpx2
from served import NOW, Served, served_demo

from stillwet.services.keeping import read_kept_job

SCREENS = (1, 10, 40)
LIMIT_S = 1.0
PATIENCE_S = 60.0


class Screen:
    """One screen: a stream of changes, and the board asked for after each."""

    def __init__(self, client: httpx2.AsyncClient) -> None:
        self._client = client
        self.is_up = asyncio.Event()
        self.heard: list[float] = []
        self.boards: list[tuple[float, int]] = []  # when it came, and the log's row in it

    async def run(self) -> None:
        """Listen until cancelled."""
        async with self._client.stream("GET", "/api/events", timeout=None) as stream:
            self.is_up.set()
            async for line in stream.aiter_lines():
                if line.startswith("data:"):
                    self.heard.append(time.perf_counter())
                    answer = await self._client.get("/api/board", timeout=PATIENCE_S)
                    self.boards.append((time.perf_counter(), answer.json()["log_row"]))


async def measure(served: Served, face: str, screens: int, rounds: int) -> list[list[float]]:
    """Seconds until each screen heard, and until it had the board, of all rounds."""
    heard: list[float] = []
    had: list[float] = []
    limits = httpx2.Limits(max_connections=None)
    async with httpx2.AsyncClient(base_url=served.address, limits=limits) as client:
        every = [Screen(client) for _ in range(screens)]
        tasks = [asyncio.create_task(screen.run()) for screen in every]
        await asyncio.gather(*(screen.is_up.wait() for screen in every))
        for number in range(rounds):
            begun = time.perf_counter()
            row = await _log(client, served.address, face)
            for screen in every:
                heard.append(await _first(screen.heard, begun) - begun)
                had.append(await _shown(screen, row) - begun)
            await asyncio.sleep(0.5 + 0.1 * (number % 5))
        for task in tasks:
            task.cancel()
    return [sorted(heard), sorted(had)]


async def _log(client: httpx2.AsyncClient, address: str, face: str) -> int:
    """Log a check; returns its row."""
    entry = {
        "id": str(uuid.uuid4()),
        "when": NOW,
        "by": "bench",
        "kind": "check",
        "face": face,
        "feel": "wet",
    }
    body = {"entries": [entry]}
    answer = await client.post("/api/log", json=body, headers={"origin": address}, timeout=30.0)
    assert answer.json()["entries"][0]["became"] == "kept", answer.text
    told = await client.get("/api/log", params={"after": 0}, timeout=30.0)
    rows = {one["id"]: one["row"] for one in told.json()["entries"]}
    return int(rows[entry["id"]])


async def _first(moments: list[float], after: float) -> float:
    until = time.perf_counter() + PATIENCE_S
    while time.perf_counter() < until:
        for moment in moments:
            if moment >= after:
                return moment
        await asyncio.sleep(0.01)
    raise SystemExit("a screen heard nothing")


async def _shown(screen: Screen, row: int) -> float:
    until = time.perf_counter() + PATIENCE_S
    while time.perf_counter() < until:
        for moment, known in screen.boards:
            if known >= row:
                return moment
        await asyncio.sleep(0.01)
    raise SystemExit("a screen's board never showed the entry")


def share(times: list[float], part: float) -> float:
    """The time that this part of them stay within; of times in order."""
    return times[int(part * (len(times) - 1))]


def main(rounds: int) -> int:
    """Print the times; 1 when changes are not heard in under a second."""
    slowest = 0.0
    with served_demo() as served:
        job = read_kept_job(served.path)
        asset = next(asset for asset in job.assets if asset.kind == "house")
        print("screens  heard p50  p95     board p50  p95     (ms)")
        for screens in SCREENS:
            found = asyncio.run(measure(served, f"{asset.id}/north-wall", screens, rounds))
            words = [f"{1e3 * share(one, part):9.0f}" for one in found for part in (0.5, 0.95)]
            print(f"{screens:7d}" + " ".join(words))
            slowest = max(slowest, share(found[0], 0.95))
    return int(slowest >= LIMIT_S)


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 20))
