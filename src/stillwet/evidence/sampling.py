"""Draws from a posterior: many short chains of elliptical slice sampling, side by side.

A move picks an ellipse through the present point and a draw of a normal *guide*, then a point on it
by slice sampling (Murray, Adams & MacKay 2010, AISTATS 9:541; with a fitted guide: Nishihara,
Murray & Adams 2014, J. Mach. Learn. Res. 15:2087). Nothing is tuned and no move is wasted; a poor
guide costs time, never truth. All chains move in one vectorised call.

Whether the chains have forgotten where they began is told by nested R-hat (Margossian, Hoffman,
Sountsov, Riou-Durand, Vehtari & Gelman 2024, Bayesian Analysis): groups of chains that share a
start are compared with each other.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
LogDensity = Callable[[Array], Array]  # points (M, d) -> log density (M,), up to a constant

MIXED_LIMIT = 1.1  # of nested R-hat: above it the draws still remember their start
CHAINS = 512
_GROUPS = 16  # of chains that share a start
_ROUNDS, _LEARN = 2, 6  # the guide is fitted twice, after so many moves
_WARM, _KEPT, _THIN = 16, 6, 2  # moves to forget the start; then every second of twelve is kept
_WIDER = 1.2  # the guide's variance over the spread it was fitted to
# A chain that finds nothing in so many tries stays where it is: the moves of any one number of
# tries are reversible by themselves, and a few stragglers would hold up all the others.
_MOST_TRIES = 8


@dataclass(frozen=True, slots=True)
class Draws:
    """Equally likely draws: points (M, d), and the two checks."""

    points: Array
    effective: float  # independent draws that would be as good, for the least well known direction
    mixed: float  # nested R-hat of the worst direction, 1 when all is forgotten

    @property
    def is_sound(self) -> bool:
        """True when the chains have forgotten their starts."""
        return self.mixed < MIXED_LIMIT


class _Guide:
    """A normal distribution: middle (d,) and covariance (d, d)."""

    def __init__(self, middle: Array, covariance: Array) -> None:
        size = covariance.shape[0]
        # Directions that are (numerically) flat get a little width.
        ridge = 1e-10 * float(np.trace(covariance)) / size
        self.middle = middle
        self.root = np.linalg.cholesky(covariance + ridge * np.eye(size))
        # Plain products with the inverse: a triangular solver starts threads for these few numbers.
        self._inverse = np.linalg.inv(self.root)

    def draw(self, count: int, random: np.random.Generator) -> Array:
        """Draws (count, d) about zero: without the middle."""
        drawn: Array = random.standard_normal((count, self.middle.size)) @ self.root.T
        return drawn

    def log_density(self, points: Array) -> Array:
        """Log density (M,), up to a constant."""
        standard = (points - self.middle) @ self._inverse.T
        density: Array = -0.5 * np.einsum("md,md->m", standard, standard)
        return density


def sample(
    log_density: LogDensity,
    middle: Array,
    covariance: Array,
    *,
    seed: int,
    chains: int = CHAINS,
) -> Draws:
    """Draws from ``log_density``, starting from a normal guess (d,), (d, d); same seed, same draws.

    ``chains`` is a multiple of 16; about 1.5 effective draws come of each. First every chain starts
    at its own draw of the guess, and the guide is fitted to where they get; then groups of chains
    start together, forget, and are kept.
    """
    random = np.random.default_rng(seed)
    guide = _Guide(middle, covariance)
    walk = _Chains(log_density, guide, guide.middle + guide.draw(chains, random), random)
    for _ in range(_ROUNDS):
        guide = _fitted(np.concatenate([walk.move() for _ in range(_LEARN)][_LEARN // 2 :]))
        walk = _Chains(log_density, guide, walk.points, random)
    starts = walk.points[random.choice(chains, _GROUPS, replace=False)]
    walk = _Chains(log_density, guide, np.repeat(starts, chains // _GROUPS, axis=0), random)
    for _ in range(_WARM):
        walk.move()
    kept = np.stack([walk.move() for _ in range(_KEPT * _THIN)][_THIN - 1 :: _THIN])
    return Draws(
        points=kept.reshape(-1, middle.size), effective=_effective(kept), mixed=_nested(kept)
    )


class _Chains:
    """Chains (C, d) that move together."""

    def __init__(
        self, log_density: LogDensity, guide: _Guide, start: Array, random: np.random.Generator
    ) -> None:
        self._log_density, self._guide, self._random = log_density, guide, random
        self.points = start
        self._height = self._heights(start)

    def _heights(self, points: Array) -> Array:
        """The target over the guide, in logarithms; impossible points lie below everything."""
        height = self._log_density(points) - self._guide.log_density(points)
        return np.where(np.isfinite(height), height, -np.inf)

    def move(self) -> Array:
        """Every chain to a fresh point on a fresh ellipse; returns the new points (C, d)."""
        count, random = self.points.shape[0], self._random
        centred, other = self.points - self._guide.middle, self._guide.draw(count, random)
        # A start that the target rules out has no height; any possible point is better.
        level = self._height + np.log(random.random(count))
        angle = np.asarray(2.0 * math.pi * random.random(count))
        low, high = angle - 2.0 * math.pi, angle.copy()
        points, height = self.points.copy(), self._height.copy()
        left = np.arange(count)
        for _ in range(_MOST_TRIES):
            turned = centred[left] * np.cos(angle[left])[:, None]
            turned += other[left] * np.sin(angle[left])[:, None] + self._guide.middle
            found = self._heights(turned)
            good = found > level[left]
            points[left[good]], height[left[good]] = turned[good], found[good]
            left = left[~good]
            if left.size == 0:
                break
            below = angle[left] < 0.0
            low[left[below]], high[left[~below]] = angle[left[below]], angle[left[~below]]
            angle[left] = low[left] + random.random(left.size) * (high[left] - low[left])
        self.points, self._height = points, height
        return points


def _fitted(points: Array) -> _Guide:
    """The guide with the points' mean and a little more than their spread."""
    spread = np.cov(points.T).reshape(points.shape[1], points.shape[1])
    return _Guide(points.mean(axis=0), _WIDER * spread)


def _nested(kept: Array) -> float:
    """Nested R-hat of draws (T, C, d), chains in groups: sqrt(1 + between/within), worst direction.

    Between: the variance of the groups' means. Within: that of a group's chains plus that inside a
    chain. With 16 chains a group, 1.03 is what draws without any memory give.
    """
    steps, chains, size = kept.shape
    grouped = kept.reshape(steps, _GROUPS, chains // _GROUPS, size)
    between = grouped.mean(axis=(0, 2)).var(axis=0, ddof=1)
    inside_group = grouped.mean(axis=0).var(axis=1, ddof=1).mean(axis=0)
    inside_chain = grouped.var(axis=0, ddof=1).mean(axis=(0, 1))
    return float(np.sqrt(1.0 + between / (inside_group + inside_chain)).max())


def _effective(kept: Array) -> float:
    """Effective number of draws (T, C, d): what the scatter of the chains' means amounts to."""
    chains = kept.shape[1]
    of_means = kept.mean(axis=0).var(axis=0, ddof=1)
    of_all = kept.reshape(-1, kept.shape[2]).var(axis=0, ddof=1)
    return float(chains * (of_all / of_means).min())


def weighted_quantile(values: Array, weights: Array, at: Array) -> Array:
    """Quantiles (Q, ...) of draws (M, ...) with weights (M,): midpoints of the weights' steps."""
    order = np.argsort(values, axis=0)
    ranked = np.take_along_axis(values, order, axis=0)
    share = weights[order]
    position = np.cumsum(share, axis=0) - 0.5 * share
    flat, where = ranked.reshape(ranked.shape[0], -1), position.reshape(ranked.shape[0], -1)
    found = np.stack([np.interp(at, where[:, i], flat[:, i]) for i in range(flat.shape[1])], -1)
    return found.reshape((np.size(at), *values.shape[1:]))
