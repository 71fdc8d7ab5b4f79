"""The shapes in time of a forecast's error: the leading modes of a process that forgets slowly."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

_HALVINGS = 80  # of an interval of pi/2: to rounding


@lru_cache(maxsize=64)
def error_modes(*, count: int, persistence: float, modes: int) -> Array:
    """Modes (count, modes) [-]: times independent standard normals they give an error series.

    The series has standard deviation 1 at every step. Its sums spread like those of a process
    whose correlation falls as ``exp(-|lag| / persistence)`` (AR(1)), ``persistence`` in steps: all
    modes but the last are that process's leading Karhunen-Loeve modes. The last is what they leave
    out, with its sign turned from step to step: each step then has its full spread, and sums are
    hardly touched. Scaling the leading modes up instead would make errors last too long, and the
    members too wide (docs/explanation/confidence.md).

    Source: closed form for the exponential covariance, Ghanem & Spanos 1991, Stochastic Finite
    Elements, ch. 2 (from memory). With c the persistence and a half the span, cosines have
    ``w c tan(w a) = 1``, sines ``tan(w a) = -w c``, and both the variance ``2 c / (1 + (w c)^2)``.
    """
    half = 0.5 * (count - 1)
    time = np.arange(count, dtype=np.float64) - half
    leading = np.stack([_mode(order, time, half, persistence) for order in range(modes - 1)], 1)
    left_out = np.clip(1.0 - (leading**2).sum(axis=1, keepdims=True), 0.0, None)
    turning = np.where(np.arange(count) % 2 == 0, 1.0, -1.0)[:, None]
    found: Array = np.concatenate([leading, turning * np.sqrt(left_out)], axis=1)
    found /= np.sqrt((found**2).sum(axis=1, keepdims=True))
    found.flags.writeable = False  # cached, so shared
    return found


def _mode(order: int, time: Array, half: float, persistence: float) -> Array:
    """One Karhunen-Loeve mode times the root of its variance: cosines and sines in turn."""
    is_even = order % 2 == 0
    number = order // 2
    # w*half lies in (number*pi, number*pi + pi/2) for cosines, in the next half turn for sines.
    low = np.pi * number + (0.0 if is_even else 0.5 * np.pi)
    high = low + 0.5 * np.pi
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        w = middle / half
        # Both sides rise through the interval: w tan(w a) for cosines, tan(w a) + w c for sines.
        excess = w * np.tan(middle) - 1.0 / persistence
        if not is_even:
            excess = np.tan(middle) + w * persistence
        low, high = (middle, high) if excess < 0.0 else (low, middle)
    w = 0.5 * (low + high) / half
    variance = 2.0 * persistence / (1.0 + (w * persistence) ** 2)
    wave = np.cos(w * time) if is_even else np.sin(w * time)
    twist = np.sin(2.0 * w * half) / (2.0 * w)
    norm = half + twist if is_even else half - twist
    return np.asarray(np.sqrt(variance / norm) * wave)
