"""The drying exponent from coats weighed while they dry.

Two numbers hide behind such a series: how early drying slows (the exponent n) and how far the
weather at the coupon was from what was written down (a factor on the drying demand). Both are
laid out on a grid with the coat at the start and the scales' scatter, which needs no sampler.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwet.constants import STANDARD_PRESSURE, STEFAN_BOLTZMANN
from stillwet.domain.trials import DryingSeries, Weighing
from stillwet.errors import Problem, StillwetError
from stillwet.evidence.curve_model import TAILS
from stillwet.evidence.prior import NORMAL_95
from stillwet.physics import air, coat, drying, sun
from stillwet.physics.convection import ROOF, WALL
from stillwet.physics.product_types import ProductType

Array = NDArray[np.float64]

DEMAND_LOG_SD = 0.25  # of the demand at the coupon, untested default, 0.1 to 0.4
SCALES = 0.02  # scatter of a weighing over the first coat, untested default, half to twice
_SCATTERS = SCALES * np.exp(np.linspace(-1.2, 1.2, 7))
_EXPONENTS = np.linspace(0.0, 1.0, 81)
_FACTORS = np.exp(np.linspace(-3.0, 3.0, 61) * DEMAND_LOG_SD)
_STARTS = np.linspace(-2.0, 2.0, 5)  # of the first coat, in scatters
_STEEP_DEG = 30.0  # from here on a coupon loses heat as a wall does
ODD = 3.0  # scatters off


@dataclass(frozen=True, eq=False)
class DryingFit:
    """The drying exponent and what it rests on.

    ``off`` holds how far each weighing after the first lies from the curve, in scatters, series by
    series. ``least_left`` is the smallest share of its water that any coat was followed to.
    """

    series: tuple[DryingSeries, ...]
    low: float
    median: float
    high: float
    default: tuple[float, float, float]
    factors: tuple[float, ...]  # weather at the coupon over that written down, by series
    off: tuple[tuple[float, ...], ...]
    least_left: float

    @property
    def count(self) -> int:
        """Weighings after the first of each series."""
        return sum(len(one.weighings) - 1 for one in self.series)

    @property
    def odd(self) -> int:
        """How many weighings lie far off."""
        return sum(value > ODD for values in self.off for value in values)


def demand_sum(series: DryingSeries) -> Array:
    """Drying demand [kg/m2] summed from the first weighing to each (N,), first 0: trapezoids.

    Water's demand by ``physics.drying`` in the air of each weighing, at standard pressure.
    """
    rate = np.array([_demand(series, each) for each in series.weighings])
    time = np.array([each.when_s for each in series.weighings])
    steps = 0.5 * (rate[1:] + rate[:-1]) * np.diff(time)
    return np.concatenate([[0.0], np.cumsum(steps)])


def _demand(series: DryingSeries, now: Weighing) -> float:
    sky = STEFAN_BOLTZMANN * now.air_temperature_k**4
    if now.cloud_cover is not None:
        vapour = air.vapour_pressure(
            temperature_k=now.air_temperature_k, relative_humidity=now.relative_humidity
        )
        sky = float(
            sun.sky_longwave(
                air_temperature_k=now.air_temperature_k,
                vapour_pressure_pa=vapour,
                cloud_cover=now.cloud_cover,
            )
        )
    return drying.wet_surface(
        geometry=WALL if series.tilt_deg >= _STEEP_DEG else ROOF,
        length_m=series.length_m,
        tilt_deg=series.tilt_deg,
        wind_m_s=now.wind_speed_m_s,
        air_temperature_k=now.air_temperature_k,
        relative_humidity=now.relative_humidity,
        pressure_pa=STANDARD_PRESSURE,
        irradiance_w_m2=now.sun_w_m2,
        sky_longwave_w_m2=sky,
    ).demand_kg_m2_s


def water_left(series: DryingSeries) -> Array:
    """Water on the coupon [kg/m2] at each weighing: its mass less the solids of the first coat."""
    mass = np.array([each.mass_kg_m2 for each in series.weighings])
    return np.asarray(mass - series.solids_share * mass[0])


def fit_drying(series: Sequence[DryingSeries], kind: ProductType) -> DryingFit:
    """The posterior of the drying exponent from one or more coats.

    The coats share the exponent; each has its own weather factor, first coat and scatter. Raises
    StillwetError where a coat got no drier or the weather took nothing.
    """
    if not series:
        raise StillwetError(Problem("series", "at least one coat weighed while drying", "none"))
    grids = [_Grid(one) for one in series]
    log_prior = _log_prior(kind)
    total = log_prior + sum(grid.of_exponent() for grid in grids)
    weight = np.exp(total - total.max())
    low, median, high = _quantiles(weight)
    default = kind.drying_exponent
    return DryingFit(
        series=tuple(series),
        low=low,
        median=median,
        high=high,
        default=(default.low, default.median, default.high),
        factors=tuple(grid.factor_at(median) for grid in grids),
        off=tuple(grid.off_at(median) for grid in grids),
        least_left=min(float(grid.water.min() / grid.water[0]) for grid in grids),
    )


def _log_prior(kind: ProductType) -> Array:
    """Logarithm of the prior (E,): normal on each side of the median, inside 0 to 1."""
    given = kind.drying_exponent
    below, above = given.median - given.low, given.high - given.median
    side = np.where(given.median > _EXPONENTS, below, above)
    return np.asarray(-0.5 * ((_EXPONENTS - given.median) * NORMAL_95 / side) ** 2)


def _quantiles(weight: Array) -> tuple[float, float, float]:
    """5, 50 and 95 % points; each grid value stands for the cell about it."""
    edges = np.concatenate([[0.0], 0.5 * (_EXPONENTS[1:] + _EXPONENTS[:-1]), [1.0]])
    mass = weight * np.diff(edges)
    share = np.concatenate([[0.0], np.cumsum(mass) / mass.sum()])
    low, median, high = (float(np.interp(at, share, edges)) for at in (0.05, 0.5, 0.95))
    return low, median, high


class _Grid:
    """One coat's likelihood over exponent, weather factor, first coat and scatter."""

    def __init__(self, series: DryingSeries) -> None:
        self.water = water_left(series)
        self.demand = demand_sum(series)
        _check(series, self.water, self.demand)
        self._log = self._table()

    def _left(self, exponents: Array, factors: Array, starts: Array) -> Array:
        """Share of the first coat (E, F, S, N) that should be left at the later weighings."""
        begun = self.water[0] * (1.0 + SCALES * starts)[None, None, :, None]
        left = coat.coat_left(
            coat_kg_m2=begun,
            drying_kg_m2=self.demand[1:] * factors[None, :, None, None],
            exponent=exponents[:, None, None, None],
        )
        return np.asarray(left / self.water[0])

    def _table(self) -> Array:
        """Log of likelihood times prior (E, F, S, scatters)."""
        residual = self._left(_EXPONENTS, _FACTORS, _STARTS) - self.water[1:] / self.water[0]
        found = np.empty((*residual.shape[:3], _SCATTERS.size))
        factor = -0.5 * (np.log(_FACTORS) / DEMAND_LOG_SD) ** 2
        start = -0.5 * _STARTS**2
        scatter = -0.5 * (np.log(_SCATTERS / SCALES) / (np.log(2.0) / NORMAL_95)) ** 2
        for place, size in enumerate(_SCATTERS):
            heavy = np.log1p((residual / size) ** 2 / TAILS).sum(axis=-1)
            likely = -0.5 * (TAILS + 1.0) * heavy - residual.shape[-1] * np.log(size)
            found[..., place] = likely + scatter[place]
        return np.asarray(found + factor[:, None, None] + start[:, None])

    def of_exponent(self) -> Array:
        """Log likelihood (E,) of the exponent, all else summed over."""
        from scipy.special import logsumexp

        return np.asarray(logsumexp(self._log, axis=(1, 2, 3)))

    def factor_at(self, exponent: float) -> float:
        """Most likely weather factor at an exponent."""
        row = int(np.argmin(np.abs(_EXPONENTS - exponent)))
        return float(_FACTORS[np.unravel_index(np.argmax(self._log[row]), self._log[row].shape)[0]])

    def off_at(self, exponent: float) -> tuple[float, ...]:
        """How far each later weighing lies off (N,), in the likeliest scatter."""
        row = int(np.argmin(np.abs(_EXPONENTS - exponent)))
        best = np.unravel_index(np.argmax(self._log[row]), self._log[row].shape)
        left = self._left(_EXPONENTS[[row]], _FACTORS[[best[0]]], _STARTS[[best[1]]])
        off = np.abs(left[0, 0, 0] - self.water[1:] / self.water[0]) / _SCATTERS[best[2]]
        return tuple(float(value) for value in off)


def _check(series: DryingSeries, water: Array, demand: Array) -> None:
    """A coat that did not dry, or weather that takes nothing, says nothing of the exponent."""
    if np.ptp(water) == 0.0:
        hint = "weigh until at least half the water is gone"
        raise StillwetError(
            Problem("coat", "weights that fall", "all weights equal", series.id, hint)
        )
    if water.min() < -SCALES * 3.0 * water[0]:
        hint = "is the ratio right, and the board's weight taken off?"
        got = f"{water.min():.2f} mm less than the solids alone"
        raise StillwetError(Problem("coat", "no less than the solids", got, series.id, hint))
    if demand[-1] <= 0.0:
        got = "air in which nothing dries"
        raise StillwetError(Problem("relative_humidity", "drying weather", got, series.id))
