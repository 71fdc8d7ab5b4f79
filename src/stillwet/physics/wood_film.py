"""A wet coat on wood under fire, cell by cell: what the closed-form protection time is checked by.

One dimension, explicit finite volumes. The coat is still water that conducts; its surface takes up
the flux, gives back radiation and convection, and evaporates, ever faster as it nears 100 C: so
it boils off from the outside, never above 100 C. When the film is gone the wood dries behind a
moving front at 100 C, then its surface heats until it ignites. Left out: boiling inside the film,
shedding, cracks (all in the closed form's ``water_efficiency``), a gel's dry residue, charring.

Source of the pieces: film theory with Stefan flow, ``e = (h/cp) ln((1-Y)/(1-Ys))``, Lewis number 1
(D. B. Spalding, Convective Mass Transfer, 1963); enthalpy method for the drying front (V. R. Voller
and M. Cross 1981, Int. J. Heat Mass Transfer 24:545).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stillwet.compiling import compiled
from stillwet.constants import (
    BOILING_POINT,
    GAS_CONSTANT_VAPOUR,
    STEFAN_BOLTZMANN,
    WATER_DENSITY,
    ZERO_CELSIUS,
)
from stillwet.physics.demand import (
    AIR_SPECIFIC_HEAT,
    AIR_VAPOUR_SHARE,
    COAT_EMISSIVITY,
    HEAT_OF_BOILING,
    LATENT_SLOPE,
    LIQUID_SPECIFIC_HEAT,
    MOLAR_RATIO,
    VAPOUR_SPECIFIC_HEAT,
)

Array = NDArray[np.float64]

WATER_CONDUCTIVITY = 0.66  # W/mK, liquid, mean 20 to 100 C, IAPWS
_FILM_CELL = 1.0e-4  # m
_WOOD_CELL, _WOOD_GROWTH = 1.0e-4, 1.07  # m at the surface, then wider


@dataclass(frozen=True, slots=True)
class Wood:
    """Dry wood and its moisture. Defaults: softwood of 500 kg/m3 at 12 % moisture.

    Conductivity and heat at the mean temperature of heating, after Wood Handbook chapter 4.
    """

    conductivity_w_mk: float = 0.14
    density_kg_m3: float = 500.0  # oven dry
    heat_j_kgk: float = 1700.0
    moisture: float = 0.12  # kg/kg dry
    thickness_m: float = 0.03  # back face insulated
    ignition_temperature_k: float = 623.0
    emissivity: float = 0.9


@dataclass(frozen=True, slots=True)
class FilmOutcome:
    """What the model saw. Times in s from the start of the flux, inf when not reached."""

    dry_s: float  # the film is gone
    ignition_s: float  # the wood's surface reached its ignition temperature
    surface_temperature_k: float  # at the end
    heat_in_j_m2: float  # absorbed
    heat_lost_j_m2: float  # radiated and convected
    heat_evaporated_j_m2: float  # carried off by vapour, from 0 C liquid
    heat_stored_j_m2: float  # gained by film and wood
    dry_depth_m: float  # of wood dried through at the end


@compiled()
def _vapour_share(temperature: float) -> float:
    """Mass share of vapour at a wet surface at standard pressure.

    Clapeyron with latent heat falling in a straight line; within 3 % of IAPWS-97 from 20 C up.
    """
    fall = LATENT_SLOPE / GAS_CONSTANT_VAPOUR
    level = HEAT_OF_BOILING / GAS_CONSTANT_VAPOUR + fall * BOILING_POINT
    over = 1.0 / BOILING_POINT - 1.0 / temperature
    part = min(np.exp(level * over - fall * np.log(temperature / BOILING_POINT)), 1.0 - 1e-12)
    share: float = MOLAR_RATIO * part / (1.0 - (1.0 - MOLAR_RATIO) * part)
    return share


@compiled()
def _evaporation(surface: float, convection: float, air_share: float) -> float:
    """Water leaving a wet surface [kg/m2s], never coming to it: `demand.evaporation_spalding`."""
    driving = np.log((1.0 - air_share) / (1.0 - _vapour_share(surface)))
    rate: float = max(0.0, convection / AIR_SPECIFIC_HEAT * driving)
    return rate


@compiled()
def _surface_loss(
    surface: float, air: float, gas: float, emissivity: float, convection: float, outflow: float
) -> float:
    """Radiation and convection given back [W/m2]; outflowing vapour thins the convection."""
    blow = outflow * VAPOUR_SPECIFIC_HEAT / convection if convection > 0.0 else 0.0
    share = 1.0 if blow < 1e-9 else (0.0 if blow > 50.0 else blow / np.expm1(blow))
    radiated = emissivity * STEFAN_BOLTZMANN * (surface**4 - air**4)
    return radiated + convection * share * (surface - gas)


@compiled()
def _wet_surface(
    absorbed: float,
    inner: float,
    conductance: float,
    air: float,
    emissivity: float,
    convection: float,
    air_share: float,
) -> tuple[float, float, float]:
    """Surface temperature, evaporation [kg/m2s] and losses [W/m2] of the film, by bisection.

    Balance: absorbed = lost + conducted inward + evaporated * latent heat; never above 100 C.
    """
    low, high = min(inner, air) - 30.0, BOILING_POINT
    for _ in range(30):
        middle = 0.5 * (low + high)
        rate = _evaporation(middle, convection, air_share)
        lost = _surface_loss(middle, air, air, emissivity, convection, rate)
        latent = HEAT_OF_BOILING + LATENT_SLOPE * (BOILING_POINT - middle)
        if absorbed - lost - conductance * (middle - inner) - rate * latent > 0.0:
            low = middle
        else:
            high = middle
    surface = 0.5 * (low + high)
    latent = HEAT_OF_BOILING + LATENT_SLOPE * (BOILING_POINT - surface)
    rate = _evaporation(surface, convection, air_share)
    lost = _surface_loss(surface, air, air, emissivity, convection, rate)
    left_over = absorbed - lost - conductance * (surface - inner)
    return surface, max(0.0, left_over) / latent, lost


@compiled()
def _bare_surface(
    absorbed: float,
    inner: float,
    conductance: float,
    air: float,
    emissivity: float,
    convection: float,
) -> tuple[float, float]:
    """Surface temperature and losses [W/m2] of the bare wood, by Newton from its outer cell."""
    surface = inner
    for _ in range(8):
        lost = emissivity * STEFAN_BOLTZMANN * (surface**4 - air**4) + convection * (surface - air)
        slope = 4.0 * emissivity * STEFAN_BOLTZMANN * surface**3 + convection + conductance
        surface += (absorbed - lost - conductance * (surface - inner)) / slope
    return surface, absorbed - conductance * (surface - inner)


@compiled()
def _wood_temperature(heat: float, water: float, dry_heat: float) -> float:
    """Temperature [K] of a wood cell from its enthalpy [J/m3] over 0 C; 100 C while it dries."""
    span = BOILING_POINT - ZERO_CELSIUS
    wet_heat = dry_heat + water * LIQUID_SPECIFIC_HEAT
    if heat <= wet_heat * span:
        return ZERO_CELSIUS + heat / wet_heat
    above = heat - wet_heat * span - water * HEAT_OF_BOILING
    return BOILING_POINT + max(0.0, above) / dry_heat


@compiled()
def _film_step(
    incident: float,
    length: float,
    first: int,
    film: Array,
    film_heat: Array,
    under: float,
    under_half: float,
    settings: Array,
    ledger: Array,
) -> tuple[float, float, float]:
    """One step of the film, in place: surface temperature, boiling rate, heat into the wood [J/m2].

    ``under`` is the temperature of the wood's outer cell, ``under_half`` its half-cell resistance.
    """
    absorptivity, emissivity, air, convection, share = settings[:5]
    absorbed = absorptivity * incident
    outer = ZERO_CELSIUS + film_heat[first] / (film[first] * LIQUID_SPECIFIC_HEAT)
    resistance = 1.0 / (WATER_CONDUCTIVITY * WATER_DENSITY)  # per kg/m2 of water
    surface, rate, lost = _wet_surface(
        absorbed, outer, 2.0 / (resistance * film[first]), air, emissivity, convection, share
    )
    rate = min(rate, 0.4 * film[first] / length)
    latent = HEAT_OF_BOILING + LATENT_SLOPE * (BOILING_POINT - surface)
    leaving = rate * LIQUID_SPECIFIC_HEAT * (surface - ZERO_CELSIUS)
    film_heat[first] += (absorbed - lost - rate * latent - leaving) * length
    ledger += np.array([absorbed, lost, rate * latent + leaving]) * length
    here, there, passed = outer, outer, 0.0
    for cell in range(first, film.size):
        if cell + 1 < film.size:
            there = ZERO_CELSIUS + film_heat[cell + 1] / (film[cell + 1] * LIQUID_SPECIFIC_HEAT)
            between = 0.5 * resistance * (film[cell] + film[cell + 1])
            passed = (here - there) / between * length
            film_heat[cell + 1] += passed
        else:
            between = 0.5 * resistance * film[cell] + under_half
            passed = (here - under) / between * length
        film_heat[cell] -= passed
        here = there
    film[first] -= rate * length
    return surface, rate, passed


@compiled()
def _bare_step(
    incident: float, length: float, inner: float, half: float, settings: Array, ledger: Array
) -> tuple[float, float]:
    """One step of the bare face: surface temperature and heat into the wood's outer cell [J/m2]."""
    air, convection, emissivity = settings[2], settings[3], settings[5]
    absorbed = emissivity * incident
    surface, lost = _bare_surface(absorbed, inner, 1.0 / half, air, emissivity, convection)
    ledger += np.array([absorbed, lost, 0.0]) * length
    return surface, (absorbed - lost) * length


@compiled()
def _flux_at(now: float, index: int, time_s: Array, flux: Array) -> tuple[float, int]:
    """Flux now, and the index of the history's step that now lies in (searched forward only)."""
    while index < time_s.size - 2 and now >= time_s[index + 1]:
        index += 1
    span = time_s[index + 1] - time_s[index]
    part = (now - time_s[index]) / span if span > 0.0 else 1.0
    return flux[index] + part * (flux[index + 1] - flux[index]), index


@compiled()
def _march(
    time_s: Array,
    flux: Array,
    film: Array,
    film_heat: Array,
    width: Array,
    wood_heat: Array,
    water: Array,
    step: float,
    settings: Array,
) -> tuple[float, float, float, Array]:
    """March film (mass [kg/m2], heat [J/m2]) and wood (heat [J/m3], water [kg/m3]) through a flux.

    Arrays are changed in place. settings: coat absorptivity and emissivity, air [K], convection,
    vapour share of the air, wood emissivity, conductivity, dry heat [J/m3K] and ignition [K].
    Returns dry time, ignition time, surface temperature, and heat in, lost and evaporated.
    """
    conductivity, dry_heat, ignition = settings[6], settings[7], settings[8]
    first, cell_mass = 0, film[0] if film.size else 0.0
    half = 0.5 * width[0] / conductivity
    temperature, ledger = np.empty(width.size), np.zeros(3)
    dry, ignited, surface = np.inf if film.size else 0.0, np.inf, 0.0
    now, index = time_s[0], 0
    while now < time_s[-1] and ignited == np.inf:
        incident, index = _flux_at(now, index, time_s, flux)
        length = min(step, time_s[-1] - now)
        for cell in range(width.size):
            temperature[cell] = _wood_temperature(wood_heat[cell], water[cell], dry_heat)
        if first < film.size:
            surface, rate, passed = _film_step(
                incident, length, first, film, film_heat, temperature[0], half, settings, ledger
            )
            if film[first] < 0.5 * cell_mass:
                if first + 1 < film.size:
                    film[first + 1] += film[first]
                    film_heat[first + 1] += film_heat[first]
                else:  # the last of the film sinks into the wood's outer cell and dries there
                    dry = now + length + (film[first] / rate if rate > 0.0 else 0.0)
                    water[0] += film[first] / width[0]
                    wood_heat[0] += film_heat[first] / width[0]
                film[first], film_heat[first] = 0.0, 0.0
                first += 1
        else:
            surface, passed = _bare_step(incident, length, temperature[0], half, settings, ledger)
            if surface >= ignition:
                ignited = now + length
        wood_heat[0] += passed / width[0]
        for cell in range(width.size - 1):
            between = 0.5 * (width[cell] + width[cell + 1]) / conductivity
            passed = (temperature[cell] - temperature[cell + 1]) / between * length
            wood_heat[cell] -= passed / width[cell]
            wood_heat[cell + 1] += passed / width[cell + 1]
        now += length
    return dry, ignited, surface, ledger


def _wood_widths(thickness_m: float) -> Array:
    """Cell widths [m] from the surface inwards: fine, then wider, adding up to the thickness."""
    count = 1
    while _WOOD_CELL * (_WOOD_GROWTH**count - 1) / (_WOOD_GROWTH - 1) < thickness_m:
        count += 1
    widths = _WOOD_CELL * _WOOD_GROWTH ** np.arange(count)
    shrunk: Array = widths * (thickness_m / widths.sum())
    return shrunk


def _stable_step(*, film: Array, width: Array, wood: Wood, dry_heat: float) -> float:
    """Longest explicit step [s]: the half-worn outer film cell or the wood's outer cell sets it."""
    step = 0.8 * dry_heat * float(width[0]) ** 2 / (3.0 * wood.conductivity_w_mk)
    if film.size:
        cell = float(film[0]) / WATER_DENSITY
        capacity = WATER_DENSITY * LIQUID_SPECIFIC_HEAT * cell**2
        step = min(step, 0.8 * capacity / (10.7 * WATER_CONDUCTIVITY))
    return step


def _dry_depth(wood_heat: Array, water: Array, width: Array, dry_heat: float) -> float:
    """Depth [m] of wood whose moisture has boiled, part cells counted by their share."""
    if not np.any(water > 0):
        return 0.0
    at_boiling = (dry_heat + water * LIQUID_SPECIFIC_HEAT) * (BOILING_POINT - ZERO_CELSIUS)
    share = np.clip((wood_heat - at_boiling) / np.maximum(water * HEAT_OF_BOILING, 1e-9), 0.0, 1.0)
    return float(share @ width)


def film_on_wood(
    *,
    time_s: ArrayLike,
    flux_w_m2: ArrayLike,
    coat_kg_m2: float,
    air_temperature_k: float,
    convection_w_m2k: float,
    start_temperature_k: float,
    wood: Wood | None = None,
    absorptivity: float = 0.95,
    coat_emissivity: float = COAT_EMISSIVITY,
    air_vapour_share: float = AIR_VAPOUR_SHARE,
) -> FilmOutcome:
    """Heat, boil off and ignite one coated face under a flux history; stops at ignition.

    time_s (T,) from the start, flux_w_m2 (T,) incident, straight lines between. coat_kg_m2 0 is the
    bare face. air_vapour_share [-]: vapour in the air by mass. Energy is kept to rounding. Steps of
    some milliseconds: about 0.1 s of computing for a minute of fire. Checks ``protection_time``.
    """
    wood = wood or Wood()
    width = _wood_widths(wood.thickness_m)
    count = max(4, round(coat_kg_m2 / WATER_DENSITY / _FILM_CELL)) if coat_kg_m2 > 0 else 0
    film = np.full(count, coat_kg_m2 / max(count, 1))
    warmth = start_temperature_k - ZERO_CELSIUS
    dry_heat = wood.density_kg_m3 * wood.heat_j_kgk
    water = np.full(width.size, wood.moisture * wood.density_kg_m3)
    film_heat, wood_heat = (
        film * LIQUID_SPECIFIC_HEAT * warmth,
        (dry_heat + water * LIQUID_SPECIFIC_HEAT) * warmth,
    )
    before = film_heat.sum() + float(wood_heat @ width)
    step = _stable_step(film=film, width=width, wood=wood, dry_heat=dry_heat)
    dry, ignited, surface, (gained, lost, vapour) = _march(
        np.asarray(time_s, dtype=float),
        np.asarray(flux_w_m2, dtype=float),
        film,
        film_heat,
        width,
        wood_heat,
        water,
        step,
        np.array(
            [
                absorptivity,
                coat_emissivity,
                air_temperature_k,
                convection_w_m2k,
                air_vapour_share,
                wood.emissivity,
                wood.conductivity_w_mk,
                dry_heat,
                wood.ignition_temperature_k,
            ]
        ),
    )
    after = film_heat.sum() + float(wood_heat @ width)
    return FilmOutcome(
        dry_s=float(dry),
        ignition_s=float(ignited),
        surface_temperature_k=float(surface),
        heat_in_j_m2=float(gained),
        heat_lost_j_m2=float(lost),
        heat_evaporated_j_m2=float(vapour),
        heat_stored_j_m2=float(after - before),
        dry_depth_m=_dry_depth(wood_heat, water, width, dry_heat),
    )
