"""What is uncertain about a mix, drawn for the members: yield stress, wetting, consistency."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.job import Job
from stillwet.domain.products import CurveDraw
from stillwet.engine.members import draw_members
from stillwet.engine.mixing import MIX_DENSITY_KG_M3, Mix, make_mix
from stillwet.physics.product_types import Parameter, ProductType, product_type

Array = NDArray[np.float64]

_NORMAL_95 = 1.6448536269514722  # a type's interval should hold nine products in ten
_MOST = 64  # members of a mix: its quantiles ask for no more
BAND = (0.05, 0.95)
_OF_STRENGTH = (
    "hardness_kg_m3",
    "hardness_half_kg_m3",
    "hardness_exponent",
    "temperature_k",
    "hydration_time_s",
)
_OF_YIELD = (
    "coefficient_pa",
    "threshold",
    "exponent",
    "hardness_half_kg_m3",
    "hardness_exponent",
    "temperature_slope_per_k",
    "hydration_time_s",
)


@dataclass(frozen=True, eq=False)
class Curve:
    """Flow curves of a product in one water: one, or the members' in arrays (M,)."""

    yields: dict[str, Any]  # numbers of ``physics.rheology.yield_stress``, the water's among them
    flow_threshold: Any
    consistency_pa_s: Any  # at the threshold
    consistency_exponent: Any
    flow_index: Any

    def in_water(self, water: dict[str, float]) -> Curve:
        """The same product in another water: hardness_kg_m3 and temperature_k."""
        return replace(self, yields=self.yields | water)


@dataclass(frozen=True, eq=False)
class MixDraws:
    """One product in one water: its middle curve, and its members with how well each wets."""

    mix: Mix
    kind: ProductType
    middle: Curve
    members: Curve
    adhesion_pa: Array  # (M,)


@dataclass(frozen=True, eq=False)
class Flow:
    """Flow curves of some mixes, arrays of one shape: yield stress, consistency, index."""

    yield_pa: Array
    consistency_pa_s: Array
    index: Array


def draw_mix(job: Job) -> MixDraws:
    """The job's product in the hardest of its waters, seeded by the job.

    Where a plan took the crew's trials, the members are the curves that those leave possible.
    """
    mix = make_mix(job, draw_members(job))
    kind = product_type(name=job.product.product_type)
    if job.product.curves:
        return _tried_mix(mix, kind, job.product.curves)
    return _untried_mix(job, mix, kind)


def _untried_mix(job: Job, mix: Mix, kind: ProductType) -> MixDraws:
    """Yield stress as in the plan's members; adhesion and consistency over the type's intervals.

    Each stratum once, in an order of their own: nothing says that they go together.
    """
    factor = draw_members(job).yield_factor[:_MOST]
    middle = Curve(
        yields=mix.curve,
        flow_threshold=kind.yield_threshold.median,
        consistency_pa_s=kind.consistency_pa_s.median,
        consistency_exponent=kind.consistency_exponent.median,
        flow_index=kind.flow_index.median,
    )
    members = replace(
        middle,
        yields=mix.curve | {"coefficient_pa": mix.curve["coefficient_pa"] * factor},
        consistency_pa_s=_spread(kind.consistency_pa_s, job.seed, 2, factor.size),
    )
    adhesion = _spread(kind.adhesion_stress_pa, job.seed, 1, factor.size)
    return MixDraws(mix, kind, middle, members, adhesion)


def _tried_mix(mix: Mix, kind: ProductType, draws: tuple[CurveDraw, ...]) -> MixDraws:
    """The posterior's own members; the middle is the plan's curve with their median thickness."""
    own = {
        name: np.array([getattr(one, name) for one in draws])
        for name in (item.name for item in fields(CurveDraw))
    }
    thick = {
        "flow_threshold": own["threshold"],
        "consistency_pa_s": own["consistency_pa_s"],
        "consistency_exponent": own["consistency_exponent"],
        "flow_index": own["flow_index"],
    }
    water = {name: mix.curve[name] for name in ("hardness_kg_m3", "temperature_k")}
    middle = {name: float(np.median(each)) for name, each in thick.items()}
    return MixDraws(
        mix=mix,
        kind=kind,
        middle=Curve(yields=mix.curve, **middle),
        members=Curve(yields={name: own[name] for name in _OF_YIELD} | water, **thick),
        adhesion_pa=own["adhesion_pa"],
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


def ratio_at(curve: Curve, yield_pa: Array) -> Array:
    """The ratio with this yield stress [Pa]; infinite where there is none."""
    from stillwet.physics.rheology import ratio_for_yield

    return np.asarray(ratio_for_yield(yield_pa=yield_pa, **curve.yields))


def flow_at(curve: Curve, ratio: Array) -> Flow:
    """Flow curves at ratios that broadcast with the curve's members: (R, 1) or (M,)."""
    from stillwet.physics.rheology import consistency, effective_ratio, flow_index, yield_stress

    taken = {name: curve.yields[name] for name in _OF_STRENGTH}
    effective = np.asarray(effective_ratio(ratio=ratio, **taken))
    stiff = consistency(
        coefficient_pa_s=curve.consistency_pa_s,
        exponent=curve.consistency_exponent,
        temperature_k=curve.yields["temperature_k"],
        ratio=effective,
        threshold=curve.flow_threshold,
    )
    index = flow_index(ratio=effective, index_gel=curve.flow_index, threshold=curve.flow_threshold)
    return Flow(
        yield_pa=np.asarray(yield_stress(ratio=ratio, **curve.yields)),
        consistency_pa_s=np.asarray(stiff),
        index=np.asarray(index),
    )


def with_middle(draws: MixDraws) -> Curve:
    """The middle curve with the members behind it, as one set (1 + M,)."""
    size = draws.adhesion_pa.size

    def both(middle: Any, members: Any) -> Array:
        return np.concatenate([[middle], np.broadcast_to(members, size)])

    middle, members = draws.middle, draws.members
    others = [item.name for item in fields(Curve) if item.name != "yields"]
    return Curve(
        yields={name: both(one, members.yields[name]) for name, one in middle.yields.items()},
        **{name: both(getattr(middle, name), getattr(members, name)) for name in others},
    )


def cling_at(curve: Curve, tilt_deg: float, ratio: Array, adhesion_pa: Array) -> Array:
    """Thickest coat (R, M) that stays on a face at these ratios (R,), no safety."""
    from stillwet.physics.cling import cling_limit
    from stillwet.physics.rheology import yield_stress

    return np.asarray(
        cling_limit(
            yield_pa=yield_stress(ratio=ratio[:, None], **curve.yields),
            tilt_deg=tilt_deg,
            density_kg_m3=MIX_DENSITY_KG_M3,
            safety=1.0,
            adhesion_stress_pa=adhesion_pa,
        )
    )
