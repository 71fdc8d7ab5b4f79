"""One wet face in one hour: air, convection and the step of the balance, scalar and compiled.

The formulas of `drying`, `air` and `convection` written for loops that do many cells at once: no
call of the mathematical library, no branch, as few divisions as can be. `kernel` loops over them,
`transient` too, and `outlook.single` narrows their source to single precision.
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
from stillwet.physics.air import (
    DRY_AIR_SPECIFIC_HEAT,
    LATENT_HEAT_COEFFICIENTS,
    VAPOUR_SPECIFIC_HEAT,
    WATER_COEFFICIENTS,
)
from stillwet.physics.convection import PRANDTL_AIR, SMALLEST_DIFFERENCE_K
from stillwet.physics.drying import HIGHEST_SURFACE_K, LOWEST_SURFACE_K
from stillwet.physics.series import (
    CUBE_LOW,
    CUBE_NEAR,
    CUBE_OF_SUM,
    FIFTH_LOW,
    FIFTH_WIDE,
    TWELFTH_INVERSE,
    TWELFTH_ROUGH,
    _series_of,
    inverse_cube_root,
    inverse_fifth_root,
    poly4,
    poly6,
    poly8,
    poly10,
    poly16,
)
from stillwet.physics.wind import LOWEST_WIND_M_S

single = np.float32
LARGEST_STEP_K = 30.0
SATURATION_GROWTH = 0.055  # 1/K, of the vapour density near 25 C; steers the steps only
_MIDDLE_K, _HALF_K = 288.0, 88.0  # the series in temperature hold from 200 to 376 K
_PER_HALF = 1 / _HALF_K
_NEAR_K = 3.0
_C8, _C9, _C10, _C11, _C12, _C13 = WATER_COEFFICIENTS
_L0, _L1, _L2, _L3 = LATENT_HEAT_COEFFICIENTS
_VISCOSITY = 1.716e-5 * (273.15 + 110.4) / 273.15**1.5  # Sutherland's law of `air`
_CONDUCTION = 0.0241 * (273.0 + 194.0) / 273.0**1.5
_DIFFUSIVITY = 0.2178e-4 / ZERO_CELSIUS**1.81  # of vapour, `air`
PR_THIRD = PRANDTL_AIR ** (1 / 3)
_CB_FACTOR = 0.62 * PR_THIRD / (1 + (0.4 / PRANDTL_AIR) ** (2 / 3)) ** 0.25
_SMALLEST_SQUARE = SMALLEST_DIFFERENCE_K * SMALLEST_DIFFERENCE_K
NEAR_ROOT = (_NEAR_K * _NEAR_K + _SMALLEST_SQUARE) ** (1 / 12)  # as if face and air were 3 K apart
_THIRD = 1 / 3
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


# (1 - e)^(-11/12) less 1, over e.
_E1, _E2, _E3, _E4 = 11 / 12, 253 / 288, 8855 / 10368, 416185 / 497664
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
def twelfth_root(z: float) -> float:
    """z^(1/12) for z from 0.01 to 7000 (1e-10 relative).

    Square roots in single precision take a quarter of the time; the step on e = 1 - z y^12 then
    leaves the fourth power of the guess's error.
    """
    u = math.sqrt(math.sqrt(math.sqrt(single(z))))
    y = 1.0 * poly8(u, TWELFTH_INVERSE)
    square = y * y
    fourth = square * square
    root = z * ((fourth * fourth) * (square * y))
    e = 1 - root * y
    found: float = root + root * e * (_E1 + e * (_E2 + e * (_E3 + e * _E4)))
    return found


@_inlined
def twelfth_root_of_rise(rise: float) -> float:
    """The twelfth root of the square of a temperature difference, kept off zero [K^(1/6)]."""
    found: float = twelfth_root(rise * rise + _SMALLEST_SQUARE)
    return found


@_inlined
def rough_root_of_rise(rise: float) -> float:
    """The same within 0.2 %, for the first steps alone: single precision throughout."""
    z = single(rise * rise + _SMALLEST_SQUARE)
    found: float = 1.0 * poly4(math.sqrt(math.sqrt(math.sqrt(z))), TWELFTH_ROUGH)
    return found


@_inlined
def blend(forced: float, natural: float) -> float:
    """Cube root of the sum of cubes (1e-14 relative)."""
    larger = max(forced, natural)
    ratio = min(forced, natural) / larger
    z = 1 + ratio * ratio * ratio
    y = inverse_cube_root(poly4(z, CUBE_OF_SUM), z)
    both: float = larger * z * (y * y)
    return both


@_inlined
def coefficient_and_slope(
    rise: float, twelfth: float, forced: float, conductance: float, buoyant: float, base: float
) -> tuple[float, float]:
    """Coefficient of convection at t - ta and its derivative [W/m2K, W/m2K2].

    The buoyant part, from ``twelfth`` (`twelfth_root_of_rise`), blended by cubes with the forced.
    """
    square = rise * rise + _SMALLEST_SQUARE
    root = buoyant * twelfth
    sum_of = base + root
    still = conductance * sum_of
    natural = still * sum_of
    larger = max(forced, natural)
    shared = 1 / (larger * square)  # one division for two
    per_larger = shared * square
    ratio = min(forced, natural) * per_larger
    z = 1 + ratio * ratio * ratio
    y = inverse_cube_root(poly4(z, CUBE_OF_SUM), z)
    # d natural/dT = natural * root * rise / (3 * square * (base + root)); dh = (natural/h)^2 of it
    part = natural * per_larger * y
    return larger * z * (y * y), part * part * (still * root) * (rise * shared) * (larger * _THIRD)


@_inlined
def exchange_of(
    t: float,
    rise: float,
    incoming: float,
    rho_va: float,
    transfer: float,
    rho_vs: float,
    rho_vs_slope: float,
    h: float,
    h_slope: float,
    emissivity: float,
) -> tuple[float, float, float, float, float]:
    """What `exchange` returns, out of the vapour's density and the coefficient at t."""
    gap = rho_vs - rho_va
    radiated = emissivity * STEFAN_BOLTZMANN * (t * t) * t
    gain = incoming - radiated * t - h * rise
    carried = h * transfer
    held = carried * rho_vs_slope
    return (
        gain,
        -4 * radiated - h - h_slope * rise,
        carried * gap,
        held,
        held + h_slope * transfer * gap,
    )


@_inlined
def exchange(
    t: float,
    ta: float,
    incoming: float,
    rho_va: float,
    transfer: float,
    forced: float,
    conductance: float,
    buoyant: float,
    base: float,
    slope: float,
    emissivity: float,
) -> tuple[float, float, float, float, float]:
    """What a wet face at t gains and loses: dry heat and its slope, evaporation, its slopes.

    Returns the net gain without evaporation [W/m2], its derivative, the evaporation [kg/m2s], the
    derivative with the coefficient held and the whole one. transfer is 1/(rho cp Le^(2/3)),
    conductance k/L, buoyant the sixth root of Ra per kelvin; base and slope those of `convection`.
    """
    rise = t - ta
    full, rising = vapour_density_and_slope(t)
    twelfth = twelfth_root_of_rise(rise)
    h, h_slope = coefficient_and_slope(rise, twelfth, forced, conductance, slope * buoyant, base)
    found: tuple[float, float, float, float, float] = exchange_of(
        t, rise, incoming, rho_va, transfer, full, rising, h, h_slope, emissivity
    )
    return found


@_inlined
def latent_heat_and_slope(t: float) -> tuple[float, float]:
    """The cubic of `air.latent_heat` and its derivative."""
    celsius = t - ZERO_CELSIUS
    latent = _L0 + celsius * (_L1 + celsius * (_L2 + celsius * _L3))
    return latent, _L1 + celsius * (2 * _L2 + celsius * 3 * _L3)


@_inlined
def guarded(value: float, steep: float, bend: float) -> float:
    """The Halley step of a balance with this value, slope and half curvature, kept short."""
    square = steep * steep
    bent = max(square + value * bend, 0.5 * square)
    step: float = min(max(-value * steep / bent, -LARGEST_STEP_K), LARGEST_STEP_K)
    return step


@_inlined
def first_rise(
    twelfth: float,
    ta: float,
    incoming: float,
    rho_va: float,
    rho_full: float,
    rho_slope: float,
    transfer: float,
    forced: float,
    conductance: float,
    buoyant: float,
    base: float,
    emissivity: float,
    back: float,
) -> float:
    """From the air's temperature towards the face's, by what is known at the air's.

    The vapour and its slope are the air's; twelfth says how far apart the two are thought to be.
    """
    latent, _ = latent_heat_and_slope(ta)
    radiated = emissivity * STEFAN_BOLTZMANN * (ta * ta) * ta
    sum_of = base + buoyant * twelfth
    h = blend(forced, conductance * (sum_of * sum_of))
    carried = h * latent * transfer
    value = incoming - radiated * ta - carried * (rho_full - rho_va)
    rising = carried * rho_slope
    rise = guarded(value, -4 * radiated - back - h - rising, (0.5 * SATURATION_GROWTH) * rising)
    kept: float = min(max(rise, LOWEST_SURFACE_K - ta), HIGHEST_SURFACE_K - ta)
    return kept


@_inlined
def halley_step(
    t: float,
    ta: float,
    incoming: float,
    rho_va: float,
    transfer: float,
    rho_vs: float,
    rho_vs_slope: float,
    h: float,
    h_slope: float,
    emissivity: float,
    back: float,
) -> tuple[float, float]:
    """One guarded Halley step on the balance; the next temperature and the evaporation there.

    The slope is kept at least 0.3 of that with a constant coefficient, so that a step near zero
    temperature difference in still air cannot run off; the curvature is that of saturation. The
    evaporation is carried to the next temperature by its slope and curvature.
    """
    rise = t - ta
    gain, gain_slope, evaporation, held, whole = exchange_of(
        t, rise, incoming, rho_va, transfer, rho_vs, rho_vs_slope, h, h_slope, emissivity
    )
    latent, latent_slope = latent_heat_and_slope(t)
    value = gain - back * rise - latent * evaporation
    full = gain_slope - back - latent * whole - latent_slope * evaporation
    steep = min(full, -0.3 * (back + latent * held))
    bend = (0.5 * SATURATION_GROWTH) * held
    step = guarded(value, steep, bend * latent)
    after = min(max(t + step, LOWEST_SURFACE_K), HIGHEST_SURFACE_K)
    step = after - t
    return after, evaporation + step * (whole + step * bend)


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
