"""Wind from the height a forecast gives it at to the height of a face."""

from __future__ import annotations

import numpy as np

from stillwet.errors import Problem, StillwetError, shown
from stillwet.physics.guards import Numbers, as_given

FORECAST_HEIGHT_M = 10.0  # WMO-No. 8 ch. 5: surface wind is reported at 10 m over open ground
OPEN_ROUGHNESS_M = 0.03  # open flat grass, WMO-No. 8 ch. 5 annex (Davenport class 3)
# FAO-56 ch. 4: under 0.5 m/s buoyancy and gusts take over, so the speed is not taken lower.
LOWEST_WIND_M_S = 0.5


def log_profile_factor(
    *, from_height_m: Numbers, to_height_m: Numbers, roughness_m: float = OPEN_ROUGHNESS_M
) -> Numbers:
    """Wind at one height over wind at another [-], neutral logarithmic profile over open ground.

    ``ln(z/z0) / ln(zr/z0)`` (Monin-Obukhov, neutral; WMO-No. 8 ch. 5). Heights above roughness_m
    [m]; heights under twice the roughness, where the profile has no meaning, count as twice it.
    Known fault: on hot calm afternoons the true profile is steeper near the ground.
    """
    if not roughness_m > 0:
        raise StillwetError(Problem("roughness", "more than 0 m", shown(roughness_m)))
    low = np.maximum(np.asarray(to_height_m, dtype=float), 2 * roughness_m)
    high = np.maximum(np.asarray(from_height_m, dtype=float), 2 * roughness_m)
    return as_given(np.log(low / roughness_m) / np.log(high / roughness_m))


def wind_at_height_log(
    *,
    speed_m_s: Numbers,
    from_height_m: Numbers,
    to_height_m: Numbers,
    roughness_m: float = OPEN_ROUGHNESS_M,
) -> Numbers:
    """Wind [m/s] moved from one height to another by the neutral log profile.

    >>> round(wind_at_height_log(speed_m_s=5.0, from_height_m=10.0, to_height_m=2.0), 2)
    3.61
    """
    return speed_m_s * log_profile_factor(
        from_height_m=from_height_m, to_height_m=to_height_m, roughness_m=roughness_m
    )


def wind_at_2m_fao56(*, speed_m_s: Numbers, from_height_m: Numbers) -> Numbers:
    """Wind at 2 m over clipped grass [m/s]. FAO-56 eq. 47: ``u * 4.87 / ln(67.8 z - 5.42)``.

    Sibling of ``wind_at_height_log``.
    """
    factor = 4.87 / np.log(67.8 * np.asarray(from_height_m, dtype=float) - 5.42)
    return speed_m_s * as_given(factor)
