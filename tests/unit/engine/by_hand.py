"""Drying, coats and asks with numbers that a reader can follow: hours, mm, steady drying."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stillwet.engine.coating import Ask, Spread
from stillwet.engine.drying import Drying

Array = NDArray[np.float64]
HOUR = 3600.0


def steady_drying(rates_mm_h: list[float], hours: int = 12, faces: int = 1) -> Drying:
    """The same demand all the time, one rate a member."""
    time_s = np.arange(hours + 1, dtype=np.float64) * HOUR
    one = np.arange(hours + 1)[:, None] * np.array(rates_mm_h)[None, :]
    return Drying(time_s=time_s, total_kg_m2=np.repeat(one[None, :, :], faces, axis=0))


def spread_of(
    exponent: list[float],
    *,
    thinnest: float = 1.0,
    coat_factor: float = 1.0,
    cling: float = 100.0,
    faces: int = 1,
) -> Spread:
    """Members that differ in drying exponent only."""
    count = len(exponent)
    return Spread(
        thinnest=np.full(count, thinnest),
        coat_factor=np.full(count, coat_factor),
        exponent=np.array(exponent),
        cling=np.full((faces, count), cling),
    )


def ask_of(
    water_mm: list[float],
    *,
    arrival_h: float,
    ember_h: float = 1.0,
    reserve: float = 0.4,
    faces: int = 1,
) -> Ask:
    """The fire's demand, one a member, at the same time on every face."""
    arrival = np.full(faces, arrival_h * HOUR)
    return Ask(
        water_demand=np.repeat(np.array(water_mm)[None, :], faces, axis=0),
        arrival_s=arrival,
        end_s=arrival + ember_h * HOUR,
        reserve=reserve,
    )
