"""``stillwet log``: write in the field log, show it, take in another device's."""

from __future__ import annotations

from pathlib import Path

import click

from stillwet.cli.choices import now_option, units_option
from stillwet.cli.talk import Talk, talk_options

# As in domain/log.py (KINDS), which is not imported here so that --help stays quick; a test holds
# the two together.
KINDS = (
    "coat",
    "check",
    "weather",
    "ignition",
    "wetted",
    "lit",
    "fire",
    "outcome",
    "stock",
    "spill",
    "washed",
    "withdrawn",
)
_JOB = click.argument("job", type=click.Path(path_type=Path), metavar="JOB.gpkg")


@click.group("log", short_help="Keep the field log: coats, checks, weather, fire, water.")
def command() -> None:
    """Write down what was done and seen; an entry is never changed, only corrected by a later one.

    \b
    Examples:
      stillwet log add day.gpkg coat faces=a1 coat="1/8 in" ratio="1.5 %" by=Ash when=13:40
      stillwet log add day.gpkg check face=a1/north-wall feel=tacky by=Ash when="5 min ago"
      stillwet log show day.gpkg
      stillwet log merge day.gpkg other.gpkg
    """  # noqa: D301 (click wants the backspace character itself)


@command.command("add", short_help="Write one entry.")
@_JOB
@click.argument("kind", type=click.Choice(KINDS), metavar="KIND")
@click.argument("values", nargs=-1, metavar='FIELD="VALUE"...')
@click.option("--dry-run", is_flag=True, help="Check the entry, write nothing.")
@now_option
@talk_options
@click.pass_obj
def add(
    talk: Talk, job: Path, kind: str, values: tuple[str, ...], *, dry_run: bool, now: str | None
) -> None:
    """Write one entry of this KIND in the log of JOB.gpkg.

    \b
    KIND        FIELDS
    coat        faces, then coat (gauged) or mix (sprayed) or neither (as planned); ratio, crew,
                and the weather met: temperature, humidity, wind, wind_from, rain
    check       face, then feel (wet, tacky, dry) or weighed; coupon, photo
    weather     temperature, humidity, wind, wind_from, rain
    ignition    place
    wetted      segment (l1/s1), then up_to (a distance into it; 0 ft: it begins) or neither (to
                its end); coverage, mix, crew
    lit         segment, then up_to or neither (to its end)
    fire        asset (the front has passed it)
    outcome     asset, fate (unharmed, scorched, damaged, lost)
    stock       crew, water_taken, water_left, concentrate_taken, concentrate_left
    spill       substance, place, amount, reached_water
    washed      faces
    withdrawn   replaces (that entry was a mistake)

    Every kind also takes by (who; required), when (14:30, "20 min ago", a whole date; now if not
    given), note, device, replaces (the first figures of the id of the entry it corrects), and id (a
    UUID: writing the same entry twice changes nothing). Amounts carry their unit. An asset's id or
    name stands for all its faces; several are parted by commas.

    \b
    Examples:
      stillwet log add day.gpkg coat faces="a1/north-wall, a2" mix="55 gal" by=Ash
      stillwet log add day.gpkg check face=a1/south-roof weighed="2.1 mm" coupon=k1 by=Ash
      stillwet log add day.gpkg weather temperature="31 C" humidity="18 %" wind="12 km/h" by=Ash
    """  # noqa: D301 (click wants the backspace character itself)
    from stillwet.services.clock import moment_s
    from stillwet.services.logbook import write_entry

    given: dict[str, object] = {"kind": kind}
    for value in values:
        name, sign, text = value.partition("=")
        name = name.strip()
        if not sign:
            raise click.UsageError(f'Write FIELD="VALUE", not {value!r}.')
        if name in given:
            raise click.UsageError(f"{name!r} is given twice.")
        given[name] = text.strip()
    logged = write_entry(job, given, now_s=moment_s(now), is_dry=dry_run)
    if dry_run:
        talk.note("the entry is sound; nothing written")
    else:
        click.echo(f"{logged.receipt.value}: {logged.entry.kind} {logged.entry.id}")
    for remark in logged.remarks:
        click.echo(f"NOTE: {remark}", err=True)


@command.command("show", short_help="Show the log as it stands.")
@_JOB
@click.option("--all", "is_all", is_flag=True, help="Also the entries that have been corrected.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON, not text; always everything.")
@units_option
@talk_options
def show(job: Path, *, is_all: bool, as_json: bool, units: str | None) -> None:
    """Show the entries that stand, oldest first, corrections followed.

    \b
    Examples:
      stillwet log show day.gpkg
      stillwet log show day.gpkg --all --units metric
    """  # noqa: D301 (click wants the backspace character itself)
    from stillwet.services.logbook import show_log

    shown = show_log(job, units=units, is_all=is_all)
    click.echo(shown.json_text() if as_json else shown.text())


@command.command("merge", short_help="Take in the log of another file of the same job.")
@_JOB
@click.argument("other", type=click.Path(path_type=Path), metavar="OTHER.gpkg")
@talk_options
def merge(job: Path, other: Path) -> None:
    """Take every entry of OTHER.gpkg into JOB.gpkg; OTHER.gpkg is only read.

    Two files that have taken in each other's log say the same, whatever the order. Entries are
    never lost: where two tell different things under one id, both are kept and told.

    \b
    Example:
      stillwet log merge day.gpkg tablet.gpkg
    """  # noqa: D301 (click wants the backspace character itself)
    from stillwet.services.logbook import merge_log

    click.echo(f"{job}: {merge_log(job, other).text()}")
