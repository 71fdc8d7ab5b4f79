"""``stillwet demo``: an invented hamlet on a hot, dry, windy day."""

from __future__ import annotations

from pathlib import Path

import click

from stillwet.cli.choices import view_options
from stillwet.cli.talk import Talk, talk_options


@click.command("demo", short_help="Plan an invented hamlet on a hot, dry, windy day.")
@click.option(
    "--out",
    type=click.Path(file_okay=False, path_type=Path),
    default=Path("stillwet-demo"),
    show_default=True,
    help="Folder for the demo's job files and its plan.",
)
@view_options
@talk_options
@click.pass_obj
def command(talk: Talk, out: Path, units: str | None, paper: str) -> None:
    """Plan an invented job: places, people, product and weather are all made up.

    Copies the job's files to OUT/job, writes its plan beside them and prints the table.

    \b
    Examples:
      stillwet demo
      stillwet demo --out demo --units metric
    """  # noqa: D301 (click wants the backspace character itself)
    from stillwet.services.demo import run_demo
    from stillwet.services.view import View

    planned = run_demo(out, view=View(units or "", paper=paper), progress=talk.progress)
    talk.answer(planned.text(), wrote=planned.files)
