"""Solves a rising function for arrays at once by halving, which cannot run away."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from stillwet.physics.guards import Numbers

_HALVINGS = 60
_DOUBLINGS = 200


def rising_root(
    *,
    function: Callable[[NDArray[np.float64]], Numbers],
    target: Numbers,
    low: Numbers,
) -> Numbers:
    """Where a rising function of a positive number reaches a target.

    Parameters: function, element by element and rising; target, any shape; low, above zero and no
    higher than the answer. Returns the answer in the broadcast shape, within 1 part in 1e15 of the
    bracket; infinity where 200 doublings of ``low`` do not reach the target.
    """
    goal, bottom = np.broadcast_arrays(np.asarray(target, float), np.asarray(low, float))
    bottom = np.array(bottom)
    top = 2.0 * bottom
    for _ in range(_DOUBLINGS):
        is_short = np.asarray(function(top)) < goal
        if not is_short.any():
            break
        bottom = np.where(is_short, top, bottom)
        top = np.where(is_short, 2.0 * top, top)
    is_never = np.asarray(function(top)) < goal
    for _ in range(_HALVINGS):
        middle = 0.5 * (bottom + top)
        is_short = np.asarray(function(middle)) < goal
        bottom = np.where(is_short, middle, bottom)
        top = np.where(is_short, top, middle)
    root: Numbers = np.where(is_never, np.inf, 0.5 * (bottom + top))[()]
    return root
