"""Hourly weather for one place, in SI, with the source of each column."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.basis import Basis
from stillwet.domain.checks import need_bounded
from stillwet.errors import Problem, StillwetError

HOUR_S = 3600.0


@dataclass(frozen=True, eq=False)
class Weather:
    """Hourly series, each array of shape (hours,); no gaps, no NaN except in optional columns.

    ``irradiance`` columns may be NaN throughout, in which case ``cloud_cover`` must be there and
    the engine uses a published cloud relation. ``sun_shift_s`` is the time from a stamp to the
    middle of the interval that the irradiance of that stamp averages (-1800 for hour-ending means).
    ``ensemble`` holds the members of an ensemble forecast, by column; the plain columns are then
    their mean.
    """

    time_s: NDArray[np.float64]  # epoch seconds, UTC
    air_temperature_k: NDArray[np.float64]
    relative_humidity: NDArray[np.float64]  # fraction
    wind_speed_m_s: NDArray[np.float64]  # at wind_height_m
    wind_direction_deg: NDArray[np.float64]  # blowing FROM, may be NaN
    pressure_pa: NDArray[np.float64]
    ghi_w_m2: NDArray[np.float64]  # global horizontal
    dni_w_m2: NDArray[np.float64]  # direct normal
    dhi_w_m2: NDArray[np.float64]  # diffuse horizontal
    cloud_cover: NDArray[np.float64]  # fraction, may be NaN where irradiance is given
    precipitation_kg_m2: NDArray[np.float64]  # in the hour
    latitude_deg: float
    longitude_deg: float
    elevation_m: float
    wind_height_m: float
    time_zone: str  # IANA name or "UTC-07:00"
    source: str  # file and format, for the plan
    issued_s: float | None = None  # when the forecast was made
    sun_shift_s: float = 0.0
    basis: Mapping[str, Basis] = field(default_factory=dict)
    ensemble: Mapping[str, NDArray[np.float64]] = field(default_factory=dict)  # (hours, E) each

    def __post_init__(self) -> None:
        hours = self.time_s.size
        if hours < 2:
            raise StillwetError(Problem("weather", "at least 2 hours", f"{hours}", self.source))
        for name in COLUMNS:
            if getattr(self, name).shape != (hours,):
                raise StillwetError(
                    Problem(name, f"{hours} values", str(getattr(self, name).shape), self.source)
                )
        for name, members in self.ensemble.items():
            wanted = (hours, self.ensemble_size)
            if name not in ENSEMBLE_COLUMNS or members.shape != wanted:
                got = f"{name} of shape {members.shape}"
                raise StillwetError(
                    Problem("ensemble", f"columns of shape {wanted}", got, self.source)
                )
        if not np.allclose(np.diff(self.time_s), HOUR_S):
            raise StillwetError(
                Problem("time", "one row an hour without gaps", "a gap", self.source)
            )
        need_bounded("latitude", self.latitude_deg, -90.0, 90.0, "deg", self.source)
        need_bounded("longitude", self.longitude_deg, -180.0, 180.0, "deg", self.source)
        need_bounded("elevation", self.elevation_m, -430.0, 6000.0, "m", self.source)
        need_bounded("wind_height", self.wind_height_m, 0.5, 100.0, "m", self.source)

    @property
    def hours(self) -> int:
        """Number of hourly rows."""
        return int(self.time_s.size)

    @property
    def ensemble_size(self) -> int:
        """Number of members of the ensemble forecast; 0 when there is none."""
        return next((int(members.shape[1]) for members in self.ensemble.values()), 0)


# Column name -> (dimension for the door, lowest, highest, unit of the bounds). The bounds are
# physical limits wide enough for any place people work (world records): outside is a unit slip.
COLUMNS: dict[str, tuple[str, float, float, str]] = {
    "air_temperature_k": ("temperature", 213.15, 333.15, "K"),
    "relative_humidity": ("fraction", 0.0, 1.0, "fraction"),
    "wind_speed_m_s": ("speed", 0.0, 60.0, "m/s"),
    "wind_direction_deg": ("angle", 0.0, 360.0, "deg"),
    "pressure_pa": ("pressure", 40e3, 110e3, "Pa"),
    "ghi_w_m2": ("heat_flux", 0.0, 1500.0, "W/m2"),
    "dni_w_m2": ("heat_flux", 0.0, 1400.0, "W/m2"),
    "dhi_w_m2": ("heat_flux", 0.0, 1000.0, "W/m2"),
    "cloud_cover": ("fraction", 0.0, 1.0, "fraction"),
    "precipitation_kg_m2": ("water_depth", 0.0, 300.0, "mm"),
}

# The columns in which the members of an ensemble forecast may differ.
ENSEMBLE_COLUMNS = (
    "air_temperature_k",
    "relative_humidity",
    "wind_speed_m_s",
    "cloud_cover",
    "ghi_w_m2",
)
