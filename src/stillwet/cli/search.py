"""How long the search for the crews' day may take, and how a person ends it."""

from __future__ import annotations

import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType
from typing import Any, TypeVar

import click

Command = TypeVar("Command", bound=Callable[..., Any])


def search_options(command: Command) -> Command:
    """Give a verb ``--iterations`` and ``--seconds``."""
    iterations = click.option(
        "--iterations",
        type=click.IntRange(min=0),
        help="Length of each search for crews [default: 1000]; same number and seed, same plan.",
    )
    seconds = click.option(
        "--seconds",
        type=click.FloatRange(min=0.1),
        help="Search for so long in all instead; another machine may find another plan.",
    )
    return iterations(seconds(command))


def need_one_length(iterations: int | None, seconds: float | None) -> None:
    """Raise if both are given: a search has one end."""
    if iterations is not None and seconds is not None:
        raise click.UsageError("give --iterations or --seconds, not both")


@contextmanager
def asked_to_stop() -> Iterator[Callable[[], bool]]:
    """While inside, the first Ctrl-C only asks to stop, and says so; the second interrupts."""
    asked = threading.Event()
    if threading.current_thread() is not threading.main_thread():
        yield asked.is_set  # signals reach the main thread only
        return

    def on_interrupt(_number: int, _frame: FrameType | None) -> None:
        if asked.is_set():
            raise KeyboardInterrupt
        asked.set()
        click.echo("\ngoing on with the best found so far; Ctrl-C again stops for good", err=True)

    before = signal.signal(signal.SIGINT, on_interrupt)
    try:
        yield asked.is_set
    finally:
        signal.signal(signal.SIGINT, before)
