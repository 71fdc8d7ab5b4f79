"""Typical-year files (TMY3, EPW) through pvlib, put on the year of the job."""

from __future__ import annotations

import io
import math
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stillwet.constants import ZERO_CELSIUS
from stillwet.domain.basis import Basis, BasisKind
from stillwet.domain.weather import HOUR_S
from stillwet.errors import Problem, StillwetError
from stillwet.exchange.clock import fixed_clock
from stillwet.exchange.files import decode_text
from stillwet.exchange.findings import Findings
from stillwet.exchange.limits import MOST_YEAR_BYTES, need_size
from stillwet.exchange.weather_series import Draft, weather_default

Array = NDArray[np.float64]

_HOURS_IN_TYPICAL_YEAR = 8760
_LARGEST_IN_HEADER = 10_000.0  # metres of elevation
_DAYS_IN_MONTH = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
_HALF_HOUR_BEFORE_S = -0.5 * HOUR_S
# pvlib's name -> (our name, factor, offset) to SI; missing values are told apart afterwards.
_COMMON = {
    "temp_air": ("air_temperature", 1.0, ZERO_CELSIUS),
    "relative_humidity": ("relative_humidity", 0.01, 0.0),
    "wind_speed": ("wind_speed", 1.0, 0.0),
    "wind_direction": ("wind_direction", 1.0, 0.0),
    "ghi": ("ghi", 1.0, 0.0),
    "dni": ("dni", 1.0, 0.0),
    "dhi": ("dhi", 1.0, 0.0),
}
_TMY3 = {
    **_COMMON,
    "pressure": ("pressure", 100.0, 0.0),  # mbar
    "TotCld (tenths)": ("cloud_cover", 0.1, 0.0),
    "Lprecip depth (mm)": ("precipitation", 1.0, 0.0),
}
_EPW = {
    **_COMMON,
    "atmospheric_pressure": ("pressure", 1.0, 0.0),
    "total_sky_cover": ("cloud_cover", 0.1, 0.0),
    "liquid_precipitation_depth": ("precipitation", 1.0, 0.0),
}
# Values the two formats write for "missing" (TMY3 user's manual, NREL/TP-581-43156, table 1-4;
# EnergyPlus Auxiliary Programs, weather data format), in the file's units.
_MISSING = {
    "air_temperature": 99.9,
    "relative_humidity": 999.0,
    "wind_speed": 999.0,
    "wind_direction": 999.0,
    "pressure": 999999.0,
    "ghi": 9999.0,
    "dni": 9999.0,
    "dhi": 9999.0,
    "cloud_cover": 99.0,
    "precipitation": 999.0,
}
_MISSING_BELOW = -9000.0  # TMY3 writes -9900


def read_tmy3(content: bytes, *, name: str, year: int, findings: Findings) -> Draft:
    """A TMY3 file as a draft on ``year`` and the year after; raises StillwetError when it is none.

    Stamps are local standard time; values are those at the stamp, irradiance the mean of the hour
    before it (TMY3 user's manual, NREL/TP-581-43156).
    """
    from pvlib.iotools import read_tmy3 as read

    need_size(content, MOST_YEAR_BYTES, name=name, key="[weather] file")
    text = decode_text(content, name=name, key="[weather] file")
    head = text.partition("\n")[0].split(",")
    if len(head) < 7 or "Date (MM/DD/YYYY)" not in text[:4000]:
        raise _not_this("TMY3", name)
    # Without a year of its own pvlib keeps each month's year: only month, day and hour are used.
    data, meta = _through(lambda: read(io.StringIO(text), map_variables=True), "TMY3", name)
    zone_h = _number(meta["TZ"], name)
    return _draft(data, meta, data.index, 0.0, zone_h, _TMY3, name, year, findings)


def read_epw(content: bytes, *, name: str, year: int, findings: Findings) -> Draft:
    """An EPW file as a draft on ``year`` and the year after; raises StillwetError when it is none.

    Hour 1 of the file ends at 01:00; pvlib stamps it 00:00, so an hour is added back.
    """
    from pvlib.iotools import read_epw as read

    need_size(content, MOST_YEAR_BYTES, name=name, key="[weather] file")
    text = decode_text(content, name=name, key="[weather] file")
    if not text.startswith("LOCATION,"):
        raise _not_this("EPW", name)
    data, meta = _through(lambda: read(io.StringIO(text)), "EPW", name)
    zone_h = _number(meta["TZ"], name)
    return _draft(data, meta, data.index, HOUR_S, zone_h, _EPW, name, year, findings)


def _not_this(kind: str, name: str) -> StillwetError:
    return StillwetError(Problem("[weather] file", f"a {kind} file", "something else", name))


def _through(read: Callable[[], tuple[Any, Any]], kind: str, name: str) -> tuple[Any, Any]:
    """What pvlib reads; the errors it and pandas raise on a damaged file become one problem."""
    try:
        return read()
    except (
        ValueError,
        KeyError,
        IndexError,
        TypeError,
        AttributeError,
        OverflowError,
    ) as error:
        first = next(iter(str(error).splitlines()), "")[:80]
        got = f"a damaged one: {type(error).__name__}: {first}"
        raise StillwetError(Problem("[weather] file", f"a {kind} file", got, name)) from None


def _number(text: Any, name: str) -> float:
    try:
        value = float(text)
    except (TypeError, ValueError):
        value = math.nan
    if not abs(value) < _LARGEST_IN_HEADER:
        raise StillwetError(Problem("[weather] file", "numbers in the header", str(text), name))
    return value


def _draft(
    data: Any,
    meta: Any,
    stamps: Any,
    shift_s: float,
    zone_h: float,
    names: dict[str, tuple[str, float, float]],
    name: str,
    year: int,
    findings: Findings,
) -> Draft:
    _need_order(stamps, name)
    times = [_hours_of_year(stamps, own, zone_h, shift_s) for own in (year, year + 1)]
    columns = {
        own: _column(data[theirs], own, factor, offset)
        for theirs, (own, factor, offset) in names.items()
        if theirs in data.columns
    }
    columns = _without_empty(columns, name, findings)
    findings.tell(
        f"{name}: a typical year put on {year}. It is for practice, not a forecast of any day"
    )
    height = weather_default("wind_height")
    basis = {column: Basis(BasisKind.PUBLISHED, f"{name}, a typical year") for column in columns}
    return Draft(
        name=name,
        source=f"{name} (typical year put on {year})",
        time_s=np.concatenate(times),
        columns={own: np.concatenate([column, column]) for own, column in columns.items()},
        latitude_deg=_number(meta["latitude"], name),
        longitude_deg=_number(meta["longitude"], name),
        elevation_m=_number(meta["altitude"], name),
        wind_height_m=float(height.value),
        time_zone=fixed_clock(round(zone_h * 60)).name,
        sun_shift_s=_HALF_HOUR_BEFORE_S,
        is_typical=True,
        basis={**basis, "wind_height": height.basis},
    )


def _need_order(stamps: Any, name: str) -> None:
    """Raise unless month, day and hour run through a year of 365 days, an hour a row."""
    if len(stamps) != _HOURS_IN_TYPICAL_YEAR:
        wanted = f"a typical year of {_HOURS_IN_TYPICAL_YEAR} hours"
        raise StillwetError(Problem("[weather] file", wanted, f"{len(stamps)} hours", name))
    days_before = np.cumsum([0, *_DAYS_IN_MONTH[:-1]])[np.array(stamps.month) - 1]
    hours = (days_before + np.array(stamps.day) - 1) * 24 + np.array(stamps.hour)
    wrong = hours != (hours[0] + np.arange(hours.size)) % _HOURS_IN_TYPICAL_YEAR
    if wrong.any():
        row = int(np.flatnonzero(wrong)[0])
        got = f"{stamps[row]:%m-%d %H:%M} in hour {row + 1} of the file"
        raise StillwetError(Problem("time", "every hour of a year in its order", got, name))


def _hours_of_year(stamps: Any, year: int, zone_h: float, shift_s: float) -> Array:
    """Epoch seconds of the file's hours on another year; midnight of its end is the next year's.

    The hours follow each other from the first stamp on, except that a leap year's 29 February,
    which no typical year has, is left as a gap.
    """
    first = datetime(year, stamps[0].month, stamps[0].day, stamps[0].hour, tzinfo=UTC).timestamp()
    hours = first - zone_h * 3600.0 + shift_s + HOUR_S * np.arange(len(stamps))
    leap_day = datetime(year, 2, 28, tzinfo=UTC).timestamp() + 86400.0 - zone_h * 3600.0
    is_leap = (datetime(year, 3, 1) - datetime(year, 2, 28)).days == 2
    return np.where(is_leap & (hours > leap_day), hours + 86400.0, hours)


def _column(series: Any, own: str, factor: float, offset: float) -> Array:
    import pandas as pd

    raw = np.array(pd.to_numeric(series, errors="coerce"), dtype=np.float64)
    is_missing = (raw <= _MISSING_BELOW) | (raw >= _MISSING[own])
    return np.where(is_missing, np.nan, raw * factor + offset)


def _without_empty(columns: dict[str, Array], name: str, findings: Findings) -> dict[str, Array]:
    """Drop optional columns that these files often leave empty; rain unmeasured is not no rain."""
    kept = dict(columns)
    for own in ("cloud_cover", "precipitation"):
        if own in kept and np.isnan(kept[own]).any():
            missing = int(np.isnan(kept[own]).sum())
            findings.tell(f"{name}: {own} is missing in {missing} hours, so it is not used")
            del kept[own]
    return kept
