"""``stillwet suits``: is gel the right thing here, and what to use instead."""

from __future__ import annotations

from pathlib import Path

import click

from stillwet.cli.choices import members_option, seed_option
from stillwet.cli.talk import Talk, talk_options

# As in domain/suitability.py (Task), which is not imported here so that --help stays quick; a test
# holds the two together.
TASKS = (
    "direct attack",
    "structure",
    "vegetation",
    "line",
    "reinforcement",
    "mop-up",
    "pretreatment long ahead",
    "wetting a dried coat",
)


@click.command("suits", short_help="Say where gel is right, where only if, and where not.")
@click.argument("job", type=click.Path(path_type=Path), metavar="[JOB.toml]", required=False)
@click.option(
    "--task",
    type=click.Choice(TASKS),
    help="Compare water, wetting agent, foam, gel and retardant for this task instead.",
)
@click.option("--json", "as_json", is_flag=True, help="Print JSON, not text.")
@seed_option
@members_option
@talk_options
@click.pass_obj
def command(
    talk: Talk,
    job: Path | None,
    task: str | None,
    as_json: bool,
    seed: int | None,
    members: int | None,
) -> None:
    """Say of each asset and line of JOB.toml: use gel, only if, or do not.

    Each verdict comes with why, what to do instead or on which condition, and where the rule comes
    from. Distances to streams and wells are measured on the map; wind and ratio are those of the
    plan. With --task, the agents are compared for one task; a job is not needed then.

    \b
    Examples:
      stillwet suits job.toml
      stillwet suits job.toml --json
      stillwet suits --task mop-up
    """  # noqa: D301 (click wants the backspace character itself)
    from stillwet.services.suiting import agents_for, suits_of_job

    if job is None and task is None:
        raise click.UsageError("give a JOB.toml, or --task with one of: " + ", ".join(TASKS))
    if task is not None:
        compared = agents_for(task, job)
        click.echo(compared.json_text() if as_json else compared.text())
        return
    assert job is not None  # looked at above
    suited = suits_of_job(job, seed=seed, members=members, progress=talk.progress)
    talk.answer(suited.json_text() if as_json else suited.text())
