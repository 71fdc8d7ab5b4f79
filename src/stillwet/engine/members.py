"""The members of a reckoning: one quasi-random draw of all that is uncertain, by seed."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.basis import Basis
from stillwet.domain.job import Job

Array = NDArray[np.float64]

MODES = 3  # columns of each weather error: two slow shapes in time, and what they leave

# Each cause of uncertainty and how many columns of the draw it takes. The order is part of the
# seed's meaning: append, never reorder.
_WIDTHS = {
    "temperature": MODES,
    "humidity": MODES,
    "wind": MODES,
    "sun": MODES,
    "drying exponent": 1,
    "water efficiency": 1,
    "transfer efficiency": 1,
    "coat variation": 1,
    "yield stress": 1,
    "flux": 1,
    "forecast member": 1,
}
CAUSES = tuple(_WIDTHS)
DRAWS = sum(_WIDTHS.values())
_ENDS = dict(zip(CAUSES, np.cumsum(list(_WIDTHS.values())).tolist(), strict=True))
FLUX_LOG_SD = 0.25  # untested default, interval 0.1 to 0.5: spread of ln(flux) for a stated fire
_NORMAL_90 = 1.2815515655446004  # standard normal quantile at 0.9
_LEAD_CAP_H = 72.0


def columns_of(cause: str) -> slice:
    """The columns of a uniform draw that belong to one cause."""
    return slice(_ENDS[cause] - _WIDTHS[cause], _ENDS[cause])


@dataclass(frozen=True, eq=False)
class Members:
    """Standard uniform draws and what they mean; each array has shape (members,)."""

    uniform: Array  # (members, draws)
    drying_exponent: Array
    water_efficiency: Array
    coat_factor: Array  # coat that stays over coat planned
    coat_variation: Array
    yield_factor: Array
    flux_factor: Array

    @property
    def count(self) -> int:
        """Number of members."""
        return int(self.uniform.shape[0])

    def normal(self, cause: str) -> Array:
        """The draws of one cause as standard normal deviates (members, columns of the cause)."""
        from scipy.special import ndtri

        return np.asarray(ndtri(self.uniform[:, columns_of(cause)]))

    def forecast_member(self, size: int) -> NDArray[np.int64]:
        """Which of ``size`` members of an ensemble forecast each member takes, evenly shared."""
        share = self.uniform[:, columns_of("forecast member")][:, 0]
        return np.minimum((share * size).astype(np.int64), size - 1)


def _triangular(uniform: Array, low: float, mode: float, high: float) -> Array:
    """Inverse of the triangular distribution; a zero width gives the mode."""
    if high <= low:
        return np.full_like(uniform, mode)
    mode = min(max(mode, low), high)
    split = (mode - low) / (high - low)
    left = low + np.sqrt(uniform * (high - low) * (mode - low))
    right = high - np.sqrt((1 - uniform) * (high - low) * (high - mode))
    return np.where(uniform < split, left, right)


def over_interval(uniform: Array, value: float, basis: Basis | None) -> Array:
    """Values over the interval the basis states; a basis without an interval does not spread."""
    if basis is None or basis.low is None or basis.high is None:
        return np.full_like(uniform, value)
    return _triangular(uniform, basis.low, value, basis.high)


def _log_spread(normal: Array, value: float, basis: Basis | None) -> Array:
    """Factors about 1 whose 10 and 90 % points are the basis's low and high over the value."""
    if basis is None or basis.low is None or basis.high is None or value <= 0 or basis.low <= 0:
        return np.ones_like(normal)
    below = math.log(value / basis.low) / _NORMAL_90
    above = math.log(basis.high / value) / _NORMAL_90
    return np.exp(np.where(normal < 0, normal * below, normal * above))


def draw_members(job: Job) -> Members:
    """Draw the job's members by a scrambled Sobol sequence (scipy.stats.qmc), seeded by the job."""
    from scipy.stats import qmc

    sampler = qmc.Sobol(d=DRAWS, scramble=True, rng=np.random.default_rng(job.seed))
    drawn = sampler.random_base2(math.ceil(math.log2(job.members)))[: job.members]
    return members_from(job, np.asarray(drawn, dtype=np.float64))


def members_from(job: Job, uniform: Array) -> Members:
    """What uniform draws (members, draws) mean for this job.

    The weather's own deviates become errors in time in ``engine.sky``.
    """
    from scipy.special import ndtri

    # Half a cell away from 0 and 1, where the normal quantile is infinite.
    edge = 0.5 / uniform.shape[0]
    uniform = np.clip(uniform, edge, 1 - edge)

    def column(name: str) -> Array:
        return uniform[:, columns_of(name)][:, 0]

    practice, product = job.practice, job.product
    efficiency = over_interval(
        column("transfer efficiency"),
        practice.transfer_efficiency,
        practice.basis.get("transfer_efficiency"),
    )
    return Members(
        uniform=uniform,
        drying_exponent=over_interval(
            column("drying exponent"), product.drying_exponent, product.basis.get("drying_exponent")
        ),
        water_efficiency=over_interval(
            column("water efficiency"),
            practice.water_efficiency,
            practice.basis.get("water_efficiency"),
        ),
        coat_factor=efficiency / practice.transfer_efficiency,
        coat_variation=over_interval(
            column("coat variation"), practice.coat_variation, practice.basis.get("coat_variation")
        ),
        yield_factor=_log_spread(
            np.asarray(ndtri(column("yield stress"))),
            product.yield_coefficient_pa,
            product.basis.get("yield_coefficient"),
        ),
        flux_factor=np.exp(FLUX_LOG_SD * np.asarray(ndtri(column("flux")))),
    )


def growing_sd(at_first_and_24h: tuple[float, float], lead_h: Array) -> Array:
    """Standard deviation at a lead time [h]: linear through both points, flat beyond 72 h."""
    first, at_24h = at_first_and_24h
    return np.asarray(first + (at_24h - first) * np.clip(lead_h, 0.0, _LEAD_CAP_H) / 24.0)
