"""An invented forecast on a small grid, as one would write it to a file."""

from __future__ import annotations

from typing import Any

import numpy as np
import xarray as xr
from numpy.typing import NDArray

START = np.datetime64("2026-07-10T06:00", "ns")
Array = NDArray[np.float64]


def made_forecast(
    *,
    rows: int = 5,
    columns: int = 6,
    hours: int = 48,
    members: int = 1,
    sun: str = "ghi",
    seed: int = 3,
) -> xr.Dataset:
    """Hot dry days over hills near 45 N 120 W; ``sun``: "ghi" (hourly means) or "cloud".

    Pressure and elevation are both there; dimensions time, (member,) latitude, longitude.
    """
    rng = np.random.default_rng(seed)
    latitude = np.linspace(46.0, 44.0, rows)
    longitude = np.linspace(238.0, 241.0, columns)  # east, 0 to 360 as many forecasts have it
    hour = np.arange(hours) + 6.0
    day = np.sin((hour - 9 - 7.9) / 24 * 2 * np.pi)[:, None, None, None]
    shape = (hours, members, rows, columns)
    hills = 400.0 + 900.0 * rng.random((rows, columns))
    swing = rng.normal(0, 1, (1, members, rows, columns))
    fields: dict[str, tuple[Array, dict[str, Any]]] = {
        "t2m": (
            22.0 + 9 * day + 1.5 * swing + rng.normal(0, 0.3, shape),
            {"standard_name": "air_temperature", "units": "degC"},
        ),
        "r2": (
            np.clip(38 - 22 * day - 4 * swing + rng.normal(0, 2, shape), 4, 100),
            {"standard_name": "relative_humidity", "units": "%"},
        ),
        "u10": (
            3 + 2 * day + rng.normal(0, 1, shape),
            {"standard_name": "eastward_wind", "units": "m s-1"},
        ),
        "v10": (rng.normal(0, 2, shape), {"standard_name": "northward_wind", "units": "m s-1"}),
        "sp": (
            101325 * (1 - 2.25577e-5 * hills) ** 5.2559 + rng.normal(0, 60, shape),
            {"standard_name": "surface_air_pressure", "units": "Pa"},
        ),
    }
    cloud = np.clip(rng.beta(0.6, 2.0, shape), 0, 1)
    if sun == "cloud":
        fields["tcc"] = (100 * cloud, {"standard_name": "cloud_area_fraction", "units": "%"})
    else:
        high = np.clip(np.sin((hour - 0.5 - 14.0) / 24 * 2 * np.pi), 0, None)[:, None, None, None]
        ghi = 980 * high**1.2 * (1 - 0.7 * cloud**3)
        attributes = {
            "standard_name": "surface_downwelling_shortwave_flux_in_air",
            "units": "W m-2",
            "cell_methods": "time: mean",
        }
        fields["ssrd"] = (ghi, attributes)
    dimensions = ("time", "member", "latitude", "longitude")
    data = xr.Dataset(
        {name: (dimensions, values, attributes) for name, (values, attributes) in fields.items()},
        coords={
            "time": ("time", START + np.arange(hours) * np.timedelta64(1, "h")),
            "member": ("member", np.arange(members), {"standard_name": "realization"}),
            "latitude": (
                "latitude",
                latitude,
                {"standard_name": "latitude", "units": "degrees_north"},
            ),
            "longitude": (
                "longitude",
                longitude,
                {"standard_name": "longitude", "units": "degrees_east"},
            ),
        },
    )
    data["orog"] = (
        ("latitude", "longitude"),
        hills,
        {"standard_name": "surface_altitude", "units": "m"},
    )
    return data if members > 1 else data.isel(member=0, drop=True)
