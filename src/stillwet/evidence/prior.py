"""What is believed of a number before any trial: median and a 90 % interval, as one smooth curve.

Each uncertain number is a rising function of its own standard normal deviate ``z``. In ``z`` every
prior is the same bell, which is what the fitter works in.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwet.physics.product_types import Parameter

Array = NDArray[np.float64]

NORMAL_95 = 1.6448536269514722  # standard normal quantile at 0.95
_LEAST_SKEW = 1e-6  # too small to see, and spares every formula its limit
_LEAST_SIDE = 0.5  # of the wider side: a one-sided interval still gets room on the other


@dataclass(frozen=True, slots=True)
class Prior:
    """One number's prior; ``value(z)`` hits low, median and high at the 5, 50 and 95 % points.

    ``t = middle + scale*(exp(skew*z) - 1)/skew`` (a g-distribution, Tukey 1977: a shifted
    log-normal), and the value is ``t`` or ``exp(t)``, kept inside ``lowest`` and ``highest``.
    """

    name: str
    unit: str
    is_log: bool
    middle: float
    scale: float
    skew: float
    lowest: float = -math.inf
    highest: float = math.inf

    def value(self, deviate: Array) -> Array:
        """The number at a standard normal deviate, any shape."""
        grown = np.expm1(self.skew * deviate) / self.skew
        linear = self.middle + self.scale * grown
        return np.asarray(
            np.clip(np.exp(linear) if self.is_log else linear, self.lowest, self.highest)
        )

    def deviate_of(self, linear: Array) -> Array:
        """The deviate of a number, or of its logarithm; far out where the prior has no room for it.

        For priors without ends: the inverse of ``value``.
        """
        grown = (linear - self.middle) / self.scale
        return np.asarray(np.log(np.maximum(1.0 + self.skew * grown, 1e-9)) / self.skew)


def make_prior(
    name: str,
    unit: str,
    *,
    median: float,
    low: float,
    high: float,
    is_log: bool,
    lowest: float = -math.inf,
    highest: float = math.inf,
) -> Prior:
    """The prior with this median and 5 and 95 % points."""
    middle, bottom, top = (math.log(x) if is_log else x for x in (median, low, high))
    least = _LEAST_SIDE * max(top - middle, middle - bottom)
    above, below = max(top - middle, least), max(middle - bottom, least)
    skew = math.log(above / below) / NORMAL_95
    skew = skew if abs(skew) > _LEAST_SKEW else _LEAST_SKEW
    scale = above * skew / math.expm1(skew * NORMAL_95)
    return Prior(name, unit, is_log, middle, scale, skew, lowest, highest)


def prior_of(
    name: str, parameter: Parameter, *, is_log: bool = True, highest: float = math.inf
) -> Prior:
    """The prior of one row of the product types' table."""
    return make_prior(
        name,
        parameter.unit,
        median=parameter.median,
        low=parameter.low,
        high=parameter.high,
        is_log=is_log,
        highest=highest,
    )


class Priors:
    """Several priors at once, in a fixed order; the same numbers as one by one, sooner."""

    def __init__(self, priors: tuple[Prior, ...]) -> None:
        self.priors = priors
        self._is_log = np.array([prior.is_log for prior in priors])
        self._middle = np.array([prior.middle for prior in priors])
        self._skew = np.array([prior.skew for prior in priors])
        self._scale = np.array([prior.scale for prior in priors]) / self._skew
        self._lowest = np.array([prior.lowest for prior in priors])
        self._highest = np.array([prior.highest for prior in priors])

    def __len__(self) -> int:
        return len(self.priors)

    def values(self, deviates: Array) -> Array:
        """The numbers (M, P) at deviates (M, P)."""
        linear = self._middle + self._scale * np.expm1(self._skew * deviates)
        linear[:, self._is_log] = np.exp(linear[:, self._is_log])
        return np.asarray(np.minimum(np.maximum(linear, self._lowest), self._highest))

    def table(self) -> Array:
        """Rows (P, 6) for the compiled form: is_log, middle, scale, skew, lowest, highest."""
        scale = self._scale * self._skew
        rows = (self._is_log, self._middle, scale, self._skew, self._lowest, self._highest)
        return np.stack([np.asarray(row, dtype=float) for row in rows], axis=1)
