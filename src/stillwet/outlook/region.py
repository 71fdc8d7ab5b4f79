"""One region of a forecast, in SI on whole hours, and what it answers: pure arithmetic."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwet.outlook.ask import HOUR_S, Ask
from stillwet.outlook.holding import Answers, hold_answers
from stillwet.physics.sun_grid import SunFrom

Array = NDArray[np.float64]
_DAYLIGHT_W_M2 = 5.0  # below this a member's sun is not set against the mean


@dataclass(frozen=True, eq=False)
class RegionWeather:
    """The weather of some cells. H hours, C cells, M members; cells not valid hold any numbers.

    ``sun`` (H, C, M) is global irradiance or, with ``SunFrom.CLOUD``, cloud cover. ``direct`` and
    ``diffuse`` (H, C) only with ``SunFrom.PARTS``. ``cloud`` None: read back from the sun.
    ``sun_shift_s`` leads from a stamp to the moment its irradiance stands for.
    """

    time_s: Array  # (H,)
    latitude_deg: Array  # (C,)
    longitude_deg: Array  # (C,)
    elevation_m: Array  # (C,)
    turbidity: Array  # (12, C)
    valid: NDArray[np.bool_]  # (C,)
    air_temperature_k: Array  # (H, C, M)
    relative_humidity: Array  # (H, C, M)
    wind_speed_m_s: Array  # (H, C, M) at 10 m
    pressure_pa: Array  # (H, C)
    sun_from: SunFrom
    sun: Array
    direct: Array | None
    diffuse: Array | None
    cloud: Array | None  # (H, C, M)
    sun_shift_s: float


@dataclass(frozen=True, eq=False)
class RegionSky:
    """Sun on the faces (S, H, C), each member's share of it and long-wave of the sky (H, C, M)."""

    faces_w_m2: Array
    factor: Array
    longwave_w_m2: Array


def region_sky(weather: RegionWeather, ask: Ask) -> RegionSky:
    """What the sky sends onto the faces of every cell."""
    from stillwet.physics.sun_grid import grid_cloud, grid_light, grid_longwave
    from stillwet.physics.sun_track import face_directions, places, sun_track

    mean = weather.sun.mean(axis=2)
    light = grid_light(
        source=weather.sun_from,
        given=mean,
        direct_w_m2=weather.direct,
        diffuse_w_m2=weather.diffuse,
        track=sun_track(time_s=weather.time_s + weather.sun_shift_s),
        place=places(
            latitude_deg=weather.latitude_deg,
            longitude_deg=weather.longitude_deg,
            elevation_m=weather.elevation_m,
            turbidity=weather.turbidity,
        ),
        faces=face_directions(
            tilt_deg=np.array([face.tilt_deg for face in ask.faces]),
            azimuth_deg=np.array([face.azimuth_deg for face in ask.faces]),
        ),
        albedo=ask.albedo,
        with_clear=weather.cloud is None,
    )
    cloud = weather.cloud
    if cloud is None:
        cloud = grid_cloud(ghi_w_m2=light.ghi_w_m2, clear_ghi_w_m2=light.clear_ghi_w_m2)
    return RegionSky(
        _at_stamps(light.faces_w_m2, weather.sun_shift_s),
        _member_factor(weather, light.ghi_w_m2),
        grid_longwave(
            air_temperature_k=weather.air_temperature_k,
            relative_humidity=weather.relative_humidity,
            cloud_cover=cloud,
        ),
    )


def _at_stamps(light: Array, shift_s: float) -> Array:
    """Light at the stamps from light at the shifted times: straight lines, ends held."""
    share = shift_s / HOUR_S
    if share == 0.0:
        return light
    out = light.copy()
    if share < 0:
        out[:, :-1] = light[:, :-1] * (1 + share) - light[:, 1:] * share
    else:
        out[:, 1:] = light[:, 1:] * (1 - share) + light[:, :-1] * share
    return out


def _member_factor(weather: RegionWeather, ghi: Array) -> Array:
    """Each member's sun over the mean sun (H, C, M); 1 by night and with one member."""
    if weather.sun.shape[2] == 1:
        return np.ones(weather.sun.shape)
    is_day = (ghi > _DAYLIGHT_W_M2)[:, :, None]
    if weather.sun_from is not SunFrom.CLOUD:
        return np.where(is_day, weather.sun / np.where(is_day, ghi[:, :, None], 1.0), 1.0)
    from stillwet.physics.sun import cloud_transmission_kasten_czeplak

    through = cloud_transmission_kasten_czeplak(cloud_cover=np.clip(weather.sun, 0.0, 1.0))
    mean = np.clip(weather.sun.mean(axis=2, keepdims=True), 0.0, 1.0)
    return np.where(is_day, through / cloud_transmission_kasten_czeplak(cloud_cover=mean), 1.0)


def region_demand(weather: RegionWeather, ask: Ask) -> Array:
    """Drying demand [kg/m2s] of every face, hour, cell and member (S, H, C, M)."""
    from stillwet.physics.kernel import drying_demand_grid

    sky = region_sky(weather, ask)
    hours, cells, members = weather.air_temperature_k.shape
    flat = (hours * cells, members)
    found = drying_demand_grid(
        air_temperature_k=weather.air_temperature_k.reshape(flat),
        relative_humidity=weather.relative_humidity.reshape(flat),
        wind_speed_m_s=weather.wind_speed_m_s.reshape(flat),
        pressure_pa=weather.pressure_pa.reshape(-1),
        irradiance_w_m2=sky.faces_w_m2.reshape(len(ask.faces), -1),
        irradiance_factor=sky.factor.reshape(flat),
        sky_longwave_w_m2=sky.longwave_w_m2.reshape(flat),
        tilt_deg=np.array([face.tilt_deg for face in ask.faces]),
        length_m=np.array([face.length_m for face in ask.faces]),
        height_m=np.array([face.height_m for face in ask.faces]),
        geometry=np.array([face.geometry for face in ask.faces], dtype=np.int8),
        sheltering=np.full(len(ask.faces), ask.sheltering),
    )
    return found.reshape(len(ask.faces), hours, cells, members)


def region_answers(weather: RegionWeather, ask: Ask) -> Answers:
    """Every answer over the region."""
    return hold_answers(
        demand_kg_m2_s=region_demand(weather, ask),
        valid=weather.valid,
        time_s=weather.time_s,
        ask=ask,
    )
