"""What is said beside the result: progress and notes, always on stderr."""

from __future__ import annotations

import sys
import threading
import time
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any, TypeVar

import click

PATIENCE_S = 1.0  # work shorter than this says nothing
TICK_S = 0.25

Command = TypeVar("Command", bound=Callable[..., Any])


class Talk:
    """One command's talk: a progress line once the work has taken a second, and plain notes.

    The line is drawn by a thread, so that a long step without news still shows that time passes.
    """

    def __init__(self) -> None:
        self.quiet = False
        self.debug = False
        self._label = ""
        self._fraction = 0.0
        self._begun = 0.0
        self._done = threading.Event()
        self._thread: threading.Thread | None = None
        self._drawn = 0

    def progress(self, label: str, fraction: float) -> None:
        """Take news of the work: what is being done and the share of it that is behind us."""
        self._label, self._fraction = label, min(1.0, max(0.0, fraction))
        if self._thread is None and not self.quiet and sys.stderr.isatty():
            self._begun = time.monotonic()
            self._thread = threading.Thread(target=self._draw_until_done, daemon=True)
            self._thread.start()

    def note(self, text: str) -> None:
        """Say one thing, unless asked to be quiet."""
        self.finish()
        if not self.quiet:
            click.echo(text, err=True)

    def answer(self, text: str, *notes: str, wrote: Iterable[Path | None] = ()) -> None:
        """Print the result, then say beside it what else there is to know and what was written."""
        self.finish()
        click.echo(text)
        for words in filter(None, notes):
            self.note(words)
        if written := ", ".join(str(path) for path in wrote if path is not None):
            self.note(f"wrote {written}")

    def finish(self) -> None:
        """Take the progress line away."""
        if self._thread is not None:
            self._done.set()
            self._thread.join()
            self._thread = None
            self._done.clear()

    def _draw_until_done(self) -> None:
        if self._done.wait(PATIENCE_S):
            return
        while not self._done.wait(TICK_S):
            self._draw()
        self._wipe()

    def _draw(self) -> None:
        seconds = time.monotonic() - self._begun
        line = f"{self._fraction:4.0%}  {self._label}  ({seconds:.0f} s)"[:78]
        sys.stderr.write("\r" + line.ljust(self._drawn))
        sys.stderr.flush()
        self._drawn = len(line)

    def _wipe(self) -> None:
        if self._drawn:
            sys.stderr.write("\r" + " " * self._drawn + "\r")
            sys.stderr.flush()
            self._drawn = 0


def talk_options(command: Command) -> Command:
    """Give a verb its ``--quiet`` and ``--debug``."""

    def setter(ctx: click.Context, option: click.Parameter, value: bool) -> None:
        talk = ctx.find_object(Talk)
        if talk is not None and value and option.name is not None:
            setattr(talk, option.name, True)

    quiet = click.option(
        "--quiet", is_flag=True, expose_value=False, callback=setter, help="No progress, no notes."
    )
    debug = click.option(
        "--debug",
        is_flag=True,
        expose_value=False,
        callback=setter,
        help="Show the whole trace if something unexpected happens.",
    )
    return quiet(debug(command))
