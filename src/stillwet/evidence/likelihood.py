"""The readings of one product held against its curve, and the places in which that is sampled."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stillwet.evidence.curve_model import (
    LEAST_EXCESS,
    TAILS,
    CurveModel,
    predicted,
    strength_of,
)
from stillwet.evidence.readings import ERRORS, Mixes, Points, floor_of

Array = NDArray[np.float64]

FAR_OFF, FAR_OUT = 1e4, 12.0  # of a reading in scatters, of an unknown in deviates
# Places among the unknowns, in the order of the priors.
_STRESS, _THRESHOLD, _EXPONENT, _THICK, _GROWTH, _INDEX, _HALF, _HARD = range(8)
SPINDLE_RATE_1_S = 30.0  # about what a spindle at 60 rpm shears a gel at
_LEAST_LEVER_KG_M3 = 0.01  # waters closer than this (10 mg/L) count as one


class Likelihood:
    """The readings of one product held against its curve."""

    def __init__(self, model: CurveModel, read: Points) -> None:
        self.model, self.read, self.ridge = model, read, Ridge(model, read.mixes)
        self._methods = [point.method for point in read.points]
        self.floor = np.array([floor_of(method) for method in self._methods])
        self.spread = np.array([ERRORS[method].reading for method in self._methods])
        self.observed = np.log(np.array([point.observed for point in read.points]) + self.floor)
        self.bound = np.array([point.bound for point in read.points], dtype=float)

    def _residuals(self, deviates: Array, values: Array, strength: Array) -> tuple[Array, Array]:
        """Observed less expected (M, N) in usual scatters, and this crew's over the usual (M,).

        What is expected is the curve's value with its relation's error on it.
        """
        # Points far outside the prior overflow; what comes of them is told to be far off.
        with np.errstate(all="ignore"):
            members, scatter = self.model.numbers(values)
            shift = self.model.relation_errors(deviates, self._methods)
            expected = np.log(predicted(members, self.read, strength) * np.exp(shift) + self.floor)
            found = (self.observed - expected) / self.spread
        return np.clip(np.nan_to_num(found, nan=FAR_OFF), -FAR_OFF, FAR_OFF), scatter

    def in_scatters(self, places: Array) -> Array:
        """Observed less expected (M, N) in this crew's own scatters; 0 for bounds that hold."""
        deviates, values, strength, _ = self.ridge.unfold(places)
        found, scatter = self._residuals(deviates, values, strength)
        return np.asarray(self._broken(found) / scatter[:, None])

    def _broken(self, found: Array) -> Array:
        """Residuals, but 0 for bounds that hold."""
        return np.asarray(np.where(self.bound * found < 0.0, 0.0, found))

    def log_density(self, places: Array) -> Array:
        """Logarithm (M,) of prior times likelihood per step in the places, up to a constant.

        Student's t about what is expected; for a bound the chance of lying beyond it.
        """
        from scipy.special import stdtr

        deviates, values, strength, stretch = self.ridge.unfold(places)
        usual, scatter = self._residuals(deviates, values, strength)
        found = usual / scatter[:, None]
        heavy = -0.5 * (TAILS + 1.0) * np.log1p(found**2 / TAILS)
        heavy -= np.log(scatter)[:, None]
        bounds = np.flatnonzero(self.bound)
        if bounds.size:
            chance = stdtr(TAILS, -self.bound[bounds] * found[:, bounds])
            heavy[:, bounds] = np.log(np.maximum(chance, 1e-300))
        prior = stretch - 0.5 * np.einsum("md,md->m", deviates, deviates)
        return np.asarray(heavy.sum(axis=1) + prior)


class Ridge:
    """Places to sample in, in which the posterior is a hill and not a long bent ridge.

    Readings fix the curve as it was in the waters tried; how much of it is due to the product and
    how much to hard water and unfinished swelling they leave open. So a place holds, as tried and
    in the middle of the waters, the yield stress, the threshold and what a spindle feels, and what
    the hardest water leaves of the softest one's strength, instead of the numbers in soft water;
    all else is unchanged. ``stretch`` is the logarithm of the volume a step in the places takes up
    in deviates, which keeps the posterior the same.
    """

    def __init__(self, model: CurveModel, mixes: Mixes) -> None:
        self._model, self._mixes, self._priors = model, mixes, model.priors.priors
        hardness = mixes.hardness_kg_m3
        self.ends = (float(hardness.min()), float(hardness.max()))
        self.has_lever = self.ends[1] > self.ends[0] + _LEAST_LEVER_KG_M3
        self._changed = (_STRESS, _THRESHOLD, _THICK, _HARD)

    def unfold(self, places: Array) -> tuple[Array, Array, Array, Array]:
        """What places (M, size) stand for.

        Returns deviates (M, size), the priors' values (M, P), strength (M, W) and stretch (M,).
        """
        deviates = np.clip(places, -FAR_OUT, FAR_OUT)
        deviates[:, self._changed] = 0.0
        values = self._model.priors.values(deviates[:, : len(self._priors)])
        with np.errstate(all="ignore"):
            lever = self._lever(values)
            hard = places[:, _HARD] / lever
            values[:, _HARD] = hard
            strength = strength_of(self._model.numbers(values)[0], self._mixes)
            left = _middle(strength)
            threshold = places[:, _THRESHOLD] + left
            values[:, _THRESHOLD] = np.exp(threshold)
            stress = places[:, _STRESS] - self._lift(values, left)
            thick = places[:, _THICK] - self._thickening(values, left)
            values[:, _STRESS], values[:, _THICK] = np.exp(stress), np.exp(thick)
        stretch = -np.log(np.maximum(lever, 1e-300))
        for place, linear in zip(self._changed, (stress, threshold, thick, hard), strict=True):
            deviate = self._priors[place].deviate_of(np.nan_to_num(linear, nan=FAR_OFF))
            deviates[:, place] = np.clip(deviate, -FAR_OUT, FAR_OUT)
            stretch = stretch - self._priors[place].skew * deviates[:, place]
        return deviates, values, strength, stretch

    def places(self, deviates: Array) -> Array:
        """Places (M, size) of deviates (M, size)."""
        values = self._model.priors.values(deviates[:, : len(self._priors)])
        left = _middle(strength_of(self._model.numbers(values)[0], self._mixes))
        places = deviates.copy()
        places[:, _HARD] = values[:, _HARD] * self._lever(values)
        places[:, _THRESHOLD] = np.log(values[:, _THRESHOLD]) - left
        places[:, _STRESS] = np.log(values[:, _STRESS]) + self._lift(values, left)
        places[:, _THICK] = np.log(values[:, _THICK]) + self._thickening(values, left)
        return places

    def _lever(self, values: Array) -> Array:
        """Logarithm (M,) of what the hardest water costs over the softest, at an exponent of 1."""
        if not self.has_lever:
            return np.ones(values.shape[0])
        soft, hard = self.ends
        return np.log1p(hard / values[:, _HALF]) - np.log1p(soft / values[:, _HALF])

    def _lift(self, values: Array, left: Array) -> Array:
        """Logarithm of the yield stress as tried over that in soft water, at the label's middle."""
        middle, threshold = self._model.reference_ratio, values[:, _THRESHOLD]
        least = LEAST_EXCESS * middle
        tried = np.maximum(middle - threshold * np.exp(-left), least)
        soft = np.maximum(middle - threshold, least)
        return np.asarray(values[:, _EXPONENT] * (left + np.log(tried / soft)))

    def _thickening(self, values: Array, left: Array) -> Array:
        """Logarithm of the stress of flow at the label's middle over K at the threshold."""
        relative = self._model.reference_ratio * np.exp(left) / values[:, _THRESHOLD]
        grown = values[:, _GROWTH] * np.log(np.maximum(relative, 1.0))
        return np.asarray(grown + values[:, _INDEX] * np.log(SPINDLE_RATE_1_S))


def _middle(strength: Array) -> Array:
    """Logarithm (M,) of the strength left, in the middle of the waters (M, W)."""
    return np.asarray(np.log(np.maximum(strength.mean(axis=1), 1e-12)))
