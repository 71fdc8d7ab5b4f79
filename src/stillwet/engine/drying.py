"""Weather, sun and faces to drying demand and its running sum, for every face, hour and member."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.assets import Geometry, Shading, Surface
from stillwet.domain.facing import FacingDemand
from stillwet.domain.job import Job, Uncertainty
from stillwet.domain.weather import HOUR_S, Weather
from stillwet.engine.members import Members, growing_sd

Array = NDArray[np.float64]

GEOMETRY_CODE = {Geometry.WALL: 0, Geometry.ROOF: 1, Geometry.CYLINDER: 2, Geometry.BLADE: 3}
_LEAST_RISE_KG_M2 = 1e-12  # of an hour without drying, so that nothing is divided by zero
HORIZON_AFTER_FIRE_S = 12 * HOUR_S  # hold-until is followed this far past the last fire window


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
class Drying:
    """Drying demand summed since the first hour: ``total_kg_m2`` of shape (faces, hours, members).

    Between hours the sum is taken as linear (the demand as constant).
    """

    time_s: Array
    total_kg_m2: Array

    def at(self, time_s: Array) -> Array:
        """The running sum at one time a face: times (S,) or (S, M) -> (S, M), ends held."""
        when = np.clip(time_s, self.time_s[0], self.time_s[-1])
        if when.ndim == 1:
            when = when[:, None]
        position = (when - self.time_s[0]) / HOUR_S
        lower = np.minimum(position.astype(np.int64), self.time_s.size - 2)
        share = position - lower
        faces = np.arange(self.total_kg_m2.shape[0])[:, None]
        members = np.arange(self.total_kg_m2.shape[2])[None, :]
        below = self.total_kg_m2[faces, lower, members]
        above = self.total_kg_m2[faces, lower + 1, members]
        return np.asarray(below + share * (above - below))

    def when(self, total_kg_m2: Array) -> Array:
        """The time at which the running sum reaches a value: (S, M) -> (S, M), the end if never."""
        lower = (self.total_kg_m2 <= total_kg_m2[:, None, :]).sum(axis=1) - 1
        lower = np.clip(lower, 0, self.time_s.size - 2)
        faces = np.arange(self.total_kg_m2.shape[0])[:, None]
        members = np.arange(self.total_kg_m2.shape[2])[None, :]
        below = self.total_kg_m2[faces, lower, members]
        above = self.total_kg_m2[faces, lower + 1, members]
        rise = np.maximum(above - below, _LEAST_RISE_KG_M2)
        share = np.clip((total_kg_m2 - below) / rise, 0.0, 1.0)
        return np.asarray(self.time_s[lower] + share * HOUR_S)


def _window(weather: Weather, from_s: float, to_s: float) -> slice:
    first = int(np.searchsorted(weather.time_s, from_s, side="right")) - 1
    last = int(np.searchsorted(weather.time_s, to_s, side="left")) + 1
    return slice(max(0, first), max(2, min(weather.hours, last)))


def _sun(weather: Weather, hours: slice) -> tuple[Array, Array, Array, Array]:
    """Irradiance columns and the times they stand for, from the file or from cloud cover."""
    from stillwet.physics.sun import irradiance_from_cloud

    time_s = weather.time_s[hours]
    ghi, dni, dhi = (weather.ghi_w_m2[hours], weather.dni_w_m2[hours], weather.dhi_w_m2[hours])
    if not (np.isnan(ghi).any() or np.isnan(dni).any() or np.isnan(dhi).any()):
        return ghi, dni, dhi, time_s + weather.sun_shift_s
    ghi, dni, dhi = irradiance_from_cloud(
        time_s=time_s,
        latitude_deg=weather.latitude_deg,
        longitude_deg=weather.longitude_deg,
        elevation_m=weather.elevation_m,
        cloud_cover=weather.cloud_cover[hours],
    )
    return ghi, dni, dhi, time_s


def _cloud(weather: Weather, hours: slice, ghi: Array, sun_time_s: Array) -> Array:
    """Cloud cover by hour: the file's, else what the sun's strength says of it."""
    from stillwet.physics.sun import clear_sky, cloud_from_irradiance

    cloud = weather.cloud_cover[hours]
    if not np.isnan(cloud).any():
        return cloud
    clear = clear_sky(
        time_s=sun_time_s,
        latitude_deg=weather.latitude_deg,
        longitude_deg=weather.longitude_deg,
        elevation_m=weather.elevation_m,
    )
    return cloud_from_irradiance(ghi_w_m2=ghi, clear_sky_ghi_w_m2=clear.ghi_w_m2)


def make_sky(
    weather: Weather,
    *,
    from_s: float,
    to_s: float,
    members: Members | None,
    uncertainty: Uncertainty,
) -> Sky:
    """The weather of the hours from ``from_s`` to ``to_s``, perturbed by member and lead time.

    ``members`` None gives one column: the forecast as it stands.
    """
    from stillwet.physics.air import vapour_pressure
    from stillwet.physics.sun import sky_longwave
    from stillwet.physics.wind import FORECAST_HEIGHT_M, wind_at_height_log

    hours = _window(weather, from_s, to_s)
    time_s = weather.time_s[hours]
    lead_h = (time_s - (weather.issued_s if weather.issued_s is not None else from_s)) / HOUR_S

    def shift(dimension: str, size: tuple[float, float]) -> Array:
        if members is None:
            return np.zeros((time_s.size, 1))
        spread = growing_sd(size, lead_h)
        return np.asarray(spread[:, None] * members.normal(dimension)[None, :])

    temperature = weather.air_temperature_k[hours, None] + shift(
        "temperature", uncertainty.temperature_k
    )
    humidity = weather.relative_humidity[hours, None] + shift("humidity", uncertainty.humidity)
    humidity = np.clip(humidity, 0.01, 1.0)
    wind_10m = np.asarray(
        wind_at_height_log(
            speed_m_s=weather.wind_speed_m_s[hours],
            from_height_m=weather.wind_height_m,
            to_height_m=FORECAST_HEIGHT_M,
        )
    )
    ghi, dni, dhi, sun_time_s = _sun(weather, hours)
    cloud = _cloud(weather, hours, ghi, sun_time_s)
    return Sky(
        time_s=time_s,
        air_temperature_k=temperature,
        relative_humidity=humidity,
        wind_speed_m_s=wind_10m[:, None] * np.exp(shift("wind", uncertainty.wind_log)),
        pressure_pa=weather.pressure_pa[hours],
        sky_longwave_w_m2=np.asarray(
            sky_longwave(
                air_temperature_k=temperature,
                vapour_pressure_pa=vapour_pressure(
                    temperature_k=temperature, relative_humidity=humidity
                ),
                cloud_cover=cloud[:, None],
            )
        ),
        irradiance_factor=np.exp(shift("sun", uncertainty.sun_log)),
        ghi_w_m2=ghi,
        dni_w_m2=dni,
        dhi_w_m2=dhi,
        sun_time_s=sun_time_s,
    )


def face_demand(
    sky: Sky,
    weather: Weather,
    surfaces: tuple[Surface, ...],
    *,
    shaded: NDArray[np.bool_],
    sheltering: Array,
    albedo: float,
) -> Array:
    """Drying demand [kg/m2s] of shape (faces, hours, members), never below 0."""
    from stillwet.physics.kernel import drying_demand_grid
    from stillwet.physics.sun import face_irradiance

    tilt = np.array([face.tilt_deg for face in surfaces])
    irradiance = face_irradiance(
        time_s=sky.sun_time_s,
        latitude_deg=weather.latitude_deg,
        longitude_deg=weather.longitude_deg,
        elevation_m=weather.elevation_m,
        ghi_w_m2=sky.ghi_w_m2,
        dni_w_m2=sky.dni_w_m2,
        dhi_w_m2=sky.dhi_w_m2,
        tilt_deg=tilt,
        azimuth_deg=np.array([face.azimuth_deg for face in surfaces]),
        shaded=shaded,
        albedo=albedo,
    )
    if not np.array_equal(sky.sun_time_s, sky.time_s):
        irradiance = np.stack([np.interp(sky.time_s, sky.sun_time_s, row) for row in irradiance])
    return np.asarray(
        drying_demand_grid(
            air_temperature_k=sky.air_temperature_k,
            relative_humidity=sky.relative_humidity,
            wind_speed_m_s=sky.wind_speed_m_s,
            pressure_pa=sky.pressure_pa,
            irradiance_w_m2=irradiance,
            irradiance_factor=sky.irradiance_factor,
            sky_longwave_w_m2=sky.sky_longwave_w_m2,
            tilt_deg=tilt,
            length_m=np.array([face.length_m for face in surfaces]),
            height_m=np.array([face.height_m for face in surfaces]),
            geometry=np.array([GEOMETRY_CODE[face.geometry] for face in surfaces], dtype=np.int8),
            sheltering=sheltering,
        )
    )


def running_sum(time_s: Array, demand_kg_m2_s: Array) -> Drying:
    """Sum a demand (faces, hours, members) over time by trapezoids, 0 at the first hour."""
    steps = 0.5 * (demand_kg_m2_s[:, 1:] + demand_kg_m2_s[:, :-1]) * np.diff(time_s)[None, :, None]
    total = np.zeros_like(demand_kg_m2_s)
    np.cumsum(steps, axis=1, out=total[:, 1:])
    return Drying(time_s=time_s, total_kg_m2=total)


def job_drying(job: Job, surfaces: tuple[Surface, ...], members: Members) -> Drying:
    """The running drying demand of every face of the job, from its start past the last fire."""
    last = max(asset.fire.arrival_to_s for asset in job.assets) + job.practice.ember_period_s
    sky = make_sky(
        job.weather,
        from_s=job.start_s,
        to_s=last + HORIZON_AFTER_FIRE_S,
        members=members,
        uncertainty=job.uncertainty,
    )
    by_id = {asset.id: asset for asset in job.assets}
    demand = face_demand(
        sky,
        job.weather,
        surfaces,
        shaded=np.array([by_id[face.asset_id].shading is Shading.SHADED for face in surfaces]),
        sheltering=np.array([by_id[face.asset_id].sheltering for face in surfaces]),
        albedo=job.practice.ground_albedo,
    )
    return running_sum(sky.time_s, demand)


TYPICAL_FACES = (
    Surface("typical/north", "typical", "north wall", Geometry.WALL, 90.0, 0.0, 1.0, 10.0, 1.5),
    Surface("typical/east", "typical", "east wall", Geometry.WALL, 90.0, 90.0, 1.0, 10.0, 1.5),
    Surface("typical/south", "typical", "south wall", Geometry.WALL, 90.0, 180.0, 1.0, 10.0, 1.5),
    Surface("typical/west", "typical", "west wall", Geometry.WALL, 90.0, 270.0, 1.0, 10.0, 1.5),
    Surface("typical/roof", "typical", "level roof", Geometry.ROOF, 0.0, 0.0, 1.0, 8.0, 3.0),
    Surface("typical/pole", "typical", "pole", Geometry.CYLINDER, 90.0, 180.0, 1.0, 0.3, 5.0),
    Surface(
        "typical/grass", "typical", "grass blades", Geometry.BLADE, 60.0, 180.0, 1.0, 0.003, 0.3
    ),
)


def drying_by_facing(job: Job) -> FacingDemand:
    """The forecast's own drying demand on typical faces, for every hour of the weather file."""
    sky = make_sky(
        job.weather,
        from_s=float(job.weather.time_s[0]),
        to_s=float(job.weather.time_s[-1]),
        members=None,
        uncertainty=job.uncertainty,
    )
    count = len(TYPICAL_FACES)
    demand = face_demand(
        sky,
        job.weather,
        TYPICAL_FACES,
        shaded=np.zeros(count, dtype=np.bool_),
        sheltering=np.ones(count),
        albedo=job.practice.ground_albedo,
    )
    return FacingDemand(
        labels=tuple(face.label for face in TYPICAL_FACES),
        time_s=sky.time_s,
        demand_kg_m2_s=demand[:, :, 0],
    )
