"""The running sum of drying: numpy's trapezoids, straight lines between hours, there and back."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from stillwet.engine.drying import Drying, running_sum

Array = NDArray[np.float64]
HOUR = 3600.0
TIMES: Array = 1000.0 + HOUR * np.arange(6, dtype=np.float64)
DEMAND: Array = np.random.default_rng(1).uniform(1e-5, 3e-4, (3, 6, 4))  # faces, hours, members


def _sum() -> Drying:
    return running_sum(TIMES, DEMAND)


def test_it_is_the_trapezoid_rule() -> None:
    """Nothing at the first hour, and numpy's own sum up to each of the others."""
    total = _sum().total_kg_m2
    assert (total[:, 0] == 0.0).all()
    for hour in range(1, 6):
        wanted = np.trapezoid(DEMAND[:, : hour + 1], TIMES[: hour + 1], axis=1)
        np.testing.assert_allclose(total[:, hour], wanted, rtol=1e-12)


def test_between_hours_it_is_a_straight_line_and_held_beyond_the_ends() -> None:
    """Numpy's interpolation of each face and member by itself, times by face or by member too."""
    found = _sum()
    for when in (TIMES[0] - 50.0, TIMES[0], TIMES[2], TIMES[3] + 900.0, TIMES[5], TIMES[5] + 1e5):
        by_face = found.at(np.full(3, when))
        by_member = found.at(np.full((3, 4), when))
        np.testing.assert_array_equal(by_face, by_member)
        for face in range(3):
            for member in range(4):
                wanted = np.interp(when, TIMES, found.total_kg_m2[face, :, member])
                assert by_face[face, member] == pytest.approx(wanted, rel=1e-12)


def test_each_face_has_its_own_time() -> None:
    """The moment of one face says nothing of the next."""
    found = _sum()
    own = found.at(np.array([TIMES[1], TIMES[3], TIMES[5]]))
    for face, hour in enumerate((1, 3, 5)):
        np.testing.assert_allclose(own[face], found.total_kg_m2[face, hour], rtol=1e-12)


def test_when_undoes_at() -> None:
    """The moment at which a sum is reached; the end where it never is, the start for nothing."""
    found = _sum()
    for when in (TIMES[0] + 1.0, TIMES[1], TIMES[2] + 1234.0, TIMES[5] - 1.0):
        np.testing.assert_allclose(found.when(found.at(np.full(3, when))), when, rtol=1e-12)
    assert (found.when(np.full((3, 4), 1e9)) == TIMES[5]).all()
    assert (found.when(np.zeros((3, 4))) == TIMES[0]).all()


def test_an_hour_without_drying_is_passed_over() -> None:
    """A calm, saturated night takes nothing: the sum is reached before it, and grows after it."""
    demand = np.zeros((1, 6, 1))
    demand[0, :, 0] = [2e-4, 2e-4, 0.0, 0.0, 2e-4, 2e-4]
    found = running_sum(TIMES, demand)
    night = found.at(np.array([TIMES[2]]))
    assert found.at(np.array([TIMES[3]])) == pytest.approx(night)
    assert TIMES[2] <= found.when(night)[0, 0] <= TIMES[3]
    assert found.when(night + 1e-6)[0, 0] > TIMES[3]
