"""Weather as an hourly table and the [weather] section that reads it back to the same hours."""

from __future__ import annotations

from datetime import UTC

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.weather import Weather
from stillwet.exchange.places import written_time
from stillwet.exchange.sheets import Cells, Sheet, SheetRow, label_of
from stillwet.exchange.weather_members import MEMBER
from stillwet.exchange.weather_section import IRRADIANCE_OVER
from stillwet.exchange.weather_series import (
    RECORD_NAMES,
    WEATHER_QUANTITIES,
    weather_default,
)

Array = NDArray[np.float64]
_DIRECTION = "wind_direction"


def weather_sheet(weather: Weather) -> Sheet:
    """A row an hour, or an hour and member; columns that the file never had are left out."""
    members = range(max(1, weather.ensemble_size))
    columns = _columns(weather)
    stamps = [written_time(float(time_s), UTC) for time_s in weather.time_s]
    rows = []
    for member in members:
        for hour, stamp in enumerate(stamps):
            cells: Cells = {"time": stamp}
            if weather.ensemble_size:
                cells[MEMBER] = str(member)
            for header, column in columns.items():
                value = float(column[hour, member % column.shape[1]])
                if not np.isnan(value):
                    cells[header] = value
            rows.append(SheetRow(cells))
    return Sheet("weather", tuple(rows))


def _columns(weather: Weather) -> dict[str, Array]:
    """The columns to write by header, each of shape (hours, members or 1)."""
    found: dict[str, Array] = {}
    for name, record_name in RECORD_NAMES.items():
        plain = np.asarray(getattr(weather, record_name), dtype=np.float64)
        header = name if name == _DIRECTION else label_of(WEATHER_QUANTITIES[name])
        if not _is_taken(name, plain, weather):
            found[header] = weather.ensemble.get(record_name, plain[:, None])
    return found


def _is_taken(name: str, column: Array, weather: Weather) -> bool:
    """True for a column that the reader puts in by itself when the file has none."""
    if name == "pressure":
        return name in weather.basis and weather.basis[name].source.startswith("standard atmos")
    if name == "precipitation":
        return name not in weather.basis and not column.any()
    return bool(np.isnan(column).all())


def weather_keys(weather: Weather) -> tuple[dict[str, str], list[str]]:
    """The keys of [weather] beside the file, and the fields that have to be told now."""
    keys = {
        "time_zone": weather.time_zone,
        "latitude": f"{weather.latitude_deg!r} deg",
        "longitude": f"{weather.longitude_deg!r} deg",
        "elevation": f"{weather.elevation_m!r} m",
        "wind_height": f"{weather.wind_height_m!r} m",
    }
    if weather.issued_s is not None:
        keys["issued"] = written_time(weather.issued_s, UTC)
    if not np.isnan(weather.ghi_w_m2).all() and not _is_default_shift(weather):
        keys["irradiance_over"] = _shift_word(weather.sun_shift_s)
    own = weather.basis.get("wind_height")
    was_default = own is not None and own.low is not None
    return keys, ["wind_height"] if was_default else []


def _is_default_shift(weather: Weather) -> bool:
    own, default = weather.basis.get("sun_shift"), weather_default("sun_shift")
    return own is not None and own.low is not None and default.value == weather.sun_shift_s


def _shift_word(shift_s: float) -> str:
    """The nearest of the words for what an irradiance averages."""
    return min(IRRADIANCE_OVER, key=lambda word: abs(IRRADIANCE_OVER[word] - shift_s))
