"""``stillwet trial``: add readings, fit the mix, say what to try next, print the form."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from stillwet.cli.choices import units_option, view_options
from stillwet.cli.talk import Talk, talk_options

Command = TypeVar("Command", bound=Callable[..., Any])

_TRIALS = click.argument(
    "trials", required=False, type=click.Path(path_type=Path), metavar="[TRIALS.csv|.xlsx]"
)
_ZONE = click.option(
    "--time-zone",
    default="UTC",
    show_default=True,
    metavar="ZONE",
    help="Zone of times without one.",
)


def _about_options(command: Command) -> Command:
    """Give a verb what it takes to know whose trials these are and what is asked of them."""
    options = (
        click.option(
            "--job",
            type=click.Path(path_type=Path),
            metavar="JOB.toml",
            help="Product, waters and safety of this job; its own trials if no file is given.",
        ),
        click.option("--type", "kind", metavar="TYPE", help="Product type, where there is no job."),
        click.option("--product", metavar="ID", help="One product of a file with several."),
        click.option(
            "--coat",
            metavar="DEPTH",
            help='Coat to be kept on a wall; "1/8 in" if not given.',
        ),
        click.option(
            "--hardness",
            metavar="HARDNESS",
            help='Hardness of the water asked about ("180 ppm"); those tried if not given.',
        ),
        click.option("--seed", type=click.IntRange(min=0), help="Seed of the draws."),
        click.option("--json", "as_json", is_flag=True, help="Print JSON, not text."),
        _ZONE,
        units_option,
        talk_options,
    )
    for option in reversed(options):
        command = option(command)
    return command


@click.group("trial", short_help="Learn the mix from trials, and what to try next.")
def command() -> None:
    """Turn a bucket, a funnel, a board and a watch into a ratio to set.

    Trials stand in a table, one row a mix with whatever was read off it; rows of one "series" are a
    coat weighed while it dries. Where a job file names the table under [trials], plans take the fit
    in place of a default once it passes the stated rule, and say so.

    \b
    Examples:
      stillwet trial form form.pdf
      stillwet trial next --type clay
      stillwet trial add trials.csv ratio="1 %" hardness="120 ppm" age="20 min" coat="3/16 in"
      stillwet trial fit trials.csv --type superabsorbent_dispersion
      stillwet trial next trials.csv --job job.toml
    """  # noqa: D301 (click wants the backspace character itself)


@command.command("add", short_help="Add one trial to a table, or begin one.")
@click.argument("trials", type=click.Path(dir_okay=False, path_type=Path), metavar="TRIALS.csv")
@click.argument("values", nargs=-1, required=True, metavar='FIELD="VALUE"...')
@_ZONE
@click.option("--dry-run", is_flag=True, help="Check the row, write nothing.")
@talk_options
@click.pass_obj
def add(
    talk: Talk, trials: Path, values: tuple[str, ...], time_zone: str, *, dry_run: bool
) -> None:
    """Add one trial to a table, or begin one; the file is replaced whole or left as it was.

    Every value carries its unit. Fields are those of the table's columns: ratio, hardness,
    water_temperature, age, and readings: coat with tilt (and slid=no if it stood), slump with
    cylinder_height, spread_diameter with spread_volume, funnel, viscosity, yield_stress.

    \b
    Examples:
      stillwet trial add trials.csv ratio="1 %" hardness="120 ppm" age="20 min" coat="3/16 in"
      stillwet trial add trials.csv --dry-run ratio="1 %" hardness="120 ppm" age="1 h" funnel="45 s"
    """  # noqa: D301 (click wants the backspace character itself)
    from stillwet.services.trials import add_trial

    pairs = [value.partition("=") for value in values]
    wrong = [name for name, sign, _ in pairs if not sign]
    if wrong:
        raise click.UsageError(f'Write FIELD="VALUE", not {wrong[0]!r}.')
    if len({name.strip() for name, _, _ in pairs}) < len(pairs):
        raise click.UsageError("Each field once.")
    given = {name.strip(): value.strip() for name, _, value in pairs}
    count = add_trial(trials, given, time_zone=time_zone, is_dry=dry_run)
    talk.note(
        f"the row is sound; nothing written to {trials}"
        if dry_run
        else f"added to {trials}: {count} {'trial' if count == 1 else 'trials'} there now"
    )


@command.command("fit", short_help="Say what the trials make of the product.")
@_TRIALS
@_about_options
@click.pass_obj
def fit(talk: Talk, /, trials: Path | None, **given: Any) -> None:
    """Say what the trials make of the product: bands, odd readings, whether plans take it.

    \b
    Examples:
      stillwet trial fit trials.csv --type superabsorbent_dispersion
      stillwet trial fit trials.csv --job job.toml --coat "1/4 in" --json
    """  # noqa: D301 (click wants the backspace character itself)
    if trials is None and given["job"] is None:
        raise click.UsageError("Give a table of trials, or --job with one that names its own.")
    _look(talk, trials, propose=False, **given)


@command.command("next", short_help="Say which trial to make next, and why.")
@_TRIALS
@_about_options
@click.pass_obj
def next_trial(talk: Talk, /, trials: Path | None, **given: Any) -> None:
    """Say which trial would narrow the mix window most, and why; without a table, the first one.

    \b
    Examples:
      stillwet trial next --type clay --hardness "180 ppm"
      stillwet trial next trials.csv --type superabsorbent_dispersion
    """  # noqa: D301 (click wants the backspace character itself)
    _look(talk, trials, propose=True, **given)


def _look(talk: Talk, trials: Path | None, *, propose: bool, **given: Any) -> None:
    from stillwet.services.trials import About, look_at_trials

    names = ("job", "kind", "product", "coat", "hardness", "time_zone")
    talk.progress("fitting", 0.2)
    found = look_at_trials(
        trials,
        About(**{name: given[name] for name in names}),
        propose=propose,
        units=given["units"],
        seed=given["seed"],
    )
    talk.answer(found.json_text() if given["as_json"] else found.text(), *found.remarks)


@command.command("form", short_help="Write the form for a day of trials.")
@click.argument("out", type=click.Path(dir_okay=False, path_type=Path), metavar="FORM.pdf")
@view_options
@talk_options
@click.pass_obj
def form(talk: Talk, out: Path, units: str | None, paper: str) -> None:
    """Write the form for a day of trials, one page to print and fill by hand.

    \b
    Example:
      stillwet trial form form.pdf --paper a4 --units metric
    """  # noqa: D301 (click wants the backspace character itself)
    from stillwet.services.trials import write_trial_form

    write_trial_form(out, units=units, paper=paper)
    talk.note(f"wrote {out}")
