"""Water demand: the coat water a fire boils away before it has passed; when a coat is used up.

``W = integral(max(0, absorbed - lost)) dt / (eta * (cp*(100 C - T0) + Lv))``. ``lost`` is what the
wet face gives back by radiation and convection at the temperature it settles to: near 100 C under
strong flux, lower under weak flux, where evaporation holds it down. (Losses at 100 C throughout
would halve the demand near 3 kW/m2: see the page on the fire check.) ``eta`` stands for water lost
without taking up its heat (boiling off in lumps, shedding, cracks): untested default 0.7, 0.5 to 1.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stillwet.constants import BOILING_POINT, STANDARD_PRESSURE, STEFAN_BOLTZMANN
from stillwet.physics.air import saturation_pressure_ashrae

Array = NDArray[np.float64]

HEAT_OF_BOILING = 2256.47e3  # J/kg at 100 C, IAPWS-97
LATENT_SLOPE = 2400.0  # J/kgK, how latent heat grows below 100 C, IAPWS-97 over 20 to 100 C
LIQUID_SPECIFIC_HEAT = 4190.0  # J/kgK, mean 20 to 100 C, IAPWS-97 enthalpies
VAPOUR_SPECIFIC_HEAT = 2000.0  # J/kgK, steam near 100 C
AIR_SPECIFIC_HEAT = 1007.0  # J/kgK, Incropera table A.4 at 300 K (from memory)
MOLAR_RATIO = 0.622  # -, water to dry air, rounded; `constants` has more digits
COAT_EMISSIVITY = 0.95  # -, water film; Incropera table A.11: water 0.96 (from memory)
AIR_VAPOUR_SHARE = 0.006  # kg/kg: 30 C and 22 % humidity; the answer hardly moves with it
# Under this flux (a strong sun) the sky's drying demand already counts what a face takes up.
SUN_LIKE_FLUX = 1e3  # W/m2
_PARTS = 8  # each step of a history is split this often, since losses bend with the flux


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


def evaporation_spalding(
    *, surface_temperature_k: ArrayLike, convection_w_m2k: ArrayLike, air_vapour_share: float
) -> Any:
    """Evaporation [kg/m2s] of a wet face with its outflow: (h/cp) ln((1 - Y_air)/(1 - Y_surface)).

    Film theory, Lewis number 1 (D. B. Spalding, Convective Mass Transfer, 1963). Y: mass share of
    vapour; at the wet face from saturation pressure at standard pressure. Endless at 100 C.
    """
    surface = np.asarray(surface_temperature_k, dtype=float)
    part = saturation_pressure_ashrae(temperature_k=surface) / STANDARD_PRESSURE
    share = MOLAR_RATIO * part / (1.0 - (1.0 - MOLAR_RATIO) * part)
    driving = np.log((1.0 - air_vapour_share) / (1.0 - share))
    return np.asarray(convection_w_m2k, dtype=float) / AIR_SPECIFIC_HEAT * driving


@lru_cache(maxsize=256)  # the faces of a job share a few airs
def _wet_balance(*, air_temperature_k: float, convection_w_m2k: float) -> tuple[Array, Array]:
    """Heat taken up and heat that goes into evaporation [W/m2] of a wet face, cold to near boiling.

    Balance at each surface temperature: absorbed = radiated + convected + evaporated; the outflow
    thins convection by b/(e^b - 1), b = rate * cp_vapour / h.
    """
    spread = np.linspace(1.0, 0.0, 400) ** 2
    surface = 373.0 - (373.0 - min(air_temperature_k, 372.0)) * spread
    rate = evaporation_spalding(
        surface_temperature_k=surface,
        convection_w_m2k=convection_w_m2k,
        air_vapour_share=AIR_VAPOUR_SHARE,
    )
    blow = np.maximum(rate * VAPOUR_SPECIFIC_HEAT / convection_w_m2k, 1e-9)
    convected = convection_w_m2k * blow / np.expm1(blow) * (surface - air_temperature_k)
    radiated = COAT_EMISSIVITY * STEFAN_BOLTZMANN * (surface**4 - air_temperature_k**4)
    boiled = rate * (HEAT_OF_BOILING + LATENT_SLOPE * (BOILING_POINT - surface))
    taken = radiated + convected + boiled
    for shared in (taken, boiled):
        shared.flags.writeable = False
    return taken, boiled


def wet_face_boiling_heat(
    *, absorbed_w_m2: ArrayLike, air_temperature_k: float, convection_w_m2k: float
) -> Any:
    """Heat [W/m2] of a steady absorbed flux that goes into a wet face's water, losses taken off.

    Nothing at or under what the face takes up at air temperature; past the boiling point every
    further watt boils water.
    """
    absorbed = np.asarray(absorbed_w_m2, dtype=float)
    taken, boiled = _wet_balance(
        air_temperature_k=air_temperature_k, convection_w_m2k=convection_w_m2k
    )
    within = np.interp(absorbed, taken, boiled)
    share = np.clip(absorbed / taken[0], 0.0, 1.0)  # below air temperature: in proportion
    return (within * share + np.maximum(absorbed - taken[-1], 0.0))[()]


def _net_flux(
    *,
    flux: Array,
    absorptivity: ArrayLike,
    air_temperature_k: float,
    convection_w_m2k: float,
    bare_limit_w_m2: ArrayLike,
) -> Array:
    """Heat into the water [W/m2] (..., T); nothing where nothing is asked.

    Where the peak stays under what a boiling face would shed: nothing is asked if the bare face
    bears that peak; if it does not (vinyl), the face must stay wet, and no loss is credited.
    """
    absorbed = np.asarray(absorptivity, dtype=float)[..., None] * flux
    shed = wet_face_loss(air_temperature_k=air_temperature_k, convection_w_m2k=convection_w_m2k)
    limit = np.asarray(bare_limit_w_m2, dtype=float)[..., None]
    sheds_all = absorbed.max(axis=-1, keepdims=True) <= shed
    bears = flux.max(axis=-1, keepdims=True) <= limit
    boiling = wet_face_boiling_heat(
        absorbed_w_m2=absorbed,
        air_temperature_k=air_temperature_k,
        convection_w_m2k=convection_w_m2k,
    )
    asked = np.where(flux >= SUN_LIKE_FLUX, boiling, 0.0)
    net: Array = np.where(sheds_all, np.where(bears, 0.0, absorbed), asked)
    return net


def _finer(time: Array, flux: Array) -> tuple[Array, Array]:
    """The history with every step split evenly: straight lines in flux are not so in heat."""
    place = np.append(np.arange(_PARTS * (time.size - 1)) / _PARTS, time.size - 1)
    before = np.minimum(place.astype(int), time.size - 2)
    share = place - before
    finer = time[before] + share * (time[before + 1] - time[before])
    return finer, flux[..., before] + share * (flux[..., before + 1] - flux[..., before])


def cumulative_net_heat(
    *,
    time_s: ArrayLike,
    flux_w_m2: ArrayLike,
    absorptivity: ArrayLike,
    air_temperature_k: float,
    convection_w_m2k: float,
    bare_limit_w_m2: ArrayLike,
) -> tuple[Array, Array]:
    """Times (N,) and summed heat [J/m2] (..., N) a wet face must boil away; N = 8(T-1)+1.

    Arguments as ``water_demand``.
    """
    time, flux = _finer(np.asarray(time_s, dtype=float), np.asarray(flux_w_m2, dtype=float))
    net = _net_flux(
        flux=flux,
        absorptivity=absorptivity,
        air_temperature_k=air_temperature_k,
        convection_w_m2k=convection_w_m2k,
        bare_limit_w_m2=bare_limit_w_m2,
    )
    heat = np.zeros_like(net)
    np.cumsum(0.5 * (net[..., 1:] + net[..., :-1]) * np.diff(time), axis=-1, out=heat[..., 1:])
    return time, heat


def water_demand(
    *,
    time_s: ArrayLike,
    flux_w_m2: ArrayLike,
    absorptivity: ArrayLike,
    start_temperature_k: ArrayLike,
    air_temperature_k: float,
    convection_w_m2k: float,
    water_efficiency: ArrayLike,
    bare_limit_w_m2: ArrayLike,
) -> Any:
    """Water [kg/m2] a fire asks of each face: shape flux.shape[:-1] + members' shape.

    time_s (T,); flux_w_m2 (..., T) incident; absorptivity and bare limit scalar or the faces' shape
    (...); start_temperature_k and water_efficiency scalar or members' shape (M,) (or broadcastable
    to (..., M)). Flux in straight lines between times; each step split in eight.
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
    Inverse of ``water_demand``.
    """
    clock, heat = cumulative_net_heat(
        time_s=time_s,
        flux_w_m2=flux_w_m2,
        absorptivity=absorptivity,
        air_temperature_k=air_temperature_k,
        convection_w_m2k=convection_w_m2k,
        bare_limit_w_m2=bare_limit_w_m2,
    )
    needed = coat_kg_m2 * water_efficiency * float(energy_to_dry(start_temperature_k))
    found = [_crossing(row, clock, needed) for row in heat.reshape(-1, clock.size)]
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
    air_temperature_k: float,
    convection_w_m2k: float,
    water_efficiency: ArrayLike,
) -> Any:
    """Time [s] a coat's water lasts under a steady flux; arrays broadcast; inf without flux."""
    net = wet_face_boiling_heat(
        absorbed_w_m2=np.asarray(absorptivity, dtype=float) * np.asarray(flux_w_m2, dtype=float),
        air_temperature_k=air_temperature_k,
        convection_w_m2k=convection_w_m2k,
    )
    per_water = np.asarray(water_efficiency, dtype=float) * energy_to_dry(start_temperature_k)
    heat = np.asarray(coat_kg_m2, dtype=float) * per_water
    return np.where(net > 0, heat / np.where(net > 0, net, 1.0), np.inf)[()]
