"""The shapes of a forecast's error are those of a process that forgets exponentially."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from stillwet.engine.error_modes import error_modes

Array = NDArray[np.float64]


def covariance(count: int, persistence: float) -> Array:
    """Correlation of an AR(1) process between all pairs of hours (Box & Jenkins, from memory)."""
    hours = np.arange(count)
    return np.asarray(np.exp(-np.abs(np.subtract.outer(hours, hours)) / persistence))


@pytest.mark.parametrize(("count", "persistence"), [(24, 12.0), (48, 12.0), (72, 6.0), (30, 40.0)])
def test_leading_modes_are_the_eigenvectors_of_the_process(count: int, persistence: float) -> None:
    """The closed form gives numpy's eigenvectors of the sampled covariance, but for its ends."""
    values, vectors = np.linalg.eigh(covariance(count, persistence))
    modes = error_modes(count=count, persistence=persistence, modes=3)
    for order in range(2):
        wanted = vectors[:, -1 - order] * np.sqrt(values[-1 - order])
        found = modes[:, order] * np.sign(modes[0, order] * wanted[0])
        assert np.abs(found - wanted).max() < 0.05


@pytest.mark.parametrize("count", [2, 13, 36, 96])
def test_every_hour_has_its_full_spread(count: int) -> None:
    """The squares of an hour's modes add up to 1, whatever the modes leave out."""
    for modes in (2, 3, 5):
        found = error_modes(count=count, persistence=12.0, modes=modes)
        assert found.shape == (count, modes)
        np.testing.assert_allclose((found**2).sum(axis=1), 1.0, rtol=1e-12)


@pytest.mark.parametrize(("count", "most"), [(24, 0.05), (48, 0.08), (72, 0.11)])
def test_sums_spread_as_those_of_the_process(count: int, most: float) -> None:
    """The variance of the whole sum is the AR(1) process's, within 5 to 11 % by length."""
    modes = error_modes(count=count, persistence=12.0, modes=3)
    found = float((modes.sum(axis=0) ** 2).sum())
    assert found == pytest.approx(float(covariance(count, 12.0).sum()), rel=most)


def test_an_error_that_never_forgets_is_one_constant() -> None:
    """In the limit of long persistence all hours are wrong by the same."""
    modes = error_modes(count=36, persistence=1e7, modes=3)
    np.testing.assert_allclose(modes[:, 0], modes[0, 0], rtol=1e-4)
    assert abs(modes[0, 0]) == pytest.approx(1.0, abs=1e-4)


def test_an_error_that_forgets_at_once_hardly_moves_sums() -> None:
    """Independent hours: the sum of 72 has a standard deviation near 8.5, not 72."""
    modes = error_modes(count=72, persistence=0.05, modes=3)
    assert float(np.sqrt((modes.sum(axis=0) ** 2).sum())) < 0.3 * 72
