"""Trials' least squares on public test data: functions for the reference cases."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stillwet.evidence.peak import find_peak

Array = NDArray[np.float64]


def misra1a(
    *, pressure: Array, volume: Array, start_volume: float, start_rate: float
) -> dict[str, float]:
    """Fit ``volume = b1 (1 - exp(-b2 pressure))``: b1, b2, their deviations, residual squares."""

    def misfits(points: Array) -> Array:
        b1, b2 = points[:, [0]], points[:, [1]]
        return np.asarray(volume - b1 * (1.0 - np.exp(-b2 * pressure)))

    found = find_peak(misfits, np.array([start_volume, start_rate]))
    variance = found.sum_of_squares / (pressure.size - 2)
    deviations = np.sqrt(np.diag(found.covariance) * variance)
    return {
        "b1": float(found.point[0]),
        "b2": float(found.point[1]),
        "b1_deviation": float(deviations[0]),
        "b2_deviation": float(deviations[1]),
        "squares": found.sum_of_squares,
    }
