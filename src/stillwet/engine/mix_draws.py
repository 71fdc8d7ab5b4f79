"""What is uncertain about a mix, drawn for the members: yield stress, wetting, consistency."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.job import Job
from stillwet.engine.members import draw_members
from stillwet.engine.mixing import MIX_DENSITY_KG_M3, Mix, make_mix, yield_at
from stillwet.physics.product_types import Parameter, ProductType, product_type

Array = NDArray[np.float64]

_NORMAL_95 = 1.6448536269514722  # a type's interval should hold nine products in ten
_MOST = 64  # members of a mix: its quantiles ask for no more
BAND = (0.05, 0.95)


@dataclass(frozen=True, eq=False)
class MixDraws:
    """One product in one water with its members; arrays are (M,)."""

    mix: Mix
    kind: ProductType
    yield_factor: Array
    adhesion_pa: Array
    consistency_factor: Array


@dataclass(frozen=True, eq=False)
class Flow:
    """Flow curves of some mixes, arrays of one shape: yield stress, consistency, index."""

    yield_pa: Array
    consistency_pa_s: Array
    index: Array


def draw_mix(job: Job) -> MixDraws:
    """The job's product in the hardest of its waters, seeded by the job.

    Yield stress as in the plan's members. Adhesion and consistency are spread over the type's
    intervals, each stratum once, in an order of their own: nothing says that they go together.
    """
    members = draw_members(job)
    kind = product_type(name=job.product.product_type)
    factor = members.yield_factor[:_MOST]
    return MixDraws(
        mix=make_mix(job, members),
        kind=kind,
        yield_factor=factor,
        adhesion_pa=_spread(kind.adhesion_stress_pa, job.seed, 1, factor.size),
        consistency_factor=_spread(kind.consistency_pa_s, job.seed, 2, factor.size)
        / kind.consistency_pa_s.median,
    )


def _spread(parameter: Parameter, seed: int, stream: int, count: int) -> Array:
    """Log-normal on each side of the median, its interval the 5 and 95 % points."""
    from scipy.special import ndtri

    order = np.random.default_rng([seed, stream]).permutation(count)
    normal = np.asarray(ndtri((order + 0.5) / count))
    below = math.log(parameter.median / parameter.low) / _NORMAL_95
    above = math.log(parameter.high / parameter.median) / _NORMAL_95
    return np.asarray(
        parameter.median * np.exp(np.where(normal < 0.0, normal * below, normal * above))
    )


def ratio_at(mix: Mix, yield_pa: Array) -> Array:
    """The ratio with this median yield stress [Pa]; infinite where there is none."""
    from stillwet.physics.rheology import ratio_for_yield

    return np.asarray(ratio_for_yield(yield_pa=yield_pa, **mix.curve))


def effective_at(mix: Mix, ratio: Array) -> Array:
    """The ratio that would do the same in soft water."""
    from stillwet.physics.rheology import effective_ratio

    taken = (
        "hardness_kg_m3",
        "hardness_half_kg_m3",
        "hardness_exponent",
        "temperature_k",
        "hydration_time_s",
    )
    return np.asarray(effective_ratio(ratio=ratio, **{name: mix.curve[name] for name in taken}))


def flow_at(draws: MixDraws, ratio: Array, yield_factor: Array, consistency_factor: Array) -> Flow:
    """Flow curves at ratios (R,) or (M,), for factors that broadcast with them."""
    from stillwet.physics.rheology import consistency, flow_index

    kind, mix = draws.kind, draws.mix
    effective, threshold = effective_at(mix, ratio), kind.yield_threshold.median
    stiff = consistency(
        coefficient_pa_s=kind.consistency_pa_s.median * consistency_factor,
        exponent=kind.consistency_exponent.median,
        temperature_k=mix.curve["temperature_k"],
        ratio=effective,
        threshold=threshold,
    )
    return Flow(
        yield_pa=np.asarray(yield_at(mix, ratio) * yield_factor),
        consistency_pa_s=np.asarray(stiff),
        index=np.asarray(
            flow_index(ratio=effective, index_gel=kind.flow_index.median, threshold=threshold)
        ),
    )


def cling_at(draws: MixDraws, tilt_deg: float, ratio: Array) -> Array:
    """Thickest coat (R, M) that stays on a face at these ratios (R,), no safety."""
    from stillwet.physics.cling import cling_limit

    return np.asarray(
        cling_limit(
            yield_pa=yield_at(draws.mix, ratio)[:, None] * draws.yield_factor[None, :],
            tilt_deg=tilt_deg,
            density_kg_m3=MIX_DENSITY_KG_M3,
            safety=1.0,
            adhesion_stress_pa=draws.adhesion_pa[None, :],
        )
    )
