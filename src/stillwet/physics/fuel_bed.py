"""The fuel bed as the surface-spread equations see it: weights, packing, curing, extinction.

Six classes stand on the first axis of every array: 1-h, 10-h, 100-h, cured herb (dead), then live
herb and live woody. Weather axes follow. The published equations are in feet, pounds and minutes;
the constants below carry SI into them, by ``units``.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwet.physics.fuel_models import CLASSES, FuelModel
from stillwet.physics.guards import Numbers, need_within
from stillwet.units import from_si, to_si

_LB_FT2 = from_si(1.0, "lb/ft2")
_PER_FOOT = from_si(1.0, "1/ft")
_PER_METRE = to_si(1.0, "1/ft", dimension="surface_to_volume")
_FEET = from_si(1.0, "ft")

PARTICLE_DENSITY_LB_FT3 = 32.0  # Rothermel 1972; Albini 1976 for every standard model
MINERAL_TOTAL = 0.0555
MINERAL_EFFECTIVE = 0.010

DEAD = slice(0, 4)
LIVE = slice(4, 6)
_CATEGORIES = (DEAD, LIVE)
_HERB, _WOODY = CLASSES.index("herb"), CLASSES.index("woody")
# Lower edges [1/ft] of the size classes whose members share one weight (Albini 1976).
_SIZE_EDGES = (16.0, 48.0, 96.0, 192.0, 1200.0)


@dataclass(frozen=True, eq=False)
class FuelBed:
    """A fuel bed in the units of the equations (1/ft, lb/ft2, lb/ft3), with its SI summary.

    class_weight (6, ...): share of each class in its category's surface; category_weight (2, ...):
    share of dead and live in all surface; net_load (2, ...): load that burns, lb/ft2.
    """

    load_lb_ft2: NDArray[np.float64]
    surface_to_volume_1_ft: NDArray[np.float64]
    class_weight: NDArray[np.float64]
    category_weight: NDArray[np.float64]
    net_load_lb_ft2: NDArray[np.float64]
    characteristic_1_ft: NDArray[np.float64]
    bulk_density_lb_ft3: NDArray[np.float64]
    packing_ratio: NDArray[np.float64]
    relative_packing_ratio: NDArray[np.float64]

    @property
    def characteristic_surface_to_volume_1_m(self) -> NDArray[np.float64]:
        """Surface to volume ratio of the whole bed [1/m]."""
        return self.characteristic_1_ft * _PER_METRE


def cured_fraction_burgan(*, herb_moisture: Numbers) -> Numbers:
    """Share [-] of a dynamic model's herbs that has cured, from live herb moisture [fraction].

    ``T = -1.11 M + 1.33`` within 0 to 1: all cured at 30 %, none at 120 %.
    Source: Burgan 1979 as in Andrews 2018, RMRS-GTR-371 (from memory).

    >>> round(float(cured_fraction_burgan(herb_moisture=0.3)), 3)
    0.997
    """
    return np.clip(1.33 - 1.11 * np.asarray(herb_moisture), 0.0, 1.0)


def fuel_bed(*, fuel: FuelModel, cured_fraction: Numbers = 0.0) -> FuelBed:
    """The bed of a fuel model with this share of its herbs moved to dead [fraction, any shape].

    Static models keep their herbs live whatever the share. Raises StillwetError outside 0 to 1.
    Source: Rothermel 1972, INT-115, eqs. 53 to 74, as revised by Albini 1976 (from memory).
    """
    need_within("cured_fraction", cured_fraction, 0.0, 1.0, "fraction", "is it in percent?")
    cured = np.asarray(cured_fraction if fuel.is_dynamic else np.zeros_like(cured_fraction), float)
    load = _six_loads(fuel.load_kg_m2 * _LB_FT2, cured)
    ratio = _six_ratios(fuel.surface_to_volume_1_m * _PER_FOOT).reshape(-1, *[1] * cured.ndim)
    area = ratio * load / PARTICLE_DENSITY_LB_FT3
    category_area = np.stack([area[part].sum(axis=0) for part in _CATEGORIES])
    class_weight = np.concatenate(
        [_share(area[part], category_area[i]) for i, part in enumerate(_CATEGORIES)]
    )
    category_weight = category_area / category_area.sum(axis=0)
    category_ratio = np.stack([(class_weight * ratio)[part].sum(axis=0) for part in _CATEGORIES])
    characteristic = (category_weight * category_ratio).sum(axis=0)
    bulk_density = load.sum(axis=0) / (fuel.depth_m * _FEET)
    packing = bulk_density / PARTICLE_DENSITY_LB_FT3
    return FuelBed(
        load_lb_ft2=load,
        surface_to_volume_1_ft=ratio,
        class_weight=class_weight,
        category_weight=category_weight,
        net_load_lb_ft2=_net_load(load, ratio, class_weight),
        characteristic_1_ft=characteristic,
        bulk_density_lb_ft3=bulk_density,
        packing_ratio=packing,
        relative_packing_ratio=packing
        / optimum_packing_rothermel(characteristic_1_ft=characteristic),
    )


def optimum_packing_rothermel(*, characteristic_1_ft: Numbers) -> Numbers:
    """Packing ratio of the fastest reaction: ``3.348 sigma^-0.8189``, sigma in 1/ft.

    Source: Rothermel 1972, eq. 37 (from memory).
    """
    return 3.348 * np.asarray(characteristic_1_ft) ** -0.8189


def live_extinction_albini(
    *, bed: FuelBed, dead_moisture: NDArray[np.float64], dead_extinction: float
) -> NDArray[np.float64]:
    """Moisture [fraction] above which the live fuel does not burn, never under the dead limit.

    ``Mx = 2.9 W (1 - M'/Mx_dead) - 0.226``, W the ratio of fine dead to fine live load
    (dead weighted by exp(-138/sigma), live by exp(-500/sigma)), M' the fine dead moisture.
    dead_moisture has shape (4, ...). Source: Albini 1976, p. 89; Rothermel 1972, eq. 88 (from
    memory).
    """
    ratio, load = bed.surface_to_volume_1_ft, bed.load_lb_ft2
    fine_dead = load[DEAD] * np.exp(-138.0 / ratio[DEAD])
    fine_live = (load[LIVE] * np.exp(-500.0 / ratio[LIVE])).sum(axis=0)
    fine_moisture = (fine_dead * dead_moisture).sum(axis=0) / fine_dead.sum(axis=0)
    dead_to_live = _share(fine_dead.sum(axis=0), fine_live)
    limit = 2.9 * dead_to_live * (1.0 - fine_moisture / dead_extinction) - 0.226
    extinction: NDArray[np.float64] = np.maximum(limit, dead_extinction)
    return extinction


def _six_loads(loads: NDArray[np.float64], cured: NDArray[np.float64]) -> NDArray[np.float64]:
    still = np.ones_like(cured)
    herb = loads[_HERB]
    dead = [load * still for load in loads[:_HERB]]
    return np.stack([*dead, herb * cured, herb * (1.0 - cured), loads[_WOODY] * still])


def _six_ratios(ratios: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.array([*ratios[:_HERB], ratios[_HERB], ratios[_HERB], ratios[_WOODY]])


def _share(part: NDArray[np.float64], whole: NDArray[np.float64]) -> NDArray[np.float64]:
    """Part over whole, 0 where there is no whole (a bed without live fuel)."""
    return np.divide(part, whole, out=np.zeros(np.shape(part)), where=np.asarray(whole) > 0)


def _net_load(
    load: NDArray[np.float64], ratio: NDArray[np.float64], weight: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Mineral-free load [lb/ft2] of dead and live, each class weighted by its size class (g_ij)."""
    size = np.digitize(ratio.reshape(len(ratio)), _SIZE_EDGES)
    shared = np.zeros_like(weight)
    for part in _CATEGORIES:
        for row in range(part.start, part.stop):
            same = [other for other in range(part.start, part.stop) if size[other] == size[row]]
            shared[row] = weight[same].sum(axis=0)
    burning = shared * load * (1.0 - MINERAL_TOTAL)
    return np.stack([burning[part].sum(axis=0) for part in _CATEGORIES])
