"""``stillwet plan``: a job's files become a plan a crew can hold."""

from __future__ import annotations

from pathlib import Path

import click

from stillwet.cli.choices import job_argument, members_option, now_option, seed_option, view_options
from stillwet.cli.talk import Talk, talk_options


@click.command("plan", short_help="Make the plan of a job and print it.")
@job_argument
@click.option(
    "--out",
    type=click.Path(file_okay=False, path_type=Path),
    help="Folder for plan.json, plan.pdf, plan.gpkg and plan.csv (made if missing).",
)
@click.option("--json", "as_json", is_flag=True, help="Print the plan as JSON, not as a table.")
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
    """Make the plan of the job in JOB and print it.

    JOB is a JOB.toml with the files it names, or a JOB.gpkg made by stillwet keep, in which the
    plan is then kept. With --out the plan is also written as plan.json, plan.pdf, plan.gpkg and
    plan.csv; they appear whole or not at all.

    \b
    Examples:
      stillwet plan job.toml
      stillwet plan job.toml --out plan --units metric --paper a4
      stillwet plan job.toml --json
    """  # noqa: D301 (click wants the backspace character itself)
    from stillwet.services.clock import moment_s
    from stillwet.services.planning import plan_job
    from stillwet.services.view import View

    planned = plan_job(
        job,
        out,
        now_s=moment_s(now),
        seed=seed,
        members=members,
        view=View(units or "", paper=paper),
        progress=talk.progress,
    )
    talk.answer(
        planned.json_text() if as_json else planned.text(), planned.kept, wrote=planned.files
    )
