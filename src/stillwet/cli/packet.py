"""``stillwet packet``: the whole job as one PDF to print."""

from __future__ import annotations

from contextlib import nullcontext
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


@click.command("packet", short_help="Print the whole job: one PDF that stands alone.")
@job_argument
@click.option(
    "--out",
    type=click.Path(dir_okay=False, path_type=Path),
    default=Path("packet.pdf"),
    show_default=True,
    metavar="PACKET.pdf",
    help="The file to write.",
)
@click.option(
    "--crews/--no-crews",
    "with_crews",
    default=True,
    show_default=True,
    help="Plan the crews' day, or leave the crew sheets out.",
)
@search_options
@view_options
@address_option
@members_option
@now_option
@talk_options
@click.pass_obj
def command(
    talk: Talk,
    job: Path,
    out: Path,
    with_crews: bool,
    iterations: int | None,
    seconds: float | None,
    units: str | None,
    paper: str,
    address: str,
    members: int | None,
    now: str | None,
) -> None:
    """Write everything about the job in JOB as one PDF, to print and hand out.

    Cover with the answer, map, a card for each asset, crew sheets, mixing card, line sheets,
    weather, a pocket table of hold times for work without a computer, cautions, and forms for the
    log, clean-up, spills, use and cost. Ctrl-C ends the search for crews and goes on with the best
    found so far; a second one stops for good.

    \b
    Examples:
      stillwet packet job.toml
      stillwet packet day.gpkg --out day.pdf --units metric --paper a4
      stillwet packet job.toml --no-crews
      stillwet packet job.toml --seconds 60
    """  # noqa: D301 (click wants the backspace character itself)
    from stillwet.services.clock import moment_s
    from stillwet.services.crewing import Knobs
    from stillwet.services.packing import packet_of_job
    from stillwet.services.view import View

    need_one_length(iterations, seconds)
    with asked_to_stop() if with_crews else nullcontext(lambda: False) as should_stop:
        packed = packet_of_job(
            job,
            out,
            now_s=moment_s(now),
            with_crews=with_crews,
            knobs=Knobs(iterations=iterations, seconds=seconds),
            view=View(units or "", paper=paper, address=address),
            members=members,
            progress=talk.progress,
            should_stop=should_stop,
        )
    talk.answer(packed.text(), *packed.kept)
