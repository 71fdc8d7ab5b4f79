"""Sun and sky over a grid: `sun` for many places at once, compiled.

Where the sun stands comes from `sun_track` once an hour; what depends on the place (parallax,
refraction, azimuth) is a rotation of that vector, a few multiplications a cell and hour. The models
and their constants are those of `sun`, with which the answers agree to 1e-9.
"""

from __future__ import annotations

import math
from enum import IntEnum
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from stillwet.compiling import compiled
from stillwet.constants import GAS_CONSTANT_VAPOUR, STEFAN_BOLTZMANN
from stillwet.physics.sun import (
    CLOUD_DEPTH,
    CLOUD_EXPONENT,
    CLOUD_LONGWAVE,
    GROUND_ALBEDO,
    LEAST_CLEAR_SKY_W_M2,
)
from stillwet.physics.sun_track import FaceDirections, Places, SunTrack
from stillwet.physics.wet_air import vapour_density

Array = NDArray[np.float64]

_REFRACTION_AT_HORIZON_DEG = 0.5667  # of the solar position algorithm
_SUN_RADIUS_DEG = 0.26667
_LOWEST_SUN_DEG = -_SUN_RADIUS_DEG - _REFRACTION_AT_HORIZON_DEG
_DEG = 180.0 / math.pi
_RAD = math.pi / 180.0
_LEAST_LEVEL = 1e-12  # sun straight overhead: azimuth has no meaning, and nothing is divided by 0
_LEAST_COSINE = 0.01745  # Hay-Davies' ratio is held here (pvlib)
_LEAST_CLEARNESS_COSINE = 0.065  # Erbs et al. (pvlib)
_LOWEST_SPLIT_DEG = 87.0

_jit: Any = compiled(fastmath={"contract"}, error_model="numpy", nogil=True)
_inlined: Any = compiled(fastmath={"contract"}, error_model="numpy", inline="always")


class SunFrom(IntEnum):
    """What a forecast says of the sun."""

    PARTS = 0  # global, direct and diffuse
    GLOBAL = 1  # global alone: split by Erbs et al. 1982
    CLOUD = 2  # cloud cover alone: clear sky and Kasten & Czeplak 1980


@_inlined
def sun_over(
    cos_angle: float,
    sin_angle: float,
    cos_declination: float,
    sin_declination: float,
    sin_parallax: float,
    cos_latitude: float,
    sin_latitude: float,
    cos_longitude: float,
    sin_longitude: float,
    axis_distance: float,
    plane_distance: float,
    refraction: float,
) -> tuple[float, float, float, float]:
    """Zenith angle [deg] and the direction of the sun (up, east, north) at a place, refracted.

    The vector to the sun less the place's own, turned to the place's horizon: the topocentric
    steps of Reda & Andreas 2004 without their angles.
    """
    x = cos_declination * (cos_angle * cos_longitude - sin_angle * sin_longitude)
    x -= axis_distance * sin_parallax
    y = cos_declination * (sin_angle * cos_longitude + cos_angle * sin_longitude)
    z = sin_declination - plane_distance * sin_parallax
    up = sin_latitude * z + cos_latitude * x
    north = cos_latitude * z - sin_latitude * x
    level = math.sqrt(y * y + north * north) + _LEAST_LEVEL
    height = math.atan2(up, level) * _DEG
    raised = height
    if height >= _LOWEST_SUN_DEG:
        seen = (height + 10.3 / (height + 5.11)) * _RAD
        raised = height + refraction * 1.02 / (60 * math.tan(seen))
    along = math.cos(raised * _RAD) / level
    return 90 - raised, math.sin(raised * _RAD), -y * along, north * along


@_inlined
def split_erbs(
    ghi: float, zenith_deg: float, cos_zenith: float, extra: float
) -> tuple[float, float]:
    """Direct normal and diffuse horizontal irradiance out of the global (Erbs et al. 1982)."""
    clearness = min(max(ghi / (extra * max(cos_zenith, _LEAST_CLEARNESS_COSINE)), 0.0), 1.0)
    diffuse = 1 - 0.09 * clearness
    if clearness > 0.22:
        diffuse = 0.9511 + clearness * (
            -0.1604 + clearness * (4.388 + clearness * (-16.638 + clearness * 12.336))
        )
    if clearness > 0.8:
        diffuse = 0.165
    if zenith_deg > _LOWEST_SPLIT_DEG:
        return 0.0, ghi
    return ghi * (1 - diffuse) / cos_zenith, ghi * diffuse


@_inlined
def clear_global_ineichen(
    zenith_deg: float,
    cos_zenith: float,
    extra: float,
    turbidity: float,
    elevation_m: float,
    air_mass: float,
) -> float:
    """Global irradiance of a clear sky (Ineichen & Perez 2002), air mass by Kasten & Young 1989."""
    if zenith_deg > 90:
        return 0.0
    mass = air_mass / (cos_zenith + 0.50572 * (96.07995 - zenith_deg) ** -1.6364)
    low = math.exp(-elevation_m / 8000)
    high = math.exp(-elevation_m / 1250)
    depth = (3.92e-5 * elevation_m + 0.0387) * mass * (low + high * (turbidity - 1))
    clear: float = (5.09e-5 * elevation_m + 0.868) * extra * max(cos_zenith, 0.0) * math.exp(-depth)
    return clear


@_inlined
def light_on_face(
    ghi: float,
    dni: float,
    dhi: float,
    extra: float,
    sun_up: float,
    sun_east: float,
    sun_north: float,
    up: float,
    east: float,
    north: float,
    albedo: float,
) -> float:
    """Beam, sky (Hay & Davies 1980) and ground light onto one face [W/m2]; dni 0 with sun down."""
    facing = max(up * sun_up + east * sun_east + north * sun_north, 0.0)
    share = dni / extra
    ring = dhi * share * facing / max(sun_up, _LEAST_COSINE)
    sky = dhi * (1 - share) * 0.5 * (1 + up)
    light: float = dni * facing + ring + max(sky, 0.0) + albedo * ghi * 0.5 * (1 - up)
    return light


@_inlined
def cloud_transmission(cloud: float) -> float:
    """Global irradiance under cloud over clear sky (Kasten & Czeplak 1980)."""
    covered = min(max(cloud, 0.0), 1.0)
    through: float = 1 - CLOUD_DEPTH * covered**CLOUD_EXPONENT
    return through


@_jit
def _fill_light(
    light: Array,
    clear: Array,
    ghi: Array,
    source: int,
    given: Array,
    direct: Array,
    diffuse: Array,
    track: SunTrack,
    place: Places,
    faces: FaceDirections,
    albedo: float,
) -> None:
    for h in range(given.shape[0]):
        extra = track.extra_w_m2[h]
        for c in range(given.shape[1]):
            zenith, up, east, north = sun_over(
                track.cos_angle[h],
                track.sin_angle[h],
                track.cos_declination[h],
                track.sin_declination[h],
                track.sin_parallax[h],
                place.cos_latitude[c],
                place.sin_latitude[c],
                place.cos_longitude[c],
                place.sin_longitude[c],
                place.axis_distance[c],
                place.plane_distance[c],
                place.refraction[c],
            )
            if clear.size > 0:
                clear[h, c] = clear_global_ineichen(
                    zenith,
                    up,
                    extra,
                    place.turbidity[track.month[h], c],
                    place.elevation_m[c],
                    place.air_mass[c],
                )
            whole = given[h, c]
            if source == 2:
                whole = clear[h, c] * cloud_transmission(given[h, c])
            dni, dhi = split_erbs(whole, zenith, up, extra)
            if source == 0:
                dni, dhi = direct[h, c], diffuse[h, c]
                if zenith >= 90:
                    dni = 0.0
            ghi[h, c] = whole
            for s in range(faces.up.size):
                light[s, h, c] = light_on_face(
                    whole,
                    dni,
                    dhi,
                    extra,
                    up,
                    east,
                    north,
                    faces.up[s],
                    faces.east[s],
                    faces.north[s],
                    albedo,
                )


class GridLight(NamedTuple):
    """Sun onto faces (S, H, C), clear-sky and given global irradiance (H, C), all W/m2."""

    faces_w_m2: Array
    clear_ghi_w_m2: Array  # empty unless asked for
    ghi_w_m2: Array


def grid_light(
    *,
    source: SunFrom,
    given: Array,
    direct_w_m2: Array | None = None,
    diffuse_w_m2: Array | None = None,
    track: SunTrack,
    place: Places,
    faces: FaceDirections,
    albedo: float = GROUND_ALBEDO,
    with_clear: bool = False,
) -> GridLight:
    """Sun onto the faces of every cell and hour.

    given (H, C): global irradiance [W/m2] or, with ``SunFrom.CLOUD``, cloud cover [fraction].
    """
    shape = np.shape(given)
    need_clear = with_clear or source is SunFrom.CLOUD
    light = np.empty((faces.up.size, *shape))
    clear = np.empty(shape if need_clear else (0, 0))
    ghi = np.empty(shape)
    nothing = np.empty((0, 0))
    _fill_light(
        light,
        clear,
        ghi,
        int(source),
        np.ascontiguousarray(given, dtype=float),
        nothing if direct_w_m2 is None else np.ascontiguousarray(direct_w_m2, dtype=float),
        nothing if diffuse_w_m2 is None else np.ascontiguousarray(diffuse_w_m2, dtype=float),
        track,
        place,
        faces,
        albedo,
    )
    return GridLight(light, clear, ghi)


@_jit
def _fill_cloud(out: Array, ghi: Array, clear: Array) -> None:
    hours = ghi.shape[0]
    for c in range(ghi.shape[1]):
        last = -1
        for h in range(hours):
            if not clear[h, c] >= LEAST_CLEAR_SKY_W_M2:
                continue
            lost = min(max(1 - ghi[h, c] / clear[h, c], 0.0), CLOUD_DEPTH)
            out[h, c] = (lost / CLOUD_DEPTH) ** (1 / CLOUD_EXPONENT)
            for k in range(last + 1, h):
                first = out[last, c] if last >= 0 else out[h, c]
                out[k, c] = first + (out[h, c] - first) * (k - last) / (h - last)
            last = h
        for k in range(last + 1, hours):
            out[k, c] = out[last, c] if last >= 0 else 1.0


def grid_cloud(*, ghi_w_m2: Array, clear_ghi_w_m2: Array) -> Array:
    """Cloud cover (H, C) read back from the sun: `sun.cloud_from_irradiance` cell by cell."""
    out = np.empty(np.shape(ghi_w_m2))
    _fill_cloud(out, np.ascontiguousarray(ghi_w_m2), np.ascontiguousarray(clear_ghi_w_m2))
    return out


@_inlined
def longwave_of_sky(t: float, humidity: float, cloud: float) -> float:
    """Long-wave radiation of the whole sky on level ground: `sun.sky_longwave` [W/m2]."""
    share = vapour_density(t) * humidity * (GAS_CONSTANT_VAPOUR / 100)  # hPa/K
    clear = 1.24 * share ** (1 / 7)
    covered = CLOUD_LONGWAVE * cloud
    sky: float = ((1 - covered) * clear + covered) * STEFAN_BOLTZMANN * (t * t) * (t * t)
    return sky


@_jit
def _fill_longwave(out: Array, t: Array, humidity: Array, cloud: Array, members: int) -> None:
    for i in range(t.size):
        out[i] = longwave_of_sky(t[i], humidity[i], cloud[i // members])


def grid_longwave(
    *, air_temperature_k: Array, relative_humidity: Array, cloud_cover: Array
) -> Array:
    """Long-wave radiation of the sky (..., M); cloud (...,) shared or (..., M) by member."""
    t = np.ascontiguousarray(air_temperature_k, dtype=float)
    cloud = np.ascontiguousarray(cloud_cover, dtype=float)
    out = np.empty(t.size)
    humidity = np.ascontiguousarray(relative_humidity, dtype=float)
    _fill_longwave(out, t.ravel(), humidity.ravel(), cloud.ravel(), t.size // cloud.size)
    return out.reshape(t.shape)
