"""A product's flow curve learnt from a crew's trials, in all its waters at once.

Draws of the prior are walked to the posterior while the readings are let in bit by bit (the
decision on trials says why not a hill-climb and its curvature alone).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.trials import Trial
from stillwet.errors import Problem, StillwetError
from stillwet.evidence.curve_model import (
    TAILS,
    CurveMembers,
    CurveModel,
    make_model,
    strength_of,
    yield_of,
)
from stillwet.evidence.likelihood import Likelihood
from stillwet.evidence.readings import Points, mixes_of, points_of
from stillwet.evidence.sampling import POINTS, Draws, sample
from stillwet.physics import rheology
from stillwet.physics.product_types import ProductType

Array = NDArray[np.float64]

OUTLIER_SCATTERS = 3.0  # a reading this many of the crew's own scatters off is flagged
_REPLICATES = 4000


@dataclass(frozen=True, eq=False)
class CurveFit:
    """What the trials say of one product's curve.

    ``members`` and ``draws`` belong together row by row, each row as likely as the next.
    ``off`` (N,) is how far each reading lies from the curve in this crew's scatters (posterior
    median; 0 for a bound that holds), ``odd`` whether it is flagged. ``predictive`` is the
    chance that readings made by the model itself would lie at least as far off as these do.
    """

    model: CurveModel
    read: Points
    draws: Draws
    members: CurveMembers
    scatter: float
    off: Array
    odd: NDArray[np.bool_]
    predictive: float

    @property
    def count(self) -> int:
        """How many readings it stands on."""
        return len(self.read.points)

    def quantiles(self, values: Array, at: tuple[float, ...] = (0.05, 0.5, 0.95)) -> Array:
        """Posterior quantiles (Q, ...) of something reckoned from the members (M, ...)."""
        return np.asarray(np.quantile(values, at, axis=0))


def fit_curve(
    trials: Iterable[Trial], kind: ProductType, *, seed: int = 1, points: int = POINTS
) -> CurveFit:
    """The posterior of the curve of a product of this type, given its trials.

    All waters are pooled: hardness, temperature and age act through the effective ratio, so a
    reading in one water speaks for the others as far as the hardness sensitivity is known. More
    ``points`` (a multiple of 4) give smoother quantiles. Raises StillwetError when there is no
    reading at all.
    """
    from stillwet.evidence.kernel import densities_of

    read = points_of(trials)
    if not read.points:
        raise StillwetError(Problem("trials", "at least one reading of a mix", "none"))
    model = make_model(kind, read.methods)
    likelihood = Likelihood(model, read)
    start = np.random.default_rng([seed, 0]).standard_normal((points, model.size))
    draws = sample(densities_of(likelihood), likelihood.ridge.places(start), seed=seed)
    held = likelihood.in_scatters(draws.points)
    members, scatter = model.numbers(likelihood.ridge.unfold(draws.points)[1])
    off = np.median(np.abs(held), axis=0)
    return CurveFit(
        model=model,
        read=read,
        draws=draws,
        members=members,
        scatter=float(np.median(scatter)),
        off=off,
        odd=off > OUTLIER_SCATTERS,
        predictive=_predictive(held, likelihood.bound == 0.0, seed),
    )


def _predictive(residuals: Array, is_free: NDArray[np.bool_], seed: int) -> float:
    """Posterior predictive chance of a worse misfit (Gelman, Meng & Stern 1996, Stat. Sinica 6).

    The misfit is the sum of ln(1 + r^2/nu). A replicate's residuals are Student's t whatever the
    curve, so they need no simulation of readings.
    """
    count = int(is_free.sum())
    if count == 0:
        return 1.0
    random = np.random.default_rng(seed)
    made = np.log1p(random.standard_t(TAILS, (_REPLICATES, count)) ** 2 / TAILS).sum(axis=1)
    seen = np.log1p(residuals[:, is_free] ** 2 / TAILS).sum(axis=1)
    worse = 1.0 - np.searchsorted(np.sort(made), seen) / _REPLICATES
    return float(worse.mean())


def posterior_members(fit: CurveFit, count: int, seed: int) -> CurveMembers:
    """Equally likely members of the posterior, each array (count,); the same seed, the same."""
    random = np.random.default_rng(seed)
    every = fit.draws.points.shape[0]
    if count <= every:
        return fit.members.at(random.permutation(every)[:count])
    return fit.members.at(random.integers(every, size=count))


def prior_members(kind: ProductType, count: int, seed: int) -> CurveMembers:
    """Members of what is believed before any trial, each array (count,)."""
    model = make_model(kind, ())
    return model.members(np.random.default_rng(seed).standard_normal((count, model.size)))


@dataclass(frozen=True, slots=True)
class Water:
    """The water and clock a question is asked for."""

    hardness_kg_m3: float
    temperature_k: float = rheology.REFERENCE_TEMPERATURE_K
    age_s: float = np.inf  # finished


def yields_at(members: CurveMembers, ratios: Array, water: Water) -> Array:
    """Yield stress (M, R) [Pa] of each member at some ratios (R,) in one water."""
    same = np.ones_like(ratios)
    mixes = mixes_of(
        np.stack(
            [
                ratios,
                water.hardness_kg_m3 * same,
                water.temperature_k * same,
                water.age_s * same,
            ],
            axis=1,
        )
    )
    effective = mixes.ratio * strength_of(members, mixes)[:, mixes.water]
    return yield_of(members, mixes, effective)


def lowest_working_ratio(
    members: CurveMembers, water: Water, *, stress_pa: float, most: float
) -> Array:
    """Lowest ratio (M,) whose yield stress holds the coat asked for; ``most`` where none does.

    stress_pa is coat times gravity times the safety factor; ``most`` caps what is asked of a
    member that would need a ratio beyond anything that is mixed.
    """
    found = rheology.ratio_for_yield(
        yield_pa=stress_pa,
        hardness_kg_m3=water.hardness_kg_m3,
        temperature_k=water.temperature_k,
        age_s=water.age_s,
        coefficient_pa=members.yield_coefficient_pa,
        threshold=members.yield_threshold,
        exponent=members.yield_exponent,
        hardness_half_kg_m3=members.hardness_half_kg_m3,
        hardness_exponent=members.hardness_exponent,
        hydration_time_s=members.hydration_time_s,
        temperature_slope_per_k=members.temperature_slope_per_k,
    )
    return np.asarray(np.minimum(found, most))
