"""Every command in a ``sh`` block of the documentation ends well, page by page, in its order."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

from unit.outlook.made_grid import made_forecast
from unit.outlook.test_zones import WEST, zones_file

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "docs"

# What a page takes to be there already.
_NEW = "stillwet new my-job"
_KEPT = "stillwet keep my-job/job.toml day.gpkg"
_LOGGED = "stillwet log add day.gpkg coat faces=a1 by=Ash"
BEFORE = {
    "how-to/after.md": (_NEW, _KEPT, "stillwet plan day.gpkg", _LOGGED),
    "how-to/bring_in_and_take_out.md": (_NEW, _KEPT),
    "how-to/keep_a_log.md": (_NEW, "stillwet keep my-job/job.toml tablet.gpkg"),
    "how-to/phones.md": (_NEW, _KEPT),
    "how-to/serve.md": (_NEW,),
    "how-to/what_not_to_treat.md": ("stillwet new .",),
}


def _grid(folder: Path) -> None:
    made_forecast(rows=9, columns=11).to_netcdf(folder / "forecast.nc", engine="h5netcdf")
    zones_file(folder / "zones.geojson", WEST)


GIVEN = {"how-to/outlook.md": _grid}  # files that a page takes to be there already
# What is not run: it installs, waits until it is stopped, or names an entry that only its own log
# has. Serving and correcting an entry have tests of their own.
NOT_RUN = re.compile(r"pip |\$ |stillwet serve |.* replaces=")


def commands_of(page: Path) -> list[str]:
    """The lines of a page's ``sh`` blocks, without their comments."""
    text = page.read_text(encoding="utf-8")
    blocks = re.findall(r"^```sh\n(.*?)^```$", text, re.MULTILINE | re.DOTALL)
    lines = (line for block in blocks for line in block.replace("\\\n", " ").splitlines())
    return [line for line in lines if line.strip() and not NOT_RUN.match(line)]


PAGES = {
    page.relative_to(DOCS).as_posix(): found
    for page in sorted(DOCS.rglob("*.md"))
    if (found := commands_of(page))
}


def test_there_are_commands_to_run() -> None:
    """The pages with commands are found, and no preparation is for a page that has gone."""
    assert len(PAGES) >= 7
    assert sum(map(len, PAGES.values())) >= 25
    assert set(BEFORE) | set(GIVEN) <= {
        page.relative_to(DOCS).as_posix() for page in DOCS.rglob("*.md")
    }


@pytest.mark.slow
@pytest.mark.parametrize("page", PAGES)
def test_commands_end_well(page: str, tmp_path: Path) -> None:
    """Each command ends with status 0 after those before it, and says something."""
    GIVEN.get(page, lambda _folder: None)(tmp_path)
    for command in (*BEFORE.get(page, ()), *PAGES[page]):
        program, *rest = shlex.split(command, comments=True)
        assert program == "stillwet", command
        done = subprocess.run(
            [sys.executable, "-m", "stillwet.cli", *rest],
            cwd=tmp_path,
            capture_output=True,
            text=True,
            check=False,
            env={**os.environ, "PYTHONPATH": str(ROOT / "src")},
        )
        assert done.returncode == 0, f"{command}\n{done.stderr}"
        assert done.stdout.strip() + done.stderr.strip(), command
