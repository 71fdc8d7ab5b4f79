"""The running sum of drying: read at a time, and turned round to a time."""

from __future__ import annotations

import numpy as np
import pytest

from stillwet.engine.drying import Drying, running_sum

HOURS_S = np.array([0.0, 3600.0, 7200.0, 10800.0, 14400.0])


def _sum(rates: list[float]) -> Drying:
    """One face, one member, with these demands [kg/m2h] on the hours."""
    demand = np.array([rate / 3600.0 for rate in rates], dtype=np.float64)
    return running_sum(HOURS_S, demand[None, :, None])


def test_trapezoids_by_hand() -> None:
    """Demands of 0, 1, 1, 0, 0 mm/h sum to 0, 0.5, 1.5, 2, 2 mm; between hours it is linear."""
    drying = _sum([0.0, 1.0, 1.0, 0.0, 0.0])
    times = np.array([0.0, 3600.0, 5400.0, 7200.0, 14400.0])
    found = [float(drying.at(np.array([time]))[0, 0]) for time in times]
    assert found == pytest.approx([0.0, 0.5, 1.0, 1.5, 2.0])


@pytest.mark.parametrize(("total", "hour"), [(0.25, 0.5), (0.5, 1.0), (1.0, 1.5), (1.75, 2.5)])
def test_when_is_at_turned_round(total: float, hour: float) -> None:
    """The time at which the sum reaches a value, by hand."""
    drying = _sum([0.0, 1.0, 1.0, 0.0, 0.0])
    found = drying.when(np.array([[total]]))
    assert found[0, 0] == pytest.approx(hour * 3600.0)


def test_sum_never_reached_is_the_end() -> None:
    """After a last hour without drying (dew), a sum out of reach gives the last time, quietly."""
    drying = _sum([0.0, 1.0, 1.0, 0.0, 0.0])
    assert drying.when(np.array([[50.0]]))[0, 0] == HOURS_S[-1]
