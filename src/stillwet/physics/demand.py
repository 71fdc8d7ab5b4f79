"""Water demand: the coat water a fire boils away before it has passed; when a coat is used up.

``W = integral(max(0, absorbed - lost)) dt / (eta * (cp*(100 C - T0) + Lv))``. ``lost`` is what a
wet face at the boiling point gives back by radiation and convection; ``eta`` stands for water lost
without taking up its heat (boiling off in lumps, shedding, cracks): untested default 0.7, 0.5 to 1.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stillwet.constants import BOILING_POINT, STEFAN_BOLTZMANN

Array = NDArray[np.float64]

HEAT_OF_BOILING = 2256.47e3  # J/kg at 100 C, IAPWS-97
LIQUID_SPECIFIC_HEAT = 4190.0  # J/kgK, mean 20 to 100 C, IAPWS-97 enthalpies
COAT_EMISSIVITY = 0.95  # -, water film; Incropera table A.11: water 0.96 (from memory)


def energy_to_dry(start_temperature_k: ArrayLike) -> Any:
    """Heat [J/kg] that takes liquid water from its temperature [K] to vapour at 100 C.

    2591.5 kJ/kg from 20 C. Within 0.1 % of IAPWS-97 from 0 to 100 C.
    """
    start = np.asarray(start_temperature_k, dtype=float)
    return LIQUID_SPECIFIC_HEAT * (BOILING_POINT - start) + HEAT_OF_BOILING


def wet_face_loss(
    *,
    air_temperature_k: ArrayLike,
    convection_w_m2k: ArrayLike,
    emissivity: float = COAT_EMISSIVITY,
) -> Any:
    """Heat [W/m2] a boiling wet face gives back to surroundings and air at this temperature."""
    air = np.asarray(air_temperature_k, dtype=float)
    radiated = emissivity * STEFAN_BOLTZMANN * (BOILING_POINT**4 - air**4)
    return radiated + np.asarray(convection_w_m2k, dtype=float) * (BOILING_POINT - air)


def _positive_part(time: Array, net: Array) -> tuple[Array, Array]:
    """Times and max(0, net), with the zero crossings put in so that trapezoids are exact.

    The same number of points for every history: each step gains its crossing, or its own start.
    """
    step = np.diff(time)
    start, end = net[..., :-1], net[..., 1:]
    crosses = start * end < 0
    share = np.where(crosses, start / np.where(crosses, start - end, 1.0), 0.0)
    between = time[:-1] + share * step
    value = np.where(crosses, 0.0, start)
    times = np.empty((*net.shape[:-1], 2 * time.size - 1))
    values = np.empty_like(times)
    times[..., 0::2], times[..., 1::2] = time, between
    values[..., 0::2], values[..., 1::2] = net, value
    return times, np.maximum(values, 0.0)


def _net_flux(
    *,
    flux_w_m2: ArrayLike,
    absorptivity: ArrayLike,
    air_temperature_k: ArrayLike,
    convection_w_m2k: ArrayLike,
    bare_limit_w_m2: ArrayLike,
) -> Array:
    """Absorbed less lost [W/m2] (..., T); never below zero demand where nothing is asked.

    Where the peak stays under what the wet face sheds: nothing is asked if the bare face bears that
    peak; if it does not (vinyl), the face must stay wet, and no loss is credited.
    """
    flux = np.asarray(flux_w_m2, dtype=float)
    absorbed = np.asarray(absorptivity, dtype=float)[..., None] * flux
    lost = np.asarray(
        wet_face_loss(air_temperature_k=air_temperature_k, convection_w_m2k=convection_w_m2k)
    )[..., None]
    limit = np.asarray(bare_limit_w_m2, dtype=float)[..., None]
    sheds_all = absorbed.max(axis=-1, keepdims=True) <= lost
    bears = flux.max(axis=-1, keepdims=True) <= limit
    credited = np.where(sheds_all & ~bears, 0.0, lost)
    net: Array = absorbed - credited
    return net


def cumulative_net_heat(
    *,
    time_s: ArrayLike,
    flux_w_m2: ArrayLike,
    absorptivity: ArrayLike,
    air_temperature_k: ArrayLike,
    convection_w_m2k: ArrayLike,
    bare_limit_w_m2: ArrayLike,
) -> tuple[Array, Array]:
    """Times and summed net heat [J/m2] a wet face must boil away, (..., 2T-1) each.

    Arguments as ``water_demand``; the extra times are where the net flux changes sign.
    """
    net = _net_flux(
        flux_w_m2=flux_w_m2,
        absorptivity=absorptivity,
        air_temperature_k=air_temperature_k,
        convection_w_m2k=convection_w_m2k,
        bare_limit_w_m2=bare_limit_w_m2,
    )
    times, values = _positive_part(np.asarray(time_s, dtype=float), net)
    parts = 0.5 * (values[..., 1:] + values[..., :-1]) * np.diff(times, axis=-1)
    heat = np.zeros_like(times)
    np.cumsum(parts, axis=-1, out=heat[..., 1:])
    return times, heat


def water_demand(
    *,
    time_s: ArrayLike,
    flux_w_m2: ArrayLike,
    absorptivity: ArrayLike,
    start_temperature_k: ArrayLike,
    air_temperature_k: ArrayLike,
    convection_w_m2k: ArrayLike,
    water_efficiency: ArrayLike,
    bare_limit_w_m2: ArrayLike,
) -> Any:
    """Water [kg/m2] a fire asks of each face: shape flux.shape[:-1] + members' shape.

    time_s (T,); flux_w_m2 (..., T) incident; absorptivity, air temperature, convection and bare
    limit scalar or the faces' shape (...); start_temperature_k and water_efficiency scalar or
    members' shape (M,) (or broadcastable to (..., M)). Trapezoids, exact at zero crossings.
    """
    _, heat = cumulative_net_heat(
        time_s=time_s,
        flux_w_m2=flux_w_m2,
        absorptivity=absorptivity,
        air_temperature_k=air_temperature_k,
        convection_w_m2k=convection_w_m2k,
        bare_limit_w_m2=bare_limit_w_m2,
    )
    per_water = np.asarray(water_efficiency, dtype=float) * energy_to_dry(start_temperature_k)
    total = heat[..., -1]
    return total / per_water if per_water.ndim == 0 else total[..., None] / per_water


def coat_used_up_time(
    *,
    time_s: ArrayLike,
    flux_w_m2: ArrayLike,
    coat_kg_m2: float,
    absorptivity: ArrayLike,
    start_temperature_k: float,
    air_temperature_k: float,
    convection_w_m2k: float,
    water_efficiency: float,
    bare_limit_w_m2: ArrayLike,
) -> Any:
    """Time [s] on the history's clock at which a coat's water is gone, (...); inf when it lasts.

    One coat and one set of scalars over faces (..., T); otherwise as ``water_demand``.
    """
    times, heat = cumulative_net_heat(
        time_s=time_s,
        flux_w_m2=flux_w_m2,
        absorptivity=absorptivity,
        air_temperature_k=air_temperature_k,
        convection_w_m2k=convection_w_m2k,
        bare_limit_w_m2=bare_limit_w_m2,
    )
    needed = coat_kg_m2 * water_efficiency * float(energy_to_dry(start_temperature_k))
    rows, flat = heat.reshape(-1, heat.shape[-1]), times.reshape(-1, times.shape[-1])
    found = [_crossing(row, clock, needed) for row, clock in zip(rows, flat, strict=True)]
    return np.array(found).reshape(heat.shape[:-1])[()]


def _crossing(heat: Array, clock: Array, needed: float) -> float:
    """When the summed heat first exceeds what the coat can take: straight line within the step."""
    after = int(np.searchsorted(heat, needed, side="right"))
    if after >= heat.size:
        return float("inf")
    share = (needed - heat[after - 1]) / (heat[after] - heat[after - 1])
    return float(clock[after - 1] + share * (clock[after] - clock[after - 1]))


def water_time(
    *,
    flux_w_m2: ArrayLike,
    coat_kg_m2: ArrayLike,
    absorptivity: ArrayLike,
    start_temperature_k: ArrayLike,
    air_temperature_k: ArrayLike,
    convection_w_m2k: ArrayLike,
    water_efficiency: ArrayLike,
) -> Any:
    """Time [s] a coat's water lasts under a steady flux, all broadcast; inf when it sheds all."""
    lost = wet_face_loss(air_temperature_k=air_temperature_k, convection_w_m2k=convection_w_m2k)
    net = np.asarray(absorptivity, dtype=float) * np.asarray(flux_w_m2, dtype=float) - lost
    per_water = np.asarray(water_efficiency, dtype=float) * energy_to_dry(start_temperature_k)
    heat = np.asarray(coat_kg_m2, dtype=float) * per_water
    return np.where(net > 0, heat / np.where(net > 0, net, 1.0), np.inf)[()]
