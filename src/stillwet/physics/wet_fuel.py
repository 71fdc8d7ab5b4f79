"""Fuel made wet: how much surface it has, how moist a film of water makes it, what flames boil off.

Area is that of the particles' whole surface per ground area; a flat leaf has two sides, so the leaf
area index of canopy literature is half of it. Fine fuel is the 1-h class and the herbs, cured or
green; fine live woody parts take their share of the spray but are not asked to hold the fire.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwet.physics.demand import energy_to_dry
from stillwet.physics.fuel_bed import PARTICLE_DENSITY_LB_FT3
from stillwet.physics.fuel_models import CLASSES, FuelModel
from stillwet.physics.guards import Numbers, need_within
from stillwet.units import to_si

# Rothermel 1972 and Albini 1976 for every standard model: 32 lb/ft3 = 513 kg/m3.
PARTICLE_DENSITY = to_si(PARTICLE_DENSITY_LB_FT3, "lb/ft3", dimension="density")
FLAME_ABSORPTIVITY = 0.95  # wet leaves to flame radiation; water 0.96, Incropera table A.11

_ONE_HOUR, _HERB, _WOODY = (CLASSES.index(name) for name in ("1h", "herb", "woody"))


@dataclass(frozen=True, slots=True)
class WetBed:
    """The surfaces of one fuel bed that a spray wets, and the dead fine fuel that must be too wet.

    surface: all fine surface per ground area [m2/m2]; dead_surface and dead_load [m2/m2, kg/m2] of
    1-h fuel and cured herbs; extinction [fraction] of the dead fuel; depth [m].
    """

    surface: float
    dead_surface: float
    dead_load_kg_m2: float
    fine_load_kg_m2: float
    extinction_moisture: float
    depth_m: float

    @property
    def leaf_area_index(self) -> float:
        """One-sided area per ground area [-], as canopy literature counts it."""
        return self.surface / 2.0

    @property
    def dead_load_over_share(self) -> float:
        """Water per ground area [kg/m2] that makes the dead fine fuel 100 % moister."""
        return self.dead_load_kg_m2 * self.surface / self.dead_surface


def fuel_surface_area(
    *,
    load_kg_m2: Numbers,
    surface_to_volume_1_m: Numbers,
    particle_density_kg_m3: float = PARTICLE_DENSITY,
) -> Numbers:
    """Particle surface per ground area [m2/m2] from load [kg/m2] and surface to volume [1/m].

    ``A = sigma w / rho_p``, the mean total surface area of Rothermel 1972, INT-115, eq. 53 (from
    memory), whole surface. Holds for particles of any shape.

    >>> round(float(fuel_surface_area(load_kg_m2=0.16589, surface_to_volume_1_m=11482.9)), 2)
    3.72
    """
    need_within("load", load_kg_m2, 0.0, 20.0, "kg/m2")
    need_within("surface_to_volume", surface_to_volume_1_m, 1.0, 5e4, "1/m")
    area: Numbers = (
        np.asarray(load_kg_m2) * np.asarray(surface_to_volume_1_m) / particle_density_kg_m3
    )
    return area


def wet_bed(*, fuel: FuelModel, cured_fraction: float) -> WetBed:
    """The surfaces of a fuel model with this share of its herbs cured [fraction].

    Herbs of a static model stay live. A model without dead fine fuel does not occur.
    """
    need_within("cured_fraction", cured_fraction, 0.0, 1.0, "fraction", "is it in percent?")
    cured = cured_fraction if fuel.is_dynamic else 0.0
    area = np.asarray(
        fuel_surface_area(
            load_kg_m2=fuel.load_kg_m2, surface_to_volume_1_m=fuel.surface_to_volume_1_m
        )
    )
    load: NDArray[np.float64] = fuel.load_kg_m2
    return WetBed(
        surface=float(area[_ONE_HOUR] + area[_HERB] + area[_WOODY]),
        dead_surface=float(area[_ONE_HOUR] + cured * area[_HERB]),
        dead_load_kg_m2=float(load[_ONE_HOUR] + cured * load[_HERB]),
        fine_load_kg_m2=float(load[_ONE_HOUR] + load[_HERB]),
        extinction_moisture=fuel.extinction_moisture,
        depth_m=fuel.depth_m,
    )


def film_per_surface(*, water_kg_m2: Numbers, surface: Numbers) -> Numbers:
    """Water per fuel surface [kg/m2 = mm] from water [kg/m2] and surface per ground area.

    Feeds ``moisture_with_film``.
    """
    film: Numbers = np.asarray(water_kg_m2) / np.asarray(surface)
    return film


def moisture_with_film(
    *,
    film_kg_m2: Numbers,
    surface_to_volume_1_m: Numbers,
    fuel_moisture: Numbers,
    particle_density_kg_m3: float = PARTICLE_DENSITY,
) -> Numbers:
    """Moisture [fraction of dry weight] of particles under a film: ``M + film sigma / rho_p``.

    The film counts as fuel moisture the moment it is there: water on a thin dead blade has to be
    boiled away before the blade can burn, whether it has soaked in or not. Known fault: on sticks
    that is true of the outer layer only, so it is asked of fine fuel alone.
    Sibling of ``dead_moisture_wetted``.
    """
    on_it = np.asarray(film_kg_m2) * np.asarray(surface_to_volume_1_m) / particle_density_kg_m3
    moisture: Numbers = np.asarray(fuel_moisture) + on_it
    return moisture


def dead_moisture_wetted(*, bed: WetBed, water_kg_m2: Numbers, fuel_moisture: Numbers) -> Numbers:
    """Moisture [fraction] of the dead fine fuel when the bed holds this water per ground area.

    The film is the same on every fine surface; where all of it is dead, ``M + water/load``.
    Inverse of ``water_for_extinction``.
    """
    moisture: Numbers = (
        np.asarray(fuel_moisture) + np.asarray(water_kg_m2) / bed.dead_load_over_share
    )
    return moisture


def water_for_extinction(*, bed: WetBed, fuel_moisture: Numbers, margin: Numbers) -> Numbers:
    """Least water per ground area [kg/m2] at which the dead fine fuel no longer carries fire.

    ``M = margin * Mx``: at margin 1 the limit of Rothermel 1972, eq. 29, where the reaction ends.
    margin [-], 1 or more: Mx was read from beds burnt one at a time and is not sharp.

    >>> from stillwet.physics.fuel_models import fuel_model
    >>> bed = wet_bed(fuel=fuel_model("1"), cured_fraction=0.0)
    >>> round(float(water_for_extinction(bed=bed, fuel_moisture=0.04, margin=1.0)), 4)
    0.0133
    """
    need_within("margin", margin, 1.0, 10.0, "")
    short = np.asarray(margin) * bed.extinction_moisture - np.asarray(fuel_moisture)
    water: Numbers = np.maximum(short, 0.0) * bed.dead_load_over_share
    return water


def water_boiled_by_flames(
    *,
    flux_w_m2: Numbers,
    exposure_s: Numbers,
    start_temperature_k: Numbers,
    water_efficiency: Numbers,
    absorptivity: float = FLAME_ABSORPTIVITY,
) -> Numbers:
    """Water [kg/m2 of ground] that flames beside the strip boil away while they stand there.

    ``alpha q t / (eta (cp (100 C - T) + Lv))`` with the energy of ``demand.energy_to_dry``; no
    credit for what the wet fuel sheds, since flames wrap it. All broadcast.

    >>> round(float(water_boiled_by_flames(flux_w_m2=50e3, exposure_s=20.0,
    ...     start_temperature_k=293.15, water_efficiency=0.7)), 3)
    0.524
    """
    need_within("flux", flux_w_m2, 0.0, 400e3, "W/m2", "is it in kW/m2?")
    need_within("exposure", exposure_s, 0.0, 7200.0, "s")
    heat = absorptivity * np.asarray(flux_w_m2) * np.asarray(exposure_s)
    per_water = np.asarray(water_efficiency) * energy_to_dry(start_temperature_k)
    boiled: Numbers = heat / per_water
    return boiled


def ground_view_past_flames(*, tilt_deg: Numbers) -> Numbers:
    """View factor [-] of a long front from level ground one flame length from its base.

    ``(1 - cos a)/2``, ``a = 45 deg + tilt/2`` the height of the flame's tip above the ground as
    seen from there; tilt_deg from vertical, towards the ground looked at. Where flames end the
    strip has to hold; nearer they may dry it. Exact for a plane, endless flame (crossed strings,
    Hottel 1954).

    >>> round(float(ground_view_past_flames(tilt_deg=0.0)), 4)
    0.1464
    """
    need_within("tilt", tilt_deg, 0.0, 90.0, "deg")
    height = np.radians(45.0 + 0.5 * np.asarray(tilt_deg))
    view: Numbers = 0.5 * (1.0 - np.cos(height))
    return view


def share_caught(*, leaf_area_index: Numbers, extinction: Numbers) -> Numbers:
    """Share [-] of what falls on a canopy that meets a leaf: ``1 - exp(-K L)``.

    Monsi & Saeki 1953 for light; spray that falls in straight lines meets leaves alike. L one-sided
    area per ground area, K [-] 0.5 for leaves pointing all ways. Range: scattered, not clumped.
    Known fault: bunches let more through, a nozzle held low and along the line less.
    """
    need_within("extinction", extinction, 0.05, 2.0, "")
    caught: Numbers = -np.expm1(-np.asarray(extinction) * np.asarray(leaf_area_index))
    return caught


def mean_share_on_surface(*, surface: Numbers, extinction: Numbers) -> Numbers:
    """What a mean piece of fuel surface receives of what falls on level ground [-].

    ``(1 - exp(-K L)) / (2 L)``, L half the surface per ground area: energy caught by the whole
    canopy, shared over both sides of all leaves (Monsi & Saeki 1953). It tends to K/2 for sparse
    fuel and falls as 1/surface in dense fuel, so the sun on the bed is never counted twice.
    """
    need_within("surface", surface, 1e-6, 500.0, "m2/m2")
    leaf_area = np.asarray(surface) / 2.0
    share: Numbers = share_caught(leaf_area_index=leaf_area, extinction=extinction) / (
        2.0 * leaf_area
    )
    return share


def tilt_for_sky_view(*, sky_view: Numbers) -> Numbers:
    """Tilt [deg] of the open plate that sees this share of the sky [-]: ``acos(2 v - 1)``.

    So that a face balance made for plates can stand for a leaf among leaves; the rest of its view
    is taken at air temperature. Inverse of the isotropic sky view ``(1 + cos tilt)/2``.
    """
    need_within("sky_view", sky_view, 0.0, 1.0, "")
    tilt: Numbers = np.degrees(np.arccos(2.0 * np.asarray(sky_view) - 1.0))
    return tilt
