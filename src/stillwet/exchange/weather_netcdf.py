"""Forecasts in NetCDF with CF names (CF Conventions 1.11): one place out of a grid, all members."""

from __future__ import annotations

import io
import re
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.basis import given
from stillwet.domain.weather import HOUR_S
from stillwet.errors import Problem, StillwetError, shown
from stillwet.exchange.clock import EARLIEST_YEAR, LATEST_YEAR
from stillwet.exchange.findings import Findings
from stillwet.exchange.limits import MEGABYTE, MOST_UNPACKED_BYTES
from stillwet.exchange.weather_members import join_members
from stillwet.exchange.weather_series import NEEDED, WEATHER_QUANTITIES, Draft
from stillwet.units import is_unit, names_of, to_si

if TYPE_CHECKING:
    import xarray as xr

Array = NDArray[np.float64]

# CF standard name -> our column. A variable may instead be called by the column's own name.
_STANDARD_NAMES = {
    "air_temperature": "air_temperature",
    "relative_humidity": "relative_humidity",
    "wind_speed": "wind_speed",
    "wind_from_direction": "wind_direction",
    "eastward_wind": "eastward_wind",
    "northward_wind": "northward_wind",
    "surface_air_pressure": "pressure",
    "air_pressure": "pressure",
    "cloud_area_fraction": "cloud_cover",
    "precipitation_amount": "precipitation",
    "surface_downwelling_shortwave_flux_in_air": "ghi",
}
_CLASSIC: dict[str, Any] = {"engine": "scipy"}
_HDF5: dict[str, Any] = {"engine": "h5netcdf", "phony_dims": "access"}
_COMPONENTS = ("eastward_wind", "northward_wind")
_MEMBER_DIMENSIONS = ("member", "realization", "number", "ensemble", "ens")
_LONGEST_STEP_H = 6
_EARTH_KM = 6371.0
_FARTHEST_KM = 500.0  # our own choice (no source): past this a grid is of another region
_SOLIDUS = re.compile(r"\s+([a-z]+)-1", re.IGNORECASE)
_CF_UNITS = {
    "1": "fraction",
    "celsius": "degC",
    "degree_celsius": "degC",
    "degrees_celsius": "degC",
    "kelvin": "K",
    "fahrenheit": "degF",
    "w m-2": "w/m2",
    "kg m-2": "kg/m2",
    "degree_true": "deg",
    "degrees_true": "deg",
    "knot": "kt",
    "millibar": "mbar",
}


def read_netcdf(content: bytes, draft: Draft, findings: Findings) -> Draft | None:
    """Fill the draft from the grid point nearest its place; None when there are faults (noted)."""
    data = _open(content, draft.name)
    before = findings.count
    point = _at_place(data, draft, findings)
    columns: dict[str, Array] = {}
    for name, variable in _variables(point, draft.name, findings).items():
        with findings.catching():
            columns[name] = _in_si(name, variable, draft.name)
    _join_components(columns)
    missing = [name for name in NEEDED if name not in columns]
    if missing and findings.count == before:
        got = ", ".join(map(str, data.data_vars)) or "no variables"
        wanted = "variables with the standard names " + ", ".join(missing)
        findings.add(Problem("variables", wanted, shown(got, 200), draft.name))
    if findings.count > before:
        return None
    times = _times(point, draft.name)
    draft.time_s, columns = _hourly(times, columns, draft.name, findings)
    join_members(draft, columns, findings)
    draft.basis.update({name: given(draft.name) for name in columns})
    issued = _issued(data)
    draft.issued_s = issued if draft.issued_s is None else draft.issued_s
    return draft


def _open(content: bytes, name: str) -> xr.Dataset:
    try:
        import pyproj  # noqa: F401 (first: a GRIB library that xarray loads would break it)
        import xarray as xr
    except ImportError:
        hint = 'pip install "stillwet[ensemble]", or export the members as CSV'
        raise StillwetError(
            Problem("format", "the extra that reads NetCDF", "it is not installed", name, hint)
        ) from None
    is_classic = content.startswith(b"CDF")
    if not is_classic and not content.startswith(b"\x89HDF"):
        raise StillwetError(Problem("[weather] file", "a NetCDF file", "something else", name))
    try:
        if not is_classic:
            _need_hdf5(content)
        kind = _CLASSIC if is_classic else _HDF5
        with xr.open_dataset(io.BytesIO(content), **kind) as data:
            _need_small(data, name)
            return data.load()
    except StillwetError:
        raise
    except Exception as error:  # what readers raise over damaged files is not bounded
        got = shown((str(error) or type(error).__name__).splitlines()[0])
        raise StillwetError(Problem("[weather] file", "a NetCDF file", got, name)) from None


def _need_small(data: xr.Dataset, name: str) -> None:
    """Raise for a file that would fill the memory: packed, its size says nothing of that."""
    if data.nbytes > MOST_UNPACKED_BYTES:
        wanted = f"at most {MOST_UNPACKED_BYTES // MEGABYTE} MB unpacked"
        hint = "cut it to the job's area and days"
        got = f"{data.nbytes // MEGABYTE} MB"
        raise StillwetError(Problem("[weather] file", wanted, got, name, hint))


def _need_hdf5(content: bytes) -> None:
    """Raise OSError for a damaged file, before a reader that complains while being cleared away."""
    import h5py

    with h5py.File(io.BytesIO(content), "r"):
        pass


def _standard_name(variable: Any) -> str:
    """A variable's CF standard name; empty where it has none, or something else in its place."""
    name = variable.attrs.get("standard_name", "")
    return name if isinstance(name, str) else ""


def _coordinate(data: xr.Dataset, standard_name: str, names: tuple[str, ...]) -> Any:
    """The coordinate or variable of this CF standard name, or called by one of the names."""
    for name, variable in data.variables.items():
        if _standard_name(variable) == standard_name:
            return data[name]
    return next((data[name] for name in names if name in data.variables), None)


def _at_place(data: xr.Dataset, draft: Draft, findings: Findings) -> xr.Dataset:
    """The data at the grid point nearest the weather's place; data of one point as they are."""
    latitude = _coordinate(data, "latitude", ("latitude", "lat"))
    longitude = _coordinate(data, "longitude", ("longitude", "lon"))
    if latitude is None or longitude is None:
        findings.tell(f"{draft.name}: no latitude and longitude in the file; taken for this place")
        return data
    if latitude.ndim == 1 and longitude.ndim == 1 and latitude.dims != longitude.dims:
        latitude, longitude = latitude.broadcast_like(longitude), longitude.broadcast_like(latitude)
        longitude = longitude.transpose(*latitude.dims)
    if latitude.dims != longitude.dims:
        got = f"({', '.join(map(str, latitude.dims))}) and ({', '.join(map(str, longitude.dims))})"
        wanted = "latitude and longitude of the same dimensions"
        raise StillwetError(Problem("coordinates", wanted, got, draft.name))
    north, east = (_numbers(one, draft.name) for one in (latitude, longitude))
    away_km = _distance_km(north, east, draft.latitude_deg, draft.longitude_deg)
    away_km[np.isnan(away_km)] = np.inf  # grid points that are masked
    nearest = np.unravel_index(int(np.argmin(away_km)), away_km.shape) if away_km.size else ()
    least_km = float(away_km[nearest]) if away_km.size else np.inf
    if not least_km <= _FARTHEST_KM:
        got = f"the nearest {least_km:.0f} km away" if np.isfinite(least_km) else "none"
        wanted = f"a grid point within {_FARTHEST_KM:g} km of the place"
        raise StillwetError(Problem("coordinates", wanted, got, draft.name))
    findings.tell(f"{draft.name}: grid point {least_km:.0f} km from the place")
    return data.isel(dict(zip(latitude.dims, map(int, nearest), strict=True)))


def _numbers(variable: Any, name: str) -> Array:
    """A variable's values as numbers."""
    try:
        return np.asarray(variable.to_numpy(), dtype=np.float64)
    except (TypeError, ValueError):
        got = f"values of type {variable.dtype}"
        place = f"{name}, variable {variable.name}"
        raise StillwetError(Problem("variables", "numbers", got, place)) from None


def _distance_km(north: Array, east: Array, latitude_deg: float, longitude_deg: float) -> Array:
    """Great-circle distance [km] by the haversine formula."""
    north, east = np.radians(north), np.radians(east)
    here = np.radians(latitude_deg)
    half = np.sin((north - here) / 2) ** 2
    half = half + np.cos(north) * np.cos(here) * np.sin((east - np.radians(longitude_deg)) / 2) ** 2
    return np.asarray(2 * _EARTH_KM * np.arcsin(np.sqrt(half)))


def _variables(point: xr.Dataset, name: str, findings: Findings) -> dict[str, Any]:
    """Our columns' variables."""
    found: dict[str, Any] = {}
    known = {*WEATHER_QUANTITIES, "wind_direction", *_COMPONENTS}
    for label, variable in point.data_vars.items():
        column = _STANDARD_NAMES.get(_standard_name(variable))
        column = column or (str(label) if label in known else None)
        if column is None:
            continue
        if column in found:
            got = f"{found[column].name} and {label}"
            findings.add(Problem(column, "one variable of this standard name", got, name))
        else:
            found[column] = variable
    return found


def _in_si(column: str, variable: Any, name: str) -> Array:
    """The variable as (hours, members) in SI."""
    dimension = "speed" if column in _COMPONENTS else "angle"
    if column in WEATHER_QUANTITIES:
        dimension = WEATHER_QUANTITIES[column].dimension
    written = str(variable.attrs.get("units", ""))
    unit = _CF_UNITS.get(written.strip().lower(), _SOLIDUS.sub(r"/\1", written.strip()))
    place = f"{name}, variable {variable.name}"
    if not is_unit(unit, dimension):
        wanted = f"a unit of {dimension} ({names_of(dimension)})"
        raise StillwetError(Problem(column, wanted, shown(written) if written else "none", place))
    time, members = _dimensions(variable, place)
    order = [time, members] if members is not None else [time]
    extra = [item for item in variable.dims if item not in order]
    values = _numbers(variable.squeeze(extra).transpose(*order), name)
    zero = to_si(0.0, unit, dimension=dimension)
    values = zero + values * (to_si(1.0, unit, dimension=dimension) - zero)
    if np.isnan(values).any() and column != "wind_direction":
        got = f"{int(np.isnan(values).sum())} missing values"
        raise StillwetError(Problem(column, "a number for every hour and member", got, place))
    return values if members is not None else values[:, None]


def _dimensions(variable: Any, place: str) -> tuple[str, str | None]:
    """The dimensions of time and, if there is one, of members; every other has one step."""
    time = members = None
    for dimension in map(str, variable.dims):
        axis = variable.coords.get(dimension)
        standard_name = "" if axis is None else _standard_name(axis)
        is_time = axis is not None and np.issubdtype(axis.dtype, np.datetime64)
        if is_time and time is None:
            time = dimension
        elif standard_name == "realization" or dimension.lower() in _MEMBER_DIMENSIONS:
            members = dimension
        elif variable.sizes[dimension] != 1:
            got = f"dimension {dimension} of {variable.sizes[dimension]} steps"
            raise StillwetError(Problem("dimensions", "time, place and members only", got, place))
    if time is None:
        raise StillwetError(Problem("time", "a CF time dimension", "none", place))
    return time, members


def _join_components(columns: dict[str, Array]) -> None:
    """Speed and direction from the wind's two components, where the speed itself is not there."""
    if not all(name in columns for name in _COMPONENTS):
        return
    east, north = (columns.pop(name) for name in _COMPONENTS)
    columns.setdefault("wind_speed", np.hypot(east, north))
    columns.setdefault("wind_direction", np.degrees(np.arctan2(-east, -north)) % 360.0)


def _times(point: xr.Dataset, name: str) -> Array:
    axes = [axis for axis in point.coords.values() if np.issubdtype(axis.dtype, np.datetime64)]
    axes = [axis for axis in axes if axis.ndim == 1]
    if len(axes) != 1:
        raise StillwetError(Problem("time", "one CF time dimension", f"{len(axes)}", name))
    years = axes[0].dt.year.to_numpy()
    if not np.all((years >= EARLIEST_YEAR) & (years <= LATEST_YEAR)):  # NaN: not a time
        wanted = f"times in the years {EARLIEST_YEAR} to {LATEST_YEAR}"
        raise StillwetError(Problem("time", wanted, "one that is not", name))
    return _epoch_s(axes[0])


def _hourly(
    time_s: Array, columns: dict[str, Array], name: str, findings: Findings
) -> tuple[Array, dict[str, Array]]:
    """The columns by the hour: longer even steps are bridged by lines, and that is said."""
    steps = np.diff(time_s)
    step_h = round(float(steps[0]) / HOUR_S) if steps.size else 1
    is_even = bool(np.allclose(steps, step_h * HOUR_S))
    if not 1 < step_h <= _LONGEST_STEP_H or not is_even:
        return time_s, columns
    findings.tell(f"{name}: steps of {step_h} h; the hours between are on straight lines")
    hours = np.arange(time_s[0], time_s[-1] + 1.0, HOUR_S)
    return hours, {
        key: _between(key, time_s, column, hours, step_h) for key, column in columns.items()
    }


def _between(key: str, time_s: Array, column: Array, hours: Array, step_h: int) -> Array:
    """An amount of rain is shared out over its step, which ends at its stamp; a direction stays."""
    if key == "precipitation":
        step = np.searchsorted(time_s, hours - 0.5)
        return np.asarray(column[np.minimum(step, time_s.size - 1)] / step_h)
    if key == "wind_direction":
        step = np.searchsorted(time_s, hours + 0.5) - 1
        return np.asarray(column[step])
    return np.stack([np.interp(hours, time_s, member) for member in column.T], axis=1)


def _issued(data: xr.Dataset) -> float | None:
    """When the forecast was made, if the file says so."""
    reference = _coordinate(data, "forecast_reference_time", ())
    if reference is None or reference.ndim or not np.issubdtype(reference.dtype, np.datetime64):
        return None
    return float(_epoch_s(reference))


def _epoch_s(stamps: Any) -> Array:
    """Epoch seconds of stamps in UTC."""
    milliseconds = stamps.to_numpy().astype("datetime64[ms]").astype(np.float64)
    return np.asarray(milliseconds / 1000.0)
