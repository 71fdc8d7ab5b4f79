"""``stillwet compare``: plan beside plan, and what a change flips."""

from __future__ import annotations

from pathlib import Path

import click

from stillwet.cli.choices import job_argument, members_option, seed_option, units_option
from stillwet.cli.talk import Talk, talk_options


@click.command("compare", short_help="Say what flips if wind, arrival or a default is another.")
@job_argument
@click.option(
    "--set",
    "changes",
    multiple=True,
    metavar="KEY=CHANGE",
    help='A change: "wind=+30%", "arrival=-2 h", "setback=20 ft". May be given again.',
)
@click.option("--each", is_flag=True, help="Try the changes one at a time, not together.")
@click.option(
    "--out",
    type=click.Path(dir_okay=False, path_type=Path),
    metavar="FILE.csv",
    help="Also write one row an asset and change to this file.",
)
@click.option("--json", "as_json", is_flag=True, help="Print JSON, not text.")
@units_option
@seed_option
@members_option
@talk_options
@click.pass_obj
def command(
    talk: Talk,
    job: Path,
    changes: tuple[str, ...],
    each: bool,
    out: Path | None,
    as_json: bool,
    units: str | None,
    seed: int | None,
    members: int | None,
) -> None:
    """Set the plan of the job in JOB beside the plan that a change makes of it.

    A change is a key, an equals sign, and "+30%" (scale), "+3 C" or "-2 h" (shift) or "20 mph"
    (set). Of a number that is itself a share, "%" means points. A wrong key prints all of them.
    Without --set the usual doubts are tried one at a time.

    \b
    Examples:
      stillwet compare job.toml
      stillwet compare job.toml --set wind=+30% --set "arrival=-2 h"
      stillwet compare job.toml --each --set "setback=+10 ft" --set "coat variation=0.5"
    """  # noqa: D301 (click wants the backspace character itself)
    from stillwet.services.comparing import compare_job

    found = compare_job(
        job,
        changes,
        out,
        each=each,
        units=units,
        seed=seed,
        members=members,
        progress=talk.progress,
    )
    talk.answer(found.json_text() if as_json else found.text(), wrote=(out,))
