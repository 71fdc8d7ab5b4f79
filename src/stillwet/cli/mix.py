"""``stillwet mix``: the mix window, the ratio to set, and the card to mix by."""

from __future__ import annotations

from pathlib import Path

import click

from stillwet.cli.choices import (
    job_argument,
    members_option,
    paper_option,
    seed_option,
    units_option,
)
from stillwet.cli.talk import Talk, talk_options


@click.command("mix", short_help="Say which ratio to set, and what stops a leaner or richer one.")
@job_argument
@click.option("--asset", metavar="ASSET", help="One asset alone, by id or name.")
@click.option(
    "--out",
    type=click.Path(dir_okay=False, path_type=Path),
    metavar="FILE.svg|FILE.png",
    help="Also draw the ratio axis with its walls to this file.",
)
@click.option(
    "--card",
    type=click.Path(dir_okay=False, path_type=Path),
    metavar="CARD.pdf",
    help="Also write the mixing card, to print.",
)
@click.option("--json", "as_json", is_flag=True, help="Print JSON, not text.")
@units_option
@paper_option("card")
@seed_option
@members_option
@talk_options
@click.pass_obj
def command(
    talk: Talk,
    job: Path,
    asset: str | None,
    out: Path | None,
    card: Path | None,
    as_json: bool,
    units: str | None,
    paper: str,
    seed: int | None,
    members: int | None,
) -> None:
    """Say which mix ratio to set for the job in JOB, crew by crew.

    The window lies between the leanest mix that keeps the coats of the plan and the richest that
    the label allows, still wets the face and still comes out of each crew's nozzle. A proportioner
    strays, so the ratio to set leaves room for that. Where no ratio does it, the wall that is hit
    is named: the label, the pump, or hard water.

    \b
    Examples:
      stillwet mix job.toml
      stillwet mix job.toml --asset a1 --units metric
      stillwet mix job.toml --out window.png --card card.pdf
    """  # noqa: D301 (click wants the backspace character itself)
    from stillwet.services.mixing import mix_of_job

    mixed = mix_of_job(
        job,
        asset,
        figure=out,
        card=card,
        units=units,
        paper=paper,
        seed=seed,
        members=members,
        progress=talk.progress,
    )
    talk.answer(mixed.json_text() if as_json else mixed.text(), wrote=(out, card))
