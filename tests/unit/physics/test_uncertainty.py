"""Uncertainty: GUM propagation and straight lines."""

from __future__ import annotations

import math

import numpy as np
import pytest

from stillwet.errors import StillwetError
from stillwet.physics import uncertainty


def test_a_sum_adds_in_squares() -> None:
    """3 and 4 make 5; fully correlated they make 7, and opposed 1."""
    case = {"values": {"a": 10.0, "b": 20.0}, "uncertainties": {"a": 3.0, "b": 4.0}}

    def add(a: float, b: float) -> float:
        return a + b

    for r, expected in ((None, 5.0), (1.0, 7.0), (-1.0, 1.0)):
        found = uncertainty.propagate_kragten(
            function=add, correlation=None if r is None else {("a", "b"): r}, **case
        )
        assert found.value == 30.0
        assert found.uncertainty == pytest.approx(expected)


def test_a_quotient_adds_relative_parts() -> None:
    """3 % and 4 % of a quotient make 5 %, to first order; an exact input adds nothing."""
    found = uncertainty.propagate_kragten(
        function=lambda drawn, total, scale: scale * drawn / total,
        values={"drawn": 2.0, "total": 100.0, "scale": 1.0},
        uncertainties={"drawn": 0.06, "total": 4.0},
    )
    assert found.uncertainty / found.value == pytest.approx(0.05, rel=2e-3)
    assert set(found.parts) == {"drawn", "total"}


def test_propagation_agrees_with_sampling() -> None:
    """A hundred thousand seeded draws through a mild curve give the same spread within 2 %."""
    random = np.random.default_rng(7)
    drawn = random.normal(2.0, 0.05, 100_000)
    used = random.normal(150.0, 3.0, 100_000)
    sampled = float(np.std(drawn / (drawn + used)))
    found = uncertainty.propagate_kragten(
        function=lambda drawn, used: drawn / (drawn + used),
        values={"drawn": 2.0, "used": 150.0},
        uncertainties={"drawn": 0.05, "used": 3.0},
    )
    assert found.uncertainty == pytest.approx(sampled, rel=0.02)


def test_coverage_factor_of_the_normal_and_of_few_readings() -> None:
    """1.96 at 95 % with many readings, 2.776 with 4 degrees of freedom (any t table)."""
    assert uncertainty.coverage_factor(confidence=0.95) == pytest.approx(1.95996, abs=1e-4)
    few = uncertainty.coverage_factor(confidence=0.95, degrees_of_freedom=4)
    assert few == pytest.approx(2.776, abs=1e-3)


def test_rectangular_reading() -> None:
    """Half a mark of 10 L each way is 2.89 L standard (GUM 4.3.7)."""
    assert uncertainty.rectangular(half_width=5.0) == pytest.approx(5.0 / math.sqrt(3.0))


def _points(seed: int, slope: float, intercept: float) -> tuple[np.ndarray, np.ndarray]:
    random = np.random.default_rng(seed)
    true = np.linspace(1.0, 10.0, 12)
    x = true + random.normal(0.0, 0.2, true.size)
    y = intercept + slope * true + random.normal(0.0, 0.3, true.size)
    return x, y


def test_york_with_equal_errors_is_deming() -> None:
    """The iterated line and the closed form are one when all points have the same errors."""
    x, y = _points(3, 2.0, 1.0)
    line = uncertainty.fit_line_york(
        x=x, y=y, x_uncertainty=np.full(12, 0.2), y_uncertainty=np.full(12, 0.3)
    )
    closed = uncertainty.fit_slope_deming(x=x, y=y, variance_ratio=(0.3 / 0.2) ** 2)
    assert (line.intercept, line.slope) == pytest.approx(closed, rel=1e-9)


def test_york_uncertainties_cover_the_truth() -> None:
    """Over 300 seeded sets the slope's error in its own units is standard normal: sd 0.9 to 1.1."""
    errors = []
    for seed in range(300):
        x, y = _points(seed, 2.0, 1.0)
        line = uncertainty.fit_line_york(
            x=x, y=y, x_uncertainty=np.full(12, 0.2), y_uncertainty=np.full(12, 0.3)
        )
        errors.append((line.slope - 2.0) / line.slope_uncertainty)
    assert 0.9 < float(np.std(errors)) < 1.1
    assert abs(float(np.mean(errors))) < 0.2


def test_calibration_read_backwards() -> None:
    """x_of undoes at, and far from the data the line's own doubt grows."""
    x, y = _points(5, 2.0, 1.0)
    line = uncertainty.fit_line_york(
        x=x, y=y, x_uncertainty=np.full(12, 0.2), y_uncertainty=np.full(12, 0.3)
    )
    assert line.x_of(line.at(4.0)) == pytest.approx(4.0)
    near, far = line.uncertainty_of_x(line.at(5.5), 0.3), line.uncertainty_of_x(line.at(30.0), 0.3)
    assert far > 1.5 * near > 0.0


def test_two_points_are_no_line() -> None:
    """Fewer than three points are refused."""
    pair = np.array([1.0, 2.0])
    with pytest.raises(StillwetError, match="points: wanted at least 3, got 2"):
        uncertainty.fit_line_york(x=pair, y=pair, x_uncertainty=pair, y_uncertainty=pair)


def test_three_points_on_a_line_give_that_line() -> None:
    """The fewest that are taken: no scatter, so the fit is the line itself."""
    x = np.array([1.0, 2.0, 4.0])
    error = np.full(3, 0.1)
    line = uncertainty.fit_line_york(x=x, y=5.0 - 2.0 * x, x_uncertainty=error, y_uncertainty=error)
    assert (line.slope, line.intercept) == pytest.approx((-2.0, 5.0))
    assert line.residual_variance == pytest.approx(0.0, abs=1e-20)
