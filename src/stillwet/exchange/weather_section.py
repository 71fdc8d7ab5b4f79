"""The [weather] table: which file, in which format, where it was taken, on which year."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import PurePath
from typing import Any

import numpy as np

from stillwet.domain.basis import given
from stillwet.domain.weather import Weather
from stillwet.errors import Problem, StillwetError, shown
from stillwet.exchange.clock import Clock, read_time, read_zone
from stillwet.exchange.fields import Cell, Quantity, read_whole, read_word
from stillwet.exchange.files import Files
from stillwet.exchange.findings import Findings
from stillwet.exchange.positions import LATITUDE, LONGITUDE
from stillwet.exchange.tabular import read_table
from stillwet.exchange.toml_door import Section
from stillwet.exchange.weather_gridpoint import read_gridpoint
from stillwet.exchange.weather_netcdf import read_netcdf
from stillwet.exchange.weather_series import (
    ELEVATION,
    MOST_KEPT_AFTER_S,
    WIND_HEIGHT,
    Draft,
    check_columns,
    make_weather,
    need_cover,
    weather_default,
)
from stillwet.exchange.weather_table import read_weather_table
from stillwet.exchange.weather_typical import read_epw, read_tmy3

FORMATS = ("hourly table", "tmy3", "epw", "gridpoint json", "netcdf")
WEATHER_KEYS = (
    "file",
    "format",
    "sheet",
    "columns",
    "time_zone",
    "latitude",
    "longitude",
    "elevation",
    "wind_height",
    "irradiance_over",
    "issued",
    "year",
)
_BY_ENDING = {".csv": 0, ".txt": 0, ".tsv": 0, ".xlsx": 0, ".epw": 2, ".json": 3, ".nc": 4}
_OF_TABLES = ("sheet", "columns", "time_zone", "irradiance_over")
# What a format has no use for: said where it is given all the same.
_UNUSED = {
    "hourly table": ("year",),
    "tmy3": (*_OF_TABLES, "issued"),
    "epw": (*_OF_TABLES, "issued"),
    "gridpoint json": (*_OF_TABLES, "issued", "year"),
    "netcdf": (*_OF_TABLES, "year"),
}
IRRADIANCE_OVER = {"hour before": -1800.0, "hour after": 1800.0, "the moment": 0.0}


def read_weather(
    section: Section | None,
    files: Files,
    clock: Clock,
    findings: Findings,
    *,
    from_s: float,
    to_s: float,
) -> Weather | None:
    """The job's weather, covering ``from_s`` to ``to_s`` (NaN: unknown); None with faults noted."""
    if section is None:
        findings.add(Problem("weather", "a [weather] table with a file", "none", "job file"))
        return None
    section.check_keys(WEATHER_KEYS, findings)
    before = findings.count
    draft = _draft(section, files, clock, findings, from_s)
    if draft is None or findings.count > before:
        return None
    if draft.is_typical and math.isfinite(from_s + to_s):
        draft = _cut(draft, from_s, to_s)
    check_columns(draft, findings)
    weather = make_weather(draft, clock, findings) if findings.count == before else None
    if weather is None or not math.isfinite(from_s + to_s):
        return weather
    with findings.catching():
        need_cover(weather, from_s=from_s, to_s=to_s, clock=clock)
    return weather


def _cut(draft: Draft, from_s: float, to_s: float) -> Draft:
    """A typical year's hours around the job: its other months would only cost time."""
    first = np.searchsorted(draft.time_s, from_s, side="right") - 1
    last = np.searchsorted(draft.time_s, to_s + MOST_KEPT_AFTER_S, side="left") + 1
    hours = slice(max(0, int(first)), max(2, int(last)))
    columns = {name: column[hours] for name, column in draft.columns.items()}
    return replace(draft, time_s=draft.time_s[hours], columns=columns)


def _draft(
    section: Section, files: Files, clock: Clock, findings: Findings, from_s: float
) -> Draft | None:
    name = section.text("file", findings)
    if name is None:
        if "file" not in section.values:
            findings.add(Problem("file", "the name of a weather file", "nothing", section.place))
        return None
    with findings.catching():
        style = _format(section, name)
        unused = [key for key in _UNUSED[style] if key in section.values]
        if unused:
            findings.tell(f"{name}: {', '.join(unused)} not used with the format {style}")
        content = files.read(name, key="[weather] file")
        if style == "gridpoint json":
            return _overridden(read_gridpoint(content, name=name, findings=findings), section)
        if style in {"tmy3", "epw"}:
            read = read_tmy3 if style == "tmy3" else read_epw
            year = _year(section, clock, from_s)
            return _overridden(read(content, name=name, year=year, findings=findings), section)
        if style == "netcdf":
            draft = _placed_draft(f"{name} (NetCDF)", name, section, clock, findings)
            return read_netcdf(content, draft, findings)
        return _from_table(content, name, section, clock, findings)
    return None


def _format(section: Section, name: str) -> str:
    if "format" in section.values:
        return read_word(Cell(section.values["format"], section.place), "format", FORMATS)
    suffix = PurePath(name).suffix.lower()
    if suffix in _BY_ENDING:
        return FORMATS[_BY_ENDING[suffix]]
    wanted = "format = one of " + ", ".join(FORMATS)
    raise StillwetError(Problem("format", wanted, f"nothing, for {shown(name)}", section.place))


def _year(section: Section, clock: Clock, from_s: float) -> int:
    """The year a typical year is put on: the one asked for, else that of the job's start."""
    from datetime import UTC, datetime

    if "year" in section.values:
        return read_whole(Cell(section.values["year"], section.place), "year", 1971, 2198)
    if not math.isfinite(from_s):
        raise StillwetError(Problem("year", "a year to put the file on", "none", section.place))
    return datetime.fromtimestamp(from_s, tz=clock.zone or UTC).year


def _overridden(draft: Draft, section: Section) -> Draft:
    """The draft with the place and wind height the job gives instead of the file's own."""
    changes: dict[str, Any] = {}
    for spec, target in (
        (LATITUDE, "latitude_deg"),
        (LONGITUDE, "longitude_deg"),
        (ELEVATION, "elevation_m"),
        (WIND_HEIGHT, "wind_height_m"),
    ):
        if spec.name in section.values:
            changes[target] = spec.read(Cell(section.values[spec.name], section.place))
            draft.basis[spec.name] = given(section.place)
    return replace(draft, **changes)


def _needed(section: Section, spec: Quantity, findings: Findings, hint: str) -> float:
    if spec.name not in section.values:
        wanted = "a value, since the file has none"
        findings.add(Problem(spec.name, wanted, "nothing", section.place, hint))
        return float("nan")
    with findings.catching():
        return spec.read(Cell(section.values[spec.name], section.place))
    return float("nan")


def _placed_draft(
    source: str, name: str, section: Section, clock: Clock, findings: Findings
) -> Draft:
    """An empty draft at the place, wind height and hour of issue that the section gives."""
    draft = Draft(
        name=name,
        source=source,
        time_s=np.zeros(0),
        columns={},
        latitude_deg=_needed(section, LATITUDE, findings, 'latitude = "39.7 deg"'),
        longitude_deg=_needed(section, LONGITUDE, findings, 'longitude = "-105.2 deg"'),
        elevation_m=_needed(section, ELEVATION, findings, 'elevation = "5400 ft"'),
        wind_height_m=_needed(section, WIND_HEIGHT, findings, '"20 ft" or "10 m"'),
        time_zone=clock.name or "UTC",
    )
    for spec in (LATITUDE, LONGITUDE, ELEVATION, WIND_HEIGHT):
        draft.basis[spec.name] = given(section.place)
    if "issued" in section.values:
        with findings.catching():
            issued = section.values["issued"]
            draft.issued_s = read_time(issued, clock, field="issued", place=section.place)
    return draft


def _from_table(
    content: bytes, name: str, section: Section, clock: Clock, findings: Findings
) -> Draft | None:
    own_clock = clock
    if "time_zone" in section.values:
        with findings.catching():
            zone = section.values["time_zone"]
            own_clock = read_zone(zone, field="time_zone", place=section.place)
    elif clock.zone is not None:
        findings.tell(f"{name}: times without a zone are read in {clock.name}, the job's")
    draft = _placed_draft(f"{name} (hourly table)", name, section, own_clock, findings)
    table = None
    with findings.catching():
        sheet = section.text("sheet", findings)
        table = read_table(content, name=name, key="[weather] file", sheet=sheet)
    if table is None:
        return None
    mapping = section.table("columns", findings)
    filled = read_weather_table(table, draft, mapping=mapping, clock=own_clock, findings=findings)
    if filled is not None and "ghi" in filled.columns:
        with findings.catching():
            _set_sun_shift(filled, section)
    return filled


def _set_sun_shift(draft: Draft, section: Section) -> None:
    if "irradiance_over" in section.values:
        cell = Cell(section.values["irradiance_over"], section.place)
        draft.sun_shift_s = IRRADIANCE_OVER[read_word(cell, "irradiance_over", IRRADIANCE_OVER)]
        draft.basis["sun_shift"] = given(section.place)
    else:
        default = weather_default("sun_shift")
        draft.sun_shift_s, draft.basis["sun_shift"] = float(default.value), default.basis
