"""``stillwet keep``: a job's files become one job file."""

from __future__ import annotations

from pathlib import Path

import click

from stillwet.cli.talk import Talk, talk_options


@click.command("keep", short_help="Keep a job in one file, with its log and plans.")
@click.argument("source", type=click.Path(path_type=Path), metavar="JOB.toml")
@click.argument("target", type=click.Path(path_type=Path), metavar="JOB.gpkg")
@click.option("--dry-run", is_flag=True, help="Read and check everything, write nothing.")
@talk_options
@click.pass_obj
def command(talk: Talk, source: Path, target: Path, dry_run: bool) -> None:
    """Keep the job in JOB.toml, with all the files it names, in the one file JOB.gpkg.

    Every verb that takes JOB.toml takes JOB.gpkg as well. Plans made from it are kept in it, and so
    is the field log. If JOB.gpkg holds a job already, the new one takes its place: log and plans
    stay, and a backup is made first. Copies of the file open in any GIS.

    \b
    Examples:
      stillwet keep my-job/job.toml day.gpkg
      stillwet plan day.gpkg
      stillwet doctor day.gpkg
    """  # noqa: D301 (click wants the backspace character itself)
    from stillwet.services.clock import moment_s
    from stillwet.services.keeping import keep_job

    kept = keep_job(source, target, now_s=moment_s(None), dry_run=dry_run)
    click.echo(kept.text())
    if dry_run:
        talk.note("dry run: nothing written")
