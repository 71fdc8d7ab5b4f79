"""Use case: a commented starter job, dated for tomorrow so that it plans as it is."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from importlib import resources
from pathlib import Path
from zoneinfo import ZoneInfo

from stillwet.errors import Problem, StillwetError
from stillwet.services.outputs import bytes_writer, need_folder_place, write_whole
from stillwet.services.view import units_for
from stillwet.units import SYSTEMS

# The starter's files are written for this day and the next; both are moved to follow the clock, as
# it stands in the starter's own time zone.
TEMPLATE_DAY = datetime(2001, 1, 1, tzinfo=UTC)
STARTER_ZONE = ZoneInfo("America/Denver")
# "{5 gal|20 L}" in the starter's files: what stands there in each system of units.
_EITHER = re.compile(r"\{([^{}|]*)\|([^{}|]*)\}")


def write_starter(folder: Path, *, now_s: float, units: str | None = None) -> Path:
    """Write the starter job into a new or empty folder and return the path of its job.toml.

    Its numbers are in ``units``, "us" or "metric", and it asks to be shown in them.
    """
    need_folder_place(folder, field="DIR")
    if folder.exists() and any(folder.iterdir()):
        raise StillwetError(
            Problem("DIR", "a new or empty folder", "a folder with files in it", str(folder))
        )
    tomorrow = datetime.fromtimestamp(now_s, tz=STARTER_ZONE) + timedelta(days=1)
    texts = _texts(units_for(units))
    write_whole(
        folder,
        {name: bytes_writer(_dated(text, tomorrow).encode()) for name, text in texts.items()},
    )
    return folder / "job.toml"


def _texts(units: str) -> dict[str, str]:
    """The starter's files by name: those of every starter, and those in these units alone."""
    source = resources.files("stillwet").joinpath("data", "starter")
    files = [*source.iterdir(), *source.joinpath(units).iterdir()]
    return {
        item.name: _EITHER.sub(lambda pair: pair[1 + SYSTEMS.index(units)], item.read_text("utf-8"))
        for item in files
        if item.is_file()
    }


def _dated(text: str, first_day: datetime) -> str:
    """Both of the template's days at once: the clock may stand so that one becomes the other."""
    ahead = (timedelta(days=0), timedelta(days=1))
    days = {f"{TEMPLATE_DAY + one:%Y-%m-%d}": f"{first_day + one:%Y-%m-%d}" for one in ahead}
    return re.sub("|".join(days), lambda found: days[found[0]], text)
