"""Least squares: the point with the smallest sum of squared misfits, and the curvature there."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Misfits = Callable[[Array], Array]  # points (M, d) -> misfits (M, N)

_STEP = float(np.finfo(float).eps) ** (1 / 3)
_MOST_STEPS = 200


@dataclass(frozen=True, eq=False)
class Peak:
    """A fitted point (d,), its covariance (d, d) where misfits are in standard deviations."""

    point: Array
    covariance: Array
    sum_of_squares: float


def find_peak(misfits: Misfits, start: Array, *, tolerance: float = 1e-12) -> Peak:
    """Minimise the sum of squared misfits by a trust-region method (scipy's least_squares).

    Parameters: misfits, vectorised over points; start (d,); relative tolerance of value, point and
    slope. The slopes are central differences, all in one call. The covariance is the inverse of
    ``J^T J``: multiply by the residual variance where the misfits' own size is not known.
    """
    from scipy.optimize import least_squares

    solve: Any = least_squares  # its types do not take a function of its own jacobian
    found = solve(
        lambda point: misfits(point[None, :])[0],
        start,
        jac=lambda point: _slopes(misfits, point),
        x_scale="jac",
        ftol=tolerance,
        xtol=tolerance,
        gtol=tolerance,
        max_nfev=_MOST_STEPS,
    )
    point = np.asarray(found.x, dtype=float)
    at = misfits(point[None, :])[0]
    jacobian = _slopes(misfits, point)
    covariance = np.linalg.inv(jacobian.T @ jacobian)
    return Peak(point, np.asarray(covariance, dtype=float), float(at @ at))


def _slopes(misfits: Misfits, point: Array) -> Array:
    """Jacobian (N, d) by central differences, every step in one vectorised call."""
    step = _STEP * np.maximum(np.abs(point), 1e-2)
    moves = np.diag(step)
    both = misfits(np.concatenate([point + moves, point - moves]))
    count = point.size
    slope: Array = ((both[:count] - both[count:]) / (2.0 * step)[:, None]).T
    return slope
