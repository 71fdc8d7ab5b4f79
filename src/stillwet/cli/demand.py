"""``stillwet demand``: how hard the sky pulls water from each facing, hour by hour."""

from __future__ import annotations

from pathlib import Path

import click

from stillwet.cli.choices import job_argument, units_option
from stillwet.cli.talk import Talk, talk_options


@click.command("demand", short_help="Show the drying demand by facing and hour.")
@job_argument
@click.option(
    "--out",
    type=click.Path(dir_okay=False, path_type=Path),
    metavar="FILE.svg|FILE.png",
    help="Also draw the figure to this file.",
)
@click.option("--json", "as_json", is_flag=True, help="Print JSON, not a table.")
@units_option
@talk_options
@click.pass_obj
def command(talk: Talk, job: Path, out: Path | None, as_json: bool, units: str | None) -> None:
    """Show the drying demand by facing and hour for the job in JOB.

    \b
    Examples:
      stillwet demand job.toml
      stillwet demand job.toml --out drying.png
      stillwet demand job.toml --json
    """  # noqa: D301 (click wants the backspace character itself)
    from stillwet.services.demand import demand_of_job

    found = demand_of_job(job, out, units=units, progress=talk.progress)
    talk.answer(found.json_text() if as_json else found.text(), wrote=(out,))
