"""``stillwet left``: water left on each face, and the minutes to go."""

from __future__ import annotations

from pathlib import Path

import click

from stillwet.cli.choices import now_option, units_option
from stillwet.cli.talk import Talk, talk_options


@click.command("left", short_help="Say what is left on each face now, worst first.")
@click.argument("job", type=click.Path(path_type=Path), metavar="JOB.gpkg")
@click.option("--json", "as_json", is_flag=True, help="Print JSON, not text.")
@now_option
@units_option
@talk_options
@click.pass_obj
def command(talk: Talk, job: Path, as_json: bool, now: str | None, units: str | None) -> None:
    """Say how much water is left on each coated face and for how many minutes it still holds.

    From the field log in JOB.gpkg: coats as they were laid, checks and weather as they were met.
    Checks of one face also tell of its neighbours. How far they moved the answer is shown.

    \b
    Examples:
      stillwet left day.gpkg
      stillwet left day.gpkg --json --units metric
    """  # noqa: D301 (click wants the backspace character itself)
    from stillwet.services.clock import moment_s
    from stillwet.services.left import show_left

    found = show_left(job, now_s=moment_s(now), units=units, progress=talk.progress)
    talk.answer(found.json_text() if as_json else found.text())
