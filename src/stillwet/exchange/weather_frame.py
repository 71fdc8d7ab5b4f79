"""Weather out of and into a pandas frame: the columns, units and bounds of an hourly table."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from stillwet.domain.weather import Weather
from stillwet.errors import Problem, StillwetError, shown
from stillwet.exchange.clock import read_zone
from stillwet.exchange.findings import Findings
from stillwet.exchange.tabular import read_table
from stillwet.exchange.weather_rows import weather_sheet
from stillwet.exchange.weather_series import Draft, check_columns, make_weather, need_cover
from stillwet.exchange.weather_table import read_weather_table

if TYPE_CHECKING:
    import pandas as pd

NAME = "the frame"


def weather_frame(weather: Weather) -> pd.DataFrame:
    """The hours as a frame with a time index in UTC and each unit in its column's name."""
    import pandas as pd

    frame = pd.DataFrame([row.cells for row in weather_sheet(weather).rows])
    frame["time"] = pd.to_datetime(frame["time"], utc=True)
    return frame.set_index("time")


def read_weather_frame(
    frame: pd.DataFrame, place: Weather, *, from_s: float, to_s: float
) -> tuple[Weather | None, tuple[Problem, ...]]:
    """Weather at the place of another, from a frame with a time index; None with its problems.

    Columns are named as in an hourly table, with their units ("air_temperature (F)",
    "wind_speed_mph"). What the place's own weather says of height and zone stays.
    """
    findings = Findings()
    clock = read_zone(place.time_zone, field="time_zone", place=NAME)
    weather = None
    with findings.catching():
        table = read_table(frame_csv(frame), name=NAME, key="weather")
        draft = read_weather_table(table, _draft(place), mapping={}, clock=clock, findings=findings)
        if draft is not None:
            check_columns(draft, findings)
            weather = make_weather(draft, clock, findings)
        if weather is not None:
            need_cover(weather, from_s=from_s, to_s=to_s, clock=clock)
    return (None if findings.count else weather), findings.problems()


def frame_csv(frame: pd.DataFrame) -> bytes:
    """The frame as the hourly table it stands for; its index must be moments that know a zone."""
    zone: Any = getattr(frame.index, "tz", None)
    if zone is None:
        hint = 'frame.tz_localize("America/Denver"), or set_index on such a column first'
        got = shown(str(frame.index.dtype))
        raise StillwetError(Problem("time", "a time index with a zone", got, NAME, hint))
    stamps = [stamp.isoformat() for stamp in frame.index]
    return frame.assign(time=stamps).to_csv(index=False).encode()


def _draft(place: Weather) -> Draft:
    names = ("latitude", "longitude", "elevation", "wind_height", "sun_shift")
    return Draft(
        name=NAME,
        source=f"{NAME} (hourly table)",
        time_s=np.zeros(0),
        columns={},
        latitude_deg=place.latitude_deg,
        longitude_deg=place.longitude_deg,
        elevation_m=place.elevation_m,
        wind_height_m=place.wind_height_m,
        time_zone=place.time_zone,
        issued_s=place.issued_s,
        sun_shift_s=place.sun_shift_s,
        basis={name: place.basis[name] for name in names if name in place.basis},
    )
