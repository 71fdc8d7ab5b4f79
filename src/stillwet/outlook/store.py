"""An outlook on disk: CF-compliant Zarr, written block by block, and NetCDF made from it."""

from __future__ import annotations

import os
import warnings
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from stillwet.outlook.ask import SURE, Answer, Ask
from stillwet.outlook.grid import CURVED, LATLON, Grid
from stillwet.outlook.holding import Answers
from stillwet.outlook.layout import Block, Layout
from stillwet.outlook.loading import Forecast
from stillwet.version import VERSION

if TYPE_CHECKING:
    import xarray as xr

# Of the lossless ways tried, half the time of the next and smaller (docs/benchmarks.md).
_CODEC: dict[str, Any] = {"cname": "lz4", "clevel": 5}
CAUTION = (
    "Decision aid only: local orders, agency rules, product label and SDS come first. "
    "No one stays because a tool said a coat would hold."
)
# A coordinate has no gaps and says so: CF conventions 1.11, section 2.5.1.
_WHOLE: dict[str, Any] = {"_FillValue": None}
_CLOCK = {**_WHOLE, "units": "seconds since 1970-01-01", "dtype": "int64", "calendar": "standard"}
_UTC = {"units_metadata": "leap_seconds: none"}  # section 4.4


def create_store(
    out: Path, forecast: Forecast, ask: Ask, answers: tuple[Answer, ...], layout: Layout
) -> None:
    """Make the Zarr folder with its coordinates and empty answers; chunks are the blocks."""
    import zarr
    from zarr.codecs import BloscCodec

    grid = forecast.grid
    quietly(lambda: _coordinates(forecast, ask).to_zarr(out, mode="w", consolidated=False))
    group = zarr.open_group(out, mode="r+")
    for answer in answers:
        middle = ("time",) if answer.by_hour else ()
        hours = (grid.hours_s.size,) if answer.by_hour else ()
        attributes = dict(answer.attributes)
        if grid.kind == CURVED:
            attributes["coordinates"] = f"{grid.latitude} {grid.longitude}"
        if grid.crs_wkt is not None:
            attributes["grid_mapping"] = "crs"
        if answer.name.startswith("hold_time") or answer.name == "hold_chance":
            attributes["coat"] = f"{ask.coat_kg_m2:g} mm"
        group.create_array(
            answer.name,
            shape=(len(ask.faces), *hours, grid.height, grid.width),
            chunks=(1, *hours, layout.rows, layout.columns),
            dtype="float32",
            fill_value=float("nan"),
            chunk_key_encoding={"name": "default", "separator": "/"},
            compressors=BloscCodec(**_CODEC, shuffle="bitshuffle", typesize=4),
            attributes=attributes,
            dimension_names=("face", *middle, grid.rows, grid.columns),
        )


def quietly(do: Any) -> None:
    """Run without the format's remarks on what other readers may not know yet."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        do()


def _coordinates(forecast: Forecast, ask: Ask) -> xr.Dataset:
    import xarray as xr

    grid, data = forecast.grid, forecast.data
    stamps = (grid.hours_s * 1000).astype("int64").astype("datetime64[ms]").astype("datetime64[ns]")
    found = xr.Dataset(
        coords={
            "face": ("face", np.array([face.name for face in ask.faces], dtype="U")),
            "time": ("time", stamps, {"standard_name": "time", "axis": "T", **_UTC}),
        },
        attrs=_attributes(forecast, ask),
    )
    for name in (grid.latitude, grid.longitude):
        axis = data[name]
        found[name] = (
            axis.dims,
            axis.to_numpy(),
            _axis_attributes(axis.attrs, name == grid.latitude, grid),
        )
    if grid.crs_wkt is not None:
        import pyproj

        said = pyproj.CRS.from_wkt(grid.crs_wkt).to_cf()
        found["crs"] = ((), np.int32(0), {k: v for k, v in said.items() if v is not None})
    found = found.set_coords([grid.latitude, grid.longitude])
    for label in found.variables:
        found[label].encoding = dict(_WHOLE)
    found["time"].encoding = dict(_CLOCK)
    return found


def _axis_attributes(attributes: dict[str, Any], is_north: bool, grid: Grid) -> dict[str, Any]:
    kept = {
        k: v for k, v in attributes.items() if k in ("standard_name", "units", "long_name", "axis")
    }
    if grid.kind in (LATLON, CURVED):
        kept.setdefault("standard_name", "latitude" if is_north else "longitude")
        kept.setdefault("units", "degrees_north" if is_north else "degrees_east")
    return kept


def _attributes(forecast: Forecast, ask: Ask) -> dict[str, Any]:
    said = {
        "Conventions": "CF-1.11",
        "title": "Drying and hold time of gel coats",
        "source": f"Stillwet {VERSION} over {forecast.path.name}",
        "history": f"reckoned by stillwet outlook {VERSION}",
        "comment": CAUTION,
        "coat_mm": ask.coat_kg_m2,
        "water_kept_mm": ask.keep_kg_m2,
        "thinnest_tenth_over_mean": ask.thinnest,
        "drying_exponent": ask.exponent,
        "ground_albedo": ask.albedo,
        "confidence_of_sure": SURE,
        "remarks": "; ".join(forecast.remarks()),
    }
    for name, moment in (("hold_from", ask.from_s), ("hold_until", ask.until_s)):
        if moment is not None:
            said[name] = str(np.datetime64(round(moment), "s")) + "Z"
    return said


def write_block(
    out: Path,
    beside: Path,
    layout: Layout,
    block: Block,
    answers: tuple[Answer, ...],
    found: Answers,
) -> None:
    """Write one block's answers, each into a chunk of its own, in this thread alone.

    A chunk is written in the folder ``beside`` and moved, so that it is there whole or not. The
    files are those of the Zarr 3 format: values row by row, then the codec named above. The library
    would compress in threads of its own, and workers beside each other then wait.
    """
    shape = (block.row_end - block.row, block.column_end - block.column)
    spare = [(0, layout.rows - shape[0]), (0, layout.columns - shape[1])]
    fresh = beside / f"{block.name}.{os.getpid()}"
    at = (str(block.row // layout.rows), str(block.column // layout.columns))
    for answer in answers:
        for face, values in enumerate(found[answer.name]):
            cells = values.reshape(*values.shape[:-1], *shape)
            if shape != (layout.rows, layout.columns):
                whole = [(0, 0)] * answer.by_hour + spare
                cells = np.pad(cells, whole, constant_values=np.nan)
            place = out.joinpath(answer.name, "c", str(face), *("0",) * answer.by_hour, *at)
            fresh.write_bytes(packed(cells))
            place.parent.mkdir(parents=True, exist_ok=True)
            fresh.replace(place)


def packed(values: NDArray[np.float32]) -> bytes:
    """A chunk's values as the store holds them."""
    from numcodecs import Blosc, blosc

    blosc.use_threads = False
    codec = Blosc(_CODEC["cname"], _CODEC["clevel"], shuffle=Blosc.BITSHUFFLE)
    return bytes(codec.encode(np.ascontiguousarray(values, dtype="<f4")))


def close_store(out: Path) -> None:
    """Join the metadata, so that a reader finds it in one file."""
    import zarr

    quietly(lambda: zarr.consolidate_metadata(str(out)))


def open_store(out: Path) -> xr.Dataset:
    """An outlook, its values read only when asked for."""
    import pyproj  # noqa: F401 (first: a GRIB library that xarray loads would break it)
    import xarray as xr

    return xr.open_dataset(out, engine="zarr", chunks=None, decode_timedelta=False)


def cells_without_answer(out: Path, answers: tuple[Answer, ...]) -> int:
    """How many cells hold no answer, by the first hour of one that no other reason leaves empty."""
    name = next((a.name for a in answers if a.name != "latest_start"), None)
    if name is None:
        return 0
    field = open_store(out)[name].isel(face=0)
    field = field.isel(time=0) if "time" in field.dims else field
    return int(np.isnan(field.to_numpy()).sum())


def write_netcdf(store: Path, path: Path) -> None:
    """The same as one NetCDF file, chunk by chunk."""
    import dask
    import xarray as xr

    with dask.config.set(scheduler="synchronous"):
        data = xr.open_dataset(store, engine="zarr", chunks={}, decode_timedelta=False)
        for name in data.variables:
            data[name].encoding = dict(_WHOLE)
        data["time"].encoding = dict(_CLOCK)
        data.to_netcdf(
            path,
            engine="h5netcdf",
            encoding={n: {"_FillValue": np.float32("nan")} for n in data.data_vars if n != "crs"},
        )
