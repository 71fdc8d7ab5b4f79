"""From the wind that is measured or forecast to the wind that bends the flame.

Three steps: 10 m to 20 ft, 20 ft in the open to midflame, with or without trees above. The last has
a formula and a published table of rounded values, which are shown side by side.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from stillwet.physics.guards import Numbers, need_within, outside
from stillwet.units import from_si

_FEET = from_si(1.0, "ft")

TEN_METRE_TO_TWENTY_FOOT = 1.15  # Turner & Lawson 1978
SHELTERING_CROWN_FILL = 0.05  # Andrews 2012 (from memory)


class Shelter(StrEnum):
    """How the fuel stands under trees, in the rows of Rothermel's 1983 table."""

    EXPOSED = "exposed"
    PARTLY = "partly sheltered"
    OPEN_STAND = "fully sheltered, open stand"
    DENSE_STAND = "fully sheltered, dense stand"


# Rothermel 1983, INT-143 (from memory; 0.1 seen on nwcg.gov). Some exposed fuels differ:
# chaparral 0.6, heavy slash 0.5, litter 0.3 to 0.4.
ROTHERMEL_1983 = {
    Shelter.EXPOSED: 0.4,
    Shelter.PARTLY: 0.3,
    Shelter.OPEN_STAND: 0.2,
    Shelter.DENSE_STAND: 0.1,
}


@dataclass(frozen=True, slots=True)
class WindAdjustment:
    """Midflame wind over 20-ft wind [-], the least and most of formula and table, and flags."""

    factor: Numbers
    low: Numbers
    high: Numbers
    model: str
    flags: tuple[str, ...]


def wind_at_20ft_turner(*, wind_10m_m_s: Numbers) -> Numbers:
    """Wind at 20 ft [m/s] from wind at 10 m [m/s], both in the open: ``u10/1.15``.

    Range: rough open ground. Known fault: over short grass a log profile gives 0.915, 5 % more.
    Source: Turner & Lawson 1978.

    >>> round(float(wind_at_20ft_turner(wind_10m_m_s=10.0)), 2)
    8.7
    """
    need_within("wind_10m", wind_10m_m_s, 0.0, 60.0, "m/s", "is it in km/h or mi/h?")
    return np.asarray(wind_10m_m_s) / TEN_METRE_TO_TWENTY_FOOT


def wind_at_10m_turner(*, wind_20ft_m_s: Numbers) -> Numbers:
    """Wind at 10 m [m/s] from wind at 20 ft [m/s]; the inverse of ``wind_at_20ft_turner``."""
    need_within("wind_20ft", wind_20ft_m_s, 0.0, 60.0, "m/s", "is it in km/h or mi/h?")
    return np.asarray(wind_20ft_m_s) * TEN_METRE_TO_TWENTY_FOOT


def wind_adjustment_unsheltered(*, fuel_depth_m: Numbers) -> Numbers:
    """Midflame over 20-ft wind [-] above fuel in the open, from its depth [m].

    ``1.83 / ln((20 + 0.36 H)/(0.13 H))``, H in ft: the mean over the layer from fuel top to twice
    its depth. Range: 0.2 to 6 ft. Source: Albini & Baughman 1979, INT-221, as in Andrews 2012,
    RMRS-GTR-266 (from memory).

    >>> round(float(wind_adjustment_unsheltered(fuel_depth_m=0.3048)), 3)
    0.362
    """
    need_within("fuel_depth", fuel_depth_m, 0.01, 5.0, "m")
    return 1.83 / _log_ratio(np.asarray(fuel_depth_m) * _FEET)


def crown_fill(*, canopy_cover: Numbers, crown_ratio: Numbers) -> Numbers:
    """Share [-] of the canopy layer that crowns fill: ``cover * crown_ratio / 3``, for cones.

    Source: Albini & Baughman 1979; Andrews 2012 (from memory).
    """
    need_within("canopy_cover", canopy_cover, 0.0, 1.0, "fraction", "is it in percent?")
    need_within("crown_ratio", crown_ratio, 0.0, 1.0, "fraction", "is it in percent?")
    fill: Numbers = np.asarray(canopy_cover) * np.asarray(crown_ratio) / 3.0
    return fill


def wind_adjustment_sheltered(*, crown_fill: Numbers, canopy_height_m: Numbers) -> Numbers:
    """Midflame over 20-ft wind [-] under a canopy, from crown fill [-] and stand height [m].

    ``0.555 / (sqrt(f H) ln((20 + 0.36 H)/(0.13 H)))``, H in ft. Range: f at least 0.05 and stands
    of 10 ft or more. Source: Albini & Baughman 1979, as in Andrews 2012 (from memory).

    >>> round(float(wind_adjustment_sheltered(crown_fill=0.25 / 3, canopy_height_m=15.24)), 3)
    0.154
    """
    need_within("canopy_height", canopy_height_m, 1.0, 120.0, "m")
    need_within("crown_fill", crown_fill, 0.005, 1.0, "fraction")
    height = np.asarray(canopy_height_m) * _FEET
    factor: Numbers = 0.555 / (np.sqrt(np.asarray(crown_fill) * height) * _log_ratio(height))
    return factor


def _log_ratio(height_ft: Numbers) -> Numbers:
    ratio: Numbers = np.log((20.0 + 0.36 * height_ft) / (0.13 * height_ft))
    return ratio


def wind_adjustment(
    *,
    fuel_depth_m: float,
    canopy_cover: float = 0.0,
    crown_ratio: float = 0.0,
    canopy_height_m: float = 0.0,
) -> WindAdjustment:
    """Midflame over 20-ft wind [-]: sheltered when crowns fill 5 % of the canopy, else in the open.

    Parameters: fuel_depth_m [m]; canopy_cover and crown_ratio [fractions]; canopy_height_m [m],
    needed when there is a canopy. The interval spans the formula and the rounded value of
    Rothermel's 1983 table for the same sheltering.
    """
    fill = float(crown_fill(canopy_cover=canopy_cover, crown_ratio=crown_ratio))
    if fill < SHELTERING_CROWN_FILL:
        shelter = Shelter.EXPOSED if fill == 0.0 else Shelter.PARTLY
        factor = float(wind_adjustment_unsheltered(fuel_depth_m=fuel_depth_m))
        flags = outside("fuel depth outside 0.2 to 6 ft", fuel_depth_m * _FEET, 0.199, 6.01)
        model = wind_adjustment_unsheltered.__name__
    else:
        # "dense" in the printed table: a closed stand, here half covered or more
        shelter = Shelter.DENSE_STAND if canopy_cover >= 0.5 else Shelter.OPEN_STAND
        factor = float(wind_adjustment_sheltered(crown_fill=fill, canopy_height_m=canopy_height_m))
        flags = outside("canopy lower than 10 ft", canopy_height_m * _FEET, 10.0, np.inf)
        model = wind_adjustment_sheltered.__name__
    printed = ROTHERMEL_1983[shelter]
    return WindAdjustment(factor, min(factor, printed), max(factor, printed), model, flags)


def midflame_wind(*, wind_10m_m_s: Numbers, adjustment: Numbers) -> Numbers:
    """Wind at midflame height [m/s] from open wind at 10 m [m/s] and the adjustment [-]."""
    need_within("adjustment", adjustment, 0.01, 1.0, "fraction")
    return wind_at_20ft_turner(wind_10m_m_s=wind_10m_m_s) * np.asarray(adjustment)
