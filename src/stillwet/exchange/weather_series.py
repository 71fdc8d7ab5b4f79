"""Weather from any file: columns in SI become one checked hourly record that covers the job."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stillwet.constants import STANDARD_PRESSURE
from stillwet.domain.basis import Basis, BasisKind
from stillwet.domain.weather import COLUMNS, HOUR_S, Weather
from stillwet.errors import Problem, StillwetError
from stillwet.exchange.clock import Clock, show_time
from stillwet.exchange.fields import Default, Quantity, table_default
from stillwet.exchange.findings import Findings
from stillwet.tables import load_table

Array = NDArray[np.float64]

# What a file calls a column: the record's name without its SI unit.
WEATHER_QUANTITIES: dict[str, Quantity] = {
    "air_temperature": Quantity("air_temperature", "temperature", 213.15, 333.15, "K"),
    "relative_humidity": Quantity("relative_humidity", "fraction", 0.0, 1.0, "fraction"),
    "wind_speed": Quantity("wind_speed", "speed", 0.0, 60.0, "m/s"),
    "pressure": Quantity("pressure", "pressure", 40e3, 110e3, "Pa"),
    "ghi": Quantity("ghi", "heat_flux", 0.0, 1500.0, "W/m2"),
    "dni": Quantity("dni", "heat_flux", 0.0, 1400.0, "W/m2"),
    "dhi": Quantity("dhi", "heat_flux", 0.0, 1000.0, "W/m2"),
    "cloud_cover": Quantity("cloud_cover", "fraction", 0.0, 1.0, "fraction"),
    "precipitation": Quantity("precipitation", "water_depth", 0.0, 300.0, "mm"),
}
RECORD_NAMES: dict[str, str] = {
    "air_temperature": "air_temperature_k",
    "relative_humidity": "relative_humidity",
    "wind_speed": "wind_speed_m_s",
    "wind_direction": "wind_direction_deg",
    "pressure": "pressure_pa",
    "ghi": "ghi_w_m2",
    "dni": "dni_w_m2",
    "dhi": "dhi_w_m2",
    "cloud_cover": "cloud_cover",
    "precipitation": "precipitation_kg_m2",
}
NEEDED = ("air_temperature", "relative_humidity", "wind_speed")
SUN = ("ghi", "dni", "dhi")
MOST_KEPT_AFTER_S = 48 * HOUR_S  # of a typical year, the hours worth keeping after the job
WIND_HEIGHT = Quantity("wind_height", "length", 0.5, 100.0, "m")
ELEVATION = Quantity("elevation", "length", -430.0, 6000.0, "m")


@dataclass
class Draft:
    """A weather file's columns in SI, before they are checked against the job.

    ``rows`` are the file's own row numbers beside each hour; None where the file has no rows.
    """

    name: str
    source: str
    time_s: Array
    columns: dict[str, Array]  # by file name, such as "wind_speed"
    latitude_deg: float
    longitude_deg: float
    elevation_m: float
    wind_height_m: float
    time_zone: str
    rows: tuple[int, ...] | None = None
    issued_s: float | None = None
    sun_shift_s: float = 0.0
    is_typical: bool = False  # a typical year rather than a forecast or record
    ensemble: dict[str, Array] = field(default_factory=dict)  # (hours, E), by the record's name
    basis: dict[str, Basis] = field(default_factory=dict)


def weather_default(name: str) -> Default:
    """The default for a thing weather files leave unsaid ("wind_height", "sun_shift")."""
    row = load_table("practice")["weather"][name]
    dimension = "length" if name == "wind_height" else "time"
    return table_default(row, unit=row["unit"], dimension=dimension, source=row["source"])


def standard_pressure_ashrae(*, elevation_m: float) -> float:
    """Air pressure [Pa] of the standard atmosphere at an elevation [m], -5000 to 11 000.

    ``p = 101325*(1 - 2.25577e-5*Z)^5.2559``, ASHRAE Handbook of Fundamentals 2017, ch. 1 eq. 3.
    """
    return float(STANDARD_PRESSURE * (1.0 - 2.25577e-5 * elevation_m) ** 5.2559)


def make_weather(draft: Draft, clock: Clock, findings: Findings) -> Weather | None:
    """The checked record of a draft, or None when it has faults (which are noted)."""
    before = findings.count
    _check_hours(draft, clock, findings)
    _check_sun_or_cloud(draft, findings)
    if findings.count > before:
        return None
    _fill(draft, findings)
    columns: dict[str, Any] = {RECORD_NAMES[name]: column for name, column in draft.columns.items()}
    with findings.catching():
        return Weather(
            time_s=draft.time_s,
            **columns,
            latitude_deg=draft.latitude_deg,
            longitude_deg=draft.longitude_deg,
            elevation_m=draft.elevation_m,
            wind_height_m=draft.wind_height_m,
            time_zone=draft.time_zone,
            source=draft.source,
            issued_s=draft.issued_s,
            sun_shift_s=draft.sun_shift_s,
            basis=draft.basis,
            ensemble=draft.ensemble,
        )
    return None


def _check_hours(draft: Draft, clock: Clock, findings: Findings) -> None:
    """Note every gap, repeated hour and step back in time, with the rows it lies between."""
    wanted = "one row an hour, each an hour after the row before"
    if draft.time_s.size < 2:
        got = f"{draft.time_s.size} hour(s)"
        findings.add(Problem("time", "at least 2 hourly rows", got, draft.name))
    for index in np.flatnonzero(np.abs(np.diff(draft.time_s) - HOUR_S) > 1.0):
        step_h = float(draft.time_s[index + 1] - draft.time_s[index]) / HOUR_S
        here = show_time(float(draft.time_s[index + 1]), clock)
        if step_h > 1.0:
            past = show_time(float(draft.time_s[index]), clock)
            got = f"a gap of {step_h:g} h from {past} to {here}"
        elif step_h == 0.0:
            got = f"{here} twice"
        else:
            got = f"{here}, {step_h:g} h after the row before"
        place = draft.name
        if draft.rows is not None:
            place = f"{draft.name}, rows {draft.rows[index]} and {draft.rows[index + 1]}"
        findings.add(Problem("time", wanted, got, place))


def _check_sun_or_cloud(draft: Draft, findings: Findings) -> None:
    has_sun = [name for name in SUN if name in draft.columns]
    if len(has_sun) == len(SUN) or "cloud_cover" in draft.columns:
        return
    got = "only " + ", ".join(has_sun) if has_sun else "neither"
    wanted = "cloud_cover, or all of ghi, dni and dhi"
    findings.add(Problem("cloud_cover", wanted, got, draft.name))


def _fill(draft: Draft, findings: Findings) -> None:
    """Put in the columns a file may leave out, each with its basis or its remark."""
    hours = draft.time_s.size
    columns = draft.columns
    if "pressure" not in columns:
        pressure = standard_pressure_ashrae(elevation_m=draft.elevation_m)
        columns["pressure"] = np.full(hours, pressure)
        draft.basis["pressure"] = Basis(
            BasisKind.PUBLISHED,
            "standard atmosphere at the elevation, ASHRAE Fundamentals 2017 ch. 1 eq. 3",
            0.96 * pressure,
            1.03 * pressure,
        )
    has_sun = [name for name in SUN if name in columns]
    if len(has_sun) < len(SUN):
        if has_sun:
            findings.tell(f"{draft.name}: {', '.join(has_sun)} alone not used; cloud cover is")
        for name in SUN:
            columns[name] = np.full(hours, np.nan)
    if "precipitation" not in columns:
        columns["precipitation"] = np.zeros(hours)
        findings.tell(f"{draft.name}: no precipitation given, so rain is not warned of")
    for name in ("wind_direction", "cloud_cover"):
        if name not in columns:
            columns[name] = np.full(hours, np.nan)


def check_columns(draft: Draft, findings: Findings) -> None:
    """Note the first hour of each column that is missing or outside its physical bounds."""
    every = {RECORD_NAMES[name]: (name, column) for name, column in draft.columns.items()}
    for record_name, (name, column) in every.items():
        _, low, high, unit = COLUMNS[record_name]
        values = draft.ensemble.get(record_name, column[:, None])
        is_bad = ~((values >= low) & (values <= high))
        if name == "wind_direction":
            is_bad &= ~np.isnan(values)
        if is_bad.any():
            first = int(np.flatnonzero(is_bad.any(axis=1))[0])
            value = float(values[first][is_bad[first]][0])
            got = "a missing value" if np.isnan(value) else f"{value:g}"
            hour = show_time(float(draft.time_s[first]), Clock(None))
            rest = f" and {int(is_bad.sum()) - 1} more" if is_bad.sum() > 1 else ""
            wanted = f"{low:g} to {high:g} {unit}"
            findings.add(Problem(name, wanted, f"{got} at {hour}{rest}", draft.name))


def need_cover(weather: Weather, *, from_s: float, to_s: float, clock: Clock) -> None:
    """Raise unless the weather covers the job from its start to the end of the last fire window."""
    first, last = float(weather.time_s[0]), float(weather.time_s[-1])
    if first <= from_s and last >= to_s:
        return
    wanted = (
        f"weather from {show_time(from_s, clock)} (start of the job) to "
        f"{show_time(to_s, clock)} (latest arrival and ember period)"
    )
    got = f"{show_time(first, clock)} to {show_time(last, clock)}"
    hint = "get a longer forecast, or check the dates of the job"
    raise StillwetError(Problem("time", wanted, got, weather.source, hint))
