"""Coats, lay times and hold times of a face, reckoned backward: by hand and turned round."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray

from stillwet.engine import coating
from stillwet.engine.coating import Ask, Spread
from stillwet.engine.drying import Drying

from .by_hand import HOUR, ask_of, spread_of, steady_drying

Array = NDArray[np.float64]
COUNT = 64


def _scattered(faces: int = 3) -> tuple[Drying, Spread, Ask]:
    """Members that differ in everything, on faces that dry at different rates."""
    draw = np.random.default_rng(5)
    rates = draw.uniform(0.3, 1.5, (faces, 1, COUNT))
    time_s = np.arange(25, dtype=np.float64) * HOUR
    drying = Drying(time_s=time_s, total_kg_m2=rates * np.arange(25)[None, :, None])
    spread = Spread(
        thinnest=draw.uniform(0.4, 0.8, COUNT),
        coat_factor=draw.uniform(0.7, 1.3, COUNT),
        exponent=draw.uniform(0.0, 1.0, COUNT),
        cling=np.full((faces, COUNT), 300.0),
    )
    arrival = np.array([8.0, 9.0, 10.0][:faces]) * HOUR
    ask = Ask(draw.uniform(0.0, 2.0, (faces, COUNT)), arrival, arrival + 2 * HOUR, 0.3)
    return drying, spread, ask


def test_thinnest_tenth_by_hand() -> None:
    """4 mm planned: all of it is 4 but only 3 cling; half of it is 2; the thin tenth is 0.6 of
    each.
    """
    spread = Spread(
        thinnest=np.array([0.6, 0.6]),
        coat_factor=np.array([1.0, 0.5]),
        exponent=np.array([0.5, 0.5]),
        cling=np.array([[3.0, 3.0]]),
    )
    assert coating.thin_coat(spread, np.array([4.0])).tolist() == [pytest.approx([1.8, 1.2])]


def test_water_left_by_hand() -> None:
    """4 mm after 2 mm of demand: 2 for n = 0, 2.25 for n = 0.5, 4 exp(-0.5) = 2.426 for n = 1."""
    left = coating.left_at(
        steady_drying([1.0, 1.0, 1.0]),
        spread_of([0.0, 0.5, 1.0]),
        coat=np.array([4.0]),
        lay_s=np.array([1 * HOUR]),
        at_s=np.array([3 * HOUR]),
    )
    assert left[0].tolist() == pytest.approx([2.0, 2.25, 4.0 * math.exp(-0.5)])


@pytest.mark.parametrize(("coat", "spare"), [(5.0, 0.6), (2.5, -0.9), (4.4, 0.0)])
def test_margin_by_hand(coat: float, spare: float) -> None:
    """With n = 0 and 1 mm/h, the front after 2 h takes 1 mm; an hour of embers, 0.4 in reserve.

    5 mm: 3 at the front, 2 after it, 1 at the end, 0.6 to spare. 2.5 mm: 0.5 at the front, half a
    millimetre short of the fire and the reserve on top. 4.4 mm is just enough.
    """
    found = coating.margin(
        steady_drying([1.0]),
        spread_of([0.0]),
        ask_of([1.0], arrival_h=2.0),
        coat=np.array([coat]),
        lay_s=np.array([0.0]),
    )
    assert found[0, 0] == pytest.approx(spare)


def test_probability_counts_members() -> None:
    """Of four fires that take 0.5, 1, 2 and 3 mm, 2 mm to give bear the first three."""
    chance = coating.probability(
        steady_drying([1.0] * 4),
        spread_of([0.0] * 4),
        ask_of([0.5, 1.0, 2.0, 3.0], arrival_h=2.0),
        coat=np.array([5.4]),
        lay_s=np.array([0.0]),
    )
    assert chance.tolist() == [0.75]


def test_coat_needed_by_hand() -> None:
    """With n = 0, 2 mm to the front, 1 for it, 1 under embers, 0.4 in reserve; in a thin tenth of
    half of what is laid, with a fifth lost beyond plan, 4.4 / 0.5 / 0.8 = 11 mm.
    """
    needed = coating.coat_needed(
        steady_drying([1.0]),
        spread_of([0.0], thinnest=0.5, coat_factor=0.8),
        ask_of([1.0], arrival_h=2.0),
        lay_s=np.array([0.0]),
        confidence=0.9,
    )
    assert needed[0] == pytest.approx(11.0, rel=1e-9)


def test_no_coat_is_enough_for_a_burning_neighbour() -> None:
    """A fire that takes 500 mm: no coat, said as infinite."""
    needed = coating.coat_needed(
        steady_drying([1.0]),
        spread_of([0.5]),
        ask_of([500.0], arrival_h=2.0),
        lay_s=np.array([0.0]),
        confidence=0.9,
    )
    assert needed.tolist() == [math.inf]


@pytest.mark.parametrize("confidence", [0.5, 0.9])
def test_coat_needed_meets_the_asked_share_and_less_does_not(confidence: float) -> None:
    """Laying what is needed meets the demand in the share asked for; 0.1 % less does not."""
    drying, spread, ask = _scattered()
    lay = np.array([2.0, 3.0, 1.0]) * HOUR
    needed = coating.coat_needed(drying, spread, ask, lay_s=lay, confidence=confidence)

    def chance(coat: Array) -> Array:
        return coating.probability(drying, spread, ask, coat=coat, lay_s=lay)

    assert (chance(needed * (1 + 1e-9)) >= confidence).all()
    assert (chance(needed * 0.999) < confidence).all()


def test_rounding_is_to_the_safe_side_and_stays_put_on_tenths() -> None:
    """Needs go up, limits go down; 2.3 mm, which binary numbers cannot hold, stays 2.3."""
    coats = np.array([2.31, 2.3, 2.299999])
    assert coating.round_coat_up(coats) == pytest.approx([2.4, 2.3, 2.3])
    assert coating.round_coat_down(coats) == pytest.approx([2.3, 2.3, 2.2])


def _apply_from(coat: float, start_h: float = 0.0) -> float:
    """The earliest lay time [h] under 1 mm/h, n = 0, a fire at 6 h; crews may stay until 5 h."""
    found = coating.apply_from(
        steady_drying([1.0]),
        spread_of([0.0]),
        ask_of([1.0], arrival_h=6.0),
        coat=np.array([coat]),
        start_s=np.array([start_h * HOUR]),
        until_s=np.array([5 * HOUR]),
        confidence=0.9,
    )
    return float(found[0]) / HOUR


def test_earliest_lay_time_by_hand() -> None:
    """5 mm less 1 for the fire, 1 for the embers' hour and 0.4: 2.6 h before 6 h, so 3.4 h, up to
    the next five minutes 3 h 25 min. 9 mm may be laid at once; 3.3 mm never holds.
    """
    assert _apply_from(5.0) == pytest.approx(3 + 25 / 60)
    assert _apply_from(9.0) == 0.0
    assert _apply_from(9.0, start_h=2.0) == 2.0
    assert math.isnan(_apply_from(3.3))


def test_thicker_coats_may_be_laid_earlier() -> None:
    """Over scattered members the earliest lay time never goes later with a thicker coat, meets the
    share asked for, and five minutes earlier does not.
    """
    drying, spread, ask = _scattered()
    until = ask.arrival_s - HOUR
    last = np.full(3, math.inf)
    for coat in np.arange(4.0, 16.0, 1.0):
        coats = np.full(3, coat)
        first = coating.apply_from(
            drying, spread, ask, coat=coats, start_s=np.zeros(3), until_s=until, confidence=0.9
        )
        known = ~np.isnan(first)
        assert (first[known] <= last[known]).all()
        last = np.where(known, first, last)
        for face in np.flatnonzero(known & (first > 300.0)):
            times = np.array([first, first - 300.0])[:, face]
            now, earlier = (
                coating.probability(drying, spread, ask, coat=coats, lay_s=np.full(3, when))[face]
                for when in times
            )
            assert now >= 0.9
            assert earlier < 0.9
    assert np.isfinite(last).all()


def test_hold_until_by_hand() -> None:
    """5 mm at 1 mm/h with n = 0 comes down to the 1 mm of the fire and the 0.4 in reserve in 3.6 h;
    1.2 mm never had it; 50 mm outlasts the 12 h reckoned.
    """
    found = [
        coating.hold_until(
            steady_drying([1.0]),
            spread_of([0.0]),
            ask_of([1.0], arrival_h=6.0),
            coat=np.array([coat]),
            lay_s=np.array([2 * HOUR]),
        )[0, 0]
        / HOUR
        for coat in (5.0, 1.2, 50.0)
    ]
    assert found == pytest.approx([5.6, 2.0, 12.0])


def test_hold_until_is_the_inverse_of_water_left() -> None:
    """At its hold-until each member has just the fire's demand and the reserve left."""
    drying, spread, ask = _scattered()
    coat, lay = np.full(3, 7.0), np.full(3, 2 * HOUR)
    hold = coating.hold_until(drying, spread, ask, coat=coat, lay_s=lay)
    inside = (hold > lay[:, None]) & (hold < drying.time_s[-1])
    assert inside.sum() > 100
    for member in range(COUNT):
        left = coating.left_at(drying, spread, coat=coat, lay_s=lay, at_s=hold[:, member])
        target = ask.water_demand[:, member] + ask.reserve
        here = inside[:, member]
        assert left[here, member] == pytest.approx(target[here], abs=1e-9)
