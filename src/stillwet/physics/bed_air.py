"""Air in a bed of wet fuel: how fast dry air comes in, and what drying that leaves to each blade.

A wet blade alone dries at its own small boundary layer's rate. Among thousands of wet blades the
air grows damp and cool, and the dry air that comes in limits the whole: resistances in series.
"""

from __future__ import annotations

import numpy as np

from stillwet.constants import VON_KARMAN
from stillwet.physics.guards import Numbers, need_within
from stillwet.physics.wind import FORECAST_HEIGHT_M

# FAO-56 ch. 2, for even vegetation of height h: zero plane 2/3 h, roughness of momentum 0.123 h,
# of heat and vapour a tenth of that.
ZERO_PLANE = 2.0 / 3.0
MOMENTUM_ROUGHNESS = 0.123
VAPOUR_ROUGHNESS = 0.1 * MOMENTUM_ROUGHNESS
TALLEST_M = 3.0  # of surface fuel


def top_exchange_fao56(
    *, wind_m_s: Numbers, height_m: Numbers, reference_m: float = FORECAST_HEIGHT_M
) -> Numbers:
    """Conductance [m/s] between a wide bed's air and the air at reference_m above: ``1/r_a``.

    ``r_a = ln((z-d)/z_m) ln((z-d)/z_h) / (k^2 u)``, wind and air both at z = reference_m. Range:
    wide, even vegetation of height_m under 3 m and well under z; neutral air.
    Source: Allen et al. 1998, FAO-56, eq. 4.

    >>> round(1 / float(top_exchange_fao56(wind_m_s=1.0, height_m=0.12, reference_m=2.0)))
    208
    """
    need_within("wind", wind_m_s, 0.0, 60.0, "m/s", "is it in km/h or mi/h?")
    need_within("height", height_m, 0.01, TALLEST_M, "m")
    height = np.asarray(height_m)
    above = reference_m - ZERO_PLANE * height
    momentum = np.log(above / (MOMENTUM_ROUGHNESS * height))
    vapour = np.log(above / (VAPOUR_ROUGHNESS * height))
    conductance: Numbers = VON_KARMAN**2 * np.asarray(wind_m_s) / (momentum * vapour)
    return conductance


def through_flow(*, bed_wind_m_s: Numbers, depth_m: Numbers, width_m: Numbers) -> Numbers:
    """Dry air [m3/s per m2 of ground] that wind blows through a strip from the side: ``u H / w``.

    bed_wind_m_s is the mean wind among the blades; depth_m of the bed; width_m of the strip along
    the wind, taken square to the strip, its worst direction. Conservation of volume; our reckoning.
    """
    need_within("bed_wind", bed_wind_m_s, 0.0, 60.0, "m/s")
    need_within("depth", depth_m, 0.01, TALLEST_M, "m")
    need_within("width", width_m, 0.05, 500.0, "m")
    flow: Numbers = np.asarray(bed_wind_m_s) * np.asarray(depth_m) / np.asarray(width_m)
    return flow


def renewal_share(*, surface: Numbers, blade_m_s: Numbers, supply_m_s: Numbers) -> Numbers:
    """Share [-] of a lone blade's exchange with dry air that it keeps among the others.

    ``1 / (1 + A g_b / g_s)``: blades' boundary layers, A per ground area in parallel, in series
    with the supply of dry air (the resistance net of Shuttleworth & Wallace 1985 without its soil
    term). 1 with endless supply, 0 with none. blade_m_s and supply_m_s are conductances [m/s].
    """
    load = np.asarray(surface) * np.asarray(blade_m_s)
    supply = np.asarray(supply_m_s)
    share: Numbers = supply / np.maximum(supply + load, 1e-12)
    return share


def bed_drying_penman(
    *, whole_kg_m2_s: Numbers, ventilated_kg_m2_s: Numbers, share: Numbers, surface: Numbers
) -> Numbers:
    """Drying of the bed [kg/m2s of ground] from that of one blade's surface.

    whole_kg_m2_s: a blade's demand in the sun and sky it gets; ventilated_kg_m2_s: the same blade's
    in the dark among things at air temperature. As in the combination equation (Penman 1948), the
    air's part shrinks with the share of dry air and the sun's does not:
    ``A (whole - (1 - share) air)``, never below 0.
    """
    whole, air = np.asarray(whole_kg_m2_s), np.asarray(ventilated_kg_m2_s)
    drying: Numbers = np.asarray(surface) * np.maximum(whole - (1.0 - np.asarray(share)) * air, 0.0)
    return drying
