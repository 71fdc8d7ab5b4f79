"""The likeliest point of a model with many small squared misfits, and the curvature there."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Misfits = Callable[[Array], Array]  # points (M, d) -> misfits (M, N)

_STEP = float(np.finfo(float).eps) ** (1 / 3)


@dataclass(frozen=True, eq=False)
class Peak:
    """A fitted point (d,), its covariance (d, d) where misfits are in standard deviations."""

    point: Array
    covariance: Array
    sum_of_squares: float


def find_peak(
    misfits: Misfits,
    start: Array,
    *,
    is_robust: NDArray[np.bool_] | None = None,
    degrees_of_freedom: float = math.inf,
    most_steps: int = 60,
    tolerance: float = 1e-12,
) -> Peak:
    """Minimise the sum of squared misfits, some of them judged by Student's t.

    Parameters: misfits, vectorised over points, each in its own standard deviation; start (d,);
    is_robust (N,), which misfits follow Student's t with ``degrees_of_freedom`` (the others are
    normal); most_steps and relative tolerance of the
    trust-region iteration (scipy.optimize.least_squares).

    The slopes are central differences, all in one call. The covariance is the inverse of
    ``J^T W J`` with the weights ``(nu + 1)/(nu + r^2)`` of the robust misfits, which never turns
    negative (Lange, Little & Taylor 1989, J. Am. Stat. Assoc. 84:881).
    """
    from scipy.optimize import least_squares

    count = misfits(start[None, :]).shape[1]
    robust = np.zeros(count, dtype=bool) if is_robust is None else is_robust
    nu = degrees_of_freedom

    def loss(squares: Array) -> Array:
        straight = np.stack([squares, np.ones_like(squares), np.zeros_like(squares)])
        if math.isinf(nu):
            return straight
        heavy = 1.0 + squares / nu
        bent = np.stack(
            [(nu + 1) * np.log(heavy), (nu + 1) / nu / heavy, -(nu + 1) / nu**2 / heavy**2]
        )
        return np.where(robust, bent, straight)

    solve: Any = least_squares  # its types leave out that the loss sees all misfits at once
    found = solve(
        lambda point: misfits(point[None, :])[0],
        start,
        jac=lambda point: slopes(misfits, point),
        loss=loss,
        x_scale="jac",
        ftol=tolerance,
        xtol=tolerance,
        gtol=tolerance,
        max_nfev=most_steps,
    )
    point = np.asarray(found.x, dtype=float)
    at = misfits(point[None, :])[0]
    weight = np.ones(count)
    if not math.isinf(nu):
        weight = np.where(robust, (nu + 1) / (nu + at**2), 1.0)
    jacobian = slopes(misfits, point)
    covariance = np.linalg.inv(jacobian.T @ (weight[:, None] * jacobian))
    return Peak(point, np.asarray(covariance, dtype=float), float(at @ at))


def slopes(misfits: Misfits, point: Array) -> Array:
    """Jacobian (N, d) by central differences, every step in one vectorised call."""
    step = _STEP * np.maximum(np.abs(point), 1e-2)
    moves = np.diag(step)
    both = misfits(np.concatenate([point + moves, point - moves]))
    count = point.size
    slope: Array = ((both[:count] - both[count:]) / (2.0 * step)[:, None]).T
    return slope
