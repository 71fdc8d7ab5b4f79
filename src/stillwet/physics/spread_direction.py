"""Which way a surface fire runs, and how fast it goes in other directions: flanks and back.

Bearings are azimuths in degrees clockwise from north, and name where a thing goes TO: upslope,
downwind, the way from a line into the unit.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from stillwet.physics.flame import flame_length_byram
from stillwet.physics.guards import Numbers
from stillwet.physics.spread import SurfaceSpread, wind_factor_rothermel
from stillwet.units import from_si, to_si

_FT_MIN = to_si(1.0, "ft/min", dimension="speed")
_PER_METRE = to_si(1.0, "1/ft", dimension="surface_to_volume")
_MPH = from_si(1.0, "mi/h")
SHAPE_PER_MPH = 0.25


@dataclass(frozen=True, eq=False)
class DirectedSpread:
    """A surface fire in one direction: rate [m/s], intensity [W/m], flame length [m].

    head_towards_deg is the bearing in which the fire runs fastest.
    """

    spread_rate_m_s: Numbers
    fireline_intensity_w_m: Numbers
    flame_length_m: Numbers
    head_towards_deg: Numbers


def length_to_width_andrews(*, effective_wind_m_s: Numbers) -> Numbers:
    """Length over width [-] of the ellipse a fire grows into: ``1 + 0.25 U``, U in mi/h.

    U is the effective wind at midflame, slope included. Range: about 25 mi/h of effective wind.
    Source: Andrews 2018, RMRS-GTR-371 (from memory).

    >>> round(float(length_to_width_andrews(effective_wind_m_s=4.4704)), 3)
    3.5
    """
    return 1.0 + SHAPE_PER_MPH * np.asarray(effective_wind_m_s) * _MPH


def effective_wind_rothermel(*, fire: SurfaceSpread, factor: Numbers) -> Numbers:
    """Midflame wind [m/s] that alone would give this wind and slope factor [-]: eq. 47 inverted.

    The factor is a power of the wind, so two values of it give the power.
    """

    def factor_at(wind_ft_min: float) -> Numbers:
        return wind_factor_rothermel(
            wind_ft_min=wind_ft_min,
            characteristic_1_ft=np.asarray(fire.characteristic_surface_to_volume_1_m) / _PER_METRE,
            relative_packing_ratio=fire.relative_packing_ratio,
        )

    at_one = factor_at(1.0)
    power = np.log(factor_at(math.e) / at_one)
    wind: Numbers = (np.asarray(factor) / at_one) ** (1.0 / power) * _FT_MIN
    return wind


def spread_towards(
    *,
    head: SurfaceSpread,
    upslope_deg: Numbers,
    downwind_deg: Numbers,
    towards_deg: Numbers,
) -> DirectedSpread:
    """The fire of ``head`` in the direction towards_deg.

    head must have been reckoned with the angle between downwind and upslope. Wind and slope factors
    add as vectors (Rothermel 1983) and give the head's bearing; the rate elsewhere is that of an
    ellipse with the start in its rear focus, ``R = R_head (1 - e)/(1 - e cos gamma)``. Known fault:
    a real back fire is often near the no-wind rate, somewhat more than this in wind.
    Source: Andrews 2018, RMRS-GTR-371 (from memory).
    """
    angle = np.radians(np.asarray(downwind_deg) - np.asarray(upslope_deg))
    along = head.slope_factor + head.wind_factor * np.cos(angle)
    across = head.wind_factor * np.sin(angle)
    bearing = (np.asarray(upslope_deg) + np.degrees(np.arctan2(across, along))) % 360.0
    shape = length_to_width_andrews(
        effective_wind_m_s=effective_wind_rothermel(fire=head, factor=np.hypot(along, across))
    )
    eccentricity = np.sqrt(np.asarray(shape) ** 2 - 1.0) / shape
    gamma = np.radians(np.asarray(towards_deg) - bearing)
    share = (1.0 - eccentricity) / (1.0 - eccentricity * np.cos(gamma))
    intensity = head.fireline_intensity_w_m * share
    return DirectedSpread(
        spread_rate_m_s=head.spread_rate_m_s * share,
        fireline_intensity_w_m=intensity,
        flame_length_m=flame_length_byram(intensity_w_m=intensity),
        head_towards_deg=bearing,
    )
