"""The grid of a forecast: which dimension is what, where its cells lie, when its hours are."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from stillwet.errors import Problem, StillwetError, shown
from stillwet.outlook.ask import HOUR_S

if TYPE_CHECKING:
    import xarray as xr

Array = NDArray[np.float64]

_MEMBER_NAMES = ("member", "realization", "number", "ensemble", "ens")
_LONGEST_STEP_H = 6
_MOST_HOURS = 400
LATLON, PROJECTED, CURVED = "latitude and longitude", "projected", "curved"


@dataclass(frozen=True, eq=False)
class Grid:
    """Dimensions and times of a forecast: ``time_s`` its own stamps, ``hours_s`` whole hours."""

    rows: str
    columns: str
    member: str | None
    time: str
    height: int
    width: int
    members: int
    time_s: Array
    hours_s: Array
    kind: str
    latitude: str
    longitude: str
    crs_wkt: str | None

    @property
    def step_s(self) -> float:
        """The step of the forecast's own stamps [s]."""
        return float(self.time_s[1] - self.time_s[0])

    @property
    def cells(self) -> int:
        """Number of cells."""
        return self.height * self.width


def read_grid(data: xr.Dataset, names: list[str], place: str) -> Grid:
    """The grid that the named variables lie on; raises when they do not lie on one."""
    time = _time_dimension(data, place)
    member = _member_dimension(data)
    latitude, longitude, kind = _positions(data, place)
    empty = [str(d) for d, size in data.sizes.items() if size == 0]
    if empty:
        got = f"an empty dimension {empty[0]}"
        raise StillwetError(Problem("grid", "at least one row, column and hour", got, place))
    first = data[names[0]]
    rest = _two_more(data, first, (time, member), (latitude, longitude), place)
    rows, columns = _ordered(data, rest, latitude, longitude, kind, place)
    _need_all_over(data, names[1:], (time, member), (rows, columns), place)
    time_s = _times(data, time, place)
    return Grid(
        rows=rows,
        columns=columns,
        member=member,
        time=time,
        height=int(data.sizes[rows]),
        width=int(data.sizes[columns]),
        members=1 if member is None else int(data.sizes[member]),
        time_s=time_s,
        hours_s=np.arange(time_s[0], time_s[-1] + 1.0, HOUR_S),
        kind=kind,
        latitude=latitude,
        longitude=longitude,
        crs_wkt=_crs(data, kind, first),
    )


def _two_more(
    data: xr.Dataset,
    first: xr.DataArray,
    known: tuple[str | None, ...],
    positions: tuple[str, str],
    place: str,
) -> list[str]:
    """The two dimensions of a field beside time and members."""
    placed = {d for name in positions for d in data[name].dims}
    rest = [str(d) for d in first.dims if d not in known and (first.sizes[d] > 1 or d in placed)]
    if len(rest) != 2:
        got = f"{first.name} over ({', '.join(map(str, first.dims))})"
        wanted = "fields over time, rows and columns (and members)"
        raise StillwetError(Problem("grid", wanted, got, place))
    return rest


def _need_all_over(
    data: xr.Dataset,
    names: list[str],
    known: tuple[str | None, ...],
    over: tuple[str, str],
    place: str,
) -> None:
    """Raise unless every field lies on the same rows and columns, and on nothing else."""
    for name in names:
        spare = [d for d in data[name].dims if d not in (*known, *over) and data[name].sizes[d] > 1]
        if spare or not set(over) <= set(data[name].dims):
            got = f"{name} over ({', '.join(map(str, data[name].dims))})"
            wanted = f"every field over {' and '.join(over)}"
            raise StillwetError(Problem("grid", wanted, got, place))


def _is_time(axis: Any) -> bool:
    return bool(np.issubdtype(axis.dtype, np.datetime64))


def _time_dimension(data: xr.Dataset, place: str) -> str:
    axes = [axis for axis in data.coords.values() if _is_time(axis) and axis.ndim == 1]
    dimensions = {str(axis.dims[0]) for axis in axes if axis.size > 1}
    if len(dimensions) != 1:
        got = ", ".join(sorted(dimensions)) or "none of more than one step"
        raise StillwetError(Problem("time", "one CF time dimension", got, place))
    return dimensions.pop()


def _times(data: xr.Dataset, dimension: str, place: str) -> Array:
    axes = [axis for axis in data.coords.values() if _is_time(axis) and axis.dims == (dimension,)]
    # Of several, the moment itself rather than the reference time of the forecast.
    axes.sort(key=lambda axis: "valid" not in str(axis.name))
    stamps = axes[0].to_numpy().astype("datetime64[ms]").astype(np.float64) / 1000.0
    steps = np.diff(stamps)
    step_h = float(steps[0]) / HOUR_S
    if (
        not np.allclose(steps, steps[0], atol=1.0)
        or not 1 <= round(step_h) <= _LONGEST_STEP_H
        or abs(step_h - round(step_h)) > 1e-3
    ):
        got = f"steps from {steps.min() / HOUR_S:g} to {steps.max() / HOUR_S:g} h"
        wanted = f"even steps of 1 to {_LONGEST_STEP_H} whole hours, forward in time"
        raise StillwetError(Problem("time", wanted, got, place))
    if stamps.size * step_h > _MOST_HOURS:
        got = f"{stamps.size * step_h:.0f} h"
        raise StillwetError(Problem("time", f"a forecast of at most {_MOST_HOURS} h", got, place))
    return np.asarray(stamps)


def _member_dimension(data: xr.Dataset) -> str | None:
    for dimension in map(str, data.dims):
        axis = data.coords.get(dimension)
        named = "" if axis is None else str(axis.attrs.get("standard_name", ""))
        if data.sizes[dimension] > 1 and (
            named == "realization" or dimension.lower() in _MEMBER_NAMES
        ):
            return dimension
    return None


def _named(data: xr.Dataset, standard: str, names: tuple[str, ...]) -> str | None:
    for name, variable in data.variables.items():
        if variable.attrs.get("standard_name") == standard:
            return str(name)
    return next((name for name in names if name in data.variables), None)


def _positions(data: xr.Dataset, place: str) -> tuple[str, str, str]:
    """The variables of position and whether they are latitudes, projected or two-dimensional."""
    latitude = _named(data, "latitude", ("latitude", "lat"))
    longitude = _named(data, "longitude", ("longitude", "lon"))
    north = _named(data, "projection_y_coordinate", ())
    east = _named(data, "projection_x_coordinate", ())
    if north is not None and east is not None:
        return north, east, PROJECTED
    if latitude is None or longitude is None:
        got = "neither: only " + shown(", ".join(map(str, data.coords)) or "no coordinates", 100)
        wanted = "latitude and longitude, or projection coordinates, by CF names"
        raise StillwetError(Problem("grid", wanted, got, place))
    if data[latitude].ndim == 1 and data[latitude].dims != data[longitude].dims:
        return latitude, longitude, LATLON
    return latitude, longitude, CURVED


def _ordered(
    data: xr.Dataset, rest: list[str], latitude: str, longitude: str, kind: str, place: str
) -> tuple[str, str]:
    """Rows (north-south) and columns (east-west) among two dimensions."""
    if kind == CURVED:
        rows, columns = (str(d) for d in data[latitude].dims[-2:])
    else:
        rows, columns = str(data[latitude].dims[0]), str(data[longitude].dims[0])
    if {rows, columns} != set(rest):
        got = f"fields over {' and '.join(rest)}"
        raise StillwetError(Problem("grid", f"fields over {rows} and {columns}", got, place))
    for name in (latitude, longitude):
        values = data[name].to_numpy()
        if not np.isfinite(values).all():
            raise StillwetError(Problem(name, "a position for every cell", "missing values", place))
        if values.ndim == 1 and not (np.diff(values) > 0).all() and not (np.diff(values) < 0).all():
            got = "values that go to and fro"
            raise StillwetError(Problem(name, "rows and columns in order", got, place))
    if kind != PROJECTED and np.abs(data[latitude].to_numpy()).max() > 90.0:
        got = f"{float(np.abs(data[latitude].to_numpy()).max()):g}"
        raise StillwetError(Problem(latitude, "-90 to 90 degrees", got, place))
    return rows, columns


def _crs(data: xr.Dataset, kind: str, field: Any) -> str | None:
    """WKT of the grid's reference system, where the file says it; plain degrees need no saying."""
    import pyproj

    mapping = field.attrs.get("grid_mapping") or field.encoding.get("grid_mapping")
    name = str(mapping).split(":")[0].strip() if mapping else None
    if kind == LATLON and (name is None or name not in data.variables):
        return str(pyproj.CRS.from_epsg(4326).to_wkt())
    if name is None or name not in data.variables:
        return None
    try:
        return str(pyproj.CRS.from_cf(data[name].attrs).to_wkt())
    except (pyproj.exceptions.CRSError, KeyError) as error:
        got = shown(str(error), 100)
        raise StillwetError(Problem(name, "a CF grid mapping", got)) from None


def cell_positions(
    data: xr.Dataset, grid: Grid, rows: slice, columns: slice
) -> tuple[Array, Array]:
    """Latitude and longitude [deg], -180 to 180, of a region's cells (C,), row by row."""
    if grid.kind == CURVED:
        part = {grid.rows: rows, grid.columns: columns}
        north = data[grid.latitude].isel(part).transpose(grid.rows, grid.columns).to_numpy()
        east = data[grid.longitude].isel(part).transpose(grid.rows, grid.columns).to_numpy()
    else:
        down = data[grid.latitude].to_numpy()[rows].astype(float)
        along = data[grid.longitude].to_numpy()[columns].astype(float)
        north, east = np.meshgrid(down, along, indexing="ij")
        if grid.kind == PROJECTED:
            north, east = _unproject(grid, data, north, east)
    longitude = (np.asarray(east, dtype=float).ravel() + 180.0) % 360.0 - 180.0
    return np.asarray(north, dtype=float).ravel(), longitude


def _unproject(grid: Grid, data: xr.Dataset, north: Array, east: Array) -> tuple[Array, Array]:
    import pyproj

    if grid.crs_wkt is None:
        wanted = "a grid_mapping that says what the projection is"
        raise StillwetError(Problem("grid", wanted, "projection coordinates without one"))
    crs = pyproj.CRS.from_wkt(grid.crs_wkt)
    scale = 1000.0 if str(data[grid.latitude].attrs.get("units", "m")) == "km" else 1.0
    turn = pyproj.Transformer.from_crs(crs, crs.geodetic_crs, always_xy=True)
    longitude, latitude = turn.transform(east * scale, north * scale)
    if not np.isfinite(latitude).all():
        got = "positions outside the projection"
        raise StillwetError(Problem("grid", "cells on the earth", got))
    return np.asarray(latitude), np.asarray(longitude)
