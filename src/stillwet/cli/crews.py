"""``stillwet crews``: who sprays what, in which order, from which water."""

from __future__ import annotations

import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from types import FrameType

import click

from stillwet.cli.choices import (
    address_option,
    job_argument,
    members_option,
    now_option,
    view_options,
)
from stillwet.cli.talk import Talk, talk_options


@click.command("crews", short_help="Plan who sprays what, in which order, from which water.")
@job_argument
@click.option(
    "--out",
    type=click.Path(file_okay=False, path_type=Path),
    metavar="DIR",
    help="Folder for the crew sheets (PDF), timeline (SVG), calendar, tracks and JSON.",
)
@click.option("--json", "as_json", is_flag=True, help="Print the crew plan as JSON, not as text.")
@click.option(
    "--iterations",
    type=click.IntRange(min=0),
    help="Length of each search [default: 1000]; same number and seed, same plan.",
)
@click.option(
    "--seconds",
    type=click.FloatRange(min=0.1),
    help="Search for so long in all instead; another machine may find another plan.",
)
@click.option(
    "--seed",
    type=click.IntRange(min=0),
    default=1,
    show_default=True,
    help="Seed of the search; that of the members is the job's own.",
)
@click.option(
    "--from-now",
    "status",
    type=click.Path(dir_okay=False, path_type=Path),
    metavar="FILE",
    help="Plan again from now: FILE (TOML or CSV) says what is done and where crews are.",
)
@view_options
@address_option
@members_option
@now_option
@talk_options
@click.pass_obj
def command(
    talk: Talk,
    job: Path,
    out: Path | None,
    as_json: bool,
    iterations: int | None,
    seconds: float | None,
    seed: int,
    status: Path | None,
    units: str,
    paper: str,
    address: str,
    members: int | None,
    now: str | None,
) -> None:
    """Plan the crews of the job in JOB: who sprays what, when, and what is left out and why.

    Ctrl-C ends the search and gives the best plan found so far; a second one stops for good.

    \b
    Examples:
      stillwet crews job.toml
      stillwet crews job.toml --out crews --units metric
      stillwet crews job.toml --seconds 60
      stillwet crews job.toml --from-now status.toml --out crews-again
    """  # noqa: D301 (click wants the backspace character itself)
    from stillwet.services.clock import moment_s
    from stillwet.services.crewing import Knobs, crew_job
    from stillwet.services.planning import View

    if iterations is not None and seconds is not None:
        raise click.UsageError("give --iterations or --seconds, not both")
    with asked_to_stop() as should_stop:
        crewed = crew_job(
            job,
            out,
            now_s=moment_s(now),
            knobs=Knobs(iterations=iterations, seconds=seconds, seed=seed),
            status_file=status,
            view=View(units=units, paper=paper, address=address),
            members=members,
            progress=talk.progress,
            should_stop=should_stop,
        )
    talk.finish()
    click.echo(crewed.json_text() if as_json else crewed.text())
    if crewed.kept:
        talk.note(crewed.kept)
    if out is not None:
        talk.note("wrote " + ", ".join(str(path) for path in crewed.files))


@contextmanager
def asked_to_stop() -> Iterator[Callable[[], bool]]:
    """While inside, the first Ctrl-C only asks to stop; the second interrupts as usual."""
    asked = threading.Event()
    if threading.current_thread() is not threading.main_thread():
        yield asked.is_set  # signals reach the main thread only
        return

    def on_interrupt(_number: int, _frame: FrameType | None) -> None:
        if asked.is_set():
            raise KeyboardInterrupt
        asked.set()

    before = signal.signal(signal.SIGINT, on_interrupt)
    try:
        yield asked.is_set
    finally:
        signal.signal(signal.SIGINT, before)
