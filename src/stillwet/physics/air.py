"""Moist air: saturation, humidity, wet bulb, dew point, density and transport properties.

Everything is in SI and kelvin; every function takes scalars or arrays that broadcast and returns
the same. The convention for relative humidity is the weather services': over liquid water, below
freezing too (WMO-No. 8, annex 4.B), because forecasts are written that way.
"""

from __future__ import annotations

import numpy as np

from stillwet.constants import (
    GAS_CONSTANT_DRY_AIR,
    GAS_CONSTANT_VAPOUR,
    MOLAR_MASS_RATIO,
    STANDARD_PRESSURE,
    ZERO_CELSIUS,
)
from stillwet.physics.guards import Numbers, as_given

DRY_AIR_SPECIFIC_HEAT = 1006.0  # J/kgK, ASHRAE Handbook of Fundamentals 2017 ch. 1 eq. 28
VAPOUR_SPECIFIC_HEAT = 1860.0  # J/kgK, same
LOWEST_SATURATION_K = 173.15  # the ASHRAE equations run from -100 C
HIGHEST_SATURATION_K = 473.15  # to 200 C

# ASHRAE Handbook of Fundamentals 2017, ch. 1, eq. 6 (water, 0 to 200 C) and eq. 5 (ice).
WATER_COEFFICIENTS = (
    -5.8002206e3,
    1.3914993,
    -4.8640239e-2,
    4.1764768e-5,
    -1.4452093e-8,
    6.5459673,
)
ICE_COEFFICIENTS = (
    -5.6745359e3,
    6.3925247,
    -9.6778430e-3,
    6.2215701e-7,
    2.0747825e-9,
    -9.4840240e-13,
    4.1635019,
)

# Least-squares cubic in degrees Celsius through the IAPWS-IF97 heat of evaporation at 41 points
# from 0.01 to 100 C; J/kg. Largest departure 8e-6 of the value.
LATENT_HEAT_COEFFICIENTS = (2.50092142e6, -2374.37033, 0.521408709, -0.0122080098)


def saturation_pressure_water_hyland_wexler(*, temperature_k: Numbers) -> Numbers:
    """Saturation pressure over liquid water [Pa], also over supercooled water.

    temperature_k [K]: 273.15 to 473.15 in the source; used down to 233 K, where it stays within
    1 % of Goff-Gratch. Hyland & Wexler 1983 as in ASHRAE Handbook of Fundamentals 2017 ch. 1 eq. 6.

    >>> round(saturation_pressure_water_hyland_wexler(temperature_k=298.15), 1)
    3169.2
    """
    t = np.asarray(temperature_k, dtype=float)
    c8, c9, c10, c11, c12, c13 = WATER_COEFFICIENTS
    log_p = c8 / t + c9 + t * (c10 + t * (c11 + t * c12)) + c13 * np.log(t)
    return as_given(np.exp(log_p))


def saturation_pressure_ice_hyland_wexler(*, temperature_k: Numbers) -> Numbers:
    """Saturation pressure over ice [Pa], 173.15 to 273.15 K.

    Hyland & Wexler 1983 as in ASHRAE Handbook of Fundamentals 2017 ch. 1 eq. 5.
    """
    t = np.asarray(temperature_k, dtype=float)
    c1, c2, c3, c4, c5, c6, c7 = ICE_COEFFICIENTS
    log_p = c1 / t + c2 + t * (c3 + t * (c4 + t * (c5 + t * c6))) + c7 * np.log(t)
    return as_given(np.exp(log_p))


def saturation_pressure_ashrae(*, temperature_k: Numbers) -> Numbers:
    """Saturation pressure [Pa] over ice below 0 C and over water above, 173 to 473 K.

    ASHRAE Handbook of Fundamentals 2017 ch. 1 eq. 5 and 6. No enhancement factor: the humidity
    ratio of saturated air comes out 0.45 % below the ASHRAE table at 25 C.
    """
    t = np.asarray(temperature_k, dtype=float)
    water = saturation_pressure_water_hyland_wexler(temperature_k=t)
    ice = saturation_pressure_ice_hyland_wexler(temperature_k=np.minimum(t, ZERO_CELSIUS))
    return as_given(np.where(t < ZERO_CELSIUS, ice, water))


def saturation_pressure_tetens_fao56(*, temperature_k: Numbers) -> Numbers:
    """Saturation pressure over water [Pa], FAO-56 eq. 11 (Tetens form).

    Good to 0.2 % from 0 to 50 C, 0.8 % high at 100 C.
    Sibling of ``saturation_pressure_water_hyland_wexler``.
    """
    t = np.asarray(temperature_k, dtype=float) - ZERO_CELSIUS
    return as_given(610.8 * np.exp(17.27 * t / (t + 237.3)))


def saturation_pressure_magnus_wmo(*, temperature_k: Numbers) -> Numbers:
    """Saturation pressure over water [Pa], WMO-No. 8 annex 4.B, -45 to 60 C.

    Sibling of ``saturation_pressure_water_hyland_wexler``.
    """
    t = np.asarray(temperature_k, dtype=float) - ZERO_CELSIUS
    return as_given(611.2 * np.exp(17.62 * t / (243.12 + t)))


def vapour_pressure(*, temperature_k: Numbers, relative_humidity: Numbers) -> Numbers:
    """Vapour pressure [Pa] of air at a relative humidity [fraction] over liquid water."""
    saturated = saturation_pressure_water_hyland_wexler(temperature_k=temperature_k)
    return saturated * relative_humidity


def vapour_density(*, temperature_k: Numbers, vapour_pressure_pa: Numbers) -> Numbers:
    """Mass of vapour in the air [kg/m3], ideal gas (0.2 % low at 60 C saturated)."""
    return vapour_pressure_pa / (GAS_CONSTANT_VAPOUR * temperature_k)


def humidity_ratio(*, vapour_pressure_pa: Numbers, pressure_pa: Numbers) -> Numbers:
    """Kilograms of vapour per kilogram of dry air. ASHRAE 2017 ch. 1 eq. 20."""
    return MOLAR_MASS_RATIO * vapour_pressure_pa / (pressure_pa - vapour_pressure_pa)


def vapour_pressure_from_humidity_ratio(
    *, humidity_ratio: Numbers, pressure_pa: Numbers
) -> Numbers:
    """Vapour pressure [Pa] of air with this humidity ratio; the inverse of `humidity_ratio`."""
    return pressure_pa * humidity_ratio / (MOLAR_MASS_RATIO + humidity_ratio)


def humidity_ratio_from_wet_bulb_ashrae(
    *, temperature_k: Numbers, wet_bulb_k: Numbers, pressure_pa: Numbers
) -> Numbers:
    """Humidity ratio [kg/kg] from dry and thermodynamic wet bulb.

    ASHRAE Handbook of Fundamentals 2017 ch. 1 eq. 33 (above freezing) and 35 (below).
    """
    t = np.asarray(temperature_k, dtype=float) - ZERO_CELSIUS
    wet = np.asarray(wet_bulb_k, dtype=float) - ZERO_CELSIUS
    saturated = humidity_ratio(
        vapour_pressure_pa=saturation_pressure_ashrae(temperature_k=wet + ZERO_CELSIUS),
        pressure_pa=pressure_pa,
    )
    water = ((2501 - 2.326 * wet) * saturated - 1.006 * (t - wet)) / (2501 + 1.86 * t - 4.186 * wet)
    ice = ((2830 - 0.24 * wet) * saturated - 1.006 * (t - wet)) / (2830 + 1.86 * t - 2.1 * wet)
    return as_given(np.where(wet >= 0, water, ice))


def wet_bulb_ashrae(
    *, temperature_k: Numbers, vapour_pressure_pa: Numbers, pressure_pa: Numbers
) -> Numbers:
    """Thermodynamic wet bulb [K] by bisection on ASHRAE 2017 ch. 1 eq. 33 and 35.

    Not the pseudo-adiabatic wet bulb of meteorology, which is 0.7 K lower at 40 C and 10 %.
    Checks ``evaporation_humidity_ratio_form``, which tends to it without radiation.
    """
    wanted = humidity_ratio(vapour_pressure_pa=vapour_pressure_pa, pressure_pa=pressure_pa)
    t, wanted, pressure = np.broadcast_arrays(
        np.asarray(temperature_k, dtype=float), wanted, np.asarray(pressure_pa, dtype=float)
    )
    low, high = np.maximum(t - 60.0, LOWEST_SATURATION_K), t.copy()
    for _ in range(50):  # 60 K halved 50 times is below rounding
        middle = 0.5 * (low + high)
        found = humidity_ratio_from_wet_bulb_ashrae(
            temperature_k=t, wet_bulb_k=middle, pressure_pa=pressure
        )
        low, high = np.where(found < wanted, middle, low), np.where(found < wanted, high, middle)
    return as_given(0.5 * (low + high))


def dew_point_ashrae(*, vapour_pressure_pa: Numbers) -> Numbers:
    """Temperature [K] at which this vapour pressure is saturated (frost point below freezing).

    Bisection on the ASHRAE saturation pressure, 173 to 473 K; vapour_pressure_pa above 0.002 Pa.
    Beside ``wet_bulb_ashrae``: the program does not use it.
    """
    wanted = np.asarray(vapour_pressure_pa, dtype=float)
    low = np.full(wanted.shape, LOWEST_SATURATION_K)
    high = np.full(wanted.shape, HIGHEST_SATURATION_K)
    for _ in range(50):
        middle = 0.5 * (low + high)
        is_low = saturation_pressure_ashrae(temperature_k=middle) < wanted
        low, high = np.where(is_low, middle, low), np.where(is_low, high, middle)
    return as_given(0.5 * (low + high))


def pressure_at_elevation(*, elevation_m: Numbers) -> Numbers:
    """Standard-atmosphere pressure [Pa], -500 to 10 000 m. ASHRAE 2017 ch. 1 eq. 3.

    >>> round(pressure_at_elevation(elevation_m=1000.0))
    89875
    """
    height = np.asarray(elevation_m, dtype=float)
    return as_given(STANDARD_PRESSURE * (1 - 2.25577e-5 * height) ** 5.2559)


def air_density(
    *, temperature_k: Numbers, vapour_pressure_pa: Numbers, pressure_pa: Numbers
) -> Numbers:
    """Density of moist air [kg/m3], ideal gases (0.05 % low at sea level)."""
    dry = (pressure_pa - vapour_pressure_pa) / (GAS_CONSTANT_DRY_AIR * temperature_k)
    return dry + vapour_density(temperature_k=temperature_k, vapour_pressure_pa=vapour_pressure_pa)


def volumetric_heat_capacity(
    *, temperature_k: Numbers, vapour_pressure_pa: Numbers, pressure_pa: Numbers
) -> Numbers:
    """Density times specific heat of moist air [J/m3K], dry air and vapour added."""
    dry = (pressure_pa - vapour_pressure_pa) / (GAS_CONSTANT_DRY_AIR * temperature_k)
    vapour = vapour_density(temperature_k=temperature_k, vapour_pressure_pa=vapour_pressure_pa)
    return dry * DRY_AIR_SPECIFIC_HEAT + vapour * VAPOUR_SPECIFIC_HEAT


def latent_heat(*, temperature_k: Numbers) -> Numbers:
    """Heat of evaporation of water [J/kg], 0 to 100 C, within 1e-5 of IAPWS-IF97.

    Own cubic through the standard's values (see `LATENT_HEAT_COEFFICIENTS`); it is used because
    the usual linear forms are 0.4 to 3 % off at 100 C, where a coat in a fire sits.
    """
    t = temperature_k - ZERO_CELSIUS
    a, b, c, d = LATENT_HEAT_COEFFICIENTS
    return a + t * (b + t * (c + t * d))


def latent_heat_harrison_fao56(*, temperature_k: Numbers) -> Numbers:
    """Heat of evaporation [J/kg], Harrison 1963 as in FAO-56 annex 3: 2.501 - 0.002361 t.

    Good to 0.05 % below 40 C, 0.4 % high at 100 C. Sibling of ``latent_heat``.
    """
    return 1e6 * (2.501 - 2.361e-3 * (temperature_k - ZERO_CELSIUS))


def dynamic_viscosity_sutherland(*, temperature_k: Numbers) -> Numbers:
    """Viscosity of air [Pa s], 170 to 1900 K within 2 %. White, Viscous Fluid Flow, table 1-2."""
    return 1.716e-5 * (temperature_k / 273.15) ** 1.5 * (273.15 + 110.4) / (temperature_k + 110.4)


def kinematic_viscosity(
    *, temperature_k: Numbers, vapour_pressure_pa: Numbers, pressure_pa: Numbers
) -> Numbers:
    """Viscosity of air over its density [m2/s]; the vapour's part in the viscosity is left out."""
    density = air_density(
        temperature_k=temperature_k, vapour_pressure_pa=vapour_pressure_pa, pressure_pa=pressure_pa
    )
    return dynamic_viscosity_sutherland(temperature_k=temperature_k) / density


def thermal_conductivity_sutherland(*, temperature_k: Numbers) -> Numbers:
    """Conductivity of air [W/mK], 160 to 2000 K within 2 %. White, Viscous Fluid Flow, table 1-3.

    The constants are 0.0241 W/mK at 273 K and an effective temperature of 194 K.
    """
    return 0.0241 * (temperature_k / 273.0) ** 1.5 * (273.0 + 194.0) / (temperature_k + 194.0)


def vapour_diffusivity_massman(*, temperature_k: Numbers, pressure_pa: Numbers) -> Numbers:
    """Diffusivity of vapour in air [m2/s]. Massman 1998, Atmospheric Environment 32, 1111-1127.

    0.2178 cm2/s at 0 C and one atmosphere, exponent 1.81. Published values at 25 C lie within
    2 % of 2.55e-5 (Fuller 2.51, Marrero & Mason 2.50, Hall & Pruppacher 2.50, Incropera 2.60).
    """
    return 0.2178e-4 * (temperature_k / ZERO_CELSIUS) ** 1.81 * STANDARD_PRESSURE / pressure_pa


def lewis_number(
    *, temperature_k: Numbers, vapour_pressure_pa: Numbers, pressure_pa: Numbers
) -> Numbers:
    """Thermal over vapour diffusivity of the air, about 0.85."""
    heat = volumetric_heat_capacity(
        temperature_k=temperature_k, vapour_pressure_pa=vapour_pressure_pa, pressure_pa=pressure_pa
    )
    diffusivity = vapour_diffusivity_massman(temperature_k=temperature_k, pressure_pa=pressure_pa)
    return thermal_conductivity_sutherland(temperature_k=temperature_k) / (heat * diffusivity)
