"""What an edit at the desk costs when many came before it.

Run: ``python benchmarks/bench_desk.py``; a minute. A server of its own holds the demo's job; edits
are sent as the desk sends them, one at a time, each followed by the draft read again, as every
open desk does when it hears of one. Fails when an edit after 10,000 costs over three times one
after 200: it should cost the same.
"""

from __future__ import annotations

import itertools
import sys
import time
from collections.abc import Iterator
from statistics import median
from typing import Any

from served import Served, served_demo

COUNTS = (200, 2_000, 10_000)
TRIES = 40
BATCH = 500
MOST_TIMES = 3.0


def main() -> None:
    """Fill the draft up to each count and measure there."""
    edits = _edits()
    costs = []
    with served_demo() as server:
        sent = 0
        for count in COUNTS:
            while sent < count:
                batch = min(BATCH, count - sent)
                _send(server, [next(edits) for _ in range(batch)])
                sent += batch
            costs.append(_measured(server, count, edits))
            sent += TRIES
    sys.exit(1 if costs[-1] > MOST_TIMES * costs[0] else 0)


def _measured(server: Served, count: int, edits: Iterator[dict[str, Any]]) -> float:
    first = _spent(lambda: server.ask("/api/draft"))
    _spent(lambda: server.ask("/api/draft/check"))
    kept, read, check = [], [], []
    for _ in range(TRIES):
        one = next(edits)
        kept.append(_spent(lambda one=one: _send(server, [one])))
        read.append(_spent(lambda: server.ask("/api/draft")))
        check.append(_spent(lambda: server.ask("/api/draft/check")))
    each = [keeping + reading for keeping, reading in zip(kept, read, strict=True)]
    print(
        f"{count:6,} before: kept {median(kept):.1f} ms, draft read {median(read):.1f} ms, "
        f"both {median(each):.1f} ms an edit; check {median(check):.0f} ms; "
        f"first reading after filling {first:.0f} ms",
        flush=True,
    )
    return median(each)


def _send(server: Served, edits: list[dict[str, Any]]) -> None:
    server.ask("/api/draft/edits", {"edits": edits})


def _spent(work: Any) -> float:
    begun = time.perf_counter()
    work()
    return 1000.0 * (time.perf_counter() - begun)


def _edits() -> Iterator[dict[str, Any]]:
    """What somebody types: names, notes of assets, the day's doubts; never two alike."""
    for number in itertools.count():
        name = {"id": f"edit-{number:08}"}
        if number % 3:
            yield name | {"kind": "text", "key": "job.name", "text": f"Alder Bend {number}"}
        else:
            row = {"list": "assets", "row": f"bench-{number % 20}"}
            yield name | {"kind": "row", **row, "fields": {"note": f"note {number}"}}


if __name__ == "__main__":
    main()
