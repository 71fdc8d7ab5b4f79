"""Powers and roots by short series, for compiled loops that have to vectorise.

A call of the mathematical library, a look-up or a branch stops a compiler from doing eight cells at
once. Here a root is a polynomial's guess and one step that takes its error to the fourth power:
additions and multiplications, and square roots where the range is wide.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stillwet.compiling import compiled

Series = tuple[float, ...]
_inlined: Any = compiled(fastmath={"contract"}, error_model="numpy", inline="always")


def _series_of(
    function: Callable[[NDArray[np.float64]], Any], degree: int, low: float, high: float
) -> Series:
    """Coefficients, lowest first, of the polynomial through a function's Chebyshev points."""
    fit = np.polynomial.Chebyshev.interpolate(function, degree, domain=[low, high])
    return tuple(float(c) for c in fit.convert(kind=np.polynomial.Polynomial).coef)


def _root_series(root: int, degree: int, low: float, high: float) -> Series:
    return _series_of(lambda z: z ** (-1.0 / root), degree, low, high)


CUBE_LOW = _root_series(3, 6, 0.3, 1.6)
CUBE_NEAR = _root_series(3, 4, 0.8, 1.2)
CUBE_OF_SUM = _root_series(3, 4, 1.0, 2.0)
FIFTH_WIDE = _root_series(5, 6, 0.5, 2.2)
FIFTH_LOW = _root_series(5, 6, 0.3, 1.6)
# z^(-1/12) and z^(1/12) by u = z^(1/8), in single precision: guesses, made whole by a step.
TWELFTH_INVERSE = tuple(np.float32(c) for c in _series_of(lambda u: u ** (-2 / 3), 8, 0.562, 3.03))
TWELFTH_ROUGH = tuple(np.float32(c) for c in _series_of(lambda u: u ** (2 / 3), 4, 0.562, 3.03))


@_inlined
def poly4(x: float, c: Series) -> float:
    """Five coefficients; even and odd powers apart, so that they run side by side."""
    q = x * x
    found: float = c[0] + q * (c[2] + q * c[4]) + x * (c[1] + q * c[3])
    return found


@_inlined
def poly6(x: float, c: Series) -> float:
    """Seven coefficients."""
    q = x * x
    found: float = c[0] + q * (c[2] + q * (c[4] + q * c[6])) + x * (c[1] + q * (c[3] + q * c[5]))
    return found


@_inlined
def poly8(x: float, c: Series) -> float:
    """Nine coefficients."""
    q = x * x
    even = c[0] + q * (c[2] + q * (c[4] + q * (c[6] + q * c[8])))
    found: float = even + x * (c[1] + q * (c[3] + q * (c[5] + q * c[7])))
    return found


@_inlined
def poly10(x: float, c: Series) -> float:
    """Eleven coefficients."""
    q = x * x
    even = c[0] + q * (c[2] + q * (c[4] + q * (c[6] + q * (c[8] + q * c[10]))))
    found: float = even + x * (c[1] + q * (c[3] + q * (c[5] + q * (c[7] + q * c[9]))))
    return found


@_inlined
def poly16(x: float, c: Series) -> float:
    """Seventeen coefficients."""
    q = x * x
    even = c[8] + q * (c[10] + q * (c[12] + q * (c[14] + q * c[16])))
    odd = c[7] + q * (c[9] + q * (c[11] + q * (c[13] + q * c[15])))
    even = c[0] + q * (c[2] + q * (c[4] + q * (c[6] + q * even)))
    found: float = even + x * (c[1] + q * (c[3] + q * (c[5] + q * odd)))
    return found


@_inlined
def inverse_cube_root(guess: float, z: float) -> float:
    """z^(-1/3) from a guess; a small error e of the guess's cube becomes 0.14 e^4."""
    e = 1 - z * (guess * guess * guess)
    better: float = guess + guess * e * (1 / 3 + e * (2 / 9 + e * (14 / 81)))
    return better


@_inlined
def inverse_fifth_root(guess: float, z: float) -> float:
    """z^(-1/5) from a guess."""
    square = guess * guess
    e = 1 - z * (square * square * guess)
    better: float = guess + guess * e * (0.2 + e * (0.12 + e * 0.088))
    return better
