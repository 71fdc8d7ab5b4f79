"""Open-water and grass evaporation by the combination equation: siblings to check the balance by.

Allen, Pereira, Raes & Smith 1998, Crop evapotranspiration, FAO Irrigation and Drainage Paper 56;
Penman 1948 and 1956. The published equations count in MJ/m2 and kPa and days; the functions take SI
and convert inside, so that the coefficients stay as printed.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from stillwet.constants import ZERO_CELSIUS
from stillwet.physics.air import saturation_pressure_tetens_fao56
from stillwet.physics.guards import Numbers, as_given

DAY_S = 86400.0
MEGAJOULE_DAY = 1e6 / DAY_S  # W/m2 in 1 MJ/m2d
LATENT_HEAT_J_KG = 2.45e6  # FAO-56 takes it constant
SOLAR_CONSTANT_W_M2 = 0.0820e6 / 60.0  # FAO-56 eq. 21, 0.0820 MJ/m2min
STEFAN_BOLTZMANN_DAY = 4.903e-9  # MJ/m2K4d, FAO-56 eq. 39


def saturation_slope_fao56(*, temperature_k: Numbers) -> Numbers:
    """Slope of the saturation pressure [Pa/K]. FAO-56 eq. 13."""
    celsius = temperature_k - ZERO_CELSIUS
    return (
        4098.0
        * saturation_pressure_tetens_fao56(temperature_k=temperature_k)
        / (celsius + 237.3) ** 2
    )


def psychrometric_constant_fao56(*, pressure_pa: Numbers) -> Numbers:
    """Psychrometric constant [Pa/K], 0.665e-3 of the pressure. FAO-56 eq. 8."""
    return 0.665e-3 * pressure_pa


def extraterrestrial_radiation_fao56(*, latitude_deg: float, day_of_year: Numbers) -> Numbers:
    """Sun outside the atmosphere on level ground, mean of the day [W/m2]. FAO-56 eq. 21 to 25.

    Feeds ``solar_radiation_angstrom_fao56``.
    """
    latitude = np.radians(latitude_deg)
    distance = 1 + 0.033 * np.cos(_year_angle(day_of_year))
    declination = _declination(day_of_year)
    sunset = _sunset_angle(latitude, declination)
    return as_given(
        SOLAR_CONSTANT_W_M2
        / np.pi
        * distance
        * (
            sunset * np.sin(latitude) * np.sin(declination)
            + np.cos(latitude) * np.cos(declination) * np.sin(sunset)
        )
    )


def daylight_hours_fao56(*, latitude_deg: float, day_of_year: Numbers) -> Numbers:
    """Hours between sunrise and sunset. FAO-56 eq. 34. Feeds ``solar_radiation_angstrom_fao56``."""
    declination = _declination(day_of_year)
    return as_given(24 / np.pi * _sunset_angle(np.radians(latitude_deg), declination))


def _year_angle(day_of_year: Numbers) -> Any:
    """How far the year has gone [rad], FAO-56 eq. 23."""
    return 2 * np.pi / 365 * np.asarray(day_of_year, dtype=float)


def _declination(day_of_year: Numbers) -> Any:
    """Declination of the sun [rad], FAO-56 eq. 24."""
    return 0.409 * np.sin(_year_angle(day_of_year) - 1.39)


def _sunset_angle(latitude: Any, declination: Any) -> Any:
    """Hour angle of sunset [rad], FAO-56 eq. 25; 0 and pi in the polar night and day."""
    return np.arccos(np.clip(-np.tan(latitude) * np.tan(declination), -1.0, 1.0))


def solar_radiation_angstrom_fao56(
    *, extraterrestrial_w_m2: Numbers, sunshine_share: Numbers
) -> Numbers:
    """Global radiation [W/m2], ``(0.25 + 0.50 n/N) Ra``. FAO-56 eq. 35.

    Feeds ``net_longwave_fao56``.
    """
    return (0.25 + 0.50 * sunshine_share) * extraterrestrial_w_m2


def net_longwave_fao56(
    *,
    highest_k: Numbers,
    lowest_k: Numbers,
    vapour_pressure_pa: Numbers,
    solar_share: Numbers,
) -> Numbers:
    """Long-wave radiation lost by grass or water, mean of the day [W/m2]. FAO-56 eq. 39.

    solar_share is the global radiation over that of a clear day.
    Feeds ``reference_evapotranspiration_fao56``.
    """
    black = STEFAN_BOLTZMANN_DAY * 0.5 * (highest_k**4 + lowest_k**4)
    air = 0.34 - 0.14 * (vapour_pressure_pa / 1000.0) ** 0.5
    found: Numbers = black * air * (1.35 * solar_share - 0.35) * MEGAJOULE_DAY
    return found


def reference_evapotranspiration_fao56(
    *,
    net_radiation_w_m2: Numbers,
    ground_heat_w_m2: Numbers,
    temperature_k: Numbers,
    wind_2m_m_s: Numbers,
    saturation_pressure_pa: Numbers,
    vapour_pressure_pa: Numbers,
    pressure_pa: Numbers,
    coefficient: float = 900.0,
) -> Numbers:
    """Evapotranspiration of clipped grass [kg/m2s]. FAO-56 eq. 6, or eq. 53 by the hour.

    coefficient: 900 for days, 37 * 24 = 888 for hours (the printed 37 is per hour).
    Sibling of ``wet_surface``.
    """
    slope = saturation_slope_fao56(temperature_k=temperature_k)
    gamma = psychrometric_constant_fao56(pressure_pa=pressure_pa)
    radiation = 0.408 * slope * (net_radiation_w_m2 - ground_heat_w_m2) / MEGAJOULE_DAY
    deficit = (saturation_pressure_pa - vapour_pressure_pa) / 1000.0
    air = gamma * coefficient / (temperature_k - ZERO_CELSIUS + 273.0) * wind_2m_m_s * deficit
    found: Numbers = (radiation + air) / (slope + gamma * (1 + 0.34 * wind_2m_m_s)) / DAY_S
    return found


def open_water_evaporation_penman(
    *,
    net_radiation_w_m2: Numbers,
    temperature_k: Numbers,
    wind_2m_m_s: Numbers,
    saturation_pressure_pa: Numbers,
    vapour_pressure_pa: Numbers,
    pressure_pa: Numbers,
    still_mm_day_kpa: float = 2.626,
    wind_mm_day_kpa: float = 1.381,
) -> Numbers:
    """Evaporation of open water [kg/m2s] by Penman's combination equation.

    ``(slope Rn / L + gamma (a + b u2) (es - ea)) / (slope + gamma)`` with the 1956 wind
    function a = 2.626, b = 1.381 mm/d kPa (Penman 1956, Netherlands J. Agric. Sci. 4, 9-29).
    Sibling of ``wet_surface``.
    """
    slope = saturation_slope_fao56(temperature_k=temperature_k)
    gamma = psychrometric_constant_fao56(pressure_pa=pressure_pa)
    deficit = (saturation_pressure_pa - vapour_pressure_pa) / 1000.0
    air = (still_mm_day_kpa + wind_mm_day_kpa * wind_2m_m_s) * deficit / DAY_S
    found: Numbers = (slope * net_radiation_w_m2 / LATENT_HEAT_J_KG + gamma * air) / (slope + gamma)
    return found
