"""Composite functions for the spread and AS 3959 reference cases, in the sources' units."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stillwet.physics.as3959 import exposure_as3959
from stillwet.units import from_si


def as3959_steps(
    *, vegetation: str, fire_danger_index: float, slope_deg: float, distance_m: float
) -> NDArray[np.float64]:
    """Spread [km/h], intensity [kW/m], flame [m], angle [deg], path [m], factor, air, kW/m2."""
    found = exposure_as3959(
        vegetation=vegetation,
        fire_danger_index=fire_danger_index,
        slope_deg=slope_deg,
        distance_m=distance_m,
    )
    return np.array(
        [
            from_si(found.front.spread_rate_m_s, "km/h"),
            from_si(found.front.intensity_w_m, "kw/m"),
            found.front.flame_length_m,
            found.flame_angle_deg,
            found.path_m,
            found.view_factor,
            found.transmissivity,
            from_si(found.heat_flux_w_m2, "kw/m2"),
        ]
    )
