"""Drying demand of one wet face: the energy balance solved plainly.

This is the clear, slow form; `kernel` solves the same balance for many faces, hours and members and
is tested against it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import cos, radians

from stillwet.constants import STEFAN_BOLTZMANN
from stillwet.physics.air import (
    DRY_AIR_SPECIFIC_HEAT,
    VAPOUR_SPECIFIC_HEAT,
    humidity_ratio,
    latent_heat,
    lewis_number,
    saturation_pressure_water_hyland_wexler,
    vapour_density,
    vapour_pressure,
    volumetric_heat_capacity,
)
from stillwet.physics.convection import OUTDOOR_TURBULENCE_FACTOR, outdoor_coefficient
from stillwet.physics.guards import Numbers

# Solar absorptivity of a gel coat on a painted or wooden face: untested default, 0.4 to 0.9.
# Water lets most visible light through, so the face behind counts: white paint 0.2 to 0.3, wood
# 0.6 to 0.7, dark paint 0.9 (Incropera table A.12; the water film itself takes the near infrared).
SOLAR_ABSORPTIVITY = 0.7
SOLAR_ABSORPTIVITY_LOW = 0.4
SOLAR_ABSORPTIVITY_HIGH = 0.9
WATER_EMISSIVITY = 0.96  # Incropera table A.11, water at 300 K
# From the coat to the air of the other side through the wall: untested default, 0 to 3 W/m2K.
# An insulated wall has 0.3 to 0.6 (its U value), bare 20 mm boards about 3.
BACK_CONDUCTANCE_W_M2K = 0.5
BACK_CONDUCTANCE_LOW = 0.0
BACK_CONDUCTANCE_HIGH = 3.0
LEWIS_EXPONENT = 2.0 / 3.0  # Chilton & Colburn 1934; Incropera 6.60

LOWEST_SURFACE_K = 203.15
HIGHEST_SURFACE_K = 372.15


@dataclass(frozen=True, slots=True)
class WetSurface:
    """The solved balance: temperature [K], coefficient [W/m2K] and water leaving [kg/m2s].

    A negative ``evaporation_kg_m2_s`` is dew; ``demand_kg_m2_s`` floors it at 0.
    """

    temperature_k: float
    coefficient_w_m2k: float
    evaporation_kg_m2_s: float

    @property
    def demand_kg_m2_s(self) -> float:
        """Water the weather takes [kg/m2s]; dew never restores a coat, so never below 0."""
        return max(self.evaporation_kg_m2_s, 0.0)


def face_longwave(*, sky_w_m2: Numbers, air_temperature_k: Numbers, tilt_deg: float) -> Numbers:
    """Long-wave radiation onto a face [W/m2]: its share of sky, the rest ground at air temperature.

    Isotropic view factors (1 + cos tilt)/2 and (1 - cos tilt)/2; the ground counts as black.
    """
    sky = 0.5 * (1 + cos(radians(tilt_deg)))
    return sky * sky_w_m2 + (1 - sky) * STEFAN_BOLTZMANN * air_temperature_k**4


def transfer_coefficient_chilton_colburn(
    *,
    coefficient_w_m2k: Numbers,
    volumetric_heat_j_m3k: Numbers,
    lewis: Numbers,
    lewis_exponent: float = LEWIS_EXPONENT,
) -> Numbers:
    """Coefficient of mass transfer [m/s], ``h / (rho cp Le^n)``. Incropera 6.60, n = 2/3."""
    found: Numbers = coefficient_w_m2k / (volumetric_heat_j_m3k * lewis**lewis_exponent)
    return found


def evaporation_density_form(
    *,
    surface_temperature_k: float,
    coefficient_w_m2k: float,
    air_temperature_k: float,
    vapour_pressure_pa: float,
    pressure_pa: float,
) -> float:
    """Evaporation [kg/m2s] ``h/(rho cp Le^(2/3)) (rho_v,sat - rho_v,air)``, Chilton-Colburn.

    The blowing of the vapour itself is left out (under 3 % below 40 C surface temperature). The
    temperature it tends to without radiation lies up to 1.4 K below the thermodynamic wet bulb
    at 40 C and 10 %.
    """
    air = {
        "temperature_k": air_temperature_k,
        "vapour_pressure_pa": vapour_pressure_pa,
        "pressure_pa": pressure_pa,
    }
    transfer = transfer_coefficient_chilton_colburn(
        coefficient_w_m2k=coefficient_w_m2k,
        volumetric_heat_j_m3k=volumetric_heat_capacity(**air),
        lewis=lewis_number(**air),
    )
    saturated = saturation_pressure_water_hyland_wexler(temperature_k=surface_temperature_k)
    at_surface = vapour_density(temperature_k=surface_temperature_k, vapour_pressure_pa=saturated)
    in_air = vapour_density(temperature_k=air_temperature_k, vapour_pressure_pa=vapour_pressure_pa)
    return float(transfer * (at_surface - in_air))


def evaporation_humidity_ratio_form(
    *,
    surface_temperature_k: float,
    coefficient_w_m2k: float,
    vapour_pressure_pa: float,
    pressure_pa: float,
) -> float:
    """Evaporation [kg/m2s] ``h/cp (W_sat - W)``, the Lewis relation with Le = 1.

    Its limit without radiation is the thermodynamic wet bulb.
    Sibling of ``evaporation_density_form``.
    """
    ratio = humidity_ratio(vapour_pressure_pa=vapour_pressure_pa, pressure_pa=pressure_pa)
    saturated = humidity_ratio(
        vapour_pressure_pa=saturation_pressure_water_hyland_wexler(
            temperature_k=surface_temperature_k
        ),
        pressure_pa=pressure_pa,
    )
    heat = DRY_AIR_SPECIFIC_HEAT + VAPOUR_SPECIFIC_HEAT * ratio
    return float(coefficient_w_m2k / heat * (saturated - ratio))


def solve_balance(
    *,
    absorbed_w_m2: float,
    air_temperature_k: float,
    coefficient_w_m2k: Callable[[float], float],
    evaporation_kg_m2_s: Callable[[float, float], float],
    emissivity: float,
    back_conductance_w_m2k: float,
    back_temperature_k: float,
) -> WetSurface:
    """Temperature at which a fully wet face gains what it loses, by Brent's method.

    ``0 = absorbed - eps sigma T^4 + h(T) (Ta - T) + U (Tb - T) - Lv(T) e(T, h)``. absorbed_w_m2 is
    sun and long-wave together; the two callables take the surface temperature, and it with h.
    """
    from scipy.optimize import brentq

    def balance(temperature: float) -> float:
        h = coefficient_w_m2k(temperature)
        dry = h * (air_temperature_k - temperature)
        back = back_conductance_w_m2k * (back_temperature_k - temperature)
        radiated = emissivity * STEFAN_BOLTZMANN * temperature**4
        latent = float(latent_heat(temperature_k=temperature))
        return absorbed_w_m2 - radiated + dry + back - latent * evaporation_kg_m2_s(temperature, h)

    found = float(brentq(balance, LOWEST_SURFACE_K, HIGHEST_SURFACE_K, xtol=1e-12, rtol=1e-14))
    h = coefficient_w_m2k(found)
    return WetSurface(found, h, evaporation_kg_m2_s(found, h))


def wet_surface(
    *,
    geometry: int,
    length_m: float,
    tilt_deg: float,
    wind_m_s: float,
    air_temperature_k: float,
    relative_humidity: float,
    pressure_pa: float,
    irradiance_w_m2: float,
    sky_longwave_w_m2: float,
    absorptivity: float = SOLAR_ABSORPTIVITY,
    emissivity: float = WATER_EMISSIVITY,
    back_conductance_w_m2k: float = BACK_CONDUCTANCE_W_M2K,
    turbulence_factor: float = OUTDOOR_TURBULENCE_FACTOR,
) -> WetSurface:
    """Steady balance of a fully wet face outdoors, solved plainly.

    geometry: a code of `convection`. wind_m_s at the face. irradiance_w_m2 on the face.
    sky_longwave_w_m2 of the whole sky on level ground. The air behind the wall counts as outdoor
    air. Scalars only. Range: -20 to 60 C air, surface under 99 C.
    """
    vapour = float(
        vapour_pressure(temperature_k=air_temperature_k, relative_humidity=relative_humidity)
    )
    longwave = face_longwave(
        sky_w_m2=sky_longwave_w_m2, air_temperature_k=air_temperature_k, tilt_deg=tilt_deg
    )

    def coefficient(temperature: float) -> float:
        return float(
            outdoor_coefficient(
                geometry=geometry,
                length_m=length_m,
                wind_m_s=wind_m_s,
                surface_temperature_k=temperature,
                air_temperature_k=air_temperature_k,
                vapour_pressure_pa=vapour,
                pressure_pa=pressure_pa,
                turbulence_factor=turbulence_factor,
            )
        )

    def evaporation(temperature: float, coefficient_w_m2k: float) -> float:
        return evaporation_density_form(
            surface_temperature_k=temperature,
            coefficient_w_m2k=coefficient_w_m2k,
            air_temperature_k=air_temperature_k,
            vapour_pressure_pa=vapour,
            pressure_pa=pressure_pa,
        )

    return solve_balance(
        absorbed_w_m2=float(absorptivity * irradiance_w_m2 + emissivity * longwave),
        air_temperature_k=air_temperature_k,
        coefficient_w_m2k=coefficient,
        evaporation_kg_m2_s=evaporation,
        emissivity=emissivity,
        back_conductance_w_m2k=back_conductance_w_m2k,
        back_temperature_k=air_temperature_k,
    )
