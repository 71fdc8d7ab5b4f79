"""An empty job file and what somebody types into it to make a whole small job."""

from __future__ import annotations

from pathlib import Path
from typing import Any
from zlib import crc32

from job_folder import weather_lines
from stillwet.services.draft_planning import DraftDesk
from stillwet.services.drafting import Checked, Writer, check_document, look_at_draft, type_edits
from stillwet.services.keeping import make_empty_job_file
from store_fixture import NOW_S

WRITER = Writer("Ash", "laptop", NOW_S)
WEATHER = "\n".join(weather_lines()).encode()
TEXTS = {
    "job.name": "Alder Bend",
    "job.time_zone": "America/Denver",
    "job.start": "2026-08-14 08:00",
    "job.members": "16",
    "fire.exposure": "brush fire",
    "fire.arrival_from": "2026-08-14 15:00",
    "fire.arrival_to": "2026-08-14 16:30",
    "fire.from": "SW",
    "weather.time_zone": "UTC-06:00",
    "weather.latitude": "39.75",
    "weather.longitude": "-105.2",
    "weather.elevation": "5700 ft",
    "weather.wind_height": "20 ft",
    "product.id": "clear",
    "product.type": "superabsorbent_dispersion",
    "product.ratio_low": "0.5 %",
    "product.ratio_high": "2 %",
    "product.ratio_basis": "volume",
    "product.pack": "5 gal",
}
ROWS: tuple[tuple[str, dict[str, str], str], ...] = (
    ("assets", {"id": "h1", "kind": "house", "eave_height": "9 ft"}, "POINT (-105.2 39.75)"),
    ("assets", {"id": "b1", "kind": "barn"}, "POINT (-105.201 39.751)"),
    ("crews", {"id": "e1", "tank": "750 gal", "spray_flow": "30 gal/min"}, ""),
    (
        "water",
        {
            "id": "w1",
            "latitude": "39.751",
            "longitude": "-105.199",
            "fill_flow": "250 gpm",
        },
        "",
    ),
)


def text(key: str, value: str, edit_id: str | None = None) -> dict[str, Any]:
    """A field typed."""
    return {"id": edit_id or f"edit-{key}", "kind": "text", "key": key, "text": value}


def row(name: str, key: str, fields: dict[str, str], shape: str | None = None) -> dict[str, Any]:
    """Fields of a row typed."""
    plain: dict[str, Any] = {"id": f"edit-{key}-{crc32(repr((name, fields, shape)).encode())}"}
    plain |= {"kind": "row", "list": name, "row": key, "fields": fields}
    return plain if shape is None else plain | {"shape": shape}


def whole_edits() -> list[dict[str, Any]]:
    """All that is typed of a whole small job; the weather is a file."""
    rows = [row(name, f"{name}-{fields['id']}", fields, shape) for name, fields, shape in ROWS]
    return [*(text(key, value) for key, value in TEXTS.items()), *rows]


def empty_draft(folder: Path) -> Path:
    """A job file that holds no job."""
    path = folder / "new.gpkg"
    make_empty_job_file(path, now_s=NOW_S)
    return path


def whole_draft(folder: Path) -> Path:
    """A job file with a whole draft in it and no plan."""
    path = empty_draft(folder)
    type_edits(path, whole_edits(), WRITER)
    DraftDesk(path).bring("weather", "weather.csv", WEATHER, "edit-weather-file", True, WRITER)
    return path


def check(path: Path) -> Checked:
    """What reading the draft finds."""
    return check_document(path, look_at_draft(path, WRITER).document)
