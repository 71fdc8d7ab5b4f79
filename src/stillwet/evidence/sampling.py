"""Draws from a posterior: many points walk from the prior to it, side by side.

The readings are let in bit by bit (sequential Monte Carlo: Del Moral, Doucet & Jasra 2006, J. R.
Stat. Soc. B 68:411): at each step the points are weighted by the little that the readings say more,
drawn anew by those weights, and moved. Chains that start at the likeliest point stay in its
neighbourhood and miss the long tails, where one product in twenty belongs; points that come from
the prior arrive there in their right number.

A move picks an ellipse through the present point and a draw of a *guide* fitted to the points, then
a point on it by slice sampling (Murray, Adams & MacKay 2010, AISTATS 9:541; with a fitted Student's
t: Nishihara, Murray & Adams 2014, J. Mach. Learn. Res. 15:2087). Nothing is tuned and no move is
wasted; a poor guide costs time, never truth.

Several populations walk apart from each other. That they arrive at the same place is told by
nested R-hat (Margossian, Hoffman, Sountsov, Riou-Durand, Vehtari & Gelman 2024, Bayesian Analysis).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
# Points (M, d) -> log prior and log likelihood (M,) each, up to constants.
LogDensities = Callable[[Array], tuple[Array, Array]]

MIXED_LIMIT = 1.1  # of nested R-hat: above it the populations have not arrived at one place
POINTS = 1024
POPULATIONS = 4
_KEEP = 0.5  # effective share of the points that each step leaves
_MOVES = 3  # after each step
_KEPT, _THIN = 6, 2  # at the end every second of twelve moves is kept
_MOST_STEPS = 60
_TAILS = 4.0  # degrees of freedom of the guide
_WIDER = 1.2  # the guide's variance over the spread it was fitted to
# A point that finds nothing in so many tries stays where it is: the moves of any one number of
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
        """True when the populations have arrived at the same place."""
        return self.mixed < MIXED_LIMIT


class _Guide:
    """A Student's t distribution: middle (d,), covariance (d, d) of its normal core.

    Heavy tails, because the posterior has them.
    """

    def __init__(self, middle: Array, covariance: Array) -> None:
        size = covariance.shape[0]
        # Directions that are (numerically) flat get a little width.
        ridge = 1e-10 * float(np.trace(covariance)) / size
        self.middle = middle
        self.root = np.linalg.cholesky(covariance + ridge * np.eye(size))
        self._size = size
        # Plain products with the inverse: a triangular solver starts threads for these few numbers.
        self._inverse = np.linalg.inv(self.root)

    def draw(self, count: int, random: np.random.Generator) -> Array:
        """Draws (count, d) about zero: without the middle."""
        drawn: Array = random.standard_normal((count, self.middle.size)) @ self.root.T
        return drawn

    def scales(self, points: Array, random: np.random.Generator) -> Array:
        """Widths (M, 1) of the normal that each point may have come from (inverse gamma)."""
        shape = 0.5 * (_TAILS + self._size)
        rate = 0.5 * (_TAILS + self._squared(points))
        return np.asarray(np.sqrt(rate / random.gamma(shape, size=rate.size)))[:, None]

    def log_density(self, points: Array) -> Array:
        """Log density (M,), up to a constant."""
        away = np.log1p(self._squared(points) / _TAILS)
        return np.asarray(-0.5 * (_TAILS + self._size) * away)

    def _squared(self, points: Array) -> Array:
        """Squared distance (M,) from the middle, in the core's own widths."""
        standard = (points - self.middle) @ self._inverse.T
        squared: Array = np.einsum("md,md->m", standard, standard)
        return squared


def sample(log_densities: LogDensities, start: Array, *, seed: int) -> Draws:
    """Draws from prior times likelihood, starting from draws (M, d) of the prior.

    M is a multiple of ``POPULATIONS``; about 1.5 effective draws come of each point. The same seed,
    the same draws.
    """
    random = np.random.default_rng(seed)
    walk = _Walk(log_densities, start, random)
    for _ in range(_MOST_STEPS):
        if walk.share >= 1.0:
            break
        walk.let_in()
        for _ in range(_MOVES):
            walk.move()
    kept = np.stack([walk.move() for _ in range(_KEPT * _THIN)][_THIN - 1 :: _THIN])
    return Draws(
        points=kept.reshape(-1, start.shape[1]), effective=_effective(kept), mixed=_nested(kept)
    )


class _Walk:
    """Points (M, d) that move together; ``share`` is how much of the readings they have heard."""

    def __init__(
        self, log_densities: LogDensities, start: Array, random: np.random.Generator
    ) -> None:
        self._log_densities, self._random = log_densities, random
        self.points, self.share = start, 0.0
        self._prior, self._likely = _finite(*log_densities(start))
        self._guide = _fitted(start)

    def let_in(self) -> None:
        """Hear as much more of the readings as leaves half the points worth keeping."""
        more = _largest_step(self._likely, 1.0 - self.share)
        self.share = 1.0 if more >= 1.0 - self.share else self.share + more
        weight = _weights(more * self._likely)
        chosen = np.concatenate(
            [
                first + _drawn(weight[first : first + each], self._random)
                for first, each in self._populations()
            ]
        )
        self.points = self.points[chosen]
        self._prior, self._likely = self._prior[chosen], self._likely[chosen]
        self._guide = _fitted(self.points)

    def _populations(self) -> list[tuple[int, int]]:
        """First point and size of each population."""
        each = self.points.shape[0] // POPULATIONS
        return [(place * each, each) for place in range(POPULATIONS)]

    def move(self) -> Array:
        """Every point to a fresh place on a fresh ellipse; returns the new points (M, d)."""
        count, random, guide = self.points.shape[0], self._random, self._guide
        centred = self.points - guide.middle
        other = guide.draw(count, random) * guide.scales(self.points, random)
        height = self._prior + self.share * self._likely - guide.log_density(self.points)
        level = height + np.log(random.random(count))
        angle = np.asarray(2.0 * math.pi * random.random(count))
        low, high = angle - 2.0 * math.pi, angle.copy()
        self.points = self.points.copy()
        left = np.arange(count)
        for _ in range(_MOST_TRIES):
            turned = centred[left] * np.cos(angle[left])[:, None]
            turned += other[left] * np.sin(angle[left])[:, None] + guide.middle
            prior, likely = _finite(*self._log_densities(turned))
            good = prior + self.share * likely - guide.log_density(turned) > level[left]
            moved = left[good]
            self.points[moved] = turned[good]
            self._prior[moved], self._likely[moved] = prior[good], likely[good]
            left = left[~good]
            if left.size == 0:
                break
            below = angle[left] < 0.0
            low[left[below]], high[left[~below]] = angle[left[below]], angle[left[~below]]
            angle[left] = low[left] + random.random(left.size) * (high[left] - low[left])
        return self.points


_IMPOSSIBLE = -1e300  # lies below everything, yet can be reckoned with


def _finite(prior: Array, likely: Array) -> tuple[Array, Array]:
    """Impossible points lie below everything."""
    return (
        np.where(np.isfinite(prior), prior, _IMPOSSIBLE),
        np.where(np.isfinite(likely), likely, _IMPOSSIBLE),
    )


def _weights(log_weight: Array) -> Array:
    return np.asarray(np.exp(log_weight - log_weight.max()))


def _largest_step(likely: Array, most: float) -> float:
    """The largest further share that leaves at least ``_KEEP`` of the points effective."""

    def kept(share: float) -> float:
        weight = _weights(share * likely)
        return float(weight.sum() ** 2 / (weight**2).sum()) / likely.size

    if kept(most) >= _KEEP:
        return most
    low, high = 0.0, most
    for _ in range(40):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if kept(middle) >= _KEEP else (low, middle)
    return high


def _drawn(weight: Array, random: np.random.Generator) -> NDArray[np.int64]:
    """Which points go on, by systematic resampling: each as often as its weight, to within one."""
    share = np.cumsum(weight) / weight.sum()
    at = (np.arange(weight.size) + random.random()) / weight.size
    return np.minimum(np.searchsorted(share, at), weight.size - 1).astype(np.int64)


def _fitted(points: Array) -> _Guide:
    """The guide with the points' mean and a little more than their spread."""
    spread = np.cov(points.T).reshape(points.shape[1], points.shape[1])
    return _Guide(points.mean(axis=0), _WIDER * spread)


def _nested(kept: Array) -> float:
    """Nested R-hat of draws (T, M, d), points in populations: sqrt(1 + between/within), the worst.

    Between: the variance of the populations' means. Within: that of a population's points plus that
    between the moves of a point.
    """
    steps, points, size = kept.shape
    grouped = kept.reshape(steps, POPULATIONS, points // POPULATIONS, size)
    between = grouped.mean(axis=(0, 2)).var(axis=0, ddof=1)
    inside_group = grouped.mean(axis=0).var(axis=1, ddof=1).mean(axis=0)
    inside_point = grouped.var(axis=0, ddof=1).mean(axis=(0, 1))
    return float(np.sqrt(1.0 + between / (inside_group + inside_point)).max())


def _effective(kept: Array) -> float:
    """Effective number of draws (T, M, d): what the scatter of the points' means amounts to."""
    chains = kept.shape[1]
    of_means = kept.mean(axis=0).var(axis=0, ddof=1)
    of_all = kept.reshape(-1, kept.shape[2]).var(axis=0, ddof=1)
    return float(chains * (of_all / of_means).min())
