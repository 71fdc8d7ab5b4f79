"""Which ratio to set for a coat on a face, and the thickest coat the product can keep there."""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import median

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.assets import Surface
from stillwet.domain.job import Job
from stillwet.domain.products import Product, RatioBasis, WaterPoint
from stillwet.engine.members import Members
from stillwet.engine.verdicts import CONFIDENT

Array = NDArray[np.float64]

RATIO_STEP = 0.0005  # a twentieth of a percentage point: as fine as a dial is set
MIX_DENSITY_KG_M3 = 1000.0  # a mix is 95 to 99.5 % water


@dataclass(frozen=True, slots=True)
class Mix:
    """The product in this job's water. ``keep`` is how much of the median cling is counted on.

    It is the smaller of 1 / safety and the yield stress's own 10 % point over its median.
    ``curve`` and ``adhesion_pa`` are what the product's type says of water, warmth and wetting.
    """

    product: Product
    curve: dict[str, float]
    adhesion_pa: float
    keep: float


def hardest_water(job: Job) -> WaterPoint | None:
    """The water that a mix is reckoned in, so that it is thick enough in every other."""
    return max(job.water_points, key=lambda point: point.hardness_kg_m3, default=None)


def make_mix(job: Job, members: Members) -> Mix:
    """The mix in the hardest of the job's waters, at that water's temperature."""
    from stillwet.physics.product_types import product_type

    water = hardest_water(job)
    low_yield = float(np.quantile(members.yield_factor, 1.0 - CONFIDENT))
    product = job.product
    kind = product_type(name=product.product_type)
    return Mix(
        product=product,
        curve={
            "coefficient_pa": product.yield_coefficient_pa,
            "threshold": product.yield_threshold,
            "exponent": product.yield_exponent,
            "hardness_kg_m3": 0.0 if water is None else water.hardness_kg_m3,
            "hardness_half_kg_m3": product.hardness_half_kg_m3,
            "temperature_k": 293.15 if water is None else water.water_temperature_k,
            "hardness_exponent": kind.hardness_exponent.median,
            "temperature_slope_per_k": kind.temperature_slope_per_k.median,
            "hydration_time_s": kind.hydration_time_s.median,
        },
        adhesion_pa=_adhesion_pa(product, kind.adhesion_stress_pa.median),
        keep=min(1.0 / job.practice.cling_safety, low_yield),
    )


def _adhesion_pa(product: Product, of_type: float) -> float:
    """Where the mix stops wetting a face: what trials make of it, or the type's default."""
    return median(one.adhesion_pa for one in product.curves) if product.curves else of_type


def yield_at(mix: Mix, ratio: Array) -> Array:
    """Median yield stress [Pa] of the mix at these ratios."""
    from stillwet.physics.rheology import yield_stress

    return np.asarray(yield_stress(ratio=ratio, **mix.curve))


def _ratio_at(mix: Mix, yield_pa: Array) -> Array:
    from stillwet.physics.rheology import ratio_for_yield

    return np.asarray(ratio_for_yield(yield_pa=yield_pa, **mix.curve))


def cling_median(mix: Mix, surfaces: tuple[Surface, ...], ratio: Array) -> Array:
    """Thickest coat (S,) that stays at these ratios (S,) at median yield stress, no safety."""
    from stillwet.physics.cling import cling_limit

    return np.asarray(
        cling_limit(
            yield_pa=yield_at(mix, ratio),
            tilt_deg=np.array([face.tilt_deg for face in surfaces]),
            density_kg_m3=MIX_DENSITY_KG_M3,
            safety=1.0,
            adhesion_stress_pa=mix.adhesion_pa,
        )
    )


def best_ratio(mix: Mix, count: int) -> Array:
    """The ratio on the label that clings thickest (S,): its highest, unless too stiff to wet.

    Beyond the adhesion limit a richer mix falls off (common practice, no source).
    """
    stiffest = _ratio_at(mix, np.full(count, mix.adhesion_pa))
    stepped = np.floor(stiffest / RATIO_STEP + 1e-9) * RATIO_STEP
    stepped = np.where(np.isfinite(stepped), stepped, mix.product.ratio_high)
    return np.clip(stepped, mix.product.ratio_low, mix.product.ratio_high)


def ratio_for(mix: Mix, surfaces: tuple[Surface, ...], coat: Array) -> Array:
    """The lowest ratio on the label (S,) that keeps these mean coats, up to the dial's step.

    A coat that even the highest ratio does not keep gets the highest ratio.
    """
    from stillwet.physics.cling import yield_needed

    needed = yield_needed(
        coat_kg_m2=coat / mix.keep,
        tilt_deg=np.array([face.tilt_deg for face in surfaces]),
        density_kg_m3=MIX_DENSITY_KG_M3,
        safety=1.0,
        adhesion_stress_pa=mix.adhesion_pa,
    )
    stepped = np.ceil(_ratio_at(mix, np.asarray(needed)) / RATIO_STEP - 1e-9) * RATIO_STEP
    best = best_ratio(mix, coat.size)
    return np.clip(np.where(np.isfinite(stepped), stepped, best), mix.product.ratio_low, best)


def concentrate_share(product: Product, ratio: float) -> float:
    """Volume of concentrate per volume of finished mix (powders by bulk volume)."""
    if product.ratio_basis is RatioBasis.VOLUME:
        return ratio
    return ratio * MIX_DENSITY_KG_M3 / product.density_kg_m3


def water_share(product: Product, ratio: float) -> float:
    """Volume of water per volume of finished mix; a powder takes up no volume worth counting."""
    return 1.0 - ratio if product.ratio_basis is RatioBasis.VOLUME else 1.0


def packs_for(product: Product, concentrate_m3: float) -> int:
    """Whole packs that hold this much concentrate."""
    return math.ceil(concentrate_m3 / product.pack_m3 - 1e-9)
