"""A GRIB file's fields set down as Zarr, because a message is read whole or not at all."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from stillwet.outlook.layout import Layout
from stillwet.outlook.loading import Forecast
from stillwet.outlook.store import quietly


def stage_forecast(
    forecast: Forecast, place: Path, layout: Layout, tell: Callable[[str, float], None]
) -> Path:
    """Copy the fields that are needed, one step at a time; a whole copy is kept and used again."""
    if place.exists():
        return place
    import zarr

    fresh = place.with_name(place.name + ".part")
    shutil.rmtree(fresh, ignore_errors=True)
    grid, data = forecast.grid, forecast.data
    names = [field.name for field in forecast.fields.values()]
    quietly(lambda: data.drop_vars(list(data.data_vars)).to_zarr(fresh, consolidated=False))
    group = zarr.open_group(fresh, mode="r+")
    for count, name in enumerate(names):
        tell("reading messages", count / len(names))
        variable = data[name]
        shape = [variable.sizes[d] for d in variable.dims]
        near = {grid.rows: layout.rows, grid.columns: layout.columns}
        chunks = tuple(near.get(str(d), 1) for d in variable.dims)
        target: Any = group.create_array(
            name,
            shape=shape,
            chunks=chunks,
            dtype="float32",
            fill_value=float("nan"),
            attributes={k: v for k, v in variable.attrs.items() if isinstance(v, str)},
            dimension_names=[str(d) for d in variable.dims],
        )
        if grid.time not in variable.dims:
            target[...] = variable.to_numpy().astype(np.float32)
            continue
        axis = variable.dims.index(grid.time)
        for step in range(variable.sizes[grid.time]):
            part = (slice(None),) * axis + (step,)
            target[part] = variable.isel({grid.time: step}).to_numpy().astype(np.float32)
    fresh.rename(place)
    return place
