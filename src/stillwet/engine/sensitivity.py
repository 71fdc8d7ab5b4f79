"""What the answer hangs on most: variance-based first-order and total indices of the margin.

The margin is the water to spare at one face. Indices are Saltelli et al. 2010 estimators
(scipy.stats.sobol_indices) over the same uncertain quantities as the plan's members, and over the
time the front arrives inside its window.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.assets import Asset, Surface
from stillwet.domain.chain import Share
from stillwet.domain.job import Job
from stillwet.engine import coating, mixing
from stillwet.engine.drying import job_drying
from stillwet.engine.exposure import ask_of_asset
from stillwet.engine.members import DIMENSIONS, members_from

Array = NDArray[np.float64]

SAMPLES = 256  # a power of 2; the standard error of an index is then about 0.05
ARRIVAL = "arrival"
CAUSES = (*DIMENSIONS, ARRIVAL)


def margin_samples(
    job: Job,
    asset: Asset,
    face: Surface,
    *,
    coat_kg_m2: float,
    ratio: float,
    lay_s: float,
    uniform: Array,
) -> Array:
    """The margin [kg/m2] of one face for uniform draws (samples, causes)."""
    alone = replace(job, assets=(asset,))
    members = members_from(job, uniform[:, : len(DIMENSIONS)])
    ask = ask_of_asset(alone, asset, (face,), members)
    drying = job_drying(alone, (face,), members)
    mix = mixing.make_mix(job, members)
    cling = mixing.cling_median(mix, (face,), np.array([ratio]))
    window = asset.fire.arrival_to_s - asset.fire.arrival_from_s
    arrival = asset.fire.arrival_from_s + uniform[None, :, CAUSES.index(ARRIVAL)] * window
    spare = coating.margin(
        drying,
        coating.make_spread(members, cling),
        coating.Ask(
            water_demand=ask.water_demand_kg_m2,
            arrival_s=arrival,
            end_s=arrival + job.practice.ember_period_s,
            reserve=job.practice.ember_reserve_kg_m2,
        ),
        coat=np.array([coat_kg_m2]),
        lay_s=np.array([lay_s]),
    )
    return np.asarray(spare[0])


def shares_of(
    job: Job, asset: Asset, face: Surface, *, coat_kg_m2: float, ratio: float, lay_s: float
) -> tuple[Share, ...]:
    """Every cause's share in one face's margin, largest total first; empty if nothing varies."""
    from scipy.stats import sobol_indices, uniform

    dists: list[Any] = [uniform() for _ in CAUSES]

    def margin_of(draws: Array) -> Array:
        flat = np.ascontiguousarray(draws.reshape(len(CAUSES), -1).T)
        found = margin_samples(
            job, asset, face, coat_kg_m2=coat_kg_m2, ratio=ratio, lay_s=lay_s, uniform=flat
        )
        return found.reshape(1, *draws.shape[1:])

    result = sobol_indices(
        func=margin_of,
        n=SAMPLES,
        dists=dists,
        rng=np.random.default_rng(job.seed),
    )
    if not np.isfinite(result.total_order).all():
        return ()
    shares = [
        Share(cause, float(first), float(total))
        for cause, first, total in zip(
            CAUSES, np.ravel(result.first_order), np.ravel(result.total_order), strict=True
        )
    ]
    return tuple(sorted(shares, key=lambda share: (-share.total, share.cause)))
