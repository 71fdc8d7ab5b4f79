"""One wet face in one hour: convection and the step of the balance, scalar and compiled.

The formulas of `drying` and `convection` written for loops that do many cells at once: no call of
the mathematical library, no branch, as few divisions as can be; what all faces share of the air is
in `wet_air`. `kernel` loops over them, `transient` too, and `outlook.single` narrows their source
to single precision.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from stillwet.compiling import compiled
from stillwet.constants import STEFAN_BOLTZMANN, ZERO_CELSIUS
from stillwet.physics.air import LATENT_HEAT_COEFFICIENTS
from stillwet.physics.convection import SMALLEST_DIFFERENCE_K
from stillwet.physics.drying import HIGHEST_SURFACE_K, LOWEST_SURFACE_K
from stillwet.physics.series import (
    CUBE_OF_SUM,
    TWELFTH_INVERSE,
    TWELFTH_ROUGH,
    inverse_cube_root,
    poly4,
    poly8,
)
from stillwet.physics.wet_air import vapour_density_and_slope

single = np.float32
LARGEST_STEP_K = 30.0
SATURATION_GROWTH = 0.055  # 1/K, of the vapour density near 25 C; steers the steps only
_NEAR_K = 3.0
_L0, _L1, _L2, _L3 = LATENT_HEAT_COEFFICIENTS
_SMALLEST_SQUARE = SMALLEST_DIFFERENCE_K * SMALLEST_DIFFERENCE_K
NEAR_ROOT = (_NEAR_K * _NEAR_K + _SMALLEST_SQUARE) ** (1 / 12)  # as if face and air were 3 K apart
_THIRD = 1 / 3
# (1 - e)^(-11/12) less 1, over e.
_E1, _E2, _E3, _E4 = 11 / 12, 253 / 288, 8855 / 10368, 416185 / 497664

_inlined: Any = compiled(fastmath={"contract"}, error_model="numpy", inline="always")


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
