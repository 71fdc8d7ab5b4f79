"""An outlook as GeoTIFF: one file an answer and face, one band an hour."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from stillwet.errors import Problem, StillwetError
from stillwet.outlook.store import open_store

_EVEN_WITHIN = 1e-3  # of the spacing


def write_geotiffs(store: Path, folder: Path, crs_wkt: str | None) -> tuple[Path, ...]:
    """Write every answer and face; the grid must be evenly spaced and say its reference system."""
    import rasterio

    data = open_store(store)
    names = [str(name) for name in data.data_vars if name != "crs"]
    rows, columns = (str(d) for d in data[names[0]].dims[-2:])
    transform, order = _transform(data, rows, columns, crs_wkt)
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for name in names:
        for face in data.face.to_numpy():
            path = folder / f"{name}_{face}.tif"
            field = data[name].sel(face=face)
            bands = data.sizes["time"] if "time" in field.dims else 1
            with rasterio.open(
                path,
                "w",
                driver="GTiff",
                height=data.sizes[rows],
                width=data.sizes[columns],
                count=bands,
                dtype="float32",
                crs=crs_wkt,
                transform=transform,
                nodata=float("nan"),
                compress="deflate",
            ) as file:
                file.update_tags(units=field.attrs["units"], description=field.attrs["long_name"])
                for band in range(bands):
                    layer = field.isel(time=band) if "time" in field.dims else field
                    file.write(layer.to_numpy()[::order].astype(np.float32), band + 1)
                    if "time" in field.dims:
                        file.set_band_description(band + 1, str(data.time.to_numpy()[band])[:16])
            written.append(path)
    return tuple(written)


def _transform(data: Any, rows: str, columns: str, crs_wkt: str | None) -> tuple[Any, int]:
    """The affine transform of a north-up image, and -1 where rows run the other way."""
    import pyproj
    import rasterio

    north, east = data.get(rows), data.get(columns)
    wanted = "an evenly spaced grid with its reference system"
    if crs_wkt is None or north is None or east is None or north.ndim != 1 or north.size < 2:
        got = "none" if crs_wkt is None else "positions that are not rows and columns"
        raise StillwetError(Problem("--maps", wanted, got))
    scale = 1000.0 if str(north.attrs.get("units", "m")) == "km" else 1.0
    down = scale * north.to_numpy().astype(float)
    along = scale * east.to_numpy().astype(float)
    for values in (down, along):
        steps = np.diff(values)
        if np.ptp(steps) > _EVEN_WITHIN * abs(steps[0]):
            raise StillwetError(Problem("--maps", wanted, "uneven spacing"))
    order = 1 if down[0] > down[-1] else -1
    high, step_x, step_y = max(down[0], down[-1]), along[1] - along[0], abs(down[1] - down[0])
    is_degrees = pyproj.CRS.from_wkt(crs_wkt).is_geographic
    left = along[0] - 360.0 if is_degrees and along[0] > 180 else along[0]
    top = high + step_y / 2
    return rasterio.Affine(step_x, 0.0, left - step_x / 2, 0.0, -step_y, top), order
