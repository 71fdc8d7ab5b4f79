"""Coat, lay time and hold time of every face, reckoned backward from the fire.

Shapes: S faces, M members. A *mean* coat is what a crew lays; the *thinnest tenth* of it is what
decides. All arrays are kg/m2 (mm of water) and epoch seconds.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwet.engine.drying import Drying
from stillwet.engine.members import Members

Array = NDArray[np.float64]

COAT_STEP_KG_M2 = 0.1  # coats are planned in tenths of a millimetre
LAY_STEP_S = 300.0  # lay times are found to five minutes
_THICKEST_KG_M2 = 200.0  # nothing clings thicker; a need above it is reported as "no coat"
_HALVINGS = 40


@dataclass(frozen=True, eq=False)
class Ask:
    """What the faces must still hold, and when."""

    water_demand: Array  # (S, M) taken by the front
    arrival_s: Array  # (S,) latest arrival of the front
    end_s: Array  # (S,) end of the ember period
    reserve: float  # left through the ember period


@dataclass(frozen=True, eq=False)
class Spread:
    """How a planned mean coat becomes the thinnest tenth of a real one, by member."""

    thinnest: Array  # (M,) thinnest tenth over mean
    coat_factor: Array  # (M,) mean laid over mean planned
    exponent: Array  # (M,)
    cling: Array  # (S, M) thickest mean coat that stays


def make_spread(members: Members, cling_median: Array) -> Spread:
    """Join the members' draws with each face's cling limit (S,) at median yield stress."""
    from stillwet.physics.coat import thinnest_tenth_factor

    return Spread(
        thinnest=np.asarray(thinnest_tenth_factor(coat_variation=members.coat_variation)),
        coat_factor=members.coat_factor,
        exponent=members.drying_exponent,
        cling=cling_median[:, None] * members.yield_factor[None, :],
    )


def thin_coat(spread: Spread, coat: Array) -> Array:
    """The thinnest tenth (S, M) of mean coats planned at ``coat`` (S,) or (S, M)."""
    planned = coat[:, None] if coat.ndim == 1 else coat
    laid = np.minimum(planned * spread.coat_factor[None, :], spread.cling)
    return np.asarray(laid * spread.thinnest[None, :])


def left_at(drying: Drying, spread: Spread, *, coat: Array, lay_s: Array, at_s: Array) -> Array:
    """Water (S, M) of the thinnest tenth at ``at_s`` (S,), no fire having passed."""
    from stillwet.physics.coat import coat_left

    return np.asarray(
        coat_left(
            coat_kg_m2=thin_coat(spread, coat),
            drying_kg_m2=drying.at(at_s) - drying.at(lay_s),
            exponent=spread.exponent[None, :],
        )
    )


def spare_at_end(thin: Array, before: Array, after: Array, ask: Ask, exponent: Array) -> Array:
    """Water above the reserve at the end of the ember period, or below 0 by what was missing.

    ``before`` and ``after`` are the drying demands summed up to the front and from it to the end.
    """
    from stillwet.physics.coat import coat_left, coat_left_from

    at_front = coat_left(coat_kg_m2=thin, drying_kg_m2=before, exponent=exponent)
    passed = at_front - ask.water_demand
    end = coat_left_from(
        water_kg_m2=np.maximum(passed, 0.0),
        coat_kg_m2=thin,
        drying_kg_m2=after,
        exponent=exponent,
    )
    return np.asarray(np.where(passed < 0.0, passed - ask.reserve, end - ask.reserve))


def margin(drying: Drying, spread: Spread, ask: Ask, *, coat: Array, lay_s: Array) -> Array:
    """Water to spare (S, M) of the thinnest tenth at the end of the ember period.

    ``coat`` (S,) mean coats laid at ``lay_s`` (S,). Below 0: the coat falls short.
    """
    laid, front = drying.at(lay_s), drying.at(ask.arrival_s)
    return spare_at_end(
        thin_coat(spread, coat),
        front - laid,
        drying.at(ask.end_s) - front,
        ask,
        spread.exponent[None, :],
    )


def probability(drying: Drying, spread: Spread, ask: Ask, *, coat: Array, lay_s: Array) -> Array:
    """The share of members (S,) in which the coat meets the whole demand."""
    spare = margin(drying, spread, ask, coat=coat, lay_s=lay_s)
    return np.asarray((spare >= 0.0).mean(axis=1))


def reached(values: Array, confidence: float) -> Array:
    """What this share of the members (..., M) reaches (...,): one of their values, none between."""
    return np.asarray(np.quantile(values, 1.0 - confidence, axis=-1, method="lower"))


def coat_needed(
    drying: Drying, spread: Spread, ask: Ask, *, lay_s: Array, confidence: float
) -> Array:
    """The smallest mean coat (S,) that meets the demand with this confidence; inf when none does.

    Cling is left out here: it is the wall that the answer is held against.
    """
    laid, front = drying.at(lay_s), drying.at(ask.arrival_s)
    before, after = front - laid, drying.at(ask.end_s) - front
    low = np.zeros_like(before)
    high = np.full_like(before, _THICKEST_KG_M2)
    exponent = spread.exponent[None, :]
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        short = spare_at_end(middle, before, after, ask, exponent) < 0.0
        low, high = np.where(short, middle, low), np.where(short, high, middle)
    mean = np.where(
        high < _THICKEST_KG_M2, high / (spread.thinnest * spread.coat_factor)[None, :], np.inf
    )
    need = np.quantile(mean, confidence, axis=1, method="inverted_cdf")
    return np.where(need > _THICKEST_KG_M2, np.inf, need)


def round_coat_up(coat: Array) -> Array:
    """Up to the next tenth of a millimetre."""
    return np.asarray(np.ceil(coat / COAT_STEP_KG_M2 - 1e-9) * COAT_STEP_KG_M2)


def round_coat_down(coat: Array) -> Array:
    """Down to a tenth of a millimetre."""
    return np.asarray(np.floor(coat / COAT_STEP_KG_M2 + 1e-9) * COAT_STEP_KG_M2)


def apply_from(
    drying: Drying,
    spread: Spread,
    ask: Ask,
    *,
    coat: Array,
    start_s: Array,
    until_s: Array,
    confidence: float,
) -> Array:
    """The earliest lay time (S,) from which the coat still meets the demand; NaN when none does.

    A later coat dries less before the fire, so the answer is found by halving: the first multiple
    of ``LAY_STEP_S`` that is early enough (or ``start_s`` or ``until_s`` themselves).
    """
    first_step_s = np.ceil(start_s / LAY_STEP_S) * LAY_STEP_S

    def time_of(step: NDArray[np.int64]) -> Array:
        return np.asarray(np.minimum(first_step_s + step * LAY_STEP_S, until_s))

    def meets(when: Array) -> NDArray[np.bool_]:
        return probability(drying, spread, ask, coat=coat, lay_s=when) >= confidence

    from_start, at_until = meets(start_s), meets(until_s)
    high = np.ceil(np.maximum(until_s - first_step_s, 0.0) / LAY_STEP_S).astype(np.int64)
    low = np.full(coat.size, -1)
    while int(np.max(high - low)) > 1:
        middle = (low + high) // 2
        good = meets(time_of(middle))
        low, high = np.where(good, low, middle), np.where(good, middle, high)
    return np.where(from_start, start_s, np.where(at_until, time_of(high), np.nan))


def hold_until(drying: Drying, spread: Spread, ask: Ask, *, coat: Array, lay_s: Array) -> Array:
    """The time (S, M) until which the thinnest tenth still has the front's demand and the reserve.

    The lay time when the coat never had it; the last hour reckoned when it outlasts it.
    """
    from stillwet.physics.coat import drying_until

    thin = thin_coat(spread, coat)
    target = ask.water_demand + ask.reserve
    room = drying_until(
        coat_kg_m2=thin, target_kg_m2=np.minimum(target, thin), exponent=spread.exponent[None, :]
    )
    when = drying.when(drying.at(lay_s) + room)
    return np.where(thin < target, lay_s[:, None], np.maximum(when, lay_s[:, None]))
