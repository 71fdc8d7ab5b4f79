"""Opening a forecast: GRIB2, NetCDF/CF or Zarr as one lazily read data set."""

from __future__ import annotations

import warnings
from pathlib import Path
from typing import TYPE_CHECKING, Any

from stillwet.errors import Problem, StillwetError, shown
from stillwet.outlook.grib import open_grib

if TYPE_CHECKING:
    import xarray as xr

_HINT = 'pip install "stillwet[outlook]"'


def format_of(path: Path) -> str:
    """What kind of forecast lies at a path: zarr, netcdf, netcdf3 or grib, by its first bytes."""
    if not path.exists():
        raise StillwetError(
            Problem("FORECAST", "a file or Zarr folder", "nothing there", str(path))
        )
    if path.is_dir():
        if any((path / name).exists() for name in ("zarr.json", ".zgroup", ".zmetadata")):
            return "zarr"
        raise StillwetError(Problem("FORECAST", "a Zarr folder", "another folder", str(path)))
    with path.open("rb") as file:
        head = file.read(8)
    for begin, name in ((b"GRIB", "grib"), (b"\x89HDF", "netcdf"), (b"CDF", "netcdf3")):
        if head.startswith(begin):
            return name
    wanted = "GRIB2, NetCDF or Zarr"
    raise StillwetError(Problem("FORECAST", wanted, f"a file of {len(head)} odd bytes", str(path)))


def open_forecast_data(path: Path) -> xr.Dataset:
    """The data set at a path, its values read only when asked for, times decoded to UTC."""
    kind = format_of(path)
    try:
        import pyproj  # noqa: F401 (first: a GRIB library that xarray loads would break it)
        import xarray as xr
    except ImportError:
        raise _missing("xarray", path) from None
    try:
        if kind == "grib":
            return open_grib(path)
        if kind == "netcdf":
            _need_hdf5(path)
        options: dict[str, Any] = {"engine": {"netcdf": "h5netcdf", "netcdf3": "scipy"}.get(kind)}
        if kind == "zarr":
            options = {"engine": "zarr"}
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", RuntimeWarning)  # of a Zarr folder's scattered metadata
            return xr.open_dataset(path, chunks=None, **options)
    except ImportError as error:
        raise _missing(str(error.name or error), path) from None
    except StillwetError:
        raise
    except Exception as error:  # what readers raise over damaged files is not bounded
        got = shown((str(error) or type(error).__name__).splitlines()[0], 120)
        wanted = f"a readable {kind.removesuffix('3')} file"
        raise StillwetError(Problem("FORECAST", wanted, got, str(path))) from None


def _missing(name: str, path: Path) -> StillwetError:
    got = f"{name} is not installed"
    return StillwetError(Problem("FORECAST", "the outlook extra", got, str(path), _HINT))


def _need_hdf5(path: Path) -> None:
    """Raise OSError for a damaged file, before a reader that complains while being cleared away."""
    import h5py

    with h5py.File(path, "r"):
        pass
