"""Live updates: whoever listens hears within a moment that something has changed.

An event says only what changed, not how: the listener asks for it. So a lost event costs one stale
moment, never wrong data, and one who was away hears on coming back what changed meanwhile.
"""

from __future__ import annotations

import asyncio
import json
import secrets
from collections.abc import AsyncIterator
from dataclasses import dataclass, field

HEARTBEAT_S = 10.0
MOST_WAITING = 32  # events that a listener may lag behind before it is dropped
MOST_LISTENERS = 200
_RETRY_MS = 1000


@dataclass(eq=False)
class Listener:
    """One open stream."""

    events: asyncio.Queue[bytes | None] = field(default_factory=lambda: asyncio.Queue(MOST_WAITING))
    is_dropped: bool = False


class Hub:
    """Counts changes by topic and tells every listener. Lives on the server's own loop."""

    def __init__(self) -> None:
        self._mark = secrets.token_hex(4)  # of this run of the server
        self._version = 0
        self._versions: dict[str, int] = {}
        self._listeners: set[Listener] = set()

    @property
    def version(self) -> int:
        """The number of changes since the server was started."""
        return self._version

    @property
    def listeners(self) -> int:
        """How many streams are open."""
        return len(self._listeners)

    def publish(self, topic: str) -> None:
        """Tell that a topic ("log", "plan", "draft", "people") has changed."""
        self._version += 1
        self._versions[topic] = self._version
        event = self._event(topic, self._version)
        for listener in tuple(self._listeners):
            self._send(listener, event)

    def close(self) -> None:
        """End every stream, so that the server can stop."""
        for listener in tuple(self._listeners):
            self._drop(listener)

    async def listen(self, last_id: str = "") -> AsyncIterator[bytes]:
        """A stream of events; ``last_id`` is the last one heard before, to go on from."""
        listener = Listener()
        self._listeners.add(listener)
        try:
            yield f"retry: {_RETRY_MS}\n: listening\n\n".encode()
            for event in self._missed(last_id):
                yield event
            while not listener.is_dropped:
                yield await self._next(listener)
        finally:
            self._listeners.discard(listener)

    async def _next(self, listener: Listener) -> bytes:
        try:
            event = await asyncio.wait_for(listener.events.get(), HEARTBEAT_S)
        except TimeoutError:
            return b": still here\n\n"
        return b": closed\n\n" if event is None else event

    def _missed(self, last_id: str) -> list[bytes]:
        """What changed since ``last_id``; all topics for one from another run of the server."""
        if not last_id:
            return []
        mark, _, number = last_id.partition("-")
        known = int(number) if mark == self._mark and number.isdecimal() else -1
        if known < 0:
            return [self._event("all", self._version)]
        newer = [(one, topic) for topic, one in self._versions.items() if one > known]
        return [self._event(topic, one) for one, topic in sorted(newer)]

    def _event(self, topic: str, version: int) -> bytes:
        data = json.dumps({"topic": topic, "version": version})
        return f"id: {self._mark}-{version}\nevent: changed\ndata: {data}\n\n".encode()

    def _send(self, listener: Listener, event: bytes) -> None:
        try:
            listener.events.put_nowait(event)
        except asyncio.QueueFull:
            self._drop(listener)

    def _drop(self, listener: Listener) -> None:
        """Let go of one who does not read; it may come back and go on from its last event."""
        self._listeners.discard(listener)
        listener.is_dropped = True
        while not listener.events.empty():
            listener.events.get_nowait()
        listener.events.put_nowait(None)
