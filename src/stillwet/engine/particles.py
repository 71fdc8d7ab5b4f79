"""A particle filter: equally likely cases of what is not known, given what was seen.

Each particle is a draw of independent standard normals and of one member of the weather. The
evidence is let in by steps, each as large as leaves half of the particles effective (tempering; Del
Moral, Doucet & Jasra 2006, J. R. Stat. Soc. B 68:411); after each step particles are drawn again by
weight and moved, so that they stay apart (resample-move; Gilks & Berzuini 2001, J. R. Stat. Soc. B
63:127). A move turns a particle some way towards a fresh draw and keeps the normals normal
whatever their number (preconditioned Crank-Nicolson; Cotter, Roberts, Stuart & White 2013, Stat.
Sci. 28:424), in all directions or in some of them. The order of the evidence plays no part.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Whole = NDArray[np.int64]
Evidence = Callable[[Array, Whole], Array]  # normals (N, d), members (N,) -> log likelihood (N,)

COUNT = 1024
_MOVES, _LAST_MOVES = 10, 25
_OTHER_MEMBER = 0.25  # share of moves that also try another member of the weather
_SOME = 0.3  # share of directions in a move that leaves the others alone
_WANTED = 0.3  # share of moves that should succeed
_SMALLEST_TURN, _LARGEST_TURN = 0.02, 0.98
_HALVINGS = 40


@dataclass(frozen=True, eq=False)
class Particles:
    """Equally likely cases: standard normals (N, d) and members of the weather (N,)."""

    normal: Array
    member: Whole
    steps: int  # in which the evidence was let in


def filter_particles(
    evidence: Evidence,
    *,
    dimensions: int,
    member_weights: Array,
    seed: int,
    count: int = COUNT,
) -> Particles:
    """The cases given the evidence; ``member_weights`` (M,) are the members' own, before it."""
    random = np.random.default_rng(seed)
    cloud = _Cloud(evidence, dimensions, member_weights, random, count)
    share, steps = 0.0, 0
    while share < 1.0:
        step = _step(cloud.likelihood, 1.0 - share)
        share = 1.0 if step >= 1.0 - share else share + step
        cloud.draw_again(np.exp(step * (cloud.likelihood - cloud.likelihood.max())))
        for _ in range(_LAST_MOVES if share >= 1.0 else _MOVES):
            cloud.move(share)
        steps += 1
    return Particles(cloud.normal, cloud.member, steps)


def _step(likelihood: Array, most: float) -> float:
    """The largest step that leaves half of the particles effective."""
    above = likelihood - likelihood.max()

    def effective(step: float) -> float:
        weights = np.exp(step * above)
        return float(weights.sum() ** 2 / (weights**2).sum() / weights.size)

    if effective(most) >= 0.5:
        return most
    low, high = 0.0, most
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if effective(middle) >= 0.5 else (low, middle)
    return high


def evenly_drawn(weights: Array, count: int, random: np.random.Generator) -> Whole:
    """Indices drawn by weight, each as often as its weight says to within one (systematic)."""
    ladder = np.cumsum(weights)
    places = (np.arange(count) + random.random()) / count * ladder[-1]
    found = np.minimum(np.searchsorted(ladder, places), weights.size - 1)
    return np.asarray(found, dtype=np.int64)


class _Cloud:
    """The particles while the evidence is let in."""

    def __init__(
        self,
        evidence: Evidence,
        dimensions: int,
        member_weights: Array,
        random: np.random.Generator,
        count: int,
    ) -> None:
        self._evidence, self._random = evidence, random
        self._shares = member_weights / member_weights.sum()
        self._turn = 0.5
        self.normal: Array = random.standard_normal((count, dimensions))
        self.member = random.permutation(evenly_drawn(self._shares, count, random))
        self.likelihood = evidence(self.normal, self.member)

    def draw_again(self, weights: Array) -> None:
        """As many particles, drawn by weight."""
        chosen = evenly_drawn(weights, weights.size, self._random)
        self.normal, self.member = self.normal[chosen], self.member[chosen]
        self.likelihood = self.likelihood[chosen]

    def move(self, share: float) -> None:
        """One move of every particle, with this share of the evidence let in."""
        random, count = self._random, self.member.size
        turned = np.sqrt(1.0 - self._turn**2) * self.normal
        turned += self._turn * random.standard_normal(self.normal.shape)
        if random.random() < 0.5:
            turned = np.where(random.random(self.normal.shape) < _SOME, turned, self.normal)
        other = random.choice(self._shares.size, size=count, p=self._shares)
        member = np.where(random.random(count) < _OTHER_MEMBER, other, self.member)
        likelihood = self._evidence(turned, member)
        good = np.log(random.random(count)) < share * (likelihood - self.likelihood)
        self.normal = np.where(good[:, None], turned, self.normal)
        self.member = np.where(good, member, self.member)
        self.likelihood = np.where(good, likelihood, self.likelihood)
        grown = self._turn * float(np.exp(good.mean() - _WANTED))
        self._turn = min(_LARGEST_TURN, max(_SMALLEST_TURN, grown))
