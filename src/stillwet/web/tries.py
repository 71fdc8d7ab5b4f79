"""How often join codes may be tried."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable

from stillwet.errors import Problem
from stillwet.web.trouble import RefusedError

MOST_TRIES, TRIES_S = 5, 60.0  # join codes that one address may try in a time
MOST_TRIES_ALL = 60  # and all addresses together
MOST_ADDRESSES = 1000  # remembered


class Tries:
    """How often join codes have been tried: by each address, and by all together."""

    def __init__(self, clock: Callable[[], float]) -> None:
        self._clock = clock
        self._by_address: dict[str, deque[float]] = {}
        self._all: deque[float] = deque()

    def count(self, address: str) -> None:
        """Count a try; raises RefusedError when there have been too many."""
        now_s = self._clock()
        self._forget(now_s)
        mine = self._by_address.setdefault(address, deque())
        for tries in (mine, self._all):
            while tries and tries[0] <= now_s - TRIES_S:
                tries.popleft()
        if len(mine) >= MOST_TRIES or len(self._all) >= MOST_TRIES_ALL:
            wanted = f"at most {MOST_TRIES} tries a minute"
            raise RefusedError(429, Problem("code", wanted, "more", "", "wait a minute"))
        mine.append(now_s)
        self._all.append(now_s)

    def _forget(self, now_s: float) -> None:
        """Let go of addresses that have not tried lately, so that many cannot fill the memory."""
        if len(self._by_address) < MOST_ADDRESSES:
            return
        self._by_address = {
            name: tries
            for name, tries in self._by_address.items()
            if tries and tries[-1] > now_s - TRIES_S
        }
        while len(self._by_address) >= MOST_ADDRESSES:
            self._by_address.pop(next(iter(self._by_address)))
