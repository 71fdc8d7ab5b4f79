"""``stillwet export``: a job taken out as files."""

from __future__ import annotations

from pathlib import Path

import click

from stillwet.cli.talk import Talk, talk_options

_FORMS = ("geojson", "csv", "xlsx", "gpkg", "gpx")


@click.command("export", short_help="Take a job out as tables or map files.")
@click.argument("source", type=click.Path(path_type=Path), metavar="JOB")
@click.option(
    "--to",
    "folder",
    type=click.Path(path_type=Path),
    required=True,
    metavar="FOLDER",
    help="Folder for the files; new or empty.",
)
@click.option(
    "--as",
    "form",
    type=click.Choice(_FORMS),
    default="geojson",
    show_default=True,
    help="Kind of the lists' files.",
)
@click.option("--dry-run", is_flag=True, help="Read and make everything, write nothing.")
@talk_options
@click.pass_obj
def command(talk: Talk, source: Path, folder: Path, form: str, dry_run: bool) -> None:
    """Write the job in JOB (JOB.toml or JOB.gpkg) into FOLDER, which must be new or empty.

    FOLDER gets a job.toml and the lists it names: assets, lines, streams, roads, water, crews and
    the rest. It is a job like any other: every verb reads it, and it says the same to the last
    figure. csv and xlsx hold shapes as text; geojson, gpkg and gpx hold them as shapes, and put
    what has no place on a map into CSV. No cell is ever run by a spreadsheet.

    \b
    Examples:
      stillwet export my-job/job.toml --to out
      stillwet export day.gpkg --to out --as xlsx
      stillwet plan out/job.toml
    """  # noqa: D301 (click wants the backspace character itself)
    from stillwet.exchange.sheets import Form
    from stillwet.services.exporting import export_job

    made = export_job(source, folder, form=Form(form), dry_run=dry_run)
    click.echo(made.text())
    for remark in made.remarks:
        talk.note(remark)
    if dry_run:
        talk.note("dry run: nothing written")
