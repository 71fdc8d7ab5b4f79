"""The job's weather in every member: the forecast with its errors, or an ensemble's own members."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.job import Job, Uncertainty
from stillwet.domain.weather import HOUR_S, Weather
from stillwet.engine.error_modes import error_modes
from stillwet.engine.members import MODES, Members, growing_sd

Array = NDArray[np.float64]

HORIZON_AFTER_FIRE_S = 12 * HOUR_S  # hold-until is followed this far past the last fire window
_DAYLIGHT_W_M2 = 5.0  # below this an ensemble's sun is not set against its mean


@dataclass(frozen=True, eq=False)
class Sky:
    """The job's weather in the hours reckoned, one column a member. H hours, M members."""

    time_s: Array  # (H,)
    air_temperature_k: Array  # (H, M)
    relative_humidity: Array  # (H, M)
    wind_speed_m_s: Array  # (H, M) in the open at 10 m
    pressure_pa: Array  # (H,)
    sky_longwave_w_m2: Array  # (H, M)
    irradiance_factor: Array  # (H, M)
    ghi_w_m2: Array  # (H,)
    dni_w_m2: Array  # (H,)
    dhi_w_m2: Array  # (H,)
    sun_time_s: Array  # (H,) the times the irradiance columns stand for


@dataclass(frozen=True, eq=False)
class Air:
    """The air at one moment in the open, one value a member (M,); wind at 10 m."""

    air_temperature_k: Array
    relative_humidity: Array
    wind_speed_m_s: Array
    cloud_cover: Array


class _Errors:
    """The members' errors over some hours. Of an ensemble only its local, first-hour part is left.

    What differs between places of one grid cell is in no forecast, but an ensemble's own spread
    stands for all that grows with lead time.
    """

    def __init__(
        self,
        weather: Weather,
        hours: slice,
        from_s: float,
        members: Members | None,
        uncertainty: Uncertainty,
    ) -> None:
        time_s = weather.time_s[hours]
        self._weather, self._hours, self._members = weather, hours, members
        issued_s = weather.issued_s if weather.issued_s is not None else from_s
        lead_h = (time_s - issued_s) / HOUR_S
        self._lead_h = np.zeros_like(lead_h) if weather.ensemble else lead_h
        self._modes = error_modes(
            count=time_s.size, persistence=uncertainty.persistence_s / HOUR_S, modes=MODES
        )

    def shift(self, cause: str, size: tuple[float, float]) -> Array:
        """The error (H, M) of one quantity, of standard deviation ``size`` by lead time."""
        if self._members is None:
            return np.zeros((self._lead_h.size, 1))
        spread = growing_sd(size, self._lead_h)[:, None]
        return np.asarray(spread * (self._modes @ self._members.normal(cause).T))

    def column(self, name: str) -> Array:
        """A weather column (H, M) or, where all members share it, (H, 1)."""
        ensemble = self._weather.ensemble.get(name)
        if ensemble is None or self._members is None:
            return np.asarray(getattr(self._weather, name)[self._hours, None])
        chosen = self._members.forecast_member(ensemble.shape[1])
        return np.asarray(ensemble[self._hours][:, chosen])


def _window(weather: Weather, from_s: float, to_s: float) -> slice:
    first = int(np.searchsorted(weather.time_s, from_s, side="right")) - 1
    last = int(np.searchsorted(weather.time_s, to_s, side="left")) + 1
    return slice(max(0, first), max(2, min(weather.hours, last)))


def _air(weather: Weather, errors: _Errors, uncertainty: Uncertainty) -> tuple[Array, Array, Array]:
    """Temperature, humidity and wind at 10 m, (H, M) each."""
    from stillwet.physics.wind import FORECAST_HEIGHT_M, wind_at_height_log

    temperature = errors.column("air_temperature_k") + errors.shift(
        "temperature", uncertainty.temperature_k
    )
    humidity = errors.column("relative_humidity") + errors.shift("humidity", uncertainty.humidity)
    wind_10m = np.asarray(
        wind_at_height_log(
            speed_m_s=errors.column("wind_speed_m_s"),
            from_height_m=weather.wind_height_m,
            to_height_m=FORECAST_HEIGHT_M,
        )
    )
    return (
        temperature,
        np.clip(humidity, 0.01, 1.0),
        wind_10m * np.exp(errors.shift("wind", uncertainty.wind_log)),
    )


def _has_sun(weather: Weather, hours: slice) -> bool:
    columns = (weather.ghi_w_m2, weather.dni_w_m2, weather.dhi_w_m2)
    return not any(np.isnan(column[hours]).any() for column in columns)


def _sun_from_cloud(weather: Weather, hours: slice, cloud: Array) -> tuple[Array, Array, Array]:
    from stillwet.physics.sun import irradiance_from_cloud

    return irradiance_from_cloud(
        time_s=weather.time_s[hours],
        latitude_deg=weather.latitude_deg,
        longitude_deg=weather.longitude_deg,
        elevation_m=weather.elevation_m,
        cloud_cover=cloud,
    )


def _sun(weather: Weather, hours: slice) -> tuple[Array, Array, Array, Array]:
    """Irradiance columns and the times they stand for, from the file or from cloud cover."""
    time_s = weather.time_s[hours]
    if not _has_sun(weather, hours):
        return *_sun_from_cloud(weather, hours, weather.cloud_cover[hours]), time_s
    ghi, dni, dhi = weather.ghi_w_m2[hours], weather.dni_w_m2[hours], weather.dhi_w_m2[hours]
    return ghi, dni, dhi, time_s + weather.sun_shift_s


def _sun_ratio(weather: Weather, hours: slice, ghi: Array, members: Members | None) -> Array:
    """Each member's sun over the mean sun, (H, M) or (H, 1): 1 where no ensemble tells them apart.

    All parts of the irradiance are scaled alike.
    """
    every: Array | None = None
    if members is not None and _has_sun(weather, hours) and "ghi_w_m2" in weather.ensemble:
        every = weather.ensemble["ghi_w_m2"][hours]
    elif members is not None and "cloud_cover" in weather.ensemble:
        cloud = weather.ensemble["cloud_cover"][hours]
        every = np.stack([_sun_from_cloud(weather, hours, column)[0] for column in cloud.T], axis=1)
        ghi = _sun_from_cloud(weather, hours, weather.cloud_cover[hours])[0]
    if every is None or members is None:
        return np.ones((ghi.size, 1))
    is_day = ghi[:, None] > _DAYLIGHT_W_M2
    ratio = np.where(is_day, every / np.where(is_day, ghi[:, None], 1.0), 1.0)
    return np.asarray(ratio[:, members.forecast_member(every.shape[1])])


def _cloud(weather: Weather, hours: slice, errors: _Errors) -> Array:
    """Cloud cover (H, M) or (H, 1): the file's, else what the sun's strength says of it."""
    from stillwet.physics.sun import clear_sky, cloud_from_irradiance

    cloud = errors.column("cloud_cover")
    if not np.isnan(cloud).any():
        return cloud
    ghi, _, _, sun_time_s = _sun(weather, hours)
    clear = clear_sky(
        time_s=sun_time_s,
        latitude_deg=weather.latitude_deg,
        longitude_deg=weather.longitude_deg,
        elevation_m=weather.elevation_m,
    )
    found = cloud_from_irradiance(ghi_w_m2=ghi, clear_sky_ghi_w_m2=clear.ghi_w_m2)
    return np.asarray(found)[:, None]


def make_sky(
    weather: Weather,
    *,
    from_s: float,
    to_s: float,
    members: Members | None,
    uncertainty: Uncertainty,
) -> Sky:
    """The weather of the hours from ``from_s`` to ``to_s`` in every member.

    With an ensemble forecast each member follows one of its members and adds the local spread of
    the first hour; without one, the forecast's error grows with lead time. ``members`` None gives
    one column: the forecast as it stands.
    """
    from stillwet.physics.air import vapour_pressure
    from stillwet.physics.sun import sky_longwave

    hours = _window(weather, from_s, to_s)
    errors = _Errors(weather, hours, from_s, members, uncertainty)
    temperature, humidity, wind_10m = _air(weather, errors, uncertainty)
    ghi, dni, dhi, sun_time_s = _sun(weather, hours)
    return Sky(
        time_s=weather.time_s[hours],
        air_temperature_k=temperature,
        relative_humidity=humidity,
        wind_speed_m_s=wind_10m,
        pressure_pa=weather.pressure_pa[hours],
        sky_longwave_w_m2=np.asarray(
            sky_longwave(
                air_temperature_k=temperature,
                vapour_pressure_pa=vapour_pressure(
                    temperature_k=temperature, relative_humidity=humidity
                ),
                cloud_cover=_cloud(weather, hours, errors),
            )
        ),
        irradiance_factor=_sun_ratio(weather, hours, ghi, members)
        * np.exp(errors.shift("sun", uncertainty.sun_log)),
        ghi_w_m2=ghi,
        dni_w_m2=dni,
        dhi_w_m2=dhi,
        sun_time_s=sun_time_s,
    )


def _job_hours(job: Job) -> tuple[float, float]:
    """From the start of work to as long after the last fire as a coat is followed."""
    return job.start_s, job.fire_over_s + HORIZON_AFTER_FIRE_S


def job_sky(job: Job, members: Members) -> Sky:
    """The job's weather from its start past the last fire, in every member."""
    from_s, to_s = _job_hours(job)
    return make_sky(
        job.weather, from_s=from_s, to_s=to_s, members=members, uncertainty=job.uncertainty
    )


def air_at(job: Job, members: Members | None, when_s: float) -> Air:
    """The air in the hour nearest a moment in every member, with the same errors as ``job_sky``.

    Not between hours: what the error's modes leave out turns its sign there.
    """
    from_s, to_s = _job_hours(job)
    hours = _window(job.weather, from_s, to_s)
    errors = _Errors(job.weather, hours, from_s, members, job.uncertainty)
    temperature, humidity, wind_10m = _air(job.weather, errors, job.uncertainty)
    cloud = np.clip(_cloud(job.weather, hours, errors), 0.0, 1.0)
    hour = int(np.argmin(np.abs(job.weather.time_s[hours] - when_s)))
    return Air(
        air_temperature_k=temperature[hour],
        relative_humidity=humidity[hour],
        wind_speed_m_s=wind_10m[hour],
        cloud_cover=np.broadcast_to(cloud[hour], wind_10m[hour].shape),
    )
