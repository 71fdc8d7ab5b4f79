"""The hub: everybody hears, nobody who is slow holds it up, whoever was away is told."""

from __future__ import annotations

import pytest

from own_loop import run_alone
from stillwet.web import live
from stillwet.web.live import MOST_WAITING, Hub


async def _heard(hub: Hub, count: int, last_id: str = "") -> list[bytes]:
    stream = hub.listen(last_id)
    return [await anext(stream) for _ in range(count)]


def test_a_change_is_heard_by_all() -> None:
    """Two listeners get the same event with its id."""

    async def play() -> None:
        hub = Hub()
        streams = [hub.listen(), hub.listen()]
        for stream in streams:
            await anext(stream)
        hub.publish("log")
        events = [await anext(stream) for stream in streams]
        assert events[0] == events[1]
        assert b'"topic": "log"' in events[0]
        assert events[0].startswith(b"id: ")

    run_alone(play())


def test_whoever_was_away_hears_what_changed() -> None:
    """Last-Event-ID: only newer topics; of another run of the server: that anything may have."""

    async def play() -> None:
        hub = Hub()
        hub.publish("log")
        last = (await _heard(hub, 2, "other-7"))[1].split(b"\n")[0].removeprefix(b"id: ").decode()
        hub.publish("plan")
        (_, event) = await _heard(hub, 2, last)
        assert b'"topic": "plan"' in event
        assert b'"topic": "all"' in (await _heard(hub, 2, "elsewhere-1"))[1]

    run_alone(play())


def test_a_slow_listener_is_let_go() -> None:
    """One that does not read is dropped; publishing never waits for it."""

    async def play() -> None:
        hub = Hub()
        stream = hub.listen()
        await anext(stream)
        for _ in range(MOST_WAITING + 1):
            hub.publish("log")
        assert hub.listeners == 0
        assert [event async for event in stream] == []  # the stream is over: it comes back anew

    run_alone(play())


def test_a_quiet_line_is_kept_open(monkeypatch: pytest.MonkeyPatch) -> None:
    """With nothing to tell, a comment comes now and then."""
    monkeypatch.setattr(live, "HEARTBEAT_S", 0.01)

    async def play() -> None:
        assert (await _heard(Hub(), 2))[1] == b": still here\n\n"

    run_alone(play())
