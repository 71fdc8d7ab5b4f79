"""How sure a reckoned number is: the GUM's law of propagation; lines with errors both ways.

GUM is the Guide to the expression of uncertainty in measurement (JCGM 100:2008).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwet.errors import Problem, StillwetError

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Reckoned:
    """A value with its standard uncertainty and what each input adds to it (signed, same unit)."""

    value: float
    uncertainty: float
    parts: Mapping[str, float]


def propagate_kragten(
    *,
    function: Callable[..., float],
    values: Mapping[str, float],
    uncertainties: Mapping[str, float],
    correlation: Mapping[tuple[str, str], float] | None = None,
) -> Reckoned:
    """Standard uncertainty of ``function(**values)`` by finite steps of one standard uncertainty.

    Parameters: function of keyword numbers; values; uncertainties, standard, of some or all of them
    in their own units; correlation of pairs [-], 0 where not named.

    Each part is half the change from one step down to one step up (Kragten 1994, Analyst 119:2161,
    in its central form); ``u^2 = sum r_ij part_i part_j`` (GUM eq. 13). Range: a function close to
    a straight line over one standard uncertainty.
    """
    parts = {name: _half_swing(function, values, name, u) for name, u in uncertainties.items()}
    variance = sum(part * part for part in parts.values())
    for (one, other), r in (correlation or {}).items():
        variance += 2.0 * r * parts[one] * parts[other]
    return Reckoned(float(function(**values)), float(np.sqrt(max(variance, 0.0))), parts)


def _half_swing(
    function: Callable[..., float], values: Mapping[str, float], name: str, step: float
) -> float:
    up = function(**{**values, name: values[name] + step})
    down = function(**{**values, name: values[name] - step})
    return 0.5 * float(up - down)


def coverage_factor(*, confidence: float, degrees_of_freedom: float = np.inf) -> float:
    """Two-sided coverage factor k [-]: Student's t for the degrees of freedom (GUM annex G)."""
    from scipy.stats import t

    return float(t.ppf(0.5 + 0.5 * confidence, degrees_of_freedom))


def rectangular(*, half_width: float) -> float:
    """Standard uncertainty of a reading known only to lie within +- half_width (GUM 4.3.7)."""
    return half_width / math.sqrt(3.0)


@dataclass(frozen=True, slots=True)
class Line:
    """A fitted straight line ``y = intercept + slope*x`` with standard uncertainties."""

    intercept: float
    slope: float
    intercept_uncertainty: float
    slope_uncertainty: float
    covariance: float
    residual_variance: float  # weighted sum of squares over degrees of freedom; about 1 when honest

    def at(self, x: float) -> float:
        """Y on the line."""
        return self.intercept + self.slope * x

    def x_of(self, y: float) -> float:
        """X on the line (calibration read backwards)."""
        return (y - self.intercept) / self.slope

    def uncertainty_of_x(self, y: float, y_uncertainty: float) -> float:
        """Standard uncertainty of ``x_of(y)`` from the reading's and the line's."""
        x = self.x_of(y)
        line = self.intercept_uncertainty**2 + (x * self.slope_uncertainty) ** 2
        variance = y_uncertainty**2 + line + 2.0 * x * self.covariance
        return float(np.sqrt(max(variance, 0.0)) / abs(self.slope))


def fit_line_york(
    *, x: Array, y: Array, x_uncertainty: Array, y_uncertainty: Array, correlation: float = 0.0
) -> Line:
    """Straight line through points (N,) with standard uncertainties (N,) in both directions.

    York, Evensen, Martinez & De Basabe Delgado 2004, Am. J. Phys. 72:367, unified equations 13a to
    13f; correlation between the errors of one point [-]. At least 3 points. Uncertainties of slope
    and intercept are those expected from the given errors, not scaled by the scatter: read
    ``residual_variance``, and distrust the line when it is far above 1.
    """
    if x.size < 3:
        raise StillwetError(Problem("points", "at least 3", f"{x.size}"))
    weight_x, weight_y = x_uncertainty**-2.0, y_uncertainty**-2.0
    both = np.sqrt(weight_x * weight_y)
    slope = float(np.polyfit(x, y, 1)[0])
    for _ in range(200):
        weight, beta = _york_step(x, y, weight_x, weight_y, both, slope, correlation)
        u, v = x - np.average(x, weights=weight), y - np.average(y, weights=weight)
        better = float(np.sum(weight * beta * v) / np.sum(weight * beta * u))
        is_settled = abs(better - slope) <= 1e-15 * abs(slope)
        slope = better
        if is_settled:
            break
    return _york_line(x, y, weight, beta, slope)


def _york_step(
    x: Array, y: Array, weight_x: Array, weight_y: Array, both: Array, slope: float, r: float
) -> tuple[Array, Array]:
    """Point weights and the adjusted positions relative to the centroid, for a trial slope."""
    weight = weight_x * weight_y / (weight_x + slope**2 * weight_y - 2.0 * slope * r * both)
    u, v = x - np.average(x, weights=weight), y - np.average(y, weights=weight)
    beta = weight * (u / weight_y + slope * v / weight_x - (slope * u + v) * r / both)
    return weight, beta


def _york_line(x: Array, y: Array, weight: Array, beta: Array, slope: float) -> Line:
    intercept = float(np.average(y, weights=weight) - slope * np.average(x, weights=weight))
    adjusted = np.average(x, weights=weight) + beta
    middle = float(np.average(adjusted, weights=weight))
    slope_variance = 1.0 / float(np.sum(weight * (adjusted - middle) ** 2))
    residual = float(np.sum(weight * (y - intercept - slope * x) ** 2))
    return Line(
        intercept=intercept,
        slope=slope,
        intercept_uncertainty=float(np.sqrt(1.0 / np.sum(weight) + middle**2 * slope_variance)),
        slope_uncertainty=float(np.sqrt(slope_variance)),
        covariance=-middle * slope_variance,
        residual_variance=residual / (x.size - 2),
    )


def fit_slope_deming(*, x: Array, y: Array, variance_ratio: float = 1.0) -> tuple[float, float]:
    """Intercept and slope when every point has the same errors: Deming's closed form.

    variance_ratio is the error variance of y over that of x; 1 is Pearson's orthogonal line (1901).
    Sibling of ``fit_line_york``.
    """
    sxx, syy = float(np.var(x)), float(np.var(y))
    sxy = float(np.mean((x - x.mean()) * (y - y.mean())))
    difference = syy - variance_ratio * sxx
    slope = (difference + np.sqrt(difference**2 + 4.0 * variance_ratio * sxy**2)) / (2.0 * sxy)
    return float(y.mean() - slope * x.mean()), float(slope)
