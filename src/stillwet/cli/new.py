"""``stillwet new``: a commented starter job."""

from __future__ import annotations

from pathlib import Path

import click

from stillwet.cli.talk import Talk, talk_options
from stillwet.units import SYSTEMS


@click.command("new", short_help="Write a commented starter job into DIR.")
@click.argument("folder", type=click.Path(path_type=Path), metavar="DIR")
@click.option(
    "--units",
    type=click.Choice(SYSTEMS),
    default=SYSTEMS[0],
    show_default=True,
    help="Units of the starter's numbers, and of what is shown of its job.",
)
@talk_options
@click.pass_obj
def command(talk: Talk, folder: Path, units: str) -> None:
    """Write a commented starter job into DIR, which must be new or empty.

    The starter plans as it is, for tomorrow; change it line by line into your own job.

    \b
    Examples:
      stillwet new my-job
      stillwet new my-job --units metric
      stillwet plan my-job/job.toml
    """  # noqa: D301 (click wants the backspace character itself)
    from stillwet.services.clock import moment_s
    from stillwet.services.starter import write_starter

    job = write_starter(folder, now_s=moment_s(None), units=units)
    click.echo(job)
    talk.note(f"next: stillwet plan {job} --out {folder / 'plan'}")
