"""Use case: the invented demo job, copied out of the package and planned."""

from __future__ import annotations

from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path

from stillwet.errors import Problem, StillwetError
from stillwet.services.clock import moment_s
from stillwet.services.outputs import Writer, bytes_writer, need_folder_place, write_whole
from stillwet.services.planning import Planned, Progress, plan_job
from stillwet.services.view import View

# The demo is planned from a fixed morning, so that it prints the same plan every day of the year.
DEMO_NOW = "2030-08-14T06:00-06:00"


def run_demo(out: Path, *, view: View | None = None, progress: Progress | None = None) -> Planned:
    """Copy the demo's files to ``out/job`` and write its plan into ``out``.

    Raises StillwetError, and writes nothing, where files of the demo there have been changed since:
    somebody tries things out in them.
    """
    need_folder_place(out)
    _need_unchanged("demo", out / "job")
    copy_data("demo", out / "job")
    return plan_job(
        out / "job" / "job.toml", out, now_s=moment_s(DEMO_NOW), view=view, progress=progress
    )


def _need_unchanged(name: str, folder: Path) -> None:
    for item in resources.files("stillwet").joinpath("data", name).iterdir():
        there = folder / item.name
        if there.is_file() and there.read_bytes() != item.read_bytes():
            got, hint = "one that has been changed", "give another folder, or move it away"
            wanted = "a folder whose demo files are as they came"
            raise StillwetError(Problem("--out", wanted, got, str(there), hint))


def copy_data(name: str, folder: Path) -> tuple[Path, ...]:
    """Copy the files of the package's ``data/<name>`` folder, whole or not at all."""
    source = resources.files("stillwet").joinpath("data", name)
    return write_whole(folder, {item.name: _copier(item) for item in source.iterdir()})


def _copier(item: Traversable) -> Writer:
    return bytes_writer(item.read_bytes())
