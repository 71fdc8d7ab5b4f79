"""The real weather year that ships with pvlib, as the arrays the drying models take.

TMY3 station 723170, Greensboro NC (36.10 N, 79.95 W, 273 m), measured hours of 1976 to 2005, NREL.
Its stamps end the hour; radiation is the mean of that hour.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from stillwet.physics import air, sun

Array = NDArray[np.float64]
FACINGS = np.array([0.0, 90.0, 180.0, 270.0])
WALL_TILT = np.full(4, 90.0)


class Weather(NamedTuple):
    """Hours (H,) or, for what the members may differ in, (H, 1)."""

    time_s: Array
    air_temperature_k: Array
    relative_humidity: Array
    wind_speed_m_s: Array
    pressure_pa: Array
    ghi_w_m2: Array
    sky_longwave_w_m2: Array
    wall_irradiance_w_m2: Array  # (4, H), north, east, south, west
    precipitation_mm: Array


def read_month(month: int) -> Weather:
    """All hours of one calendar month."""
    import pandas as pd
    import pvlib

    path = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"
    table, place = pvlib.iotools.read_tmy3(path, map_variables=True, coerce_year=2001)
    table = table[table["Date (MM/DD/YYYY)"].str.startswith(f"{month:02d}/")]

    def column(name: str) -> Array:
        return np.asarray(table[name].to_numpy(), dtype=float)

    stamps = pd.DatetimeIndex(table.index).tz_convert("UTC")
    epoch = pd.Timestamp("1970-01-01", tz="UTC")
    time_s = ((stamps - epoch) / pd.Timedelta(seconds=1)).to_numpy() - 1800.0
    temperature = column("temp_air") + 273.15
    humidity = column("relative_humidity") / 100.0
    where: dict[str, Any] = {
        "latitude_deg": place["latitude"],
        "longitude_deg": place["longitude"],
        "elevation_m": place["altitude"],
    }
    longwave = sun.sky_longwave(
        air_temperature_k=temperature,
        vapour_pressure_pa=air.vapour_pressure(
            temperature_k=temperature, relative_humidity=humidity
        ),
        cloud_cover=column("TotCld (tenths)") / 10.0,
    )
    walls = sun.face_irradiance(
        time_s=time_s,
        **where,
        ghi_w_m2=column("ghi"),
        dni_w_m2=column("dni"),
        dhi_w_m2=column("dhi"),
        tilt_deg=WALL_TILT,
        azimuth_deg=FACINGS,
        shaded=np.zeros(4, dtype=bool),
    )
    return Weather(
        time_s=time_s,
        air_temperature_k=temperature[:, None],
        relative_humidity=humidity[:, None],
        wind_speed_m_s=column("wind_speed")[:, None],
        pressure_pa=column("pressure") * 100.0,
        ghi_w_m2=column("ghi"),
        sky_longwave_w_m2=np.asarray(longwave)[:, None],
        wall_irradiance_w_m2=walls,
        precipitation_mm=np.maximum(column("Lprecip depth (mm)"), 0.0),
    )
