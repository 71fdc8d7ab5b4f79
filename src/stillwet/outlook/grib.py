"""Opening a GRIB file: whole messages on one grid, with its projection where it has one."""

from __future__ import annotations

import logging
import tempfile
import warnings
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any

import numpy as np

from stillwet.errors import Problem, StillwetError
from stillwet.outlook.fields import INTERVAL

if TYPE_CHECKING:
    import xarray as xr

_LEVELS = ("heightAboveGround", "surface", "meanSea", "entireAtmosphere", "step_type")
_TIMES = ("time", "step", "valid_time")
_PROJECTED = (
    "lambert",
    "polar_stereographic",
    "mercator",
    "albers",
    "lambert_azimuthal_equal_area",
)
_SPREAD = ("avg", "accum")  # step types of what stands for a stretch of time
_OFF_GRID = 0.01  # of the spacing: farther from even rows and columns is another projection
_INDICATOR_BYTES = 16  # of section 0; WMO No. 306, FM 92 GRIB edition 2 (edition 1: 8)
_LOOK_ON_BYTES = 2**16
_LARGE_EDITION_1 = 0x800000  # such messages give their length in units; not followed here


def open_grib(path: Path) -> xr.Dataset:
    """All messages of a GRIB file as one data set: levels that hold one step are let go of.

    Stamps that not every field has are left out, and ``left_out`` among the attributes says so.
    """
    check_messages(path)
    import pyproj  # noqa: F401 (first: the GRIB library would break it)
    import xarray as xr

    variables = _named(_parts(path))
    if not variables:
        raise StillwetError(Problem("FORECAST", "fields in the GRIB file", "none", str(path)))
    _need_one_grid(variables, path)
    _need_same_members(variables, path)
    merged: xr.Dataset = xr.merge(variables, compat="override", join="inner")
    merged.attrs["left_out"] = _left_out(variables, merged)
    return _on_projection(_with_intervals(merged, path), path)


def _parts(path: Path) -> list[xr.Dataset]:
    """The reader's data sets.

    Its index, which would lie beside the file, goes to a folder of ours: without one it would go
    through the whole file once for every field.
    """
    with warnings.catch_warnings(), tempfile.TemporaryDirectory() as folder:
        warnings.simplefilter("ignore", FutureWarning)  # the reader's own, of a merge it makes
        import cfgrib

        talk = logging.getLogger("cfgrib")
        kept, talk.level = talk.level, logging.CRITICAL  # of fields that are none of ours
        try:
            index = str(Path(folder) / "{short_hash}.idx")
            found = cfgrib.open_datasets(str(path), backend_kwargs={"indexpath": index})
        finally:
            talk.level = kept
    return list(found)


def check_messages(path: Path) -> None:
    """Raise for a message that is cut off; only lengths and ends are read, so it is quick."""
    size, place, count = path.stat().st_size, 0, 0
    with path.open("rb") as file:
        while (place := _next_message(file, place)) >= 0:
            count += 1
            length = _message_length(file, place)
            if length is None:
                return
            file.seek(max(place + length - 4, place))
            if length < _INDICATOR_BYTES or file.read(4) != b"7777":
                got = f"message {count} of {length:,} bytes without its end"
                if place + length > size:
                    got = f"message {count} cut off: {size - place:,} of {length:,} bytes"
                hint = "copy or download the file again"
                wanted = "whole GRIB messages"
                raise StillwetError(Problem("FORECAST", wanted, got, str(path), hint))
            place += length


def _next_message(file: IO[bytes], place: int) -> int:
    """Where the next message begins, past any padding; -1 where there is none."""
    while True:
        file.seek(place)
        part = file.read(_LOOK_ON_BYTES)
        found = part.find(b"GRIB")
        if found >= 0:
            return place + found
        if len(part) < _LOOK_ON_BYTES:
            return -1
        place += len(part) - 3


def _message_length(file: IO[bytes], place: int) -> int | None:
    """Length of the message [bytes]; None where an edition 1 message is too long to say it."""
    file.seek(place)
    head = file.read(_INDICATOR_BYTES).ljust(_INDICATOR_BYTES, b"\0")
    if head[7] != 1:
        return int.from_bytes(head[8:16], "big")
    length = int.from_bytes(head[4:7], "big")
    return None if length & _LARGE_EDITION_1 else length


def _named(parts: list[xr.Dataset]) -> list[Any]:
    """Every field under a name of its own, its level let go of."""
    named: dict[str, Any] = {}
    for part in parts:
        loose = part.drop_vars(
            [name for name in _LEVELS if name in part.coords and not part[name].ndim]
        )
        for name, variable in loose.data_vars.items():
            key = str(name)
            while key in named:
                key += "_again"
            still = [n for n in _TIMES if n in variable.coords and not variable.coords[n].ndim]
            is_static = not any(n in variable.coords and variable.coords[n].ndim for n in _TIMES)
            named[key] = variable.drop_vars(still) if is_static else variable
    return [variable.rename(key) for key, variable in named.items()]


def _need_one_grid(variables: list[Any], path: Path) -> None:
    """Raise where two fields lie on different cells: nothing may be laid over another unseen."""
    first = variables[0]
    for other in variables[1:]:
        for name in ("latitude", "longitude"):
            if name not in first.coords:
                continue
            one, two = first.coords[name], other.coords.get(name)
            if two is None or one.shape != two.shape or not np.array_equal(one, two):
                got = f"{first.name} and {other.name} on different grids"
                raise StillwetError(Problem("grid", "every field on one grid", got, str(path)))


def _need_same_members(variables: list[Any], path: Path) -> None:
    many = [v for v in variables if "number" in v.dims]
    for other in many[1:]:
        if not np.array_equal(many[0].number, other.number):
            got = f"{many[0].sizes['number']} of {many[0].name}, {other.sizes['number']} of "
            wanted = "the same members in every field that has members"
            raise StillwetError(Problem("member", wanted, f"{got}{other.name}", str(path)))


def _left_out(variables: list[Any], merged: xr.Dataset) -> str:
    """Which fields have stamps that others lack, and how many; empty where all have the same."""
    most = {
        str(d): max(v.sizes[d] for v in variables if d in v.dims)
        for d in merged.dims
        if d in _TIMES
    }
    lost = [f"{n - merged.sizes[d]} of {n}" for d, n in most.items() if merged.sizes[d] < n]
    return f"{lost[0]} stamps left out, which not every field has" if lost else ""


def _with_intervals(data: xr.Dataset, path: Path) -> xr.Dataset:
    """Begin and end of every stamp of the means and sums, as its messages say them."""
    spread = {
        str(v.attrs["GRIB_shortName"]): str(name)
        for name, v in data.data_vars.items()
        if v.attrs.get("GRIB_stepType") in _SPREAD and {"time", "step"} <= set(v.coords)
    }
    if not spread:
        return data
    starts = _starts(path, set(spread))
    reference = np.atleast_1d(data["time"].to_numpy().astype("datetime64[m]"))
    step = np.atleast_1d(data["step"].to_numpy().astype("timedelta64[m]"))
    if reference.size > 1 and step.size > 1:
        return data
    ends = reference + step
    dimension = next((d for d in ("step", "time") if data[d].ndim), None)
    for short, name in spread.items():
        begins = [starts.get((short, end)) for end in ends]
        if dimension is None or any(begin is None for begin in begins):
            continue
        pairs = np.stack([np.array(begins, dtype="datetime64[m]"), ends], axis=1)
        data = data.assign_coords(
            {f"{name}_bounds": ((dimension, "bnds"), pairs.astype("datetime64[ns]"))}
        )
        data[name].attrs[INTERVAL] = f"{name}_bounds"
    return data


def _starts(path: Path, names: set[str]) -> dict[tuple[str, Any], Any]:
    """Where the interval of a mean or sum begins, by short name and where it ends."""
    import eccodes

    found: dict[tuple[str, Any], Any] = {}
    with path.open("rb") as file:
        while (message := eccodes.codes_grib_new_from_file(file, headers_only=True)) is not None:
            short = str(eccodes.codes_get(message, "shortName"))
            if short in names:
                day, clock, first, last = (
                    int(eccodes.codes_get(message, key, ktype=int))
                    for key in ("dataDate", "dataTime", "startStep", "endStep")
                )
                day_text = f"{day // 10000:04d}-{day // 100 % 100:02d}-{day % 100:02d}"
                reference = np.datetime64(f"{day_text}T{clock // 100:02d}:{clock % 100:02d}", "m")
                end = reference + np.timedelta64(last, "h")
                found[short, end] = reference + np.timedelta64(first, "h")
            eccodes.codes_release(message)
    return found


def _on_projection(data: xr.Dataset, path: Path) -> xr.Dataset:
    """Rows and columns in metres, and a CF grid mapping, where the messages tell a projection.

    Only where the cells' own latitudes and longitudes, as ecCodes gives them, fall on even rows
    and columns of it; a grid that does not is left with its two-dimensional latitudes.
    """
    first = data[next(iter(data.data_vars))]
    if first.attrs.get("GRIB_gridType") not in _PROJECTED or data["latitude"].ndim != 2:
        return data
    import pyproj

    crs = pyproj.CRS.from_proj4(_projection_text(path))
    turn = pyproj.Transformer.from_crs(crs.geodetic_crs, crs, always_xy=True)
    rows, columns = (str(d) for d in data["latitude"].dims)
    east, north = turn.transform(data["longitude"].to_numpy(), data["latitude"].to_numpy())
    x, y = _even(east[0]), _even(north[:, 0])
    if not (_fits(east, x[None, :]) and _fits(north, y[:, None])):
        return data
    said = {key: value for key, value in crs.to_cf().items() if value is not None}
    for name in data.data_vars:
        data[name].attrs["grid_mapping"] = "projection"
    axes = {
        rows: (rows, y, {"standard_name": "projection_y_coordinate", "units": "m", "axis": "Y"}),
        columns: (
            columns,
            x,
            {"standard_name": "projection_x_coordinate", "units": "m", "axis": "X"},
        ),
        "projection": ((), np.int32(0), said),
    }
    return data.assign_coords(axes)


def _projection_text(path: Path) -> str:
    """The first message's projection and shape of the earth, as ecCodes puts its keys together."""
    import eccodes

    with path.open("rb") as file:
        message = eccodes.codes_grib_new_from_file(file, headers_only=True)
        try:
            return str(eccodes.codes_get(message, "projString"))
        finally:
            eccodes.codes_release(message)


def _even(values: Any) -> Any:
    return np.linspace(values[0], values[-1], values.size)


def _fits(found: Any, even: Any) -> bool:
    spacing = abs(float(np.diff(even.ravel())[0])) if even.size > 1 else 1.0
    return bool(np.isfinite(found).all() and np.abs(found - even).max() < _OFF_GRID * spacing)
