"""Writes that wait share one commit; nobody is answered before it, and a fault is told to all."""

from __future__ import annotations

import asyncio
from collections.abc import Sequence

import pytest

from own_loop import run_alone
from stillwet.web.together import Together


def test_those_that_wait_share_the_next_turn() -> None:
    """The first goes alone; all that come while it writes go together, each with its own answer."""
    turns: list[list[int]] = []

    async def play() -> list[int]:
        async def write(items: Sequence[int]) -> Sequence[int]:
            turns.append(list(items))
            await asyncio.sleep(0.01)
            return [item * 10 for item in items]

        together = Together(write)
        return list(await asyncio.gather(*(together.add(number) for number in range(5))))

    assert run_alone(play()) == [0, 10, 20, 30, 40]
    assert [item for turn in turns for item in turn] == [0, 1, 2, 3, 4]
    assert len(turns) <= 2


def test_a_fault_is_told_to_all_of_its_turn_and_to_nobody_else() -> None:
    """A full disk answers those whose write it was; the next write is tried as ever."""

    async def play() -> tuple[list[object], int]:
        is_full = True

        async def write(items: Sequence[int]) -> Sequence[int]:
            if is_full:
                raise OSError("full")
            return list(items)

        together = Together(write)
        waiting = (together.add(1), together.add(2))
        failed = list(await asyncio.gather(*waiting, return_exceptions=True))
        is_full = False
        return list(failed), await together.add(3)

    failed, after = run_alone(play())
    assert [type(one) for one in failed] == [OSError, OSError]
    assert after == 3


def test_whoever_goes_away_is_written_all_the_same() -> None:
    """A phone that hangs up has its entry kept; the others are answered."""
    kept: list[int] = []

    async def play() -> int:
        async def write(items: Sequence[int]) -> Sequence[int]:
            await asyncio.sleep(0.01)
            kept.extend(items)
            return list(items)

        together = Together(write)
        gone = asyncio.ensure_future(together.add(1))
        stays = asyncio.ensure_future(together.add(2))
        await asyncio.sleep(0)
        gone.cancel()
        with pytest.raises(asyncio.CancelledError):
            await gone
        return await stays

    assert run_alone(play()) == 2
    assert kept == [1, 2]
