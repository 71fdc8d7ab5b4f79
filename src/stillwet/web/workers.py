"""Reckoning beside the server, in processes of their own: slow work never holds up a phone.

A process can be killed, a thread cannot: so every answer has a time limit, and stopping is sure.
"""

from __future__ import annotations

import asyncio
import multiprocessing
import sys
import threading
import traceback
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from importlib import import_module
from importlib.util import find_spec
from multiprocessing.connection import Connection
from typing import Any, Protocol

from stillwet.errors import Problem, StillwetError
from stillwet.web.trouble import RefusedError

Progress = Callable[[str, float], None]
READING_BYTES = 4_000_000_000  # memory to read a file in; untested default, 2 to 8 GB


class Desk(Protocol):
    """Whoever answers calls by name."""

    async def call(self, name: str, *arguments: object, limit_s: float) -> Any:
        """The answer of the method ``name``."""

    def stop(self) -> None:
        """End it."""


@dataclass(frozen=True, slots=True)
class _Bad:
    problems: tuple[Problem, ...]


_TOO_LARGE = _Bad((Problem("memory", "work that fits in it", "more", "", "give it less"),))


class Worker:
    """A process that keeps one object and answers calls of its methods, one at a time.

    ``make`` and ``arguments`` have to be importable and picklable: the process is a fresh one.
    """

    def __init__(
        self, make: Callable[..., object], *arguments: object, most_bytes: int | None = None
    ) -> None:
        self._make, self._arguments, self._most_bytes = make, arguments, most_bytes
        self._lock = threading.Lock()
        self._process: multiprocessing.process.BaseProcess | None = None
        self._line: Connection | None = None

    async def call(self, name: str, *arguments: object, limit_s: float) -> Any:
        """The answer of a method; after ``limit_s`` the process is killed and that is told."""
        return await asyncio.to_thread(self._call, name, arguments, limit_s)

    def stop(self) -> None:
        """Kill the process; the next call starts a fresh one."""
        process, self._process, self._line = self._process, None, None
        if process is not None:
            process.kill()
            process.join()

    def _call(self, name: str, arguments: tuple[object, ...], limit_s: float) -> Any:
        with self._lock:
            line = self._started()
            try:
                line.send((name, arguments))
                if not line.poll(limit_s):
                    self.stop()
                    wanted = f"an answer within {limit_s:.0f} s"
                    raise RefusedError(503, Problem("reckoning", wanted, "none", "", "try again"))
                answer = line.recv()
            except (EOFError, OSError):
                self.stop()
                got = "a worker that stopped"
                raise RefusedError(
                    503, Problem("reckoning", "an answer", got, "", "try again")
                ) from None
        return _opened(answer)

    def _started(self) -> Connection:
        if self._line is None or self._process is None or not self._process.is_alive():
            self.stop()
            self._process, self._line = _start(
                _serve, self._most_bytes, self._make, self._arguments
            )
        return self._line


class Job:
    """One piece of work in a process of its own, with progress; it can be stopped at any moment.

    ``work(*arguments, progress)`` runs there; what it returns is the result.
    """

    def __init__(
        self,
        work: Callable[..., object],
        *arguments: object,
        limit_s: float,
        most_bytes: int | None = None,
    ) -> None:
        self._process, self._line = _start(_work, most_bytes, work, arguments)
        self._limit_s = limit_s
        self.label, self.share = "starting", 0.0

    async def result(self) -> Any:
        """The result when it is there; raises what the work raised, or that it was stopped."""
        try:
            return await asyncio.to_thread(self._result)
        finally:
            self.stop()  # also when nobody waits for it any more: else its thread would

    def stop(self) -> None:
        """Kill it."""
        self._process.kill()

    def _result(self) -> Any:
        try:
            while self._line.poll(self._limit_s):
                kind, *rest = self._line.recv()
                if kind != "progress":
                    return _opened((kind, *rest))
                self.label, self.share = rest
            wanted = f"news within {self._limit_s:.0f} s"
            raise RefusedError(503, Problem("work", wanted, "none", "", "it was stopped"))
        except (EOFError, OSError):
            raise RefusedError(409, Problem("work", "to be finished", "it was stopped")) from None
        finally:
            self._process.kill()
            self._process.join()


def _start(
    target: Callable[..., None], *arguments: object
) -> tuple[multiprocessing.process.BaseProcess, Connection]:
    context = multiprocessing.get_context("spawn")
    here, there = context.Pipe()
    process = context.Process(target=target, args=(there, *arguments), daemon=True)
    process.start()
    there.close()
    return process, here


def _serve(
    line: Connection,
    most_bytes: int | None,
    make: Callable[..., object],
    arguments: tuple[object, ...],
) -> None:
    """The worker's whole life: make the object, answer until nobody asks any more."""
    _bound_memory(most_bytes)
    made: object | None = None
    while True:
        try:
            name, given = line.recv()
        except (EOFError, KeyboardInterrupt):
            return
        try:
            if made is None:
                made = make(*arguments)
            answer = ("done", getattr(made, name)(*given))
        except StillwetError as error:
            answer = ("bad", _Bad(error.problems))
        except MemoryError:
            answer = ("bad", _TOO_LARGE)
        except KeyboardInterrupt:
            return
        except Exception as error:
            traceback.print_exception(error, file=sys.stderr)
            answer = ("fault", f"{type(error).__name__}: {error}")
        line.send(answer)


def _work(
    line: Connection,
    most_bytes: int | None,
    work: Callable[..., object],
    arguments: tuple[object, ...],
) -> None:
    def progress(label: str, share: float) -> None:
        line.send(("progress", label, share))

    _bound_memory(most_bytes)
    try:
        line.send(("done", work(*arguments, progress)))
    except StillwetError as error:
        line.send(("bad", _Bad(error.problems)))
    except MemoryError:
        line.send(("bad", _TOO_LARGE))
    except KeyboardInterrupt:
        return
    except Exception as error:
        traceback.print_exception(error, file=sys.stderr)
        line.send(("fault", f"{type(error).__name__}: {error}"))


def _bound_memory(most_bytes: int | None) -> None:
    """Let the system refuse this process more memory than it may have, where it can."""
    if most_bytes is None:
        return
    if find_spec("resource") is None:  # Windows: there the time limit alone has to do
        return
    resource = import_module("resource")
    _, hard = resource.getrlimit(resource.RLIMIT_DATA)
    with suppress(ValueError, OSError):  # a system that does not let itself be asked
        resource.setrlimit(resource.RLIMIT_DATA, (most_bytes, hard))


def _opened(answer: tuple[str, Any]) -> Any:
    kind, what = answer
    if kind == "bad":
        raise StillwetError(what.problems)
    if kind == "fault":
        raise RuntimeError(what)
    return what
