"""How long a bare face stands a fire: piloted ignition, or its own limit, and what a coat adds.

Two published ignition models stand side by side: the thick solid (Janssens 1991) with each
material's own numbers, and the flux-time product for wood siding (Tran, Cohen and Chase 1992).
Embers are outside both: they ignite at far lower fluxes and far later.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from stillwet.physics.demand import water_time
from stillwet.physics.materials import Harm, Material

JANSSENS_SLOPE, JANSSENS_POWER = 0.73, 0.547
TRAN_CRITICAL, TRAN_POWER, TRAN_PRODUCT = 13.1, 1.828, 11501.0  # kW/m2, -, (kW/m2)^1.828 s


def surface_heating_time(
    *,
    net_flux_w_m2: ArrayLike,
    thermal_inertia_j2_m4k2s: ArrayLike,
    temperature_rise_k: ArrayLike,
) -> Any:
    """Time [s] for a thick solid's surface to warm by a given rise under a steady net flux.

    ``t = (pi/4) k rho c (dT/q)^2``: semi-infinite solid, constant flux, no losses (Carslaw and
    Jaeger; Incropera eq. 5.59). inf where the net flux is not positive.
    Sibling of ``ignition_time_thick_solid``.
    """
    net = np.asarray(net_flux_w_m2, dtype=float)
    heating = net > 0
    ratio = np.asarray(temperature_rise_k, dtype=float) / np.where(heating, net, 1.0)
    time = np.pi / 4 * np.asarray(thermal_inertia_j2_m4k2s, dtype=float) * ratio**2
    return np.where(heating, time, np.inf)[()]


def ignition_time_thick_solid(
    *,
    flux_w_m2: ArrayLike,
    critical_flux_w_m2: ArrayLike,
    thermal_inertia_j2_m4k2s: ArrayLike,
    limit_temperature_k: ArrayLike,
    start_temperature_k: ArrayLike,
    bare_emissivity: ArrayLike,
) -> Any:
    """Time [s] under a steady incident flux until a thick solid ignites (or meets its limit).

    ``q/q_cr = 1 + 0.73 (k rho c / (h^2 t))^0.547`` solved for t, ``h = e q_cr / (T_lim - T0)``.
    Janssens 1991, Fire Safety Science 3:167 (power and critical-flux intercept stated in its
    abstract; 0.73 from memory). Fitted to wood near 350 C. inf at or below the critical flux.
    """
    flux, critical = np.asarray(flux_w_m2, dtype=float), np.asarray(critical_flux_w_m2, dtype=float)
    rise = np.asarray(limit_temperature_k, dtype=float) - np.asarray(start_temperature_k)
    loss = np.asarray(bare_emissivity, dtype=float) * critical / np.maximum(rise, 1e-9)
    over = np.maximum(flux / critical - 1.0, 0.0) / JANSSENS_SLOPE
    burns = over > 0
    time = (
        np.asarray(thermal_inertia_j2_m4k2s, dtype=float)
        / loss**2
        * np.where(burns, over, 1.0) ** (-1 / JANSSENS_POWER)
    )
    return np.where(burns, np.where(rise > 0, time, 0.0), np.inf)[()]


def ignition_time_flux_time_product_tran(*, flux_w_m2: ArrayLike) -> Any:
    """Time [s] to piloted ignition of wood siding under a steady incident flux.

    ``t = 11501 / (q - 13.1)^1.828``, q in kW/m2. Tran, Cohen and Chase 1992 (constants from memory;
    the power is Janssens' 1/0.547). inf at or below 13.1 kW/m2.
    Sibling of ``ignition_time_thick_solid``.
    """
    over = np.asarray(flux_w_m2, dtype=float) / 1e3 - TRAN_CRITICAL
    burns = over > 0
    return np.where(burns, TRAN_PRODUCT / np.where(burns, over, 1.0) ** TRAN_POWER, np.inf)[()]


def ignition_share_flux_time_product_tran(*, time_s: ArrayLike, flux_w_m2: ArrayLike) -> Any:
    """Share [-] of the flux-time product of wood siding used over histories (..., T); 1 ignites.

    As ``ignition_time_flux_time_product_tran``, summed over a changing flux by trapezoids.
    Sibling of ``ignition_time_flux_time_product_tran``.
    """
    over = np.maximum(np.asarray(flux_w_m2, dtype=float) / 1e3 - TRAN_CRITICAL, 0.0)
    total = np.trapezoid(over**TRAN_POWER, np.asarray(time_s, dtype=float), axis=-1)
    return total / TRAN_PRODUCT


def cambium_kill_time_peterson_ryan(*, bark_thickness_m: ArrayLike) -> Any:
    """Time [s] of flame at the stem that kills the living layer under bark of this thickness [m].

    ``t[min] = 2.9 x[cm]^2``. Peterson and Ryan 1986, Environ. Manage. 10:797 (from memory).
    """
    return 60.0 * 2.9 * (100.0 * np.asarray(bark_thickness_m, dtype=float)) ** 2


def bare_limit(*, material: Material) -> float:
    """Steady incident flux [W/m2] the bare face bears without end. Says nothing about embers."""
    return material.critical_flux_w_m2.value


def bare_time(
    *,
    material: Material,
    flux_w_m2: ArrayLike,
    start_temperature_k: ArrayLike,
    inertia_factor: ArrayLike = 1.0,
) -> Any:
    """Time [s] a bare face stands a steady incident flux before its own harm; inf when never.

    Living bark goes by its thickness (whatever flux above its limit), all else by the thick solid.
    inertia_factor: a member's k rho c over the table's.
    """
    if material.harm is Harm.DIES and material.bark_thickness_m is not None:
        kill = cambium_kill_time_peterson_ryan(bark_thickness_m=material.bark_thickness_m.value)
        suffers = np.asarray(flux_w_m2, dtype=float) > material.critical_flux_w_m2.value
        return np.where(suffers, kill, np.inf)[()]
    inertia = material.thermal_inertia_j2_m4k2s.value * np.asarray(inertia_factor, dtype=float)
    return ignition_time_thick_solid(
        flux_w_m2=flux_w_m2,
        critical_flux_w_m2=material.critical_flux_w_m2.value,
        thermal_inertia_j2_m4k2s=inertia,
        limit_temperature_k=material.limit_temperature_k.value,
        start_temperature_k=start_temperature_k,
        bare_emissivity=material.bare_emissivity.value,
    )


def protection_time(
    *,
    material: Material,
    flux_w_m2: ArrayLike,
    coat_kg_m2: ArrayLike,
    start_temperature_k: ArrayLike,
    air_temperature_k: float,
    convection_w_m2k: float,
    water_efficiency: ArrayLike,
    inertia_factor: ArrayLike = 1.0,
) -> Any:
    """Time [s] a coated face stands a steady flux: the water's time and then the bare face's.

    Arrays broadcast; air temperature and convection are scalars. The bare face is taken from its
    start temperature although it stood near 100 C under the coat, and the heat soaked into it while
    the coat boiled is left out: the two nearly cancel (checked against ``wood_film``).
    """
    water = water_time(
        flux_w_m2=flux_w_m2,
        coat_kg_m2=coat_kg_m2,
        absorptivity=material.emissivity.value,
        start_temperature_k=start_temperature_k,
        air_temperature_k=air_temperature_k,
        convection_w_m2k=convection_w_m2k,
        water_efficiency=water_efficiency,
    )
    bare = bare_time(
        material=material,
        flux_w_m2=flux_w_m2,
        start_temperature_k=start_temperature_k,
        inertia_factor=inertia_factor,
    )
    return water + bare
