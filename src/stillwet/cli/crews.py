"""``stillwet crews``: who sprays what, in which order, from which water."""

from __future__ import annotations

from pathlib import Path

import click

from stillwet.cli.choices import (
    address_option,
    job_argument,
    members_option,
    now_option,
    view_options,
)
from stillwet.cli.search import asked_to_stop, need_one_length, search_options
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
@search_options
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
    units: str | None,
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
    from stillwet.services.view import View

    need_one_length(iterations, seconds)
    with asked_to_stop() as should_stop:
        crewed = crew_job(
            job,
            out,
            now_s=moment_s(now),
            knobs=Knobs(iterations=iterations, seconds=seconds, seed=seed),
            status_file=status,
            view=View(units or "", paper=paper, address=address),
            members=members,
            progress=talk.progress,
            should_stop=should_stop,
        )
    talk.answer(crewed.json_text() if as_json else crewed.text(), crewed.kept, wrote=crewed.files)
