"""Heat from air to a face: published correlations, and a chooser by the face's shape.

A correlation takes the Reynolds or Rayleigh number and the Prandtl number; given the Schmidt number
instead it yields the Sherwood number (the heat and mass analogy). All broadcast.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from stillwet.constants import GRAVITY
from stillwet.physics.air import kinematic_viscosity, thermal_conductivity_sutherland
from stillwet.physics.guards import Numbers, as_given
from stillwet.physics.wind import LOWEST_WIND_M_S

WALL: Final = 0
ROOF: Final = 1
CYLINDER: Final = 2
BLADE: Final = 3

PRANDTL_AIR = 0.71  # 0.70 to 0.72 from -20 to 60 C, Incropera table A.4: 0.5 % in a coefficient

# Outdoor air is gusty and its boundary layers are tripped. Campbell & Norman 1998 (An Introduction
# to Environmental Biophysics, ch. 7) multiply wind-tunnel coefficients of small bodies by 1.4;
# Bonan 2019 (Climate Change and Terrestrial Ecosystem Modeling, ch. 10) by 1.5. On walls and roofs
# it is an untested default, interval 1.0 to 1.5: there 1.4 brings a 2.5 m tripped plate in 5 m/s
# to 25 W/m2K, where ISO 6946 has 4 + 4 v = 24.
OUTDOOR_TURBULENCE_FACTOR = 1.4
OUTDOOR_TURBULENCE_LOW = 1.0
OUTDOOR_TURBULENCE_HIGH = 1.5

# The buoyant part is kept smooth through zero temperature difference: outdoor air is never still
# to a tenth of a kelvin.
SMALLEST_DIFFERENCE_K = 0.1

CRITICAL_REYNOLDS = 5e5  # smooth plate in a quiet stream, Incropera sec. 7.1
BLEND_EXPONENT = 3.0  # Churchill 1977; Incropera sec. 9.9

# Nu = (base + slope * Ra^(1/6))^2, the form all three buoyant correlations share.
BUOYANT_BASE: dict[int, float] = {WALL: 0.825, ROOF: 0.0, CYLINDER: 0.60, BLADE: 0.60}
_PLATE_SLOPE = 0.387 / (1 + (0.492 / PRANDTL_AIR) ** (9 / 16)) ** (8 / 27)
_CYLINDER_SLOPE = 0.387 / (1 + (0.559 / PRANDTL_AIR) ** (9 / 16)) ** (8 / 27)
BUOYANT_SLOPE: dict[int, float] = {
    WALL: _PLATE_SLOPE,
    ROOF: 0.15**0.5,
    CYLINDER: _CYLINDER_SLOPE,
    BLADE: _CYLINDER_SLOPE,
}


def nusselt_plate_laminar_pohlhausen(*, reynolds: Numbers, prandtl: Numbers) -> Numbers:
    """Mean Nusselt number of a laminar flat plate, Re up to 5e5, Pr above 0.6. Incropera 7.30.

    ``0.664 Re^(1/2) Pr^(1/3)``.
    """
    return 0.664 * reynolds**0.5 * prandtl ** (1 / 3)


def nusselt_plate_turbulent_incropera(*, reynolds: Numbers, prandtl: Numbers) -> Numbers:
    """Mean Nusselt number of a plate turbulent from its edge (tripped). Incropera 7.38, A = 0.

    ``0.037 Re^(4/5) Pr^(1/3)``, Re up to 1e8, Pr 0.6 to 60.
    """
    return 0.037 * reynolds**0.8 * prandtl ** (1 / 3)


def nusselt_plate_mixed_incropera(*, reynolds: Numbers, prandtl: Numbers) -> Numbers:
    """Mean Nusselt number of a smooth plate in a quiet stream. Incropera 7.30 and 7.38.

    Laminar up to Re 5e5, then ``(0.037 Re^(4/5) - 871) Pr^(1/3)`` up to 1e8.
    Sibling of ``nusselt_plate_tripped``.
    """
    re = np.asarray(reynolds, dtype=float)
    mixed = (0.037 * re**0.8 - 871.0) * prandtl ** (1 / 3)
    laminar = nusselt_plate_laminar_pohlhausen(reynolds=re, prandtl=prandtl)
    return as_given(np.where(re > CRITICAL_REYNOLDS, mixed, laminar))


def nusselt_plate_tripped(*, reynolds: Numbers, prandtl: Numbers) -> Numbers:
    """Mean Nusselt number of a plate in rough air: the larger of laminar and fully turbulent.

    The two cross at Re 1.5e4: small leaves stay laminar, walls are turbulent from the edge.
    """
    return as_given(
        np.maximum(
            nusselt_plate_laminar_pohlhausen(reynolds=reynolds, prandtl=prandtl),
            nusselt_plate_turbulent_incropera(reynolds=reynolds, prandtl=prandtl),
        )
    )


def nusselt_cylinder_churchill_bernstein(*, reynolds: Numbers, prandtl: Numbers) -> Numbers:
    """Mean Nusselt number of a cylinder in cross-flow, Re Pr above 0.2. Incropera 7.54.

    >>> round(nusselt_cylinder_churchill_bernstein(reynolds=6071.0, prandtl=0.7), 1)
    40.6
    """
    base = 0.62 * reynolds**0.5 * prandtl ** (1 / 3) / (1 + (0.4 / prandtl) ** (2 / 3)) ** 0.25
    return 0.3 + base * (1 + (reynolds / 282000) ** 0.625) ** 0.8


def nusselt_vertical_plate_churchill_chu(*, rayleigh: Numbers, prandtl: Numbers) -> Numbers:
    """Mean Nusselt number of a vertical plate in still air, all Rayleigh numbers. Incropera 9.26.

    Tilted plates: put ``g cos(tilt from vertical)`` into the Rayleigh number up to 60 degrees.
    Checks ``nusselt_buoyant_outdoor``, which shares its form.
    """
    slope = 0.387 / (1 + (0.492 / prandtl) ** (9 / 16)) ** (8 / 27)
    return (0.825 + slope * rayleigh ** (1 / 6)) ** 2


def nusselt_horizontal_cylinder_churchill_chu(*, rayleigh: Numbers, prandtl: Numbers) -> Numbers:
    """Mean Nusselt number of a long cylinder in still air, Ra up to 1e12. Incropera 9.34.

    Checks ``nusselt_buoyant_outdoor``, which shares its form.
    """
    slope = 0.387 / (1 + (0.559 / prandtl) ** (9 / 16)) ** (8 / 27)
    return (0.60 + slope * rayleigh ** (1 / 6)) ** 2


def nusselt_hot_plate_facing_up_mcadams(*, rayleigh: Numbers) -> Numbers:
    """Mean Nusselt number of a warm plate facing up, Ra 1e4 to 1e11. Incropera 9.30 and 9.31.

    ``0.54 Ra^(1/4)`` up to 1e7, then ``0.15 Ra^(1/3)``; the length is area over perimeter.
    Checks ``nusselt_buoyant_outdoor``, which has its upper branch.
    """
    ra = np.asarray(rayleigh, dtype=float)
    return as_given(np.where(ra <= 1e7, 0.54 * ra**0.25, 0.15 * ra ** (1 / 3)))


def rayleigh_number(
    *,
    difference_k: Numbers,
    length_m: Numbers,
    film_temperature_k: Numbers,
    viscosity_m2_s: Numbers,
) -> Numbers:
    """Rayleigh number ``g beta dT L^3 Pr / nu^2`` of an ideal gas, beta = 1/T."""
    grashof = GRAVITY * difference_k * length_m**3 / (film_temperature_k * viscosity_m2_s**2)
    return grashof * PRANDTL_AIR


def nusselt_forced_outdoor(*, geometry: int, reynolds: Numbers) -> Numbers:
    """The chooser for wind: tripped plate for walls, roofs and blades, else a cylinder.

    geometry: WALL, ROOF, CYLINDER or BLADE. Without the outdoor turbulence factor.
    """
    if geometry == CYLINDER:
        return nusselt_cylinder_churchill_bernstein(reynolds=reynolds, prandtl=PRANDTL_AIR)
    return nusselt_plate_tripped(reynolds=reynolds, prandtl=PRANDTL_AIR)


def nusselt_buoyant_outdoor(*, geometry: int, rayleigh: Numbers) -> Numbers:
    """The chooser for still air, by geometry.

    Walls: vertical plate. Cylinders and blades: long cylinder. Roofs: warm plate facing up
    (0.15 Ra^(1/3) throughout), for cool roofs too, where the true coefficient is lower: the error
    is towards faster drying and only counts in near calm.
    """
    return (BUOYANT_BASE[geometry] + BUOYANT_SLOPE[geometry] * rayleigh ** (1 / 6)) ** 2


def blend_churchill(*, forced: Numbers, buoyant: Numbers) -> Numbers:
    """Forced and buoyant coefficients together, ``(f^3 + n^3)^(1/3)``. Churchill 1977."""
    return (forced**BLEND_EXPONENT + buoyant**BLEND_EXPONENT) ** (1 / BLEND_EXPONENT)


def outdoor_coefficient(
    *,
    geometry: int,
    length_m: float,
    wind_m_s: Numbers,
    surface_temperature_k: Numbers,
    air_temperature_k: Numbers,
    vapour_pressure_pa: Numbers,
    pressure_pa: Numbers,
    turbulence_factor: float = OUTDOOR_TURBULENCE_FACTOR,
) -> Numbers:
    """Convection coefficient of a face outdoors [W/m2K]: wind and buoyancy blended.

    length_m [m]: along the wind for plates, diameter for cylinders, width for blades. wind_m_s at
    the face; under 0.5 m/s it counts as 0.5 (FAO-56). Air properties at the air's temperature
    (within 2 % of the film temperature's). Range: Re up to 1e8, dT up to 60 K.
    """
    viscosity = kinematic_viscosity(
        temperature_k=air_temperature_k,
        vapour_pressure_pa=vapour_pressure_pa,
        pressure_pa=pressure_pa,
    )
    reynolds = np.maximum(wind_m_s, LOWEST_WIND_M_S) * length_m / viscosity
    difference = np.hypot(surface_temperature_k - air_temperature_k, SMALLEST_DIFFERENCE_K)
    rayleigh = rayleigh_number(
        difference_k=difference,
        length_m=length_m,
        film_temperature_k=air_temperature_k,
        viscosity_m2_s=viscosity,
    )
    forced = nusselt_forced_outdoor(geometry=geometry, reynolds=reynolds) * turbulence_factor
    buoyant = nusselt_buoyant_outdoor(geometry=geometry, rayleigh=rayleigh)
    conductivity = thermal_conductivity_sutherland(temperature_k=air_temperature_k)
    return blend_churchill(forced=forced, buoyant=buoyant) * conductivity / length_m
