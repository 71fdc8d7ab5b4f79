"""Where the sun, the cells of a grid and their faces stand, as `sun_grid` turns them together.

What depends on the hour alone (declination, sidereal time, distance) is taken once an hour from the
solar position algorithm in pvlib.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stillwet.constants import STANDARD_PRESSURE
from stillwet.physics.air import pressure_at_elevation

Array = NDArray[np.float64]

_DELTA_T_S = 67.0  # terrestrial less universal time, as pvlib's default
_AIR_C = 12.0  # temperature that pvlib's refraction takes
_FLATTENING = 0.99664719  # of the earth, as in the solar position algorithm
_EARTH_RADIUS_M = 6378140.0  # at the equator, same


class SunTrack(NamedTuple):
    """The sun seen from the middle of the earth, (H,) each; angles as sine and cosine."""

    cos_angle: Array  # of apparent sidereal time less right ascension, at longitude 0
    sin_angle: Array
    cos_declination: Array
    sin_declination: Array
    sin_parallax: Array
    extra_w_m2: Array  # irradiance above the air
    month: NDArray[np.int64]  # 0 to 11, UTC


class Places(NamedTuple):
    """Cells of a grid, (C,) each; turbidity (12, C) by month."""

    cos_latitude: Array
    sin_latitude: Array
    cos_longitude: Array
    sin_longitude: Array
    axis_distance: Array  # of the place from the earth's axis, in earth radii
    plane_distance: Array  # from the equator's plane
    refraction: Array  # factor of the refraction at the place's pressure
    air_mass: Array  # pressure over standard pressure
    elevation_m: Array
    turbidity: Array


class FaceDirections(NamedTuple):
    """Faces as parts of their outward direction, (S,) each."""

    up: Array
    east: Array
    north: Array


def sun_track(*, time_s: Array) -> SunTrack:
    """The sun at epoch seconds UTC (H,), by the solar position algorithm (Reda & Andreas 2004)."""
    import pandas as pd
    from pvlib import spa
    from pvlib.irradiance import get_extra_radiation

    moments = np.asarray(time_s, dtype=float)
    arguments = (moments, 0.0, 0.0, 0.0, 0.0, 0.0, _DELTA_T_S, 0.0, 1)
    sidereal, ascension, declination = spa.solar_position_numpy(*arguments, sst=True)
    (distance,) = spa.solar_position_numpy(*arguments, esd=True)
    angle = np.radians(np.asarray(sidereal) - np.asarray(ascension))
    index = pd.to_datetime(moments, unit="s", utc=True)
    return SunTrack(
        np.cos(angle),
        np.sin(angle),
        np.cos(np.radians(declination)),
        np.sin(np.radians(declination)),
        np.sin(np.radians(8.794 / (3600 * np.asarray(distance)))),
        np.asarray(get_extra_radiation(index.day_of_year.to_numpy()), dtype=float),
        np.asarray(index.month.to_numpy() - 1, dtype=np.int64),
    )


def places(
    *, latitude_deg: Array, longitude_deg: Array, elevation_m: Array, turbidity: Array
) -> Places:
    """Cells at latitudes and longitudes (C,) [deg], elevation (C,) [m], Linke turbidity (12, C)."""
    latitude = np.radians(np.asarray(latitude_deg, dtype=float))
    longitude = np.radians(np.asarray(longitude_deg, dtype=float))
    height = np.asarray(elevation_m, dtype=float)
    reduced = np.arctan(_FLATTENING * np.tan(latitude))
    # pvlib's own pressure for refraction (a second relation of the standard atmosphere).
    refraction_hpa = ((44331.514 - height) / 11880.516) ** (1 / 0.1902632)
    return Places(
        np.cos(latitude),
        np.sin(latitude),
        np.cos(longitude),
        np.sin(longitude),
        np.cos(reduced) + height / _EARTH_RADIUS_M * np.cos(latitude),
        _FLATTENING * np.sin(reduced) + height / _EARTH_RADIUS_M * np.sin(latitude),
        refraction_hpa / 1010.0 * (283.0 / (273.0 + _AIR_C)),
        np.asarray(pressure_at_elevation(elevation_m=height)) / STANDARD_PRESSURE,
        height,
        np.ascontiguousarray(turbidity, dtype=float),
    )


def face_directions(*, tilt_deg: Array, azimuth_deg: Array) -> FaceDirections:
    """Outward directions of faces: tilt 0 up, 90 a wall; azimuth clockwise from north [deg]."""
    tilt, azimuth = np.radians(tilt_deg), np.radians(azimuth_deg)
    return FaceDirections(
        np.cos(tilt), np.sin(tilt) * np.sin(azimuth), np.sin(tilt) * np.cos(azimuth)
    )
