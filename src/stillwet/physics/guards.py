"""The thin checked layer of physics: impossible inputs are refused with field, wanted and got.

Bounds are wide enough for any real value, so a failure means a slip: a wrong unit, percent for
fraction, or a sign. Values outside a model's *published range* but possible are not refused; they
are flagged with ``outside``.
"""

from __future__ import annotations

from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from stillwet.errors import Problem, StillwetError, shown

Numbers: TypeAlias = float | NDArray[np.float64]
"""A scalar or an array of floats; physics functions broadcast and return the same kind."""


def need_within(
    field: str, value: Numbers, low: float, high: float, unit: str, hint: str = ""
) -> None:
    """Raise unless every value is finite and low <= value <= high (all in ``unit``)."""
    values = np.asarray(value, dtype=float)
    is_bad = ~((values >= low) & (values <= high))  # NaN compares false, so it is bad
    if not is_bad.any():
        return
    got = shown(float(values[is_bad].flat[0]))
    place = f"item {int(np.flatnonzero(is_bad)[0])}" if values.ndim else ""
    raise StillwetError(Problem(field, f"{low:g} to {high:g} {unit}".strip(), got, place, hint))


def outside(label: str, value: Numbers, low: float, high: float) -> tuple[str, ...]:
    """The label in a tuple when any value lies outside a published range, else an empty tuple."""
    values = np.asarray(value, dtype=float)
    return (label,) if bool(np.any((values < low) | (values > high))) else ()


def as_given(value: Any) -> Numbers:
    """A plain float for what has no dimension, else the array: scalars in, a scalar out."""
    return float(value) if np.ndim(value) == 0 else value
