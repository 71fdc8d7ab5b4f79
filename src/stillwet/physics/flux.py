"""Heat flux at each face while a fire approaches, stands, burns out; several fires added up.

A flame is a flat grey sheet of given length, width and lean (solid-flame model):
``q = tau * emissivity * sigma * T^4 * F``. The view factor is exact (see ``view_factor``), so a
leaning flame gives 5 to 10 % more than the mid-height shortcut of AS 3959 method 2.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stillwet.constants import STEFAN_BOLTZMANN
from stillwet.physics.guards import Numbers
from stillwet.physics.transmissivity import (
    FUSS_HAMINS_SHORTEST_PATH_M,
    transmissivity_fuss_hamins,
)
from stillwet.physics.view_factor import face_normal, view_factor_flame_panel

Array = NDArray[np.float64]

FLAME_TEMPERATURE = 1090.0  # K, AS 3959:2018 appendix B
FLAME_EMISSIVITY = 0.95  # -, AS 3959:2018 appendix B
# Flames on the face: peaks of irradiance in wildland fires were up to 100 kW/m2 in surface fuels,
# 132 in shrub, 200 and 300 in crown fires, with 15 % to over 100 % more by convection (Frankman et
# al. 2013, Int. J. Wildland Fire WF11097). One value for all: untested default, 40 to 300 kW/m2.
CONTACT_FLUX = 100e3
# The flux falls in a straight line to nothing over this many residence times. Untested default, 0
# to 2; the order is right: crown fires, 34 s of flame by video, 74 s of heat by thermocouple
# (Taylor et al. 2004, Can. J. For. Res. 34).
BURN_OUT_SHARE = 1.0
APPROACH_FROM_M = 200.0  # m beyond the setback; the far end of the transmissivity's range
RISE_SHARE = 0.1  # a standing source takes this share of its residence to reach full flame


def transmissivity_any_path(
    *,
    path_m: ArrayLike,
    air_temperature_k: Numbers,
    flame_temperature_k: Numbers,
    relative_humidity: Numbers,
) -> Any:
    """Transmissivity [-] at any distance: the published fit from 10 m on, kept safe closer in.

    Under 10 m a straight line from 1 at the flame to the fit at 10 m (the polynomial itself starts
    near 0.9), so that a closer flame never gives less; untested. Ranges: as the fit's own.
    """
    path = np.asarray(path_m, dtype=float)
    inside = transmissivity_fuss_hamins(
        path_m=np.maximum(path, FUSS_HAMINS_SHORTEST_PATH_M),
        air_temperature_k=air_temperature_k,
        flame_temperature_k=flame_temperature_k,
        relative_humidity=relative_humidity,
    )
    near = np.minimum(path / FUSS_HAMINS_SHORTEST_PATH_M, 1.0)
    return 1.0 - near * (1.0 - inside)


def emissive_power(*, flame_temperature_k: ArrayLike, emissivity: ArrayLike) -> Any:
    """Radiation leaving a flame sheet [W/m2]: emissivity * sigma * T^4 (76.0 kW/m2 for AS 3959)."""
    temperature = np.asarray(flame_temperature_k, dtype=float)
    return np.asarray(emissivity, dtype=float) * STEFAN_BOLTZMANN * temperature**4


def _is_wall(normal: Array) -> Any:
    """True for faces steeper than 45 degrees, which are taken to reach down to the ground."""
    return normal[..., 2] < np.sqrt(0.5)


def _is_touching(
    *, distance: Any, length: Any, tilt_deg: Any, height: Any, slope_deg: Any, normal: Array
) -> Any:
    """True where the flame sheet has reached the face's centre, or stands at the foot of a wall."""
    lean = np.tan(np.radians(tilt_deg))
    up = height + distance * np.tan(np.radians(slope_deg))  # face's centre above the flame's base
    reaches_centre = (distance <= up * lean) & (up <= length * np.cos(np.radians(tilt_deg)))
    faces_fire = normal[..., 0] > 1e-9  # not edge-on
    at_foot = (distance <= 0) & _is_wall(normal) & (length > 0)
    level_with_roof = (distance <= 0) & (up <= length * np.cos(np.radians(tilt_deg)))
    return (reaches_centre | level_with_roof | at_foot) & faces_fire & (length > 0)


def flame_flux(
    *,
    distance_m: ArrayLike,
    flame_length_m: float,
    flame_width_m: float,
    flame_tilt_deg: float,
    face_height_m: ArrayLike,
    normal: ArrayLike,
    air_temperature_k: float,
    relative_humidity: float,
    flame_temperature_k: float = FLAME_TEMPERATURE,
    emissivity: float = FLAME_EMISSIVITY,
    contact_flux_w_m2: float = CONTACT_FLUX,
    ground_slope_deg: float = 0.0,
) -> Any:
    """Incident flux [W/m2] at faces from one flame sheet ``distance_m`` off; arrays broadcast.

    Radiation by exact view factor and transmissivity over the level distance to the middle of the
    flame (never longer for a longer flame). Where the flame touches the face, the larger of
    radiation and ``contact_flux_w_m2``. ``normal`` (..., 3) from ``face_normal``.
    """
    facing = np.asarray(normal, dtype=float)
    distance, height = np.asarray(distance_m, dtype=float), np.asarray(face_height_m, dtype=float)
    factor = view_factor_flame_panel(
        distance_m=distance,
        flame_length_m=flame_length_m,
        flame_width_m=flame_width_m,
        flame_tilt_deg=flame_tilt_deg,
        face_height_m=height,
        normal=facing,
        ground_slope_deg=ground_slope_deg,
    )
    to_middle = distance - 0.5 * flame_length_m * np.sin(np.radians(flame_tilt_deg))
    passed = transmissivity_any_path(
        path_m=np.maximum(to_middle, 0.0),
        air_temperature_k=air_temperature_k,
        flame_temperature_k=flame_temperature_k,
        relative_humidity=relative_humidity,
    )
    power = emissive_power(flame_temperature_k=flame_temperature_k, emissivity=emissivity)
    radiant = passed * power * factor
    touching = _is_touching(
        distance=distance,
        length=flame_length_m,
        tilt_deg=flame_tilt_deg,
        height=height,
        slope_deg=ground_slope_deg,
        normal=facing,
    )
    return np.where(touching, np.maximum(radiant, contact_flux_w_m2), radiant)


def _points_looked_at(*, centre: Array, is_wall: Array, flame_middle: float) -> Array:
    """Heights (2, S) [m] at which the flux is reckoned; the worse of the two counts.

    The face's centre and, on a wall that stands from the ground to twice its centre, the point
    level with the middle of the flame: a low flame close by heats the foot, not the centre.
    """
    level = np.clip(flame_middle, 0.0, 2.0 * centre)
    return np.stack([centre, np.where(is_wall, level, centre)])


def _approach(spread_rate_m_s: float) -> tuple[Array, Array]:
    """Times before arrival [s]; distances beyond the setback [m], finer near the face, then 0."""
    beyond = APPROACH_FROM_M * np.linspace(1.0, 0.0, 81) ** 3
    return -beyond[:-1] / spread_rate_m_s, beyond  # the last distance is the arrival itself


def _burning(residence_s: float, burn_out_share: float) -> tuple[Array, Array]:
    """Times after arrival [s] and the flame's strength [-] while it stands and burns out."""
    tail = burn_out_share * residence_s
    times = np.concatenate(
        [residence_s * np.linspace(0.0, 1.0, 9), residence_s + tail * np.linspace(0.0, 1.0, 17)[1:]]
    )
    strength = np.concatenate([np.ones(9), np.linspace(1.0, 0.0, 17)[1:]])
    return times, strength


def front_flux_history(
    *,
    flame_length_m: float,
    flame_width_m: float,
    flame_tilt_deg: float,
    spread_rate_m_s: float,
    residence_s: float,
    setback_m: float,
    face_tilt_deg: ArrayLike,
    face_azimuth_deg: ArrayLike,
    face_height_m: ArrayLike,
    fire_bearing_deg: float | None,
    air_temperature_k: float,
    relative_humidity: float,
    flame_temperature_k: float = FLAME_TEMPERATURE,
    emissivity: float = FLAME_EMISSIVITY,
    contact_flux_w_m2: float = CONTACT_FLUX,
    ground_slope_deg: float = 0.0,
    burn_out_share: float = BURN_OUT_SHARE,
) -> tuple[Array, Array]:
    """Flux history at S faces as a front comes, stands at the setback, and burns out.

    Returns time_s (T,), 0 when the front reaches its setback, and flux_w_m2 (S, T), incident. The
    front comes from 200 m beyond the setback at its rate of spread (a rate of 0 is a source that
    lights up where it stands: wood pile, neighbour), keeps full flame for the residence time, then
    falls in a straight line to nothing. Faces: tilt, azimuth and height (S,) or scalar;
    fire_bearing_deg None turns every face to the fire. On walls the worse of two points counts: the
    centre, and level with the middle of the flame.
    """
    normal = np.atleast_2d(
        face_normal(
            tilt_deg=face_tilt_deg, azimuth_deg=face_azimuth_deg, fire_bearing_deg=fire_bearing_deg
        )
    )
    heights = _points_looked_at(
        centre=np.atleast_1d(np.asarray(face_height_m, dtype=float)),
        is_wall=_is_wall(normal),
        flame_middle=0.5 * flame_length_m * np.cos(np.radians(flame_tilt_deg)),
    )
    after, strength = _burning(residence_s, burn_out_share)
    if spread_rate_m_s > 0:
        before, beyond = _approach(spread_rate_m_s)
        distance = setback_m + beyond
    else:
        before, distance = np.array([-RISE_SHARE * residence_s]), np.array([setback_m])
    flux = flame_flux(
        distance_m=distance,
        flame_length_m=flame_length_m,
        flame_width_m=flame_width_m,
        flame_tilt_deg=flame_tilt_deg,
        face_height_m=heights[:, :, None],
        normal=normal[:, None, :],
        air_temperature_k=air_temperature_k,
        relative_humidity=relative_humidity,
        flame_temperature_k=flame_temperature_k,
        emissivity=emissivity,
        contact_flux_w_m2=contact_flux_w_m2,
        ground_slope_deg=ground_slope_deg,
    ).max(axis=0)
    coming = flux[:, :-1] if spread_rate_m_s > 0 else np.zeros((len(flux), 1))
    standing = flux[:, -1:] * strength
    time = np.concatenate([before, after])
    return time, np.concatenate([coming, standing], axis=1)


def flux_from_peak(
    *, flux_peak_w_m2: float, flux_duration_s: float, faces: int = 1
) -> tuple[Array, Array]:
    """A typed-in exposure as a rectangular pulse: time_s (T,), flux_w_m2 (faces, T)."""
    time = np.array([0.0, 0.0, flux_duration_s, flux_duration_s])
    pulse = np.array([0.0, flux_peak_w_m2, flux_peak_w_m2, 0.0])
    return time, np.tile(pulse, (faces, 1))


@dataclass(frozen=True, slots=True)
class FluxHistory:
    """One fire's flux at S faces: ``time_s`` (T,) from ``start_s``, ``flux_w_m2`` (S, T)."""

    label: str  # "front", "burning neighbour", "wood pile"
    time_s: Array
    flux_w_m2: Array
    start_s: float = 0.0  # when this fire's time zero falls on the common clock


def sum_fluxes(*, sources: Sequence[FluxHistory]) -> tuple[Array, Array]:
    """All fires together on one clock: time_s (T,), flux_w_m2 (S, T); each is zero outside its own.

    Exact where the sources are straight lines between their own times. Radiation from several
    flames adds; that one flame may hide another is not counted (never understates).
    """
    time = np.unique(np.concatenate([source.time_s + source.start_s for source in sources]))
    edges = np.concatenate([[s.time_s[0] + s.start_s, s.time_s[-1] + s.start_s] for s in sources])
    time = np.sort(
        np.concatenate([time, np.nextafter(edges, -np.inf), np.nextafter(edges, np.inf)])
    )
    total: Array = np.zeros((sources[0].flux_w_m2.shape[0], time.size))
    for source in sources:
        own = source.time_s + source.start_s
        for face, row in enumerate(source.flux_w_m2):
            total[face] += np.interp(time, own, row, left=0.0, right=0.0)
    return time, total


def peak_flux(*, flux_w_m2: ArrayLike) -> Any:
    """Highest flux [W/m2] of each history (..., T) -> (...). Checks ``front_flux_history``."""
    return np.max(np.asarray(flux_w_m2, dtype=float), axis=-1)


def dose(*, time_s: ArrayLike, flux_w_m2: ArrayLike) -> Any:
    """Heat received [J/m2] over each history (..., T) -> (...), by trapezoids.

    Checks ``front_flux_history`` and ``sum_fluxes``.
    """
    return np.trapezoid(
        np.asarray(flux_w_m2, dtype=float), np.asarray(time_s, dtype=float), axis=-1
    )
