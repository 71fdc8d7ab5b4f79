"""``stillwet after``: what was used, how the predictions did, what is left to clean and to do."""

from __future__ import annotations

from pathlib import Path

import click

from stillwet.cli.choices import now_option, view_options
from stillwet.cli.talk import Talk, talk_options


@click.command("after", short_help="Account for a job: use, cost, holding as seen, clean-up.")
@click.argument("job", type=click.Path(path_type=Path), metavar="JOB.gpkg")
@click.option(
    "--out",
    type=click.Path(file_okay=False, path_type=Path),
    help="Folder for the account's sheets, figure, tables, calendar and trials (made if missing).",
)
@click.option(
    "--plan",
    "plan_id",
    metavar="ID",
    help="The kept plan of coats to hold the log against; the newest if not given.",
)
@click.option("--json", "as_json", is_flag=True, help="Print JSON, not text.")
@view_options
@now_option
@talk_options
@click.pass_obj
def command(
    talk: Talk,
    job: Path,
    out: Path | None,
    plan_id: str | None,
    as_json: bool,
    units: str | None,
    paper: str,
    now: str | None,
) -> None:
    """Account for the job in JOB.gpkg from its field log.

    Use against plan by asset and crew, cost, how long coats held against what was predicted, gel
    still to be washed off, and what became of each asset. With --out: sheets (after.pdf), a figure
    (holding.svg), tables, a calendar of what is still to do, and the trials as the next job reads
    them. It is made at --now or at the log's last entry, whichever is later.

    \b
    Examples:
      stillwet after day.gpkg
      stillwet after day.gpkg --out after --units metric --paper a4
      stillwet after day.gpkg --json
    """  # noqa: D301 (click wants the backspace character itself)
    from stillwet.services.after import account_for
    from stillwet.services.clock import moment_s
    from stillwet.services.view import View

    found = account_for(
        job,
        out,
        now_s=moment_s(now),
        plan_id=plan_id,
        view=View(units or "", paper=paper),
        progress=talk.progress,
    )
    talk.answer(found.json_text() if as_json else found.text(), wrote=found.files)
