"""AS 3959 Method 2: heat flux at a building from vegetation, fire danger, slope and distance.

A published instance of the whole chain (spread, intensity, flame, view factor, air), so its
distance tables check the chain. The Standard replaces the leaning flame by an upright strip at its
middle; an exact tilted panel gives 5 to 10 % more flux, so design uses the exact one (``flux``) and
this module keeps the Standard's own geometry.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stillwet.errors import Problem, StillwetError, shown
from stillwet.physics.flame import fireline_intensity_byram, flame_length_byram
from stillwet.physics.guards import Numbers, need_within, outside
from stillwet.physics.transmissivity import is_in_fuss_hamins_range, transmissivity_fuss_hamins
from stillwet.tables import load_table
from stillwet.units import from_si, to_si

_KM_H = to_si(1.0, "km/h", dimension="speed")
_PER_KM_H = from_si(1.0, "km/h")
_T_HA = from_si(1.0, "t/ha")
_MW_M = from_si(1.0, "kw/m") / 1e3  # published in MW/m
_KW_M2 = to_si(1.0, "kw/m2", dimension="heat_flux")

STEEPEST_TABLED_SLOPE_DEG = 20.0
LONGEST_DISTANCE_M = 2000.0
_ANGLES_DEG = np.arange(1.0, 91.0)  # the Standard's search; 0 deg has no height and never wins


@dataclass(frozen=True, slots=True)
class Vegetation:
    """One row of the Standard's fuel table, SI; height 0 where the spread rate does not use it."""

    name: str
    family: str  # "forest", "shrub" or "grass": which spread and flame equations hold
    surface_fuel_kg_m2: float
    total_fuel_kg_m2: float
    height_m: float


@dataclass(frozen=True, slots=True)
class Front:
    """The fire that Method 2 sends at the building. SI; intensity W/m."""

    spread_rate_m_s: float
    intensity_w_m: float
    flame_length_m: float
    flags: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Exposure:
    """Flux at the building and every step on the way to it. Angle from horizontal [deg]."""

    front: Front
    flame_angle_deg: float
    path_m: float
    view_factor: float
    transmissivity: float
    heat_flux_w_m2: float
    flags: tuple[str, ...]


def vegetation_named(name: str) -> Vegetation:
    """The Standard's vegetation class of this name; raises StillwetError for any other."""
    rows = {row["name"]: row for row in load_table("as3959")["vegetation"]}
    if name not in rows:
        raise StillwetError(Problem("vegetation", "one of " + ", ".join(rows), shown(name)))
    row = rows[name]
    return Vegetation(
        name=name,
        family=row["family"],
        surface_fuel_kg_m2=to_si(row["surface_t_ha"], "t/ha", dimension="fuel_load"),
        total_fuel_kg_m2=to_si(row["total_t_ha"], "t/ha", dimension="fuel_load"),
        height_m=row.get("height_m", 0.0),
    )


def spread_rate_mcarthur_forest(
    *, fire_danger_index: Numbers, surface_fuel_kg_m2: Numbers
) -> Numbers:
    """Level spread rate [m/s] in eucalypt forest: ``R = 0.0012 F w`` km/h, w in t/ha.

    Range: F to 100, w 5 to 30 t/ha. Known fault: under-predicts severe fires by two to three times.
    Source: McArthur Mk5 in Noble, Bary & Gill 1980; AS 3959 eq. B1 (from memory).
    """
    return 0.0012 * np.asarray(fire_danger_index) * (np.asarray(surface_fuel_kg_m2) * _T_HA) * _KM_H


def spread_rate_mcarthur_grass(*, grass_fire_danger_index: Numbers) -> Numbers:
    """Level spread rate [m/s] in cured grass: ``R = 0.13 GFDI`` km/h.

    Source: McArthur Mk4 as used in AS 3959 Appendix B (from memory). Range: GFDI 1 to about 130.
    """
    return 0.13 * np.asarray(grass_fire_danger_index) * _KM_H


def spread_rate_catchpole_shrub(*, wind_speed_m_s: Numbers, height_m: Numbers) -> Numbers:
    """Level spread rate [m/s] in shrub: ``R = 0.023 V^1.21 VH^0.54`` km/h, V in km/h at 10 m.

    Source: Catchpole et al. 1998 as used in AS 3959 Appendix B (from memory). Range: V to 60 km/h,
    height 0.3 to 3 m; dry days only, as moisture is not in it.
    """
    wind_km_h = np.asarray(wind_speed_m_s) * _PER_KM_H
    return 0.023 * wind_km_h**1.21 * np.asarray(height_m) ** 0.54 * _KM_H


def slope_factor_mcarthur(*, slope_deg: Numbers) -> Numbers:
    """How many times faster a fire runs up a slope [deg]: ``exp(0.069 slope)``.

    Twice as fast for each 10 deg. Range: to 20 deg. Source: McArthur 1967 in Noble et al. 1980.
    """
    return np.exp(0.069 * np.asarray(slope_deg))


def flame_length_noble_forest(*, spread_rate_m_s: Numbers, total_fuel_kg_m2: Numbers) -> Numbers:
    """Flame length [m] in forest: ``L = (13 R + 0.24 W)/2``, R in km/h, W in t/ha.

    The Standard halves the flame height of Noble, Bary & Gill 1980 (from memory).
    """
    speed, load = np.asarray(spread_rate_m_s) * _PER_KM_H, np.asarray(total_fuel_kg_m2) * _T_HA
    return (13.0 * speed + 0.24 * load) / 2.0


def flame_length_as3959_grass(*, intensity_w_m: Numbers) -> Numbers:
    """Flame length [m] in grass: ``L = 1.192 (I/1000)^0.5``, I in kW/m.

    Source: AS 3959 Appendix B (from memory).
    """
    return 1.192 * (np.asarray(intensity_w_m) * _MW_M) ** 0.5


def grass_index_paired(*, fire_danger_index: float) -> float:
    """The grass index the Standard pairs with a forest index of 40 to 100, linear between rows."""
    pairs = load_table("as3959")["grass_index"]
    need_within("fire_danger_index", fire_danger_index, pairs["forest"][0], 100.0, "for grassland")
    return float(np.interp(fire_danger_index, pairs["forest"], pairs["grass"]))


def front_as3959(
    *, vegetation: Vegetation, fire_danger_index: float, slope_deg: float = 0.0
) -> Front:
    """The front that reaches the building, before any heat crosses the gap.

    Parameters: vegetation; fire_danger_index [-], 1 to 200 (grassland 40 to 100); slope_deg [deg],
    positive where the land falls away from the building, so that the fire runs up towards it.
    Slope away (negative) is taken as level, as the Standard's tables do, and flagged.
    Raises StillwetError outside 1 to 200 and -45 to 45 deg.
    """
    need_within("fire_danger_index", fire_danger_index, 1.0, 200.0, "")
    need_within("slope", slope_deg, -45.0, 45.0, "deg", "is it in percent?")
    constants = load_table("as3959")["constants"]
    if vegetation.family == "forest":
        level = spread_rate_mcarthur_forest(
            fire_danger_index=fire_danger_index, surface_fuel_kg_m2=vegetation.surface_fuel_kg_m2
        )
    elif vegetation.family == "shrub":
        wind = to_si(constants["wind_km_h"], "km/h", dimension="speed")
        level = spread_rate_catchpole_shrub(wind_speed_m_s=wind, height_m=vegetation.height_m)
    else:
        level = spread_rate_mcarthur_grass(
            grass_fire_danger_index=grass_index_paired(fire_danger_index=fire_danger_index)
        )
    speed = float(level * slope_factor_mcarthur(slope_deg=max(slope_deg, 0.0)))
    intensity = float(
        fireline_intensity_byram(
            heat_yield_j_kg=constants["heat_yield_j_kg"],
            fuel_consumed_kg_m2=vegetation.total_fuel_kg_m2,
            spread_rate_m_s=speed,
        )
    )
    return Front(
        spread_rate_m_s=speed,
        intensity_w_m=intensity,
        flame_length_m=_flame_length(vegetation, speed, intensity),
        flags=(
            *outside("slope steeper than the tables", slope_deg, -45.0, STEEPEST_TABLED_SLOPE_DEG),
            *outside("slope away from the building taken as level", slope_deg, 0.0, 45.0),
            *outside("fire danger index beyond 100", fire_danger_index, 1.0, 100.0),
        ),
    )


def _flame_length(vegetation: Vegetation, speed: float, intensity: float) -> float:
    if vegetation.family == "forest":
        load = vegetation.total_fuel_kg_m2
        return float(flame_length_noble_forest(spread_rate_m_s=speed, total_fuel_kg_m2=load))
    if vegetation.family == "shrub":
        return float(flame_length_byram(intensity_w_m=intensity))
    return float(flame_length_as3959_grass(intensity_w_m=intensity))


def _strip(x: Any, y: Any) -> Any:
    """Sum of arcs of a strip x high and y half wide, in distances; over pi the view factor [-]."""
    return x / np.hypot(1, x) * np.arctan(y / np.hypot(1, x)) + y / np.hypot(1, y) * np.arctan(
        x / np.hypot(1, y)
    )


def view_factor_as3959(
    *,
    flame_length_m: Numbers,
    flame_angle_deg: Numbers,
    distance_m: Numbers,
    slope_deg: Numbers,
    flame_width_m: Numbers,
) -> tuple[Numbers, Numbers]:
    """View factor [-] of the upright strip at the flame's middle, and the path to it [m].

    Parameters: flame_length_m [m]; flame_angle_deg [deg from horizontal]; distance_m [m] from the
    vegetation's edge; slope_deg [deg]; flame_width_m [m]. The receiver stands at mid-flame height.
    Where the strip would stand at or behind the receiver the view factor is 0 and the path 0.
    Known fault: 5 to 10 % below the exact tilted panel. Source: AS 3959 Appendix B (from memory).
    """
    length, distance = np.asarray(flame_length_m), np.asarray(distance_m)
    angle, tangent = np.radians(flame_angle_deg), np.tan(np.radians(slope_deg))
    path = distance - 0.5 * length * np.cos(angle)
    is_ahead = path > 0
    gap = np.where(is_ahead, path, 1.0)
    receiver = 0.5 * length * np.sin(angle) - distance * tangent
    above = length * np.sin(angle) - 0.5 * length * np.cos(angle) * tangent - distance * tangent
    x1, x2 = (above - receiver) / gap, (receiver + path * tangent) / gap
    y = 0.5 * np.asarray(flame_width_m) / gap
    factor = (_strip(x1, y) + _strip(x2, y)) / np.pi
    return np.where(is_ahead, factor, 0.0), np.where(is_ahead, path, 0.0)


def worst_flame_angle_as3959(
    *, flame_length_m: float, distance_m: float, slope_deg: float, flame_width_m: float
) -> tuple[float, float, float]:
    """The whole-degree flame angle of the largest view factor: (angle [deg], factor, path [m])."""
    factors, paths = view_factor_as3959(
        flame_length_m=flame_length_m,
        flame_angle_deg=_ANGLES_DEG,
        distance_m=distance_m,
        slope_deg=slope_deg,
        flame_width_m=flame_width_m,
    )
    best = int(np.argmax(factors))
    return float(_ANGLES_DEG[best]), float(np.take(factors, best)), float(np.take(paths, best))


def exposure_as3959(
    *,
    vegetation: str,
    fire_danger_index: float,
    slope_deg: float,
    distance_m: float,
    flame_width_m: float | None = None,
) -> Exposure:
    """Heat flux at a building by Method 2.

    Parameters: vegetation, a class of the Standard; fire_danger_index [-]; slope_deg [deg], see
    ``front_as3959``; distance_m [m] from the vegetation, above 0; flame_width_m [m], the Standard's
    100 m when None. Returns the flux and each step. Raises StillwetError for impossible inputs.
    Checks ``flame_flux`` and what leads to it.

    >>> exposure = exposure_as3959(
    ...     vegetation="forest", fire_danger_index=100, slope_deg=0, distance_m=25)
    >>> round(exposure.heat_flux_w_m2 / 1e3, 1), exposure.flame_angle_deg
    (29.4, 60.0)
    """
    need_within(
        "distance", distance_m, 0.01, LONGEST_DISTANCE_M, "m", "at 0 m the flame touches the face"
    )
    front = front_as3959(
        vegetation=vegetation_named(vegetation),
        fire_danger_index=fire_danger_index,
        slope_deg=slope_deg,
    )
    return _exposure(front, max(slope_deg, 0.0), distance_m, flame_width_m)


def _exposure(front: Front, slope_deg: float, distance_m: float, width_m: float | None) -> Exposure:
    constants = load_table("as3959")["constants"]
    angle, factor, path = worst_flame_angle_as3959(
        flame_length_m=front.flame_length_m,
        distance_m=distance_m,
        slope_deg=slope_deg,
        flame_width_m=constants["flame_width_m"] if width_m is None else width_m,
    )
    air = {key: constants[key] for key in ("air_temperature_k", "relative_humidity")}
    tau = float(
        transmissivity_fuss_hamins(
            path_m=path, flame_temperature_k=constants["flame_temperature_k"], **air
        )
    )
    is_fitted = bool(is_in_fuss_hamins_range(path_m=path, **air))
    return Exposure(
        front=front,
        flame_angle_deg=angle,
        path_m=path,
        view_factor=factor,
        transmissivity=tau,
        heat_flux_w_m2=tau * factor * emissive_power_as3959(),
        flags=(*front.flags, *(() if is_fitted else ("path outside the air's 10 to 200 m fit",))),
    )


def emissive_power_as3959() -> float:
    """The Standard's flame emissive power [W/m2]: ``0.95 * 5.67e-8 * 1090^4``, about 76 kW/m2."""
    constants = load_table("as3959")["constants"]
    emissivity, sigma = constants["flame_emissivity"], constants["stefan_boltzmann"]
    return float(emissivity * sigma * constants["flame_temperature_k"] ** 4)


def distance_for_flux_as3959(
    *, vegetation: str, fire_danger_index: float, slope_deg: float, heat_flux_w_m2: float
) -> float:
    """The distance [m] at which Method 2 gives this heat flux [W/m2], by bisection to a millimetre.

    Raises StillwetError outside 10 W/m2 to 60 kW/m2 (at the flame itself Method 2 gives about
    68 kW/m2), or when the flux is still higher at 2000 m.
    """
    need_within("heat_flux", heat_flux_w_m2, 10.0, 60e3, "W/m2", "is it in kW/m2?")
    from scipy.optimize import bisect

    front = front_as3959(
        vegetation=vegetation_named(vegetation),
        fire_danger_index=fire_danger_index,
        slope_deg=slope_deg,
    )

    def excess(distance_m: float) -> float:
        found = _exposure(front, max(slope_deg, 0.0), distance_m, None).heat_flux_w_m2
        return found - heat_flux_w_m2

    if excess(LONGEST_DISTANCE_M) > 0:
        raise StillwetError(
            Problem(
                "heat_flux",
                f"a flux met within {LONGEST_DISTANCE_M:g} m",
                f"{heat_flux_w_m2:g} W/m2",
            )
        )
    return float(bisect(excess, 0.01, LONGEST_DISTANCE_M, xtol=1e-3))


def attack_level(*, heat_flux_w_m2: float) -> str:
    """The Standard's bushfire attack level of a heat flux [W/m2] at the building.

    Flame contact is BAL-FZ whatever the flux, and vegetation beyond 100 m (grassland 50 m) counts
    as BAL-LOW; neither is decided here, as neither shows in the flux. Checks ``exposure_as3959``.
    """
    need_within("heat_flux", heat_flux_w_m2, 0.0, 500e3, "W/m2")
    rows: list[dict[str, Any]] = load_table("as3959")["level"]
    return str(next(row["name"] for row in rows if heat_flux_w_m2 <= row["to_kw_m2"] * _KW_M2))


def distances_for_levels_as3959(
    *, vegetation: str, fire_danger_index: float, slope_deg: float
) -> NDArray[np.float64]:
    """Where BAL-FZ, -40, -29 and -19 end [m]: 40, 29, 19 and 12.5 kW/m2, nearest first.

    Checks ``exposure_as3959`` by the Standard's printed distances.
    """
    rows = load_table("as3959")["level"]
    limits = [row["to_kw_m2"] * _KW_M2 for row in reversed(rows[:-1])]
    return np.array(
        [
            distance_for_flux_as3959(
                vegetation=vegetation,
                fire_danger_index=fire_danger_index,
                slope_deg=slope_deg,
                heat_flux_w_m2=limit,
            )
            for limit in limits
        ]
    )
