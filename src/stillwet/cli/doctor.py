"""``stillwet doctor``: is the job file sound?"""

from __future__ import annotations

from pathlib import Path

import click

from stillwet.cli.choices import now_option
from stillwet.cli.talk import talk_options

UNSOUND = 2


@click.command("doctor", short_help="Say whether a job file is sound.")
@click.argument("job", type=click.Path(path_type=Path), metavar="JOB.gpkg")
@click.option("--json", "as_json", is_flag=True, help="Print JSON, not text.")
@now_option
@talk_options
@click.pass_context
def command(ctx: click.Context, job: Path, as_json: bool, now: str | None) -> None:
    """Examine the job file JOB.gpkg and change nothing in it.

    Looked at: every page, references between rows, the structure, whether layers and records agree,
    plans and log, entries about what the job lacks, clocks, room on the disk. The exit status is 2
    when something is wrong.

    \b
    Examples:
      stillwet doctor day.gpkg
      stillwet doctor day.gpkg --json
    """  # noqa: D301 (click wants the backspace character itself)
    from stillwet.services.clock import moment_s
    from stillwet.services.keeping import examine_job_file

    examined = examine_job_file(job, now_s=moment_s(now))
    click.echo(examined.json_text() if as_json else examined.text())
    if not examined.health.is_sound:
        ctx.exit(UNSOUND)
