"""The air of one hour as all wet faces share it: its properties by series, and the wind's share.

The formulas of `air` and `convection` written for loops that do many cells at once: no call of the
mathematical library, no branch, as few divisions as can be. `wet_face` goes on from here;
`outlook.single` narrows this source to single precision too.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stillwet.compiling import compiled
from stillwet.constants import (
    GAS_CONSTANT_DRY_AIR,
    GAS_CONSTANT_VAPOUR,
    GRAVITY,
    STANDARD_PRESSURE,
    STEFAN_BOLTZMANN,
    ZERO_CELSIUS,
)
from stillwet.physics.air import DRY_AIR_SPECIFIC_HEAT, VAPOUR_SPECIFIC_HEAT, WATER_COEFFICIENTS
from stillwet.physics.convection import PRANDTL_AIR
from stillwet.physics.series import (
    CUBE_LOW,
    CUBE_NEAR,
    FIFTH_LOW,
    FIFTH_WIDE,
    _series_of,
    inverse_cube_root,
    inverse_fifth_root,
    poly4,
    poly6,
    poly10,
    poly16,
)
from stillwet.physics.wind import LOWEST_WIND_M_S

_MIDDLE_K, _HALF_K = 288.0, 88.0  # the series in temperature hold from 200 to 376 K
_PER_HALF = 1 / _HALF_K
_C8, _C9, _C10, _C11, _C12, _C13 = WATER_COEFFICIENTS
_VISCOSITY = 1.716e-5 * (273.15 + 110.4) / 273.15**1.5  # Sutherland's law of `air`
_CONDUCTION = 0.0241 * (273.0 + 194.0) / 273.0**1.5
_DIFFUSIVITY = 0.2178e-4 / ZERO_CELSIUS**1.81  # of vapour, `air`
PR_THIRD = PRANDTL_AIR ** (1 / 3)
_CB_FACTOR = 0.62 * PR_THIRD / (1 + (0.4 / PRANDTL_AIR) ** (2 / 3)) ** 0.25
_PER_MIDDLE = 1 / _MIDDLE_K
_BUOYANCY = (GRAVITY * PRANDTL_AIR / _MIDDLE_K) ** (1 / 6) * 1e5 ** (1 / 3)
_ROOT_1E5 = math.sqrt(1e5)
_POWER_1E5 = 1e5**0.8
_HEAT_SCALE, _PER_STANDARD = 1e-3, 1 / STANDARD_PRESSURE
_LIGHTEST_WIND_M_S = 0.01  # far under the floor whatever the height: keeps the roots in range
_FLOOR_ROOT, _FLOOR_POWER = math.sqrt(LOWEST_WIND_M_S), LOWEST_WIND_M_S**0.8


def _vapour_eighth(x: NDArray[np.float64]) -> Any:
    """The eighth root of the density of saturated vapour (Hyland & Wexler over water)."""
    t = _MIDDLE_K + _HALF_K * x
    log_p = _C8 / t + _C9 + t * (_C10 + t * (_C11 + t * _C12)) + _C13 * np.log(t)
    return (np.exp(log_p) / (GAS_CONSTANT_VAPOUR * t)) ** 0.125


def _lewis(x: NDArray[np.float64]) -> Any:
    """(conductivity / diffusivity at standard pressure)^(-2/3), per 10 W s/m3."""
    t = _MIDDLE_K + _HALF_K * x
    return (_CONDUCTION * t**1.5 / (t + 194.0) / (_DIFFUSIVITY * t**1.81)) ** (-2 / 3)


_VAPOUR = _series_of(_vapour_eighth, 16, -1.0, 1.0)
_VAPOUR_SLOPE = tuple(
    float(c) / _HALF_K
    for c in np.polynomial.Chebyshev.interpolate(np.polynomial.Polynomial(_VAPOUR).deriv(), 10)
    .convert(kind=np.polynomial.Polynomial)
    .coef
)
_LEWIS = _series_of(_lewis, 10, -1.0, 1.0)

_inlined: Any = compiled(fastmath={"contract"}, error_model="numpy", inline="always")


@_inlined
def vapour_density(t: float) -> float:
    """Density of saturated vapour over water [kg/m3], 200 to 376 K (1e-12 relative)."""
    eighth = poly16((t - _MIDDLE_K) * _PER_HALF, _VAPOUR)
    fourth = eighth * eighth
    half = fourth * fourth
    found: float = half * half
    return found


@_inlined
def vapour_density_and_slope(t: float) -> tuple[float, float]:
    """The same, and its derivative by temperature (1e-7)."""
    x = (t - _MIDDLE_K) * _PER_HALF
    eighth = poly16(x, _VAPOUR)
    square = eighth * eighth
    fourth = square * square
    seventh = 8 * (fourth * square * eighth)
    return fourth * fourth, seventh * poly10(x, _VAPOUR_SLOPE)


@_inlined
def air_of(
    t: float, humidity: float, wind: float, p: float
) -> tuple[float, float, float, float, float, float, float, float, float, float, float, float]:
    """Properties of the air that all faces share (the functions of `air`, by series).

    Temperature, vapour density, the saturated one and its slope, transfer, conductivity, the
    ground's radiation, the sixth root of Ra per kelvin; then what the laminar and the turbulent
    coefficient take of 1/viscosity and of the wind: their powers 0.5 and 0.8.
    """
    rho_full, rho_slope = vapour_density_and_slope(t)
    rho_va = rho_full * humidity
    rho_dry = p / (GAS_CONSTANT_DRY_AIR * t) - rho_va * (GAS_CONSTANT_VAPOUR / GAS_CONSTANT_DRY_AIR)
    heat = rho_dry * DRY_AIR_SPECIFIC_HEAT + rho_va * VAPOUR_SPECIFIC_HEAT
    share = p * _PER_STANDARD
    quarter = math.sqrt(math.sqrt(heat * _HEAT_SCALE * (share * share)))
    third = inverse_cube_root(poly6(quarter, CUBE_LOW), quarter)
    third *= third
    warm = t * math.sqrt(t)
    # The square root of 1e-5/viscosity, and its other powers from there.
    thin = math.sqrt((rho_dry + rho_va) * (t + 110.4) / warm * (1e-5 / _VISCOSITY))
    cube = inverse_cube_root(poly6(thin, CUBE_LOW), thin)
    fifth = inverse_fifth_root(poly6(thin, FIFTH_LOW), thin)
    near = math.sqrt(t * _PER_MIDDLE)
    root = math.sqrt(max(wind, _LIGHTEST_WIND_M_S))
    eighth = math.sqrt(math.sqrt(root))
    wind_fifth = inverse_fifth_root(poly6(eighth, FIFTH_WIDE), eighth)
    wind_power = root * (eighth * eighth * eighth) * (wind_fifth * wind_fifth * wind_fifth)
    return (
        t,
        rho_va,
        rho_full,
        rho_slope,
        0.1 * third * third * poly10((t - _MIDDLE_K) * _PER_HALF, _LEWIS),
        _CONDUCTION * warm / (t + 194.0),
        STEFAN_BOLTZMANN * (t * t) * (t * t),
        _BUOYANCY * inverse_cube_root(poly4(near, CUBE_NEAR), near) * (thin * cube),
        _ROOT_1E5 * thin,
        root,
        _POWER_1E5 * (thin * thin) * (fifth * fifth),
        wind_power,
    )


@_inlined
def plate_powers(
    length: float, factor: float, turbulence: float
) -> tuple[float, float, float, float]:
    """What a plate gives to the turbulent and the laminar coefficient, and to the wind in each."""
    scale = turbulence / length
    return (
        0.037 * PR_THIRD * length**0.8 * scale,
        0.664 * PR_THIRD * math.sqrt(length) * scale,
        factor**0.8,
        math.sqrt(factor),
    )


@_inlined
def forced_on_plate(
    conductivity: float,
    lam: float,
    lam_wind: float,
    turb: float,
    turb_wind: float,
    powers: tuple[float, float, float, float],
) -> float:
    """Coefficient of the wind along a plate, the larger of turbulent and laminar [W/m2K]."""
    turbulent, laminar, power, root = powers
    fast = turbulent * turb * max(turb_wind * power, _FLOOR_POWER)
    slow = laminar * lam * max(lam_wind * root, _FLOOR_ROOT)
    found: float = conductivity * max(fast, slow)
    return found


@_inlined
def forced_on_cylinder(
    conductivity: float, lam: float, lam_wind: float, length: float, factor: float, scale: float
) -> float:
    """Coefficient of the wind across a cylinder (Churchill-Bernstein) [W/m2K]."""
    reynolds = lam * lam * max(lam_wind * lam_wind * factor, LOWEST_WIND_M_S) * length
    x = reynolds / 282000
    z = 1 + math.sqrt(x * math.sqrt(math.sqrt(x)))
    quarter = math.sqrt(math.sqrt(z))
    fifth = quarter * inverse_fifth_root(poly6(quarter, FIFTH_WIDE), quarter)
    fifth *= fifth
    nusselt: float = 0.3 + _CB_FACTOR * math.sqrt(reynolds) * (fifth * fifth)
    return scale * conductivity * nusselt
