"""Short series for roots: numpy's own powers, over the whole range that each is used in."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from stillwet.physics import series


@pytest.mark.parametrize(
    ("guess", "poly", "root", "low", "high"),
    [
        (series.CUBE_LOW, series.poly6, 3, 0.3, 1.6),
        (series.CUBE_NEAR, series.poly4, 3, 0.8, 1.2),
        (series.CUBE_OF_SUM, series.poly4, 3, 1.0, 2.0),
        (series.FIFTH_WIDE, series.poly6, 5, 0.5, 2.2),
        (series.FIFTH_LOW, series.poly6, 5, 0.3, 1.6),
    ],
)
def test_a_guess_is_its_root_over_its_range(
    guess: series.Series, poly: Any, root: int, low: float, high: float
) -> None:
    """Within a hundredth from end to end, and touching the root once for each coefficient (the
    points of Chebyshev), by the polynomial that takes so many.
    """
    z = np.linspace(low, high, 2001)
    off = poly.py_func(z, guess) * z ** (1.0 / root) - 1.0
    assert abs(off).max() < 0.012
    assert int((np.diff(np.sign(off)) != 0).sum()) == len(guess)


@pytest.mark.parametrize(
    ("step", "root"),
    [
        (series.inverse_cube_root, 3),
        (series.inverse_fifth_root, 5),
    ],
)
def test_one_step_takes_an_error_to_the_fourth_power(step: Any, root: int) -> None:
    """Half the error leaves a sixteenth of it, at any size of the number."""
    for z in (0.4, 1.0, 1.9):
        exact = z ** (-1.0 / root)
        far, near = (abs(step(exact * (1 + off), z) / exact - 1) for off in (0.02, 0.01))
        assert far / near == pytest.approx(16.0, rel=0.25)
        assert far < 50 * 0.02**4 * root


@pytest.mark.parametrize(
    ("count", "function"),
    [
        (5, series.poly4),
        (7, series.poly6),
        (9, series.poly8),
        (11, series.poly10),
        (17, series.poly16),
    ],
)
def test_a_polynomial_is_numpys(count: int, function: Any) -> None:
    """Any coefficients, each of them counted once and at its own power."""
    coefficients = tuple(np.random.default_rng(7).uniform(0.5, 2.0, count).tolist())
    for x in (-1.3, -0.4, 0.0, 0.7, 1.2):
        wanted = np.polynomial.Polynomial(coefficients)(x)
        assert function(x, coefficients) == pytest.approx(wanted, rel=1e-12)
