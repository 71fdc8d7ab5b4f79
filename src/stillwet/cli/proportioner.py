"""``stillwet proportioner``: does it deliver the mix, what to set, does it drift."""

from __future__ import annotations

from pathlib import Path

import click

from stillwet.cli.choices import paper_option, units_option
from stillwet.cli.talk import Talk, talk_options


@click.command("proportioner", short_help="Say what a proportioner delivers and what to set.")
@click.argument(
    "checks", required=False, type=click.Path(path_type=Path), metavar="[CHECKS.csv|.toml]"
)
@click.option(
    "--job",
    type=click.Path(path_type=Path),
    metavar="JOB.toml",
    help="Hold it against the mix window of this job.",
)
@click.option(
    "--window", metavar="RATIOS", help='Hold it against this mix window ("0.9 % to 1.3 %").'
)
@click.option("--wanted", metavar="RATIO", help='Say what to set to get this ratio ("1 %").')
@click.option(
    "--out",
    type=click.Path(dir_okay=False, path_type=Path),
    metavar="FILE.svg|FILE.png",
    help="Also draw the run chart to this file.",
)
@click.option(
    "--form",
    type=click.Path(dir_okay=False, path_type=Path),
    metavar="FORM.pdf",
    help="Write the form to print and fill by hand.",
)
@click.option("--json", "as_json", is_flag=True, help="Print JSON, not text.")
@click.option(
    "--time-zone",
    default="UTC",
    show_default=True,
    metavar="ZONE",
    help="Zone of times without one, and of the days that are counted.",
)
@units_option
@paper_option("form")
@talk_options
@click.pass_obj
def command(
    talk: Talk,
    checks: Path | None,
    job: Path | None,
    window: str | None,
    wanted: str | None,
    out: Path | None,
    form: Path | None,
    as_json: bool,
    time_zone: str,
    units: str | None,
    paper: str,
) -> None:
    """Say what a proportioner really delivers, from the checks in a table or TOML file.

    Each check gives the delivered ratio with its uncertainty (95 %) and is held against the mix
    window and, beside it, against the tolerance published for foam. Where the method is too coarse
    to say, that is said. All checks together give the bias over dial and flow, what to set, whether
    it drifts, and how it holds from day to day.

    \b
    Examples:
      stillwet proportioner --form form.pdf
      stillwet proportioner checks.csv --wanted "1 %"
      stillwet proportioner checks.csv --window "0.9 % to 1.3 %" --out chart.png
      stillwet proportioner checks.csv --job job.toml --json
    """  # noqa: D301 (click wants the backspace character itself)
    from stillwet.services.proportioner import check_proportioner, need_form_place, write_form

    if checks is None and form is None:
        raise click.UsageError("Give a file of checks, or --form to print one to fill.")
    if form is not None:
        need_form_place(form)
    if checks is not None:
        checked = check_proportioner(
            checks,
            job=job,
            window=window,
            wanted=wanted,
            figure=out,
            time_zone=time_zone,
            units=units,
            progress=talk.progress,
        )
        said = checked.json_text() if as_json else checked.text()
        talk.answer(said, *checked.remarks, wrote=(out,))
    if form is not None:  # after the checks: faulty ones leave nothing written
        write_form(form, units=units, paper=paper)
        talk.note(f"wrote {form}")
