"""Arguments and options that more than one verb takes."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from stillwet.units import SYSTEMS

Command = TypeVar("Command", bound=Callable[..., Any])

job_argument = click.argument("job", type=click.Path(path_type=Path), metavar="JOB")
seed_option = click.option(
    "--seed", type=click.IntRange(min=0), help="Seed of the members; the job's own if not given."
)
members_option = click.option(
    "--members",
    type=click.IntRange(8, 4096),
    help="Number of weather and coat members; the job's own if not given.",
)
units_option = click.option(
    "--units",
    type=click.Choice(SYSTEMS),
    help="Units of tables and figures; the job's own if not given (JSON and CSV are always SI).",
)
now_option = click.option(
    "--now",
    metavar="TIME",
    help="The moment to plan from (2030-08-14T06:00-06:00); the clock's if not given.",
)


def view_options(command: Command) -> Command:
    """Give a verb ``--units`` and ``--paper``."""
    return units_option(paper_option("sheets")(command))


def paper_option(what: str) -> Callable[[Command], Command]:
    """``--paper`` for the pages of this."""
    return click.option(
        "--paper",
        type=click.Choice(["letter", "a4"]),
        default="letter",
        show_default=True,
        help=f"Page size of the {what}.",
    )


def address_option(command: Command) -> Command:
    """Give a verb ``--address``: that of a server, for the codes on the crew sheets."""
    return click.option(
        "--address",
        metavar="ADDRESS",
        callback=lambda _context, _option, text: _address(text),
        help="Address that stillwet serve tells; each crew sheet then opens its page on a phone.",
    )(command)


def _address(text: str | None) -> str:
    from stillwet.reports.link_code import need_address

    return "" if text is None else need_address(text)
