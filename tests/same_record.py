"""Whether two records say the same, arrays and missing numbers included."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping
from typing import Any

import numpy as np


def same(one: Any, other: Any) -> bool:
    """True when the two are of one type and equal to the bit, NaN beside NaN."""
    if isinstance(one, np.ndarray):
        return bool(
            isinstance(other, np.ndarray)
            and one.dtype == other.dtype
            and np.array_equal(one, other, equal_nan=True)
        )
    if dataclasses.is_dataclass(one) and not isinstance(one, type):
        return type(one) is type(other) and all(
            same(getattr(one, item.name), getattr(other, item.name))
            for item in dataclasses.fields(one)
        )
    if isinstance(one, Mapping):
        return set(one) == set(other) and all(same(one[name], other[name]) for name in one)
    if isinstance(one, tuple):
        return len(one) == len(other) and all(map(same, one, other))
    if isinstance(one, float) and math.isnan(one):
        return isinstance(other, float) and math.isnan(other)
    return bool(one == other)
