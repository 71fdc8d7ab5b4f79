"""The ``stillwet`` command itself: its verbs, loaded when asked for, and how trouble is told."""

from __future__ import annotations

import io
import os
import sys
import tempfile
import traceback
from collections.abc import Sequence
from importlib import import_module

import click

from stillwet.cli.talk import Talk
from stillwet.errors import Problem, StillwetError
from stillwet.version import VERSION

OK, TROUBLE, BAD_INPUT, STOPPED = 0, 1, 2, 130

VERBS = (
    "plan",
    "suits",
    "line",
    "mix",
    "proportioner",
    "trial",
    "explain",
    "compare",
    "crews",
    "packet",
    "demand",
    "outlook",
    "keep",
    "log",
    "left",
    "export",
    "after",
    "doctor",
    "serve",
    "new",
    "demo",
)


class VerbGroup(click.Group):
    """A group that imports ``stillwet.cli.<verb>`` only when that verb is needed."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The verbs, in the order a newcomer meets them."""
        return list(VERBS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The verb's command, or None when there is no such verb."""
        if cmd_name not in VERBS:
            return None
        command = import_module(f"stillwet.cli.{cmd_name}").command
        assert isinstance(command, click.Command)
        return command


@click.group(cls=VerbGroup, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(VERSION, prog_name="stillwet")
def stillwet() -> None:
    """Reckon how thick a gel coat must be, when to lay it and until when it holds.

    Stillwet works backward from the fire that is coming. It is a decision aid only: local orders,
    agency rules, the product label and its safety data sheet come first.

    \b
    Examples:
      stillwet demo
      stillwet new my-job
      stillwet plan my-job/job.toml --out my-job/plan
      stillwet suits my-job/job.toml
      stillwet line my-job/job.toml
      stillwet mix my-job/job.toml
      stillwet proportioner checks.csv
      stillwet trial next trials.csv --job my-job/job.toml
      stillwet explain my-job/job.toml
      stillwet compare my-job/job.toml --set wind=+30%
      stillwet crews my-job/job.toml --out my-job/crews
      stillwet packet my-job/job.toml --out packet.pdf
      stillwet demand my-job/job.toml --out drying.svg
      stillwet outlook forecast.nc --out outlook.zarr
      stillwet keep my-job/job.toml day.gpkg
      stillwet log add day.gpkg check face=a1/north-wall feel=tacky by=Ash
      stillwet left day.gpkg
      stillwet export day.gpkg --to out --as xlsx
      stillwet after day.gpkg --out after
      stillwet doctor day.gpkg
      stillwet serve day.gpkg --open

    Exit status: 0 done, 1 unexpected trouble, 2 bad input.
    """  # noqa: D301 (click wants the backspace character itself)


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the command line and leave with its exit status."""
    _print_every_letter()
    sys.exit(run(arguments))


def _print_every_letter() -> None:
    """Names may hold letters that a console's code page lacks: printed by number, not refused."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper) and stream.errors == "strict":
            stream.reconfigure(errors="backslashreplace")


def run(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit status; results on stdout, talk on stderr."""
    talk = Talk()
    try:
        status = stillwet.main(
            args=None if arguments is None else list(arguments),
            prog_name="stillwet",
            standalone_mode=False,
            obj=talk,
        )
        sys.stdout.flush()
    except StillwetError as error:
        return _tell_bad_input(error)
    except click.ClickException as error:
        error.show()
        return BAD_INPUT
    except (KeyboardInterrupt, click.Abort):
        click.echo("\nstopped; nothing half-written is left", err=True)
        return STOPPED
    except BrokenPipeError:
        # The reader (a pager, head) has gone; point stdout away so that exit stays quiet.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return TROUBLE
    except UnicodeEncodeError as error:
        if not any("\ud800" <= letter <= "\udfff" for letter in error.object):
            return _tell_trouble(talk, error, f"{type(error).__name__}: {error}")
        return _tell_bad_input(_no_utf8_name(error.object))
    except OSError as error:
        return _tell_trouble(talk, error, f"{error.strerror or error}: {error.filename or ''}")
    except Exception as error:  # the last door: nobody in the field should meet a traceback
        return _tell_trouble(talk, error, f"{type(error).__name__}: {error}")
    finally:
        talk.finish()
    return status if isinstance(status, int) else OK


def _no_utf8_name(name: str) -> StillwetError:
    """Of a name on the disk that is no UTF-8, which map files and databases cannot be called."""
    hint = "rename the file or folder"
    return StillwetError(Problem("path", "a name in UTF-8", ascii(name), "", hint))


def _tell_bad_input(error: StillwetError) -> int:
    count = len(error.problems)
    click.echo(
        f"{count} problem{'s' if count > 1 else ''} in the input; nothing written:", err=True
    )
    for problem in error.problems:
        click.echo(f"  {problem}", err=True)
    return BAD_INPUT


def _tell_trouble(talk: Talk, error: BaseException, summary: str) -> int:
    if talk.debug:
        traceback.print_exception(error)
        return TROUBLE
    one_line = " ".join(summary.split()).rstrip(": ")
    click.echo(f"stillwet: unexpected trouble: {one_line} (trace: {_kept(error)})", err=True)
    return TROUBLE


def _kept(error: BaseException) -> str:
    """Where the trace was written, or how to see it when even that cannot be written."""
    try:
        handle, name = tempfile.mkstemp(prefix="stillwet-trace-", suffix=".log")
        with os.fdopen(handle, "w", encoding="utf-8") as log:
            traceback.print_exception(error, file=log)
    except OSError:
        return "run again with --debug"
    return name
