"""``stillwet line``: how much to spray on a line, how soon to light behind it, when to stop."""

from __future__ import annotations

from pathlib import Path

import click

from stillwet.cli.choices import job_argument, members_option, now_option, seed_option, view_options
from stillwet.cli.talk import Talk, talk_options


@click.command("line", short_help="Reckon wetted lines: coverage, lag to lighting, schedule.")
@job_argument
@click.option(
    "--out",
    type=click.Path(file_okay=False, path_type=Path),
    help="Folder for lines.json, lines.pdf and a figure a line (made if missing).",
)
@click.option("--json", "as_json", is_flag=True, help="Print JSON, not text.")
@view_options
@seed_option
@members_option
@now_option
@talk_options
@click.pass_obj
def command(
    talk: Talk,
    job: Path,
    out: Path | None,
    as_json: bool,
    units: str | None,
    paper: str,
    seed: int | None,
    members: int | None,
    now: str | None,
) -> None:
    """Reckon the wetted lines of the job in JOB and print them.

    For every segment and hour: the coverage, how long the strip stays wet enough, and the longest
    time from wetting to lighting; then the schedule of both crews, refills, and the rules that stop
    the torch. Published guidance on gel for burn lines is divided: the local rule decides.

    \b
    Examples:
      stillwet line job.toml
      stillwet line job.toml --out lines --units metric --paper a4
      stillwet line job.toml --json
    """  # noqa: D301 (click wants the backspace character itself)
    from stillwet.services.clock import moment_s
    from stillwet.services.lines import lines_of_job
    from stillwet.services.view import View

    found = lines_of_job(
        job,
        out,
        now_s=moment_s(now),
        seed=seed,
        members=members,
        view=View(units or "", paper=paper),
        progress=talk.progress,
    )
    talk.answer(found.json_text() if as_json else found.text(), found.kept, wrote=found.files)
