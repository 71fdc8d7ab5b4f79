"""Drying demand and its running sum, for every face, hour and member."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.assets import Geometry, Shading, Surface
from stillwet.domain.facing import FacingDemand
from stillwet.domain.job import Job
from stillwet.domain.weather import HOUR_S, Weather
from stillwet.engine.members import Members
from stillwet.engine.sky import Sky, job_sky, make_sky

Array = NDArray[np.float64]

GEOMETRY_CODE = {Geometry.WALL: 0, Geometry.ROOF: 1, Geometry.CYLINDER: 2, Geometry.BLADE: 3}
_LEAST_RISE_KG_M2 = 1e-12  # of an hour without drying, so that nothing is divided by zero


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
    by_id = {asset.id: asset for asset in job.assets}
    return _drying(
        job,
        surfaces,
        members,
        shaded=np.array([by_id[face.asset_id].shading is Shading.SHADED for face in surfaces]),
        sheltering=np.array([by_id[face.asset_id].sheltering for face in surfaces]),
    )


def typical_drying(job: Job, surfaces: tuple[Surface, ...], members: Members) -> Drying:
    """The same for faces that stand in the open, where sun and wind reach them as forecast."""
    count = len(surfaces)
    shaded = np.zeros(count, dtype=np.bool_)
    return _drying(job, surfaces, members, shaded=shaded, sheltering=np.ones(count))


def _drying(
    job: Job,
    surfaces: tuple[Surface, ...],
    members: Members,
    *,
    shaded: NDArray[np.bool_],
    sheltering: Array,
) -> Drying:
    sky = job_sky(job, members)
    demand = face_demand(
        sky,
        job.weather,
        surfaces,
        shaded=shaded,
        sheltering=sheltering,
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
