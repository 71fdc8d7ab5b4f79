"""Use case: a commented starter job, dated for tomorrow so that it plans as it is."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from importlib import resources
from pathlib import Path
from zoneinfo import ZoneInfo

from stillwet.errors import Problem, StillwetError
from stillwet.services.outputs import bytes_writer, need_folder_place, write_whole

# The starter's files are written for this day and the next; both are moved to follow the clock, as
# it stands in the starter's own time zone.
TEMPLATE_DAY = datetime(2001, 1, 1, tzinfo=UTC)
STARTER_ZONE = ZoneInfo("America/Denver")


def write_starter(folder: Path, *, now_s: float) -> Path:
    """Write the starter job into a new or empty folder and return the path of its job.toml."""
    need_folder_place(folder)
    if folder.exists() and any(folder.iterdir()):
        raise StillwetError(
            Problem("DIR", "a new or empty folder", "a folder with files in it", str(folder))
        )
    tomorrow = datetime.fromtimestamp(now_s, tz=STARTER_ZONE) + timedelta(days=1)
    source = resources.files("stillwet").joinpath("data", "starter")
    texts = {item.name: item.read_text(encoding="utf-8") for item in source.iterdir()}
    write_whole(
        folder,
        {name: bytes_writer(_dated(text, tomorrow).encode()) for name, text in texts.items()},
    )
    return folder / "job.toml"


def _dated(text: str, first_day: datetime) -> str:
    for days in (0, 1):
        written = (TEMPLATE_DAY + timedelta(days=days)).strftime("%Y-%m-%d")
        text = text.replace(written, (first_day + timedelta(days=days)).strftime("%Y-%m-%d"))
    return text
