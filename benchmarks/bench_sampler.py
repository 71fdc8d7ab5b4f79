"""A peak and its curvature (Laplace) against the sampler: coverage, and whether weights mend it.

Run: ``python benchmarks/bench_sampler.py [PRODUCTS]``. Made-up products of all types in turn, eight
trials of each; how often a 90 % band of the yield stress at mid-label holds the truth. "Effective"
is the share of the peak's draws that is left once each is weighted by posterior over peak: below a
few per cent the weighted draws are a handful.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

from stillwet.domain.trials import Trial
from stillwet.evidence.curve_fit import Water, fit_curve, yields_at
from stillwet.evidence.curve_model import CurveMembers, make_model
from stillwet.evidence.kernel import densities_of
from stillwet.evidence.likelihood import Likelihood
from stillwet.evidence.readings import Method, points_of
from stillwet.physics.product_types import ProductType, product_type, product_type_names

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from made_up_trials import (
    Truth,
    attempts_over_label,
    draw_truth,
    take_reading,
)

Array = NDArray[np.float64]

WATERS = (0.05, 0.2)
ASKED = Water(WATERS[1], 294.15)
METHODS = (Method.COUPON, Method.SLUMP, Method.FUNNEL)
DRAWS, STARTS, STEP, FLATTEST = 4096, 3, 1e-3, 0.05


@dataclass(frozen=True, eq=False)
class Peak:
    """Draws of the normal at the peak, and the effective share of them after weighting."""

    members: CurveMembers
    effective: float


def trials_of(truth: Truth, seed: int) -> list[Trial]:
    """Eight trials, equally spaced over the label."""
    attempts = attempts_over_label(
        truth.model.kind, count=8, methods=METHODS, hardness_kg_m3=WATERS, seconds_old=14400.0
    )
    return [
        take_reading(truth, attempt, name=f"t{place}", seed=10_000_000 + 100 * seed + place)
        for place, attempt in enumerate(attempts)
    ]


def peak_of(trials: list[Trial], kind: ProductType, seed: int) -> Peak:
    """The best of three climbs, its curvature by differences, draws and their weights."""
    read = points_of(trials)
    likelihood = Likelihood(make_model(kind, read.methods), read)
    densities, random = densities_of(likelihood), np.random.default_rng(seed)

    def height(points: Array) -> Array:
        return np.asarray(np.sum(densities(np.atleast_2d(points)), axis=0))

    starts = likelihood.ridge.places(random.standard_normal((STARTS, likelihood.model.size)))

    def depth(point: Array) -> float:
        return -float(height(point)[0])

    climbs = [minimize(depth, one, method="BFGS") for one in starts]
    top = np.asarray(min(climbs, key=lambda climb: float(climb.fun)).x)
    bends, axes = np.linalg.eigh(curvature(height, top))
    normal = random.standard_normal((DRAWS, top.size))
    points = top + (normal / np.sqrt(np.maximum(bends, FLATTEST))) @ axes.T
    weight = height(points) + 0.5 * (normal**2).sum(axis=1)
    weight = np.exp(weight - weight.max())
    members = likelihood.model.numbers(likelihood.ridge.unfold(points)[1])[0]
    return Peak(members, float(weight.sum() ** 2 / (weight**2).sum()) / DRAWS)


def curvature(height: Callable[[Array], Array], top: Array) -> Array:
    """Minus the second derivatives of the log density at the peak."""
    size = top.size
    step = STEP * np.eye(size)
    found = np.zeros((size, size))
    for i in range(size):
        for j in range(i, size):
            corners = np.array(
                [top + a * step[i] + b * step[j] for a, b in ((1, 1), (1, -1), (-1, 1), (-1, -1))]
            )
            pp, pm, mp, mm = height(corners)
            found[i, j] = found[j, i] = -(pp - pm - mp + mm) / (4 * STEP**2)
    return found


def holds(members: CurveMembers, truth: Truth) -> bool:
    """Whether the 90 % band holds the truth."""
    at = np.array([truth.model.reference_ratio])
    low, high = np.quantile(yields_at(members, at, ASKED)[:, 0], (0.05, 0.95))
    return bool(low <= yields_at(truth.members, at, ASKED)[0, 0] <= high)


def main(count: int) -> None:
    """Print how often each kind of band holds the truth."""
    names, peaks, sampled, effective = product_type_names(), 0, 0, []
    for number in range(count):
        name = names[number % len(names)]
        kind, seed = product_type(name=name), number + 100_000 * names.index(name)
        truth = draw_truth(kind, seed=seed)
        trials = trials_of(truth, seed)
        with np.errstate(all="ignore"):
            peak = peak_of(trials, kind, seed)
            peaks += holds(peak.members, truth)
        sampled += holds(fit_curve(trials, kind, seed=seed, points=256).members, truth)
        effective.append(peak.effective)
    low, middle = np.quantile(effective, (0.05, 0.5))
    print(f"{count} products: 90 % bands hold the truth, peak {100 * peaks / count:.0f} %,")
    print(f"  sampler {100 * sampled / count:.0f} %; effective share of the weighted peak's draws")
    print(f"  {100 * middle:.1f} % (median), {100 * low:.1f} % (5 % point)")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 120)
