"""The posterior of the curve, compiled: the same sums as ``likelihood.Likelihood``, one by one.

Sampling asks for the density at some hundred thousand points; plain arrays take ten times as long.
``Likelihood.log_density`` is the clear form, and this is tested against it.

Numba remembers the compiled code by this file's date alone: after a change of a constant imported
here, touch this file.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stillwet.compiling import compiled
from stillwet.constants import GRAVITY
from stillwet.evidence.curve_model import LEAST_EXCESS, TAILS
from stillwet.evidence.likelihood import FAR_OFF, FAR_OUT, SPINDLE_RATE_1_S, Likelihood
from stillwet.evidence.readings import FUNNEL_RATE_1_S, MIX_DENSITY_KG_M3, Method
from stillwet.physics import rheology
from stillwet.physics.cling import ADHESION_EXPONENT

Array = NDArray[np.float64]

# What a reading sees, by number.
_YIELD, _COUPON, _SLOUGH, _SPINDLE, _FUNNEL = range(5)
_SEES = {
    Method.YIELD: _YIELD,
    Method.SLUMP: _YIELD,
    Method.SPREAD: _YIELD,
    Method.COUPON: _COUPON,
    Method.SLOUGH: _SLOUGH,
    Method.SPINDLE: _SPINDLE,
    Method.FUNNEL: _FUNNEL,
}
_SHARPNESS = rheology.THINNING_SHARPNESS
_LEAST_CHANCE = 1e-15  # of a bound: the closed form below has no more figures
_compiled: Any = compiled(error_model="numpy")


def densities_of(likelihood: Likelihood) -> Callable[[Array], tuple[Array, Array]]:
    """Log prior and log likelihood (M,) each of a likelihood's places (M, size), compiled."""
    model, read, mixes = likelihood.model, likelihood.read, likelihood.read.mixes
    temperature = mixes.temperature_k
    water = np.asarray(rheology.water_viscosity_patek(temperature_k=temperature))
    reference = rheology.water_viscosity_patek(temperature_k=rheology.REFERENCE_TEMPERATURE_K)
    slower = rheology.hydration_time_tanaka(hydration_time_s=1.0, temperature_k=temperature)
    waters = np.stack(
        [
            mixes.hardness_kg_m3,
            mixes.age_s / np.asarray(slower),
            temperature - rheology.REFERENCE_TEMPERATURE_K,
            np.log(water),
            water / reference,
        ],
        axis=1,
    )
    points = read.points
    relation, column = model.relation_columns([point.method for point in points])
    numbers = np.stack(
        [
            likelihood.observed,
            likelihood.spread,
            likelihood.floor,
            likelihood.bound,
            relation,
            np.sin(np.radians([point.tilt_deg for point in points])),
            np.array([point.slide_speed_m_s for point in points]),
            np.array([point.revolutions_per_min * 2.0 * math.pi / 60.0 for point in points]),
        ],
        axis=1,
    )
    codes = np.stack([[_SEES[point.method] for point in points], read.mix_of, column], axis=1)
    soft, hard = likelihood.ridge.ends
    ends = np.array([soft, hard, float(likelihood.ridge.has_lever), model.reference_ratio])
    priors = model.priors.table()

    def log_densities(places: Array) -> tuple[Array, Array]:
        prior, likely = _log_densities(
            np.ascontiguousarray(places),
            priors,
            waters,
            mixes.ratio,
            mixes.water,
            codes,
            numbers,
            ends,
        )
        return np.asarray(prior), np.asarray(likely)

    return log_densities


@_compiled
def _value(prior: Any, deviate: float) -> Any:
    is_log, middle, scale, skew, lowest, highest = prior
    linear = middle + scale * math.expm1(skew * deviate) / skew
    found = math.exp(linear) if is_log > 0.0 else linear
    return min(max(found, lowest), highest)


@_compiled
def _deviate(prior: Any, linear: float) -> Any:
    _, middle, scale, skew, _, _ = prior
    if not math.isfinite(linear):
        linear = FAR_OFF
    found = math.log(max(1.0 + skew * (linear - middle) / scale, 1e-9)) / skew
    return min(max(found, -FAR_OUT), FAR_OUT)


@_compiled
def _gel_share(effective: float, threshold: float) -> Any:
    grown = (effective / threshold) ** _SHARPNESS
    return 1.0 - 1.0 / (1.0 + grown)


@_compiled
def _clinging(yield_pa: float, adhesion_pa: float) -> Any:
    if yield_pa <= adhesion_pa:
        return yield_pa
    return yield_pa * (adhesion_pa / yield_pa) ** ADHESION_EXPONENT


@_compiled
def _seen(code: int, number: Any, value: Any, yield_pa: float, effective: float, water: Any) -> Any:
    """What a reading should be, without errors."""
    if code == _YIELD:
        return yield_pa
    if code == _COUPON:
        return _clinging(yield_pa, value[10])
    threshold = value[1]
    share = _gel_share(effective, threshold)
    gel = math.log(value[3] * water[4]) + value[4] * math.log(max(effective / threshold, 1.0))
    thick = math.exp(share * gel + (1.0 - share) * water[3])
    index = 1.0 - share * (1.0 - value[5])
    if code == _SPINDLE:
        shown = 2.0 * number[7]
        return (yield_pa + thick * (shown / index) ** index) / shown
    if code == _FUNNEL:
        return (yield_pa + thick * FUNNEL_RATE_1_S**index) / FUNNEL_RATE_1_S
    pull = MIX_DENSITY_KG_M3 * GRAVITY * number[5]
    speed = number[6] * (index + 1.0) / index
    sheared = (speed * (thick / pull) ** (1.0 / index)) ** (index / (index + 1.0))
    return _clinging(yield_pa, value[10]) + pull * sheared


@_compiled
def _log_chance_below(residual: float) -> Any:
    """Logarithm of Student's t distribution function with 4 degrees of freedom (closed form)."""
    bent = residual * residual / (1.0 + 0.25 * residual * residual)
    root = residual / math.sqrt(1.0 + 0.25 * residual * residual)
    return math.log(max(0.5 + 0.375 * root * (1.0 - bent / 12.0), _LEAST_CHANCE))


@_compiled
def _unfold(
    place: Any, priors: Any, waters: Any, ends: Any, value: Any, deviate: Any, strength: Any
) -> Any:
    """Fill values, deviates and strengths of one place; returns stretch and prior (``Ridge``)."""
    for i in range(deviate.size):
        deviate[i] = min(max(place[i], -FAR_OUT), FAR_OUT)
        if i < value.size:
            value[i] = _value(priors[i], deviate[i])
    lever = 1.0
    if ends[2] > 0.0:
        lever = math.log1p(ends[1] / value[6]) - math.log1p(ends[0] / value[6])
    value[7] = place[7] / lever
    middle = 0.0
    for w in range(strength.size):
        swelling = (1.0 + waters[w, 0] / value[6]) ** -value[7]
        strength[w] = swelling * -math.expm1(-waters[w, 1] / value[9])
        middle += strength[w] / strength.size
    left = math.log(max(middle, 1e-12))
    threshold = place[1] + left
    value[1] = math.exp(threshold)
    tried = max(ends[3] - value[1] * math.exp(-left), LEAST_EXCESS * ends[3])
    lift = value[2] * (left + math.log(tried / _excess(ends[3], value[1])))
    grown = value[4] * math.log(max(ends[3] * math.exp(left) / value[1], 1.0))
    thick = place[3] - grown - value[5] * math.log(SPINDLE_RATE_1_S)
    value[0], value[3] = math.exp(place[0] - lift), math.exp(thick)
    deviate[0] = _deviate(priors[0], place[0] - lift)
    deviate[1] = _deviate(priors[1], threshold)
    deviate[3] = _deviate(priors[3], thick)
    deviate[7] = _deviate(priors[7], value[7])
    total = -math.log(max(lever, 1e-300))
    for i in (0, 1, 3, 7):
        total -= priors[i, 3] * deviate[i]
    for i in range(deviate.size):
        total -= 0.5 * deviate[i] * deviate[i]
    return total


@_compiled
def _excess(middle: float, threshold: float) -> Any:
    return max(middle - threshold, LEAST_EXCESS * middle)


@_compiled
def _log_likelihood(number: Any, seen: float, relation: float, scatter: float) -> Any:
    """Logarithm of the chance of one reading, where ``seen`` should be read without errors."""
    usual = number[0] - math.log(seen * math.exp(number[4] * relation) + number[2])
    usual /= number[1]
    if not math.isfinite(usual):
        usual = -FAR_OFF if usual < 0.0 else FAR_OFF
    residual = min(max(usual, -FAR_OFF), FAR_OFF) / scatter
    if number[3] != 0.0:
        return _log_chance_below(-number[3] * residual)
    found = -0.5 * (TAILS + 1.0) * math.log1p(residual * residual / TAILS)
    return found - math.log(scatter)


@_compiled
def _log_densities(
    places: Any,
    priors: Any,
    waters: Any,
    ratios: Any,
    water_of: Any,
    codes: Any,
    numbers: Any,
    ends: Any,
) -> Any:
    count = places.shape[0]
    prior, found = np.empty(count), np.empty(count)
    value, deviate = np.empty(priors.shape[0]), np.empty(places.shape[1])
    strength = np.empty(waters.shape[0])
    effective, yields = np.empty(ratios.size), np.empty(ratios.size)
    for row in range(count):
        prior[row] = _unfold(places[row], priors, waters, ends, value, deviate, strength)
        total = 0.0
        coefficient = value[0] / _excess(ends[3], value[1]) ** value[2]
        for b in range(ratios.size):
            w = water_of[b]
            effective[b] = ratios[b] * strength[w]
            excess = max(effective[b] - value[1], 0.0)
            yields[b] = coefficient * excess ** value[2] * math.exp(-value[8] * waters[w, 2])
        for n in range(codes.shape[0]):
            b = codes[n, 1]
            water = waters[water_of[b]]
            seen = _seen(codes[n, 0], numbers[n], value, yields[b], effective[b], water)
            scatter = value[value.size - 1]
            total += _log_likelihood(numbers[n], seen, deviate[codes[n, 2]], scatter)
        found[row] = total
    return prior, found
