"""A region of a forecast file as weather in SI on whole hours."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from stillwet.constants import STANDARD_PRESSURE
from stillwet.errors import Problem, StillwetError
from stillwet.outlook.ask import HOUR_S
from stillwet.outlook.fields import (
    QUANTITIES,
    STATIC,
    Field,
    flux_between,
    per_second,
    recognise,
)
from stillwet.outlook.grid import Grid, cell_positions, read_grid
from stillwet.outlook.opening import open_forecast_data
from stillwet.outlook.region import RegionWeather
from stillwet.physics.sun_grid import SunFrom

if TYPE_CHECKING:
    import xarray as xr

Array = NDArray[np.float64]
_SAFE_K, _SAFE_RH, _SAFE_WIND = 290.0, 0.5, 3.0  # stand in for missing cells, whose answer is NaN
_GRAVITY_WMO = 9.80665
_VAPOUR_TO_AIR = 0.621945  # ASHRAE Fundamentals 2017 ch. 1 eq. 20
_HALF_HOUR_S = 1800.0
_LAPSE_A_METRE, _POWER = 2.25577e-5, 5.2559  # ASHRAE Fundamentals 2017 ch. 1 eq. 3, solved for Z


@dataclass(frozen=True, eq=False)
class Forecast:
    """An open forecast: its data, what its variables are, and its grid."""

    path: Path
    data: xr.Dataset
    fields: dict[str, Field]
    grid: Grid

    @property
    def sun_from(self) -> SunFrom:
        """What the file says of the sun."""
        if "ghi" not in self.fields:
            return SunFrom.CLOUD
        return SunFrom.PARTS if {"dni", "dhi"} <= set(self.fields) else SunFrom.GLOBAL

    @property
    def sun_shift_s(self) -> float:
        """From a stamp to the moment that its sun stands for, once on whole hours."""
        is_moment = "ghi" not in self.fields or self.fields["ghi"].kind == "moment"
        return 0.0 if is_moment else -_HALF_HOUR_S

    def remarks(self) -> list[str]:
        """What was taken for granted because the file does not say it."""
        left_out = str(self.data.attrs.get("left_out", ""))
        said = [left_out] if left_out else []
        if "pressure" not in self.fields:
            said.append("no surface pressure: standard atmosphere at the elevation")
        if not set(STATIC) & set(self.fields):
            known = "pressure" in self.fields
            said.append("no elevation: " + ("from the pressure" if known else "taken as 0 m"))
        if self.grid.step_s > HOUR_S:
            said.append(
                f"steps of {self.grid.step_s / HOUR_S:g} h; hours between on straight lines"
            )
        if self.sun_from is SunFrom.CLOUD:
            said.append("no sun in the file: clear sky less cloud")
        if self.grid.members == 1:
            said.append("one member: the two confidences are the same, and chances are 0 or 1")
        return said


def open_forecast(path: Path) -> Forecast:
    """Open a forecast and find its way about it; raises for what cannot be used."""
    data = open_forecast_data(path)
    fields = recognise(data, path.name)
    moving = [field.name for key, field in fields.items() if key not in STATIC]
    grid = read_grid(data, moving, path.name)
    fields = {key: _settled(field, data, grid) for key, field in fields.items()}
    return Forecast(path, data, fields, grid)


def _settled(field: Field, data: xr.Dataset, grid: Grid) -> Field:
    """A sum whose kind the file leaves open: growing along time on a sample of cells or not."""
    if field.kind != "sum" or field.bounds is not None:
        return field
    stride = {grid.rows: slice(None, None, max(1, grid.height // 8))}
    stride[grid.columns] = slice(None, None, max(1, grid.width // 8))
    sample = data[field.name].isel(stride).transpose(grid.time, ...).to_numpy()
    rise = np.diff(sample, axis=0)
    grows = bool(np.all(rise[np.isfinite(rise)] >= 0)) and grid.time_s.size * grid.step_s > 43200
    return Field(field.name, field.factor, field.offset, "since start") if grows else field


@lru_cache(maxsize=4)
def _turbidity_table() -> NDArray[np.uint8]:
    """The monthly Linke turbidity map of pvlib, times 20: (2160, 4320, 12)."""
    import h5py
    import pvlib

    path = Path(pvlib.__file__).parent / "data" / "LinkeTurbidities.h5"
    with h5py.File(path, "r") as file:
        return np.asarray(file["LinkeTurbidity"][:], dtype=np.uint8)


def turbidity_at(latitude_deg: Array, longitude_deg: Array) -> Array:
    """Linke turbidity (12, C) of the map's cell at each place, by month."""
    row = np.clip(np.around((latitude_deg - (90 - 1 / 24)) * -12), 0, 2159).astype(np.int64)
    column = np.clip(np.around((longitude_deg - (-180 + 1 / 24)) * 12), 0, 4319).astype(np.int64)
    return np.ascontiguousarray(_turbidity_table()[row, column].T / 20.0)


def load_region(forecast: Forecast, rows: slice, columns: slice) -> RegionWeather:
    """The weather of a block of cells, read, converted, checked and set on whole hours."""
    region = _Region(forecast, rows, columns)
    latitude, longitude = cell_positions(forecast.data, forecast.grid, rows, columns)
    temperature = region.hourly("air_temperature")
    pressure, elevation = region.pressure_and_elevation(latitude.size)
    humidity = region.humidity(temperature, pressure)
    wind = region.wind()
    sun_from = forecast.sun_from
    sun = region.sun("cloud_cover" if sun_from is SunFrom.CLOUD else "ghi")
    parts = sun_from is SunFrom.PARTS
    cloud = region.hourly("cloud_cover") if "cloud_cover" in forecast.fields else None
    given = [temperature, humidity, wind, sun, pressure[:, :, None]]
    given += [] if cloud is None else [cloud]
    valid = np.logical_and.reduce([np.isfinite(v).all(axis=(0, 2)) for v in given])
    valid &= np.isfinite(elevation)
    members = max(v.shape[2] for v in given)
    shape = (forecast.grid.hours_s.size, latitude.size, members)

    def whole(values: Array, safe: float) -> Array:
        filled = np.where(valid[None, :, None], values, safe)
        return np.ascontiguousarray(np.broadcast_to(filled, shape))

    return RegionWeather(
        time_s=forecast.grid.hours_s,
        latitude_deg=latitude,
        longitude_deg=longitude,
        elevation_m=np.where(valid, elevation, 0.0),
        turbidity=turbidity_at(latitude, longitude),
        valid=valid,
        air_temperature_k=whole(temperature, _SAFE_K),
        relative_humidity=whole(np.clip(humidity, 0.01, 1.0), _SAFE_RH),
        wind_speed_m_s=whole(wind, _SAFE_WIND),
        pressure_pa=np.where(valid, pressure, STANDARD_PRESSURE),
        sun_from=sun_from,
        sun=whole(sun, 0.0),
        direct=np.where(valid, region.sun("dni").mean(axis=2), 0.0) if parts else None,
        diffuse=np.where(valid, region.sun("dhi").mean(axis=2), 0.0) if parts else None,
        cloud=None if cloud is None else whole(np.clip(cloud, 0.0, 1.0), 0.0),
        sun_shift_s=forecast.sun_shift_s,
    )


class _Region:
    """Reads the fields of one block of cells as (hours, cells, members)."""

    def __init__(self, forecast: Forecast, rows: slice, columns: slice) -> None:
        self._forecast = forecast
        self._part = {forecast.grid.rows: rows, forecast.grid.columns: columns}

    def _stamps(self, quantity: str) -> Array:
        """The field at the file's own stamps (T, C, M), SI, checked; T is 1 for a static field."""
        grid, field = self._forecast.grid, self._forecast.fields[quantity]
        variable = self._forecast.data[field.name].isel(self._part)
        kept = (grid.time, grid.rows, grid.columns, grid.member)
        spare = {d: 0 for d in variable.dims if d not in kept}
        variable = variable.isel(spare)
        order = [d for d in kept if d is not None and d in variable.dims]
        values = np.asarray(variable.transpose(*order).to_numpy(), dtype=np.float64)
        values = values[None] if grid.time not in variable.dims else values
        values = values[..., None] if grid.member not in variable.dims else values
        values = field.offset + field.factor * values
        values = values.reshape(values.shape[0], -1, values.shape[-1])
        values = self._flux(field, values)
        self._need_bounds(quantity, field, values)
        return values

    def _intervals(self, field: Field) -> Array:
        """Begin and end (T, 2) [s] of what each stamp of a mean or sum covers."""
        found = self._forecast.data[str(field.bounds)].to_numpy()
        return np.asarray(found.astype("datetime64[ms]").astype(np.float64) / 1000.0)

    def _flux(self, field: Field, values: Array) -> Array:
        """Values as fluxes or means of each stamp's own stretch of time."""
        if field.bounds is None:
            steps = np.full(values.shape[0], self._forecast.grid.step_s)
            return per_second(values, field.kind, steps)
        is_sum, intervals = field.kind in ("sum", "since start"), self._intervals(field)
        return flux_between(values, is_sum=is_sum, bounds_s=intervals)[0]

    def _moments(self, field: Field) -> Array:
        """The moments (T,) [s] that the stamps stand for: the middles of means and sums."""
        stamps = self._forecast.grid.time_s
        if field.kind == "moment":
            return stamps
        if field.bounds is None:
            return stamps - self._forecast.grid.step_s / 2
        none = np.zeros(stamps.size)
        return flux_between(none, is_sum=True, bounds_s=self._intervals(field))[1]

    def _need_bounds(self, quantity: str, field: Field, values: Array) -> None:
        """Raise for values no weather has: a unit slip, or fill values that nobody declared."""
        spec = QUANTITIES[quantity]
        with np.errstate(invalid="ignore"):
            outside = (values < spec.low) | (values > spec.high)
        if outside.any():
            first = np.argwhere(outside)[0]
            wanted = f"{spec.low:g} to {spec.high:g} {spec.unit}"
            got = f"{values[tuple(first)]:g} at hour {first[0]}, in {int(outside.sum())} values"
            place = f"{self._forecast.path.name}, variable {field.name}"
            hint = "are units and _FillValue right?"
            raise StillwetError(Problem(quantity, wanted, got, place, hint))

    def _between(self, values: Array, stamps_s: Array, wanted_s: Array) -> Array:
        """Values on straight lines between stamps, ends held."""
        if stamps_s.size == wanted_s.size and np.array_equal(stamps_s, wanted_s):
            return values
        lower = np.clip(np.searchsorted(stamps_s, wanted_s, "right") - 1, 0, stamps_s.size - 2)
        share = (wanted_s - stamps_s[lower]) / (stamps_s[lower + 1] - stamps_s[lower])
        share = np.clip(share, 0.0, 1.0)[:, None, None]
        return np.asarray(values[lower] * (1 - share) + values[lower + 1] * share)

    def hourly(self, quantity: str) -> Array:
        """A field at whole hours (H, C, M)."""
        moments = self._moments(self._forecast.fields[quantity])
        return self._between(self._stamps(quantity), moments, self._forecast.grid.hours_s)

    def sun(self, quantity: str) -> Array:
        """Sun or cloud at whole hours plus the shift; a mean stands for its step's middle."""
        moments = self._moments(self._forecast.fields[quantity])
        wanted = self._forecast.grid.hours_s + self._forecast.sun_shift_s
        found = self._between(self._stamps(quantity), moments, wanted)
        return found if quantity == "cloud_cover" else np.maximum(found, 0.0)

    def pressure_and_elevation(self, cells: int) -> tuple[Array, Array]:
        """Surface pressure (H, C) and elevation (C,), either from the other where need be."""
        from stillwet.physics.air import pressure_at_elevation

        fields, hours = self._forecast.fields, self._forecast.grid.hours_s.size
        elevation = None
        if "elevation" in fields:
            elevation = self._stamps("elevation")[0, :, 0]
        elif "geopotential" in fields:
            elevation = self._stamps("geopotential")[0, :, 0] / _GRAVITY_WMO
        if "pressure" in fields:
            pressure = self.hourly("pressure").mean(axis=2)
            if elevation is None:
                share = pressure.mean(axis=0) / STANDARD_PRESSURE
                elevation = (1 - share ** (1 / _POWER)) / _LAPSE_A_METRE
            return pressure, elevation
        elevation = np.zeros(cells) if elevation is None else elevation
        standard = np.asarray(pressure_at_elevation(elevation_m=elevation))
        return np.ascontiguousarray(np.broadcast_to(standard, (hours, cells))), elevation

    def humidity(self, temperature: Array, pressure: Array) -> Array:
        """Relative humidity over water (H, C, M) [fraction]."""
        from stillwet.physics.air import saturation_pressure_water_hyland_wexler

        fields = self._forecast.fields
        if "relative_humidity" in fields:
            return self.hourly("relative_humidity")
        full = saturation_pressure_water_hyland_wexler(temperature_k=temperature)
        if "dew_point" in fields:
            dew = self.hourly("dew_point")
            return np.asarray(saturation_pressure_water_hyland_wexler(temperature_k=dew) / full)
        share = self.hourly("specific_humidity")
        vapour = share * pressure[:, :, None] / (_VAPOUR_TO_AIR + (1 - _VAPOUR_TO_AIR) * share)
        return np.asarray(vapour / full)

    def wind(self) -> Array:
        """Wind speed at 10 m (H, C, M), from its components where the speed is not given."""
        if "wind_speed" in self._forecast.fields:
            return self.hourly("wind_speed")
        return np.hypot(self.hourly("eastward_wind"), self.hourly("northward_wind"))
