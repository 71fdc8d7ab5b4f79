"""The trial that is worth most: the one expected to narrow the mix window furthest.

What a further reading would do is reckoned without another fit: the members already say what would
be read in each case and how likely, so each thinkable outcome is a re-weighting of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwet.evidence.curve_fit import CurveFit, Water, lowest_working_ratio, prior_members
from stillwet.evidence.curve_model import (
    TAILS,
    CurveMembers,
    make_model,
    predicted,
    strength_of,
)
from stillwet.evidence.readings import (
    ERRORS,
    SLIDE_M,
    SLOUGH_S,
    Attempt,
    Method,
    Point,
    Points,
    floor_of,
    mixes_of,
)
from stillwet.physics.product_types import ProductType

Array = NDArray[np.float64]

BAND = (0.05, 0.95)
_MEMBERS, _OUTCOMES = 1024, 128
_CHUNK = 16  # attempts weighed at a time: keeps the arrays small


@dataclass(frozen=True, eq=False)
class Belief:
    """What is believed of a product and a crew, by draws (M,) that belong together row by row.

    ``relation`` (M, methods) holds the logarithm of each published relation's error, in the order
    of ``Method``.
    """

    kind: ProductType
    members: CurveMembers
    scatter: Array
    relation: Array


@dataclass(frozen=True, slots=True)
class Question:
    """What the mix window asks: the lowest ratio with this yield stress in this water.

    ``most`` caps the ratio for members that would need more than anybody mixes.
    """

    water: Water
    stress_pa: float
    most: float


@dataclass(frozen=True, slots=True)
class Proposal:
    """One trial that could be made next, and how wide the band is expected to be after it."""

    attempt: Attempt
    width: float  # of the 90 % band of the lowest working ratio, expected
    width_now: float
    reading_low: float  # 90 % band of what will be read: stress [Pa] or viscosity [Pa s]
    reading_high: float

    @property
    def saved(self) -> float:
        """Share of the band that this trial is expected to take away."""
        return 1.0 - self.width / self.width_now if self.width_now > 0.0 else 0.0


def belief_of(fit: CurveFit, *, seed: int) -> Belief:
    """What is believed after a fit. Ways of reading not used yet keep their stated errors."""
    model, points = fit.model, fit.draws.points
    keep = np.random.default_rng(seed).permutation(points.shape[0])[:_MEMBERS]
    deviates = np.random.default_rng([seed, 1]).standard_normal((keep.size, len(Method)))
    for place, method in enumerate(Method):
        if method in model.methods:
            column = len(model.priors) + model.methods.index(method)
            deviates[:, place] = points[keep, column]
    scatter = model.priors.priors[model.scatter_place].value(points[keep, model.scatter_place])
    return Belief(model.kind, fit.members.at(keep), scatter, deviates * _relation_sizes())


def belief_before(kind: ProductType, *, seed: int) -> Belief:
    """What is believed of a product of this type before any trial."""
    model = make_model(kind, ())
    deviates = np.random.default_rng([seed, 1]).standard_normal((_MEMBERS, len(Method)))
    scatter = np.random.default_rng([seed, 2]).standard_normal(_MEMBERS)
    return Belief(
        kind,
        prior_members(kind, _MEMBERS, seed),
        model.priors.priors[model.scatter_place].value(scatter),
        deviates * _relation_sizes(),
    )


def _relation_sizes() -> Array:
    return np.array([ERRORS[method].relation for method in Method])


def rank_trials(
    belief: Belief, attempts: Sequence[Attempt], question: Question, *, seed: int
) -> tuple[Proposal, ...]:
    """The attempts by expected width of the band, best first; the same seed, the same order.

    For each attempt some members are taken for the truth in turn and a reading is drawn from each;
    every member is then weighted by how likely that reading is under it.
    """
    target = lowest_working_ratio(
        belief.members, question.water, stress_pa=question.stress_pa, most=question.most
    )
    order = np.argsort(target, kind="stable")
    ranked = target[order]
    now = width_of(target)
    expected, spread = _expected_readings(belief, attempts)
    random = np.random.default_rng([seed, 3])
    count = target.size
    true = random.permutation(count)[: min(_OUTCOMES, count)]
    noise = random.standard_t(TAILS, true.size)
    found: list[Proposal] = []
    for start in range(0, len(attempts), _CHUNK):
        chosen = slice(start, start + _CHUNK)
        x, s = expected[:, chosen], spread[:, chosen]
        seen = x[true] + s[true] * noise[:, None]
        widths = _widths(seen, x[order], s[order], ranked)
        found += [
            _proposal(attempts[start + place], float(width), now, seen[:, place])
            for place, width in enumerate(widths)
        ]
    return tuple(sorted(found, key=lambda one: one.width))


def width_of(target: Array) -> float:
    """Width of the 90 % band of the lowest working ratio (M,), in ratio."""
    low, high = np.quantile(target, BAND)
    return float(high - low)


def _expected_readings(belief: Belief, attempts: Sequence[Attempt]) -> tuple[Array, Array]:
    """Logarithm (M, N) of what each attempt would show, and its scatter (M, N)."""
    rows = np.array([[a.ratio, a.hardness_kg_m3, a.temperature_k, a.age_s] for a in attempts])
    mixes = mixes_of(rows)
    points = tuple(
        Point("", place, attempt.method, 0.0, slide_speed_m_s=_slide_of(attempt.method))
        for place, attempt in enumerate(attempts)
    )
    strength = strength_of(belief.members, mixes)
    plain = predicted(belief.members, Points(mixes, points), strength)
    ways = list(Method)
    column = [ways.index(attempt.method) for attempt in attempts]
    floor = np.array([floor_of(attempt.method) for attempt in attempts])
    usual = np.array([ERRORS[attempt.method].reading for attempt in attempts])
    expected = np.log(plain * np.exp(belief.relation[:, column]) + floor)
    return expected, belief.scatter[:, None] * usual


def _slide_of(method: Method) -> float:
    return SLIDE_M / SLOUGH_S if method is Method.SLOUGH else 0.0


def _widths(seen: Array, expected: Array, spread: Array, ranked: Array) -> Array:
    """Expected width (N,) from outcomes (K, N) and members (M, N) in order of their target (M,)."""
    off = (seen[:, None, :] - expected) / spread
    weight = np.exp(-0.5 * (TAILS + 1.0) * np.log1p(off**2 / TAILS)) / spread
    share = np.cumsum(weight, axis=1)
    share /= share[:, -1:, :]
    low, high = (ranked[np.argmax(share >= at, axis=1)] for at in BAND)
    return np.asarray((high - low).mean(axis=0))


def _proposal(attempt: Attempt, width: float, now: float, seen: Array) -> Proposal:
    low, high = np.quantile(seen, BAND)
    floor = floor_of(attempt.method)
    shown = [max(float(np.exp(value)) - floor, 0.0) for value in (low, high)]
    return Proposal(attempt, width, now, *shown)


def attempts_of(
    *,
    ratios: tuple[float, float],
    waters: Sequence[tuple[float, float]],
    methods: Sequence[Method],
    age_s: float,
    count: int = 12,
    step: float = 0.0005,
) -> tuple[Attempt, ...]:
    """Every trial worth thinking of: ratios between two, on the dial's steps, in some waters.

    ``waters`` are hardness [kg/m3] and temperature [K].
    """
    low, high = ratios
    spaced = np.unique(np.round(np.linspace(low, high, count) / step)) * step
    return tuple(
        Attempt(float(ratio), hardness, temperature, age_s, method)
        for ratio in spaced
        if ratio > 0.0
        for hardness, temperature in waters
        for method in methods
    )


LITTLE = 0.05  # of the band: less than this is not worth a bucket


def reason_for(best: Proposal, question: Question) -> str:
    """Why this trial, in plain words."""
    now, then = (f"{100.0 * width:.2f}" for width in (best.width_now, best.width))
    hard = 1000.0 * question.water.hardness_kg_m3
    if best.width_now == 0.0:
        return (
            f"All that is still possible agrees: in water of {hard:.0f} mg/L no ratio up to "
            f"{100.0 * question.most:.2f} % keeps the coat asked for. Ask for a thinner coat or "
            "use softer water."
        )
    if best.saved < LITTLE:
        return (
            f"The 90 % band of the lowest working ratio is {now} points wide, and no single trial "
            f"is expected to narrow it by more than {100.0 * max(best.saved, 0.0):.0f} %: what is "
            "left is the error of the readings themselves. If more is wanted, repeat what was done "
            "with another way of reading."
        )
    return (
        f"Here what is still possible differs most: the reading is expected to bring the 90 % band "
        f"of the lowest working ratio in water of {hard:.0f} mg/L from {now} to {then} points."
    )
