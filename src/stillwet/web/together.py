"""Writes that come while the disk is busy share its next turn: one commit, and all are answered."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable, Sequence
from typing import Generic, TypeVar

Given = TypeVar("Given")
Became = TypeVar("Became")


class Together(Generic[Given, Became]):
    """Hands what has gathered to ``write`` at once; one answer each, in order.

    Nobody is answered before ``write`` has returned. If it fails, it has failed for all of that
    turn. A write that comes alone does not wait for others.
    """

    def __init__(self, write: Callable[[Sequence[Given]], Awaitable[Sequence[Became]]]) -> None:
        self._write = write
        self._waiting: list[tuple[Given, asyncio.Future[Became]]] = []
        self._turn: asyncio.Task[None] | None = None

    async def add(self, item: Given) -> Became:
        """Have this written with whatever else is waiting."""
        answer: asyncio.Future[Became] = asyncio.get_running_loop().create_future()
        self._waiting.append((item, answer))
        if self._turn is None:
            self._turn = asyncio.ensure_future(self._run())
        return await answer

    async def _run(self) -> None:
        try:
            while self._waiting:
                turn, self._waiting = self._waiting, []
                await self._one_turn(turn)
        finally:
            self._turn = None

    async def _one_turn(self, turn: list[tuple[Given, asyncio.Future[Became]]]) -> None:
        try:
            answers = await self._write([item for item, _answer in turn])
        except Exception as error:
            for _item, answer in turn:
                if not answer.done():
                    answer.set_exception(error)
            return
        for (_item, answer), became in zip(turn, answers, strict=True):
            if not answer.done():  # whoever went away has still been written
                answer.set_result(became)
