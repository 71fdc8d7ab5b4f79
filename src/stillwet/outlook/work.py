"""The work of an outlook: blocks shared out, written where they belong, and never done twice.

Each block is read, reckoned and written by one worker alone, into chunks of its own, and then
marked in a folder beside the store. A run that was broken off, by a killed worker or a killed
client, goes on from the marks. A block's answer does not depend on who reckoned it or beside whom.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from stillwet.errors import Problem, StillwetError
from stillwet.outlook.ask import Answer, Ask
from stillwet.outlook.layout import Block, Layout, choose_layout
from stillwet.outlook.loading import Forecast, load_region, open_forecast
from stillwet.outlook.memory import keep_memory
from stillwet.outlook.opening import format_of
from stillwet.outlook.region import region_answers
from stillwet.outlook.staging import stage_forecast
from stillwet.outlook.store import close_store, create_store, write_block

Progress = Callable[[str, float], None]
_IN_FLIGHT_A_WORKER = 2  # enough to keep each busy; more would only be held in the scheduler
_RETRIES = 2


@dataclass(frozen=True, slots=True)
class Means:
    """What the work may use: processes here or a scheduler's address, memory, a graphics card."""

    workers: int = 1
    scheduler: str | None = None
    memory_bytes: int = 2 * 2**30
    card: bool = False


@dataclass(frozen=True, slots=True)
class Work:
    """What every block of a run shares: where from and to, the question, the cut."""

    source: Path
    out: Path
    ask: Ask
    answers: tuple[Answer, ...]
    card: bool
    layout: Layout


def marks_folder(out: Path) -> Path:
    """Where a run keeps its marks until it is whole."""
    return out.with_name(out.name + ".unfinished")


def reckon_outlook(
    source: Path,
    out: Path,
    ask: Ask,
    answers: tuple[Answer, ...],
    means: Means,
    progress: Progress | None = None,
) -> tuple[Layout, int]:
    """Reckon the outlook of a forecast into a Zarr folder; returns the layout and blocks done now.

    ``out`` must not be there, unless a run of the same question was broken off: then it goes on.
    """
    tell = progress or (lambda _label, _share: None)
    forecast = open_forecast(source)
    layout = choose_layout(
        forecast.grid, ask, memory_bytes=means.memory_bytes, workers=means.workers
    )
    marks = marks_folder(out)
    layout = _begin(
        out, marks, _question(forecast, ask, answers, means.card), forecast, ask, answers, layout
    )
    at = source
    if format_of(source) == "grib" and layout.count > 1:
        at = stage_forecast(forecast, marks / "forecast.zarr", layout, tell)
    pending = [block for block in layout.blocks() if not (marks / block.name).exists()]
    done = layout.count - len(pending)
    work = Work(at.absolute(), out.absolute(), ask, answers, means.card, layout)
    for finished, problems in enumerate(_shared_out(work, pending, means), 1):
        if problems:
            raise StillwetError(problems)
        tell("reckoning blocks", (done + finished) / layout.count)
    close_store(out)
    shutil.rmtree(marks)
    return layout, len(pending)


def _question(forecast: Forecast, ask: Ask, answers: tuple[Answer, ...], card: bool) -> str:
    """What tells one run from another: the question and the forecast's own state."""
    place = forecast.path / "zarr.json" if forecast.path.is_dir() else forecast.path
    state = place.stat() if place.exists() else forecast.path.stat()
    said = {
        "ask": asdict(ask),
        "answers": [answer.name for answer in answers],
        "card": card,
        "forecast": [str(forecast.path.absolute()), state.st_size, state.st_mtime_ns],
    }
    return hashlib.sha256(json.dumps(said, sort_keys=True).encode()).hexdigest()


def _begin(
    out: Path,
    marks: Path,
    question: str,
    forecast: Forecast,
    ask: Ask,
    answers: tuple[Answer, ...],
    layout: Layout,
) -> Layout:
    """Make the store, or take up the one that a broken-off run of this question left."""
    note = marks / "question.json"
    if out.exists() and not note.exists():
        raise StillwetError(
            Problem("--out", "a name that is not taken", "one that is", str(out), "choose another")
        )
    if note.exists():
        kept = json.loads(note.read_text(encoding="utf-8"))
        if kept["question"] != question or not out.exists():
            hint = f"delete {out.name} and {marks.name}, or choose another name"
            got = "the rest of another question, broken off"
            raise StillwetError(Problem("--out", "a name that is not taken", got, str(out), hint))
        return Layout(**kept["layout"])
    marks.mkdir(parents=True, exist_ok=True)
    create_store(out, forecast, ask, answers, layout)
    _write_safely(note, json.dumps({"question": question, "layout": asdict(layout)}))
    return layout


def _write_safely(path: Path, text: str) -> None:
    fresh = path.with_name(path.name + f".{os.getpid()}")
    with fresh.open("w", encoding="utf-8") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())
    fresh.replace(path)


@lru_cache(maxsize=2)
def _opened(source: Path) -> Forecast:
    return open_forecast(source)


def do_block(work: Work, block: Block) -> tuple[Problem, ...]:
    """Read, reckon, write and mark one block; returns what was wrong with its weather."""
    keep_memory()
    rows, columns = slice(block.row, block.row_end), slice(block.column, block.column_end)
    try:
        weather = load_region(_opened(work.source), rows, columns)
    except StillwetError as error:
        return error.problems
    if work.card:
        from stillwet.outlook.card import region_answers_by_card

        found = region_answers_by_card(weather, work.ask)
    else:
        found = region_answers(weather, work.ask)
    marks = marks_folder(work.out)
    write_block(work.out, marks, work.layout, block, work.answers, found)
    (marks / block.name).touch()
    return ()


def _shared_out(work: Work, pending: list[Block], means: Means) -> Iterator[tuple[Problem, ...]]:
    """What each block had to complain of, as it ends: in this process or by a cluster."""
    if means.scheduler is None and means.workers == 1:
        for block in pending:
            yield do_block(work, block)
        return
    with _client(means) as client:
        yield from _by_cluster(client, work, pending)


def _by_cluster(client: Any, work: Work, pending: Iterable[Block]) -> Iterator[tuple[Problem, ...]]:
    """Blocks through a scheduler, a few a worker at a time; a lost worker's block is done again."""
    from distributed import as_completed

    workers = max(len(client.scheduler_info(n_workers=-1)["workers"]), 1)
    waiting = iter(pending)
    running = as_completed()

    def send() -> None:
        block = next(waiting, None)
        if block is not None:
            running.add(client.submit(do_block, work, block, pure=False, retries=_RETRIES))

    for _ in range(workers * _IN_FLIGHT_A_WORKER):
        send()
    for future in running:
        yield future.result()
        send()


@contextmanager
def _client(means: Means) -> Iterator[Any]:
    """A client of the scheduler asked for, or of fresh processes on this machine."""
    try:
        from distributed import Client, LocalCluster
    except ImportError:
        hint = 'pip install "stillwet[outlook]", or use one worker'
        raise StillwetError(
            Problem("--workers", "the outlook extra", "distributed is not installed", "", hint)
        ) from None
    if means.scheduler is not None:
        try:
            client = Client(means.scheduler, timeout=20)
        except (OSError, ValueError) as error:
            got = f"{type(error).__name__} at {means.scheduler}"
            wanted = "the address of a running scheduler"
            raise StillwetError(Problem("--scheduler", wanted, got)) from None
        try:
            yield client
        finally:
            client.close()
        return
    with (
        LocalCluster(
            n_workers=means.workers,
            threads_per_worker=1,
            processes=True,
            dashboard_address=None,
            memory_limit=0,
        ) as cluster,
        Client(cluster) as client,
    ):
        yield client
