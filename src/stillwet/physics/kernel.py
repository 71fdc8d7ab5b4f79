"""The drying demand of many faces, hours and members at once: the balance of `drying`, compiled.

Cells are solved in blocks of 64 so that the inner loop vectorises; logarithm, exponential and roots
are short series and Halley steps instead of library calls, which would stop that. Every cell takes
the same path through the same arithmetic whatever its block or thread, so that results are equal to
the bit however the work is shared out.

Numba remembers the compiled code by this file's date alone: after a change of a constant imported
here, touch this file (and `transient`, which inlines it).
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
from stillwet.errors import Problem, StillwetError, shown
from stillwet.physics.air import (
    DRY_AIR_SPECIFIC_HEAT,
    LATENT_HEAT_COEFFICIENTS,
    VAPOUR_SPECIFIC_HEAT,
    WATER_COEFFICIENTS,
)
from stillwet.physics.convection import (
    BUOYANT_BASE,
    BUOYANT_SLOPE,
    CYLINDER,
    OUTDOOR_TURBULENCE_FACTOR,
    PRANDTL_AIR,
    SMALLEST_DIFFERENCE_K,
)
from stillwet.physics.drying import (
    BACK_CONDUCTANCE_W_M2K,
    HIGHEST_SURFACE_K,
    LOWEST_SURFACE_K,
    SOLAR_ABSORPTIVITY,
    WATER_EMISSIVITY,
)
from stillwet.physics.wind import (
    FORECAST_HEIGHT_M,
    LOWEST_WIND_M_S,
    OPEN_ROUGHNESS_M,
    log_profile_factor,
)

BLOCK = 64
STEPS = 5  # within 1e-8 of the converged answer on 150 000 random cells; 4 give 6e-4
LARGEST_STEP_K = 30.0
SATURATION_GROWTH = 0.055  # 1/K, of the vapour density near 25 C; steers the steps only


def _root_polynomial(low: float, high: float, degree: int) -> tuple[float, ...]:
    """A first guess of the cube root between two values (Chebyshev interpolation)."""
    fit = np.polynomial.Chebyshev.interpolate(np.cbrt, degree, domain=[low, high])
    return tuple(float(c) for c in fit.convert(kind=np.polynomial.Polynomial).coef)


_ROOT_OF_EIGHTH = _root_polynomial(0.55, 3.05, 5)
_ROOT_OF_SUM = _root_polynomial(1.0, 2.0, 3)
_GEOMETRIES = len(BUOYANT_BASE)
BASES = np.array([BUOYANT_BASE[code] for code in range(_GEOMETRIES)])
SLOPES = np.array([BUOYANT_SLOPE[code] for code in range(_GEOMETRIES)])
_C8, _C9, _C10, _C11, _C12, _C13 = WATER_COEFFICIENTS
_ZERO_SQUARED = ZERO_CELSIUS * ZERO_CELSIUS
_C8_ZERO = _C8 / ZERO_CELSIUS
_LN_P_ZERO = (
    _C8_ZERO
    + _C9
    + ZERO_CELSIUS * (_C10 + ZERO_CELSIUS * (_C11 + ZERO_CELSIUS * _C12))
    + _C13 * math.log(ZERO_CELSIUS)
)
_L0, _L1, _L2, _L3 = LATENT_HEAT_COEFFICIENTS
_VISCOSITY = 1.716e-5 * (273.15 + 110.4) / 273.15**1.5  # Sutherland's law of `air`
_CONDUCTION = 0.0241 * (273.0 + 194.0) / 273.0**1.5
_PR_THIRD = PRANDTL_AIR ** (1 / 3)
_CB_FACTOR = 0.62 * _PR_THIRD / (1 + (0.4 / PRANDTL_AIR) ** (2 / 3)) ** 0.25

# Rows of the block's working store: air (shared by the faces) and face.
_AIR_ROWS = 11
(
    _TA,
    _RHO_VA,
    _TRANSFER,
    _CONDUCTIVITY,
    _GROUND,
    _BUOY,
    _NU,
    _LAM,
    _LAM_FLOOR,
    _TURB,
    _TURB_FLOOR,
) = range(_AIR_ROWS)

_jit: Any = compiled(fastmath={"contract"}, error_model="numpy", nogil=True)
_inlined: Any = compiled(fastmath={"contract"}, error_model="numpy", inline="always")


@_inlined
def _exp(x: float) -> float:
    """Exponential for |x| under 20: Taylor series of x/64, then six squarings (4e-14 relative)."""
    y = x * 0.015625
    p = 1 + y * (
        1
        + y
        * (
            0.5
            + y
            * (
                1 / 6
                + y
                * (
                    1 / 24
                    + y * (1 / 120 + y * (1 / 720 + y * (1 / 5040 + y * (1 / 40320 + y / 362880))))
                )
            )
        )
    )
    p *= p
    p *= p
    p *= p
    p *= p
    p *= p
    return p * p


@_inlined
def _halley(guess: float, z: float) -> float:
    """One Halley step towards the cube root of z: an error d of the guess becomes 2/3 d^3."""
    cube = guess * guess * guess
    better: float = guess * (cube + 2 * z) / (2 * cube + z)
    return better


@_inlined
def _twelfth_root(z: float) -> float:
    """z^(1/12) for z from 0.01 to 7000 (1e-8 relative): the eighth root is u, and u^(2/3) this."""
    u = math.sqrt(math.sqrt(math.sqrt(z)))
    a, b, c, d, e, f = _ROOT_OF_EIGHTH
    root = _halley(a + u * (b + u * (c + u * (d + u * (e + u * f)))), u)
    twelfth: float = root * root
    return twelfth


@_inlined
def _blend(forced: float, natural: float) -> float:
    """Cube root of the sum of cubes (1e-10 relative)."""
    larger = max(forced, natural)
    ratio = min(forced, natural) / larger
    z = 1 + ratio * ratio * ratio
    a, b, c, d = _ROOT_OF_SUM
    both: float = larger * _halley(a + z * (b + z * (c + z * d)), z)
    return both


@_inlined
def saturation(t: float) -> tuple[float, float, float]:
    """1/t, ln(t/0 C) and ln p of Hyland-Wexler over water, all as steps from 0 C.

    A series for the logarithm (1e-13 from -70 to 100 C); in steps, so that single precision keeps
    its digits: the terms of ln p themselves are twenty times their sum.
    """
    both = 1 / (t * (t + ZERO_CELSIUS))  # one division for 1/t and z
    inverse = (t + ZERO_CELSIUS) * both
    rise = t - ZERO_CELSIUS
    z = rise * t * both
    q = z * z
    series = 1 / 7 + q * (1 / 9 + q * (1 / 11 + q / 13))
    log_ratio = 2 * z * (1 + q * (1 / 3 + q * (1 / 5 + q * series)))
    squares = t * (t + ZERO_CELSIUS) + _ZERO_SQUARED
    log_p = (
        _LN_P_ZERO
        + rise * (_C10 - _C8_ZERO * inverse + _C11 * (t + ZERO_CELSIUS) + _C12 * squares)
        + _C13 * log_ratio
    )
    return inverse, log_ratio, log_p


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
    inverse, _, log_p = saturation(t)
    rho_vs = _exp(log_p) * inverse / GAS_CONSTANT_VAPOUR
    log_p_slope = inverse * (_C13 - _C8 * inverse) + _C10 + t * (2 * _C11 + t * 3 * _C12)
    rho_vs_slope = rho_vs * (log_p_slope - inverse)
    # Convection: buoyant part from |T - Ta|, blended by cubes with the forced part.
    rise = t - ta
    square = rise * rise + SMALLEST_DIFFERENCE_K * SMALLEST_DIFFERENCE_K
    root = slope * buoyant * _twelfth_root(square)
    natural = conductance * (base + root) * (base + root)
    h = _blend(forced, natural)
    # d natural/dT = natural * root * rise / (3 * square * (base + root)); dh = (natural/h)^2 of it
    h_slope = natural * natural * conductance * (base + root) * root * rise / (3 * square * h * h)
    gap = rho_vs - rho_va
    radiated = emissivity * STEFAN_BOLTZMANN * t * t * t
    gain = incoming - radiated * t - h * rise
    held = h * transfer * rho_vs_slope
    return (
        gain,
        -4 * radiated - h - h_slope * rise,
        h * transfer * gap,
        held,
        (held + h_slope * transfer * gap),
    )


@_inlined
def latent_heat_and_slope(t: float) -> tuple[float, float]:
    """The cubic of `air.latent_heat` and its derivative."""
    celsius = t - ZERO_CELSIUS
    latent = _L0 + celsius * (_L1 + celsius * (_L2 + celsius * _L3))
    return latent, _L1 + celsius * (2 * _L2 + celsius * 3 * _L3)


@_inlined
def halley_step(
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
    back: float,
) -> tuple[float, float]:
    """One guarded Halley step on the balance; returns the next temperature and the evaporation.

    The slope is kept at least 0.3 of that with a constant coefficient, so that a step near zero
    temperature difference in still air cannot run off; the curvature is that of saturation.
    """
    gain, gain_slope, evaporation, held, whole = exchange(
        t, ta, incoming, rho_va, transfer, forced, conductance, buoyant, base, slope, emissivity
    )
    latent, latent_slope = latent_heat_and_slope(t)
    value = gain - back * (t - ta) - latent * evaporation
    full = gain_slope - back - latent * whole - latent_slope * evaporation
    steep = min(full, -0.3 * (back + latent * held))
    square = steep * steep
    bent = max(square + 0.5 * value * SATURATION_GROWTH * latent * held, 0.5 * square)
    step = min(max(-value * steep / bent, -LARGEST_STEP_K), LARGEST_STEP_K)
    return min(max(t + step, LOWEST_SURFACE_K), HIGHEST_SURFACE_K), evaporation


@_inlined
def air_of(
    t: float, humidity: float, wind: float, p: float
) -> tuple[float, float, float, float, float, float, float, float, float, float, float]:
    """Properties of the air that all faces share (the functions of `air`, inlined).

    Temperature, vapour density, transfer, conductivity, the ground's radiation, the sixth root of
    Ra per kelvin, viscosity; then the powers of speed over viscosity that the laminar and the
    turbulent coefficient take, each followed by its floor.
    """
    _, log_ratio, log_p = saturation(t)
    vapour = math.exp(log_p) * humidity
    rho_va = vapour / (GAS_CONSTANT_VAPOUR * t)
    rho_dry = (p - vapour) / (GAS_CONSTANT_DRY_AIR * t)
    heat = rho_dry * DRY_AIR_SPECIFIC_HEAT + rho_va * VAPOUR_SPECIFIC_HEAT
    viscosity = _VISCOSITY * t * math.sqrt(t) / (t + 110.4)
    nu = viscosity / (rho_dry + rho_va)
    k = _CONDUCTION * t * math.sqrt(t) / (t + 194.0)
    diffusivity = 0.2178e-4 * math.exp(1.81 * log_ratio) * STANDARD_PRESSURE / p
    lewis = k / (heat * diffusivity)
    return (
        t,
        rho_va,
        1 / (heat * (lewis * lewis) ** (1 / 3)),
        k,
        STEFAN_BOLTZMANN * (t * t) * (t * t),
        (math.sqrt(GRAVITY * PRANDTL_AIR / t) / nu) ** (1 / 3),
        nu,
        math.sqrt(wind / nu),
        math.sqrt(LOWEST_WIND_M_S / nu),
        (wind / nu) ** 0.8,
        (LOWEST_WIND_M_S / nu) ** 0.8,
    )


@_jit
def _fill_air(
    air: NDArray[np.float64],
    first: int,
    members: int,
    temperature: NDArray[np.float64],
    humidity: NDArray[np.float64],
    wind: NDArray[np.float64],
    pressure: NDArray[np.float64],
) -> None:
    """Properties of the block's air, shared by all faces."""
    last = temperature.size - 1
    for j in range(BLOCK):
        i = min(first + j, last)
        (
            air[_TA, j],
            air[_RHO_VA, j],
            air[_TRANSFER, j],
            air[_CONDUCTIVITY, j],
            air[_GROUND, j],
            air[_BUOY, j],
            air[_NU, j],
            air[_LAM, j],
            air[_LAM_FLOOR, j],
            air[_TURB, j],
            air[_TURB_FLOOR, j],
        ) = air_of(temperature[i], humidity[i], wind[i], pressure[i // members])


@_inlined
def plate_powers(
    length: float, factor: float, turbulence: float
) -> tuple[float, float, float, float]:
    """What a plate gives to the turbulent and the laminar coefficient, and to the wind in each."""
    scale = turbulence / length
    return (
        0.037 * _PR_THIRD * length**0.8 * scale,
        0.664 * _PR_THIRD * math.sqrt(length) * scale,
        factor**0.8,
        math.sqrt(factor),
    )


@_inlined
def forced_on_plate(
    conductivity: float,
    lam: float,
    lam_floor: float,
    turb: float,
    turb_floor: float,
    powers: tuple[float, float, float, float],
) -> float:
    """Coefficient of the wind along a plate, the larger of turbulent and laminar [W/m2K]."""
    turbulent, laminar, power, root = powers
    fast = turbulent * max(turb * power, turb_floor)
    slow = laminar * max(lam * root, lam_floor)
    return conductivity * max(fast, slow)


@_inlined
def forced_on_cylinder(
    conductivity: float, nu: float, lam: float, length: float, factor: float, scale: float
) -> float:
    """Coefficient of the wind across a cylinder (Churchill-Bernstein) [W/m2K]."""
    speed = max(lam * lam * factor, LOWEST_WIND_M_S / nu)
    reynolds = speed * length
    x = reynolds / 282000
    five_eighths = math.sqrt(x * math.sqrt(math.sqrt(x)))
    nusselt: float = 0.3 + _CB_FACTOR * math.sqrt(reynolds) * (1 + five_eighths) ** 0.8
    return scale * conductivity * nusselt


@_jit
def _fill_forced(
    forced: NDArray[np.float64],
    air: NDArray[np.float64],
    geometry: int,
    length: float,
    factor: float,
    turbulence: float,
) -> None:
    """Coefficient of the wind on one face for the block; powers of face and air are multiplied."""
    if geometry == CYLINDER:
        scale = turbulence / length
        for j in range(BLOCK):
            forced[j] = forced_on_cylinder(
                air[_CONDUCTIVITY, j], air[_NU, j], air[_LAM, j], length, factor, scale
            )
        return
    powers = plate_powers(length, factor, turbulence)
    for j in range(BLOCK):
        forced[j] = forced_on_plate(
            air[_CONDUCTIVITY, j],
            air[_LAM, j],
            air[_LAM_FLOOR, j],
            air[_TURB, j],
            air[_TURB_FLOOR, j],
            powers,
        )


@_jit
def solve_columns(
    out: NDArray[np.float64],
    start: int,
    stop: int,
    temperature: NDArray[np.float64],
    humidity: NDArray[np.float64],
    wind: NDArray[np.float64],
    pressure: NDArray[np.float64],
    irradiance: NDArray[np.float64],
    irradiance_factor: NDArray[np.float64],
    sky_longwave: NDArray[np.float64],
    sky_view: NDArray[np.float64],
    length: NDArray[np.float64],
    wind_factor: NDArray[np.float64],
    geometry: NDArray[np.int8],
    absorptivity: float,
    emissivity: float,
    back: float,
    turbulence: float,
) -> None:
    """Demand of every face for the columns start to stop, a column being one hour of one member."""
    columns = temperature.size
    members = columns // pressure.size
    air = np.empty((_AIR_ROWS, BLOCK))
    incoming, forced = np.empty(BLOCK), np.empty(BLOCK)
    conductance, buoyant = np.empty(BLOCK), np.empty(BLOCK)
    ta, rho_va, transfer = np.empty(BLOCK), np.empty(BLOCK), np.empty(BLOCK)
    surface, water = np.empty(BLOCK), np.empty(BLOCK)
    hour, column = np.empty(BLOCK, dtype=np.int64), np.empty(BLOCK, dtype=np.int64)
    for first in range(start, stop, BLOCK):
        for j in range(BLOCK):
            column[j] = min(first + j, columns - 1)
            hour[j] = column[j] // members
        _fill_air(air, first, members, temperature, humidity, wind, pressure)
        for j in range(BLOCK):
            ta[j] = air[_TA, j]
            rho_va[j] = air[_RHO_VA, j]
            transfer[j] = air[_TRANSFER, j]
        for s in range(geometry.size):
            sky = sky_view[s]
            inverse_length = 1 / length[s]
            root_length = math.sqrt(length[s])
            _fill_forced(forced, air, geometry[s], length[s], wind_factor[s], turbulence)
            base = BASES[geometry[s]]
            slope = SLOPES[geometry[s]]
            for j in range(BLOCK):
                sun = irradiance[s, hour[j]] * irradiance_factor[column[j]]
                longwave = sky * sky_longwave[column[j]] + (1 - sky) * air[_GROUND, j]
                incoming[j] = absorptivity * sun + emissivity * longwave
                conductance[j] = air[_CONDUCTIVITY, j] * inverse_length
                buoyant[j] = air[_BUOY, j] * root_length
                surface[j] = ta[j]
            for _ in range(STEPS):
                for j in range(BLOCK):
                    surface[j], water[j] = halley_step(
                        surface[j],
                        ta[j],
                        incoming[j],
                        rho_va[j],
                        transfer[j],
                        forced[j],
                        conductance[j],
                        buoyant[j],
                        base,
                        slope,
                        emissivity,
                        back,
                    )
            for j in range(min(BLOCK, stop - first)):
                out[s, first + j] = max(water[j], 0.0)


def _flat(name: str, value: Any, shape: tuple[int, ...]) -> NDArray[np.float64]:
    """The values as one contiguous float64 row after a check of their shape."""
    array = np.asarray(value, dtype=np.float64)
    if array.shape != shape:
        raise StillwetError(Problem(name, f"shape {shape}", shown(array.shape)))
    if not np.isfinite(array).all():
        raise StillwetError(Problem(name, "finite numbers", "NaN or infinity"))
    return np.ascontiguousarray(array).reshape(-1)


def face_columns(
    *,
    tilt_deg: Any,
    length_m: Any,
    height_m: Any,
    sheltering: Any,
    geometry: Any,
    roughness_m: float,
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64], NDArray[np.int8]]:
    """Sky view, length, wind factor and shape code of the faces."""
    codes = np.asarray(geometry, dtype=np.int8)
    shape = codes.shape
    if codes.ndim != 1 or ((codes < 0) | (codes >= _GEOMETRIES)).any():
        raise StillwetError(
            Problem("geometry", f"codes 0 to {_GEOMETRIES - 1}, one a face", shown(geometry))
        )
    length = _flat("length_m", length_m, shape)
    if (length <= 0).any():
        raise StillwetError(Problem("length_m", "more than 0 m", shown(length.min())))
    sky_view = 0.5 * (1 + np.cos(np.radians(_flat("tilt_deg", tilt_deg, shape))))
    profile = log_profile_factor(
        from_height_m=FORECAST_HEIGHT_M,
        to_height_m=_flat("height_m", height_m, shape),
        roughness_m=roughness_m,
    )
    return sky_view, length, np.asarray(profile) * _flat("sheltering", sheltering, shape), codes


def drying_demand_grid(
    *,
    air_temperature_k: NDArray[np.float64],
    relative_humidity: NDArray[np.float64],
    wind_speed_m_s: NDArray[np.float64],
    pressure_pa: NDArray[np.float64],
    irradiance_w_m2: NDArray[np.float64],
    irradiance_factor: NDArray[np.float64],
    sky_longwave_w_m2: NDArray[np.float64],
    tilt_deg: NDArray[np.float64],
    length_m: NDArray[np.float64],
    height_m: NDArray[np.float64],
    geometry: NDArray[np.int8],
    sheltering: NDArray[np.float64],
    absorptivity: float = SOLAR_ABSORPTIVITY,
    emissivity: float = WATER_EMISSIVITY,
    back_conductance_w_m2k: float = BACK_CONDUCTANCE_W_M2K,
    turbulence_factor: float = OUTDOOR_TURBULENCE_FACTOR,
    roughness_m: float = OPEN_ROUGHNESS_M,
    threads: int = 1,
) -> NDArray[np.float64]:
    """Drying demand [kg/m2s] of faces (S), hours (H) and ensemble members (M): shape (S, H, M).

    (H, M): air_temperature_k, relative_humidity [fraction, over water], wind_speed_m_s in the open
    at 10 m, irradiance_factor (a member's share of the face's sun), sky_longwave_w_m2 on level
    ground. (H,): pressure_pa. (S, H): irradiance_w_m2 on the face. (S,): tilt_deg, length_m,
    height_m above ground, geometry (WALL, ROOF, CYLINDER, BLADE of `convection`), sheltering
    (share of the open wind). The model and its range are those of `drying.wet_surface`, with which
    it agrees within 1e-6; dew gives 0. The result does not depend on threads, to the bit.
    """
    shape = np.shape(air_temperature_k)
    if len(shape) != 2 or 0 in shape:
        raise StillwetError(Problem("air_temperature_k", "hours by members", shown(shape)))
    sky_view, length, wind_factor, codes = face_columns(
        tilt_deg=tilt_deg,
        length_m=length_m,
        height_m=height_m,
        sheltering=sheltering,
        geometry=geometry,
        roughness_m=roughness_m,
    )
    faces, hours = codes.size, shape[0]
    sun = _flat("irradiance_w_m2", irradiance_w_m2, (faces, hours)).reshape(faces, hours)
    columns = (
        _flat("air_temperature_k", air_temperature_k, shape),
        _flat("relative_humidity", relative_humidity, shape),
        _flat("wind_speed_m_s", wind_speed_m_s, shape),
        _flat("pressure_pa", pressure_pa, (hours,)),
        sun,
        _flat("irradiance_factor", irradiance_factor, shape),
        _flat("sky_longwave_w_m2", sky_longwave_w_m2, shape),
    )
    properties = (absorptivity, emissivity, back_conductance_w_m2k, turbulence_factor)
    out = np.empty((faces, shape[0] * shape[1]))

    def solve(bounds: tuple[int, int]) -> None:
        solve_columns(out, *bounds, *columns, sky_view, length, wind_factor, codes, *properties)

    _share_out(solve, out.shape[1], threads)
    return out.reshape(faces, *shape)


def _share_out(solve: Any, columns: int, threads: int) -> None:
    """Call solve on runs of whole blocks, in this thread or spread over several."""
    blocks = -(-columns // BLOCK)
    if threads <= 1 or blocks == 1:
        solve((0, columns))
        return
    from concurrent.futures import ThreadPoolExecutor

    run = -(-blocks // threads) * BLOCK
    bounds = [(start, min(start + run, columns)) for start in range(0, columns, run)]
    with ThreadPoolExecutor(threads) as pool:
        list(pool.map(solve, bounds))
