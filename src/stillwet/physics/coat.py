"""A coat as it dries: falling rate in closed form, and its inverses.

``dm/dt = -e(t) (m/m0)^n`` with 0 <= n <= 1. With D the drying demand summed since the coat was
laid: ``m^(1-n) m0^n = m0 - (1-n) D`` for n < 1, ``m = m0 exp(-D/m0)`` for n = 1. In shares of the
coat laid, x = m/m0 and d = D/m0, this is ``x = (1 - (1-n) d)^(1/(1-n))``, which tends to exp(-d)
as n tends to 1.
All functions broadcast; n may differ from element to element.

A constant rate (n = 0) cannot give the published drying of gels, half gone in under 1.5 h and all
by 7 h (Kadel et al. 2020); n of 0.5 to 1 can. n is the exponent of this law, fitted to weights: it
is not that of a skin on the gel, whose face warms as it dries (docs/explanation/drying_check.md).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stillwet.physics.guards import Numbers, as_given

NORMAL_TENTH = -1.2815515655446004  # the standard normal's 10 % point

_ROOT_STEPS = 60  # halvings; from 1 to below rounding
_NEAR_ONE = 1e-9  # 1 - n below this counts as n = 1: the two forms differ by less than rounding


def share_left(*, drying_share: Numbers, exponent: Numbers) -> Numbers:
    """Share of the coat left [-] after a drying demand of `drying_share` coats.

    drying_share = D/m0 >= 0. exponent n in [0, 1]. Solution of ``dx/dd = -x^n``, x(0) = 1.

    >>> round(share_left(drying_share=0.5, exponent=0.5), 4)
    0.5625
    """
    d = np.maximum(np.asarray(drying_share, dtype=float), 0.0)
    gap = 1.0 - np.asarray(exponent, dtype=float)
    safe = np.maximum(gap, _NEAR_ONE)
    inner = np.minimum(safe * d, 1.0)
    with np.errstate(divide="ignore"):
        power = np.exp(np.log1p(-inner) / safe)
    return as_given(np.where(gap < _NEAR_ONE, np.exp(-d), power))


def drying_share_until(*, share: Numbers, exponent: Numbers) -> Numbers:
    """Drying demand, in coats laid, at which this share is left [-]; the inverse of `share_left`.

    ``(1 - x^(1-n)) / (1-n)``, ``-ln x`` for n = 1 (infinite for x = 0 there).
    """
    x = np.clip(np.asarray(share, dtype=float), 0.0, 1.0)
    gap = 1.0 - np.asarray(exponent, dtype=float)
    safe = np.maximum(gap, _NEAR_ONE)
    with np.errstate(divide="ignore"):
        log_x = np.log(x)
    power = -np.expm1(safe * log_x) / safe
    return as_given(np.where(gap < _NEAR_ONE, -log_x, power))


def coat_left(*, coat_kg_m2: Numbers, drying_kg_m2: Numbers, exponent: Numbers) -> Numbers:
    """Water left [kg/m2] of a coat laid with coat_kg_m2 after a summed demand of drying_kg_m2.

    A coat of 0 leaves 0. Demands never below 0, so rewetting, dew and rain restore nothing.
    """
    coat = np.asarray(coat_kg_m2, dtype=float)
    demand = np.maximum(np.asarray(drying_kg_m2, dtype=float), 0.0)
    laid = np.where(coat > 0, coat, 1.0)
    return as_given(
        np.where(coat > 0, coat * share_left(drying_share=demand / laid, exponent=exponent), 0.0)
    )


def coat_left_from(
    *, water_kg_m2: Numbers, coat_kg_m2: Numbers, drying_kg_m2: Numbers, exponent: Numbers
) -> Numbers:
    """Water left [kg/m2] of a coat laid with coat_kg_m2 that holds water_kg_m2 now.

    drying_kg_m2 is the demand from now on. Water above the coat laid counts as the coat laid.
    """
    coat = np.asarray(coat_kg_m2, dtype=float)
    water = np.clip(np.asarray(water_kg_m2, dtype=float), 0.0, coat)
    demand = np.maximum(np.asarray(drying_kg_m2, dtype=float), 0.0)
    laid = np.where(coat > 0, coat, 1.0)
    spent = drying_share_until(share=water / laid, exponent=exponent)
    share = share_left(drying_share=spent + demand / laid, exponent=exponent)
    return as_given(np.where(coat > 0, np.minimum(coat * share, water), 0.0))


def drying_until(*, coat_kg_m2: Numbers, target_kg_m2: Numbers, exponent: Numbers) -> Numbers:
    """Summed drying demand [kg/m2] at which a coat has come down to target_kg_m2.

    0 where the coat is not above the target. For target 0: ``m0/(1-n)``, infinite for n = 1.
    """
    coat = np.asarray(coat_kg_m2, dtype=float)
    target = np.maximum(np.asarray(target_kg_m2, dtype=float), 0.0)
    laid = np.where(coat > 0, coat, 1.0)
    share = np.minimum(target / laid, 1.0)
    demand = laid * drying_share_until(share=share, exponent=exponent)
    return as_given(np.where(coat > target, demand, 0.0))


def coat_needed(*, target_kg_m2: Numbers, drying_kg_m2: Numbers, exponent: Numbers) -> Numbers:
    """Smallest coat [kg/m2] that still holds target_kg_m2 after a demand of drying_kg_m2.

    With n = 0 it is target + demand; a falling rate needs less. Target 0 asks for the limit of a
    vanishing target: ``(1-n) D`` for n < 1, and 0 for n = 1, where any coat leaves something.
    Bisection on x = target/coat between ``target/(target + D)`` and 1; the result is rounded up by
    no more than 1e-12 so that `coat_left` of it is not below the target.
    """
    target, demand, n = np.broadcast_arrays(
        np.maximum(np.asarray(target_kg_m2, dtype=float), 0.0),
        np.maximum(np.asarray(drying_kg_m2, dtype=float), 0.0),
        np.asarray(exponent, dtype=float),
    )
    positive = target > 0
    wanted = np.where(positive, target, 1.0)
    share = _target_share(demand / wanted, n)
    return as_given(np.where(positive, wanted / share * (1 + 1e-12), (1.0 - n) * demand))


def _target_share(ratio: NDArray[np.float64], n: NDArray[np.float64]) -> NDArray[np.float64]:
    """The x in (0, 1] with ``(1 - x^(1-n))/(1-n) = ratio * x``, where ratio = D/target.

    The left side falls and the right side rises in x, so halving the bracket in log x finds it.
    """
    low, high = -np.log1p(ratio), np.zeros_like(ratio)
    for _ in range(_ROOT_STEPS):
        middle = 0.5 * (low + high)
        x = np.exp(middle)
        is_low = np.asarray(drying_share_until(share=x, exponent=n)) > ratio * x
        low, high = np.where(is_low, middle, low), np.where(is_low, high, middle)
    return np.exp(low)


def thinnest_tenth_factor(*, coat_variation: Numbers) -> Numbers:
    """Thickness one tenth of the face lies below, over the mean thickness [-]; lognormal.

    coat_variation is the coefficient of variation. ``exp(z s - s^2/2)``, ``s^2 = ln(1 + cv^2)``.

    >>> round(thinnest_tenth_factor(coat_variation=0.35), 3)
    0.611
    """
    variance = np.log1p(np.asarray(coat_variation, dtype=float) ** 2)
    return as_given(np.exp(NORMAL_TENTH * np.sqrt(variance) - 0.5 * variance))
