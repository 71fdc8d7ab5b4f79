"""Trials made up from a known product, to see whether the fit gives the truth back.

The truth is drawn from the type's own prior, and so are the errors of the relations and the
scatter of the crew; readings are then taken with Student's t errors, as the fit supposes them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.products import RatioBasis
from stillwet.domain.trials import Trial
from stillwet.evidence.curve_model import (
    TAILS,
    CurveMembers,
    CurveModel,
    make_model,
    predicted,
    strength_of,
)
from stillwet.evidence.readings import (
    ERRORS,
    NOTHING,
    SLIDE_M,
    SLOUGH_S,
    Attempt,
    Method,
    Point,
    Points,
    floor_of,
    mixes_of,
)
from stillwet.evidence.written import reading_of
from stillwet.physics.product_types import ProductType

Array = NDArray[np.float64]

_WALL_DEG = 90.0


@dataclass(frozen=True, eq=False)
class Truth:
    """A made-up product and crew: deviates (1, size) of every unknown, and the curve's numbers."""

    model: CurveModel
    deviates: Array
    members: CurveMembers
    scatter: float


def draw_truth(kind: ProductType, *, seed: int) -> Truth:
    """A product of this type and a crew, drawn from the prior."""
    model = make_model(kind, tuple(Method))
    deviates = np.random.default_rng([seed, 0]).standard_normal((1, model.size))
    members, scatter = model.numbers(model.priors.values(deviates[:, : len(model.priors)]))
    return Truth(model, deviates, members, float(scatter[0]))


def take_reading(truth: Truth, attempt: Attempt, *, name: str, seed: int) -> Trial:
    """The trial that this crew would write down; the same seed, the same reading."""
    method = attempt.method
    row = [attempt.ratio, attempt.hardness_kg_m3, attempt.temperature_k, attempt.age_s]
    mix = mixes_of(np.array([row]))
    slide = SLIDE_M / SLOUGH_S if method is Method.SLOUGH else 0.0
    point = Point(name, 0, method, 0.0, tilt_deg=_WALL_DEG, slide_speed_m_s=slide)
    strength = strength_of(truth.members, mix)
    value = float(predicted(truth.members, Points(mix, (point,)), strength)[0, 0])
    relation = float(truth.model.relation_errors(truth.deviates, [method])[0, 0])
    scatter = truth.scatter * ERRORS[method].reading
    error = scatter * float(np.random.default_rng([seed, 1]).standard_t(TAILS))
    floor = floor_of(method)
    seen = (value * np.exp(relation) + floor) * np.exp(error) - floor
    seen = float(seen) if seen > NOTHING * floor else 1e-6
    return Trial(
        id=name,
        product_id="made-up",
        when_s=0.0,
        ratio=attempt.ratio,
        ratio_basis=RatioBasis.VOLUME
        if truth.model.kind.ratio_basis == "volume"
        else RatioBasis.MASS,
        water=f"{attempt.hardness_kg_m3:g}",
        hardness_kg_m3=attempt.hardness_kg_m3,
        water_temperature_k=attempt.temperature_k,
        age_s=attempt.age_s,
        readings=(reading_of(method, seen),),
    )


def attempts_over_label(
    kind: ProductType,
    *,
    count: int,
    methods: Sequence[Method],
    hardness_kg_m3: Sequence[float],
    seconds_old: float,
    temperature_k: float = 294.15,
) -> tuple[Attempt, ...]:
    """Equally spaced ratios over the label range; ways of reading and waters taken in turn."""
    low, high = kind.ratio_low.median, kind.ratio_high.median
    return tuple(
        Attempt(
            float(ratio),
            hardness_kg_m3[place % len(hardness_kg_m3)],
            temperature_k,
            seconds_old,
            methods[place % len(methods)],
        )
        for place, ratio in enumerate(np.linspace(low, high, count))
    )
