"""``stillwet explain``: the chain of numbers behind an answer, and what it hangs on."""

from __future__ import annotations

from pathlib import Path

import click

from stillwet.cli.choices import job_argument, members_option, seed_option, units_option
from stillwet.cli.talk import Talk, talk_options


@click.command("explain", short_help="Say why: the chain of numbers, and what it hangs on.")
@job_argument
@click.argument("asset", required=False, metavar="[ASSET]")
@click.option(
    "--out",
    type=click.Path(dir_okay=False, path_type=Path),
    metavar="FILE.svg|FILE.png",
    help="Also draw what the answer hangs on to this file.",
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
    asset: str | None,
    out: Path | None,
    as_json: bool,
    units: str | None,
    seed: int | None,
    members: int | None,
) -> None:
    """Say why the plan of the job in JOB says what it says.

    With ASSET, an id or a name: every number on the way to that asset's answer, with its model, its
    source and what it stood on, untested defaults marked; and which uncertain quantities the answer
    hangs on most. Without ASSET: what the whole plan hangs on.

    \b
    Examples:
      stillwet explain job.toml
      stillwet explain job.toml a1
      stillwet explain job.toml "Tool shed" --out why.png --units metric
    """  # noqa: D301 (click wants the backspace character itself)
    from stillwet.services.explaining import explain_job

    found = explain_job(
        job, asset, out, units=units, seed=seed, members=members, progress=talk.progress
    )
    talk.answer(found.json_text() if as_json else found.text(), wrote=(out,))
