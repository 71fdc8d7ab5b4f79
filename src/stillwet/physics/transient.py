"""The check model: a coat with its own heat, on wood that stores heat, marched in seconds.

`kernel` says what a wet face loses in balance with each hour's weather, and `coat` turns the sum
into water left. Here nothing is in balance: the film of water warms and cools, the wood behind it
too, and the coat thins as it goes. How far the fast pair is from this is shown in
docs/explanation/drying_check.md.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from stillwet.compiling import compiled
from stillwet.physics.air import (
    kinematic_viscosity,
    lewis_number,
    thermal_conductivity_sutherland,
    vapour_density,
    vapour_pressure,
    volumetric_heat_capacity,
)
from stillwet.physics.convection import (
    BUOYANT_BASE,
    BUOYANT_SLOPE,
    OUTDOOR_TURBULENCE_FACTOR,
    nusselt_forced_outdoor,
    rayleigh_number,
)
from stillwet.physics.drying import (
    BACK_CONDUCTANCE_W_M2K,
    LEWIS_EXPONENT,
    SOLAR_ABSORPTIVITY,
    WATER_EMISSIVITY,
    face_longwave,
)
from stillwet.physics.guards import Numbers
from stillwet.physics.kernel import BLOCK
from stillwet.physics.wet_face import exchange, latent_heat_and_slope
from stillwet.physics.wind import LOWEST_WIND_M_S

HOUR_S = 3600.0
WATER_SPECIFIC_HEAT = 4184.8  # J/kgK at 20 C, IAPWS-IF97
# Wood Handbook ch. 4 at a specific gravity of 0.45 and 12 % moisture: k 0.128 W/mK, 504 kg/m3 and
# 1663 J/kgK; 19 mm is a common siding board.
WOOD_THICKNESS_M = 0.019
WOOD_CONDUCTIVITY_W_MK = 0.128
WOOD_HEAT_J_M3K = 504.0 * 1663.0
NODES = 8
LEAST_FILM_HEAT_J_M2K = 200.0  # 0.05 mm of water: what is left of a dried coat's own heat

_jit: Any = compiled(fastmath={"contract"}, error_model="numpy", nogil=True)


class FilmHistory(NamedTuple):
    """Per face, hour and member (S, H, M), at or over each hour.

    left_kg_m2: water left at the hour's end. evaporation_kg_m2: water gone in the hour.
    temperature_k: the film at the hour's end.
    """

    left_kg_m2: NDArray[np.float64]
    evaporation_kg_m2: NDArray[np.float64]
    temperature_k: NDArray[np.float64]


@_jit
def _march_hour(
    water: NDArray[np.float64],
    nodes: NDArray[np.float64],
    gone: NDArray[np.float64],
    weather: NDArray[np.float64],
    face: NDArray[np.float64],
    steps: int,
    step_s: float,
    exponent: float,
    skin: bool,
    kept_wet: bool,
    emissivity: float,
    wood_heat: float,
    wood_conductance: float,
    back: float,
) -> None:
    """One hour of constant weather for a block; nodes[0] is the film, then the wood outside in.

    Each step is a linearised implicit Euler step: the film's exchange by its slope at the old
    temperature, conduction through the wood implicitly, all in one tridiagonal solve.
    """
    last = nodes.shape[0] - 1
    upper, right = np.empty((last + 1, BLOCK)), np.empty((last + 1, BLOCK))
    gain, slope = np.empty(BLOCK), np.empty(BLOCK)
    rate, rate_slope, heat = np.empty(BLOCK), np.empty(BLOCK), np.empty(BLOCK)
    wet = np.ones(BLOCK)
    for _ in range(steps):
        if not kept_wet:
            for j in range(BLOCK):
                wet[j] = (water[j] / face[2, j]) ** exponent if water[j] > 0 else 0.0
        for j in range(BLOCK):
            # A skin slows the vapour of the whole film; patches leave some of it fully wet.
            share = wet[j] if skin else (1.0 if wet[j] > 0 else 0.0)
            t = nodes[0, j]
            dry, dry_slope, e, _held, whole = exchange(
                t,
                weather[0, j],
                weather[1, j],
                weather[2, j],
                weather[3, j],
                weather[4, j],
                weather[5, j],
                weather[6, j],
                face[0, j],
                face[1, j],
                emissivity,
            )
            latent, latent_slope = latent_heat_and_slope(t)
            gain[j] = dry - share * latent * e
            slope[j] = min(dry_slope - share * (latent * whole + latent_slope * e), 0.0)
            rate[j] = wet[j] * e
            rate_slope[j] = wet[j] * whole
            local = water[j] if skin or wet[j] <= 0 else water[j] / wet[j]
            heat[j] = max(WATER_SPECIFIC_HEAT * local, LEAST_FILM_HEAT_J_M2K) / step_s
        for j in range(BLOCK):
            outer = 2 * wood_conductance  # film to the middle of the first wood layer
            diagonal = heat[j] - slope[j] + outer
            upper[0, j] = -outer / diagonal
            right[0, j] = (heat[j] * nodes[0, j] + gain[j] - slope[j] * nodes[0, j]) / diagonal
        for i in range(1, last + 1):
            before = 2 * wood_conductance if i == 1 else wood_conductance
            after = back if i == last else wood_conductance
            for j in range(BLOCK):
                ahead = 0.0 if i == last else after
                known = after * weather[0, j] if i == last else 0.0
                diagonal = wood_heat / step_s + before + after + before * upper[i - 1, j]
                upper[i, j] = -ahead / diagonal
                right[i, j] = (
                    wood_heat / step_s * nodes[i, j] + known + before * right[i - 1, j]
                ) / diagonal
        for j in range(BLOCK):
            nodes[last, j] = right[last, j]
        for i in range(last - 1, 0, -1):
            for j in range(BLOCK):
                nodes[i, j] = right[i, j] - upper[i, j] * nodes[i + 1, j]
        for j in range(BLOCK):
            new = right[0, j] - upper[0, j] * nodes[1, j]
            lost = max(rate[j] + rate_slope[j] * (new - nodes[0, j]), 0.0) * step_s
            nodes[0, j] = new
            if not kept_wet:
                lost = min(lost, water[j])
                water[j] -= lost
            gone[j] += lost


def _weather_rows(
    *,
    geometry: NDArray[np.int8],
    length_m: NDArray[np.float64],
    tilt_deg: NDArray[np.float64],
    wind_m_s: NDArray[np.float64],
    air_temperature_k: NDArray[np.float64],
    relative_humidity: NDArray[np.float64],
    pressure_pa: NDArray[np.float64],
    irradiance_w_m2: NDArray[np.float64],
    sky_longwave_w_m2: NDArray[np.float64],
    absorptivity: float,
    emissivity: float,
    turbulence_factor: float,
) -> NDArray[np.float64]:
    """The seven hourly inputs of `exchange`, shape (7, S, H, M), by the plain functions."""
    air = {"temperature_k": air_temperature_k, "pressure_pa": pressure_pa[:, None]}
    vapour = vapour_pressure(temperature_k=air_temperature_k, relative_humidity=relative_humidity)
    heat = volumetric_heat_capacity(**air, vapour_pressure_pa=vapour)
    transfer = 1 / (heat * lewis_number(**air, vapour_pressure_pa=vapour) ** LEWIS_EXPONENT)
    viscosity = kinematic_viscosity(**air, vapour_pressure_pa=vapour)
    conductivity = thermal_conductivity_sutherland(temperature_k=air_temperature_k)
    faces = []
    for s, code in enumerate(geometry):
        reynolds = np.maximum(wind_m_s[s], LOWEST_WIND_M_S) * length_m[s] / viscosity
        conductance = conductivity / length_m[s]
        forced: Numbers = nusselt_forced_outdoor(geometry=int(code), reynolds=reynolds)
        rayleigh = rayleigh_number(
            difference_k=1.0,
            length_m=float(length_m[s]),
            film_temperature_k=air_temperature_k,
            viscosity_m2_s=viscosity,
        )
        longwave = face_longwave(
            sky_w_m2=sky_longwave_w_m2,
            air_temperature_k=air_temperature_k,
            tilt_deg=float(tilt_deg[s]),
        )
        faces.append(
            (
                air_temperature_k,
                absorptivity * irradiance_w_m2[s][:, None] + emissivity * longwave,
                np.broadcast_to(
                    vapour_density(temperature_k=air_temperature_k, vapour_pressure_pa=vapour),
                    air_temperature_k.shape,
                ),
                transfer,
                turbulence_factor * forced * conductance,
                conductance,
                rayleigh ** (1 / 6),
            )
        )
    return np.array(faces).swapaxes(0, 1)


def film_history(
    *,
    geometry: NDArray[np.int8],
    length_m: NDArray[np.float64],
    tilt_deg: NDArray[np.float64],
    wind_m_s: NDArray[np.float64],
    air_temperature_k: NDArray[np.float64],
    relative_humidity: NDArray[np.float64],
    pressure_pa: NDArray[np.float64],
    irradiance_w_m2: NDArray[np.float64],
    sky_longwave_w_m2: NDArray[np.float64],
    coat_kg_m2: float,
    exponent: float = 0.0,
    skin: bool = False,
    kept_wet: bool = False,
    step_s: float = 10.0,
    absorptivity: float = SOLAR_ABSORPTIVITY,
    emissivity: float = WATER_EMISSIVITY,
    back_conductance_w_m2k: float = BACK_CONDUCTANCE_W_M2K,
    turbulence_factor: float = OUTDOOR_TURBULENCE_FACTOR,
    wood_thickness_m: float = WOOD_THICKNESS_M,
    wood_conductivity_w_mk: float = WOOD_CONDUCTIVITY_W_MK,
    wood_heat_j_m3k: float = WOOD_HEAT_J_M3K,
) -> FilmHistory:
    """March a coat and the wood behind it through hourly weather, each hour held constant.

    (S,): geometry, length_m, tilt_deg. wind_m_s (S, H, M) at the face; (H, M): air_temperature_k,
    relative_humidity, sky_longwave_w_m2; (H,): pressure_pa; (S, H): irradiance_w_m2. All start at
    the first hour's air temperature. back_conductance_w_m2k is from film to the air behind, the
    wood included, as in `kernel`. The falling rate: a share (m/m0)^n of the face stays fully wet
    (patches), or with skin=True the vapour of the whole face meets a skin that lets that share
    through and the face warms as it dries. kept_wet refills the coat as it dries.
    Checks ``drying_demand_grid`` and ``coat_left``.
    """
    weather = _weather_rows(
        geometry=geometry,
        length_m=length_m,
        tilt_deg=tilt_deg,
        wind_m_s=wind_m_s,
        air_temperature_k=air_temperature_k,
        relative_humidity=relative_humidity,
        pressure_pa=pressure_pa,
        irradiance_w_m2=irradiance_w_m2,
        sky_longwave_w_m2=sky_longwave_w_m2,
        absorptivity=absorptivity,
        emissivity=emissivity,
        turbulence_factor=turbulence_factor,
    )
    _, faces, hours, members = weather.shape
    layer_m = wood_thickness_m / NODES
    steps = math.ceil(HOUR_S / step_s)
    properties = (
        steps,
        HOUR_S / steps,
        exponent,
        skin,
        kept_wet,
        emissivity,
        wood_heat_j_m3k * layer_m,
        wood_conductivity_w_mk / layer_m,
        _back_face_conductance(back_conductance_w_m2k, wood_conductivity_w_mk / wood_thickness_m),
    )
    columns = weather.transpose(0, 2, 1, 3).reshape(7, hours, faces * members)
    codes = np.repeat([int(code) for code in geometry], members)
    face = np.array(
        [
            [BUOYANT_BASE[code] for code in codes],
            [BUOYANT_SLOPE[code] for code in codes],
            np.full(codes.size, coat_kg_m2),
        ]
    )
    out = np.empty((3, hours, codes.size))
    for first in range(0, codes.size, BLOCK):
        chosen = np.minimum(np.arange(first, first + BLOCK), codes.size - 1)
        _march_block(out, first, columns[:, :, chosen], face[:, chosen], properties)
    shaped = out.reshape(3, hours, faces, members).transpose(0, 2, 1, 3)
    return FilmHistory(*shaped)


def _back_face_conductance(total: float, wood: float) -> float:
    """From the middle of the last wood layer to the air behind, so that film to air is `total`."""
    if total <= 0:
        return 0.0
    half_layer = 1 / (2 * NODES * wood)
    behind = max(1 / total - 1 / wood, 0.0) + half_layer
    return 1 / behind


def _march_block(
    out: NDArray[np.float64],
    first: int,
    weather: NDArray[np.float64],
    face: NDArray[np.float64],
    properties: tuple[Any, ...],
) -> None:
    water = face[2].copy()
    nodes = np.repeat(weather[0, :1], NODES + 1, axis=0)
    count = min(BLOCK, out.shape[2] - first)
    for hour in range(weather.shape[1]):
        gone = np.zeros(BLOCK)
        _march_hour(water, nodes, gone, np.ascontiguousarray(weather[:, hour]), face, *properties)
        for row, values in enumerate((water, gone, nodes[0])):
            out[row, hour, first : first + count] = values[:count]
