"""``stillwet new``: a commented starter job."""

from __future__ import annotations

from pathlib import Path

import click

from stillwet.cli.talk import Talk, talk_options


@click.command("new", short_help="Write a commented starter job into DIR.")
@click.argument("folder", type=click.Path(path_type=Path), metavar="DIR")
@talk_options
@click.pass_obj
def command(talk: Talk, folder: Path) -> None:
    """Write a commented starter job into DIR, which must be new or empty.

    The starter plans as it is, for tomorrow; change it line by line into your own job.

    \b
    Examples:
      stillwet new my-job
      stillwet plan my-job/job.toml
    """  # noqa: D301 (click wants the backspace character itself)
    from stillwet.services.clock import moment_s
    from stillwet.services.starter import write_starter

    job = write_starter(folder, now_s=moment_s(None))
    click.echo(job)
    talk.note(f"next: stillwet plan {job} --out {folder / 'plan'}")
