"""What the answer hangs on most: variance-based first-order and total shares of the margin.

The margin is the water to spare at one face. Shares are Saltelli et al. 2010 estimators
(scipy.stats.sobol_indices) over the same uncertain quantities as the plan's members, and over the
time the front arrives inside its window. A quantity that takes several draws (the shape of a
forecast's error in time) counts as one.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.assets import Asset, Surface
from stillwet.domain.chain import Share
from stillwet.domain.job import Job
from stillwet.engine import coating, mixing
from stillwet.engine import members as drawn
from stillwet.engine.drying import job_drying
from stillwet.engine.exposure import ask_of_asset

Array = NDArray[np.float64]

SAMPLES = 512  # a power of 2; over 20 seeds the shares then scatter by 0.03 or less (one sd)
_LEAST_SPAN_KG_M2 = 1e-9  # a margin that moves less than this does not vary: rounding only
ARRIVAL = "arrival"
CAUSES = (*drawn.CAUSES, ARRIVAL)
_DRAWS = drawn.DRAWS + 1  # the members' own, and one for the arrival


def _columns(cause: str) -> slice:
    return slice(drawn.DRAWS, _DRAWS) if cause == ARRIVAL else drawn.columns_of(cause)


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
    """The margin [kg/m2] of one face for uniform draws (samples, the members' draws and one)."""
    alone = replace(job, assets=(asset,))
    members = drawn.members_from(job, uniform[:, : drawn.DRAWS])
    ask = ask_of_asset(alone, asset, (face,), members)
    drying = job_drying(alone, (face,), members)
    mix = mixing.make_mix(job, members)
    cling = mixing.cling_median(mix, (face,), np.array([ratio]))
    window = asset.fire.arrival_to_s - asset.fire.arrival_from_s
    arrival = asset.fire.arrival_from_s + uniform[None, :, -1] * window
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


def _draws(seed: int) -> Array:
    """Uniform draws (causes + 2, samples, draws): two independent sets, then for each cause the
    first set with that cause's columns from the second.
    """
    from scipy.stats import qmc

    sampler = qmc.Sobol(d=2 * _DRAWS, scramble=True, rng=np.random.default_rng(seed))
    both = np.asarray(sampler.random(SAMPLES), dtype=np.float64)
    first, second = both[:, :_DRAWS], both[:, _DRAWS:]
    blocks = [first, second]
    for cause in CAUSES:
        mixed = first.copy()
        mixed[:, _columns(cause)] = second[:, _columns(cause)]
        blocks.append(mixed)
    return np.stack(blocks)


def shares_of(
    job: Job, asset: Asset, face: Surface, *, coat_kg_m2: float, ratio: float, lay_s: float
) -> tuple[Share, ...]:
    """Every cause's share in one face's margin, largest total first; empty if nothing varies."""
    from scipy.stats import sobol_indices

    margin = margin_samples(
        job,
        asset,
        face,
        coat_kg_m2=coat_kg_m2,
        ratio=ratio,
        lay_s=lay_s,
        uniform=_draws(job.seed).reshape(-1, _DRAWS),
    ).reshape(-1, 1, SAMPLES)
    if float(np.ptp(margin)) < _LEAST_SPAN_KG_M2:
        return ()
    found = sobol_indices(func={"f_A": margin[0], "f_B": margin[1], "f_AB": margin[2:]}, n=SAMPLES)
    first, total = np.ravel(found.first_order), np.ravel(found.total_order)
    shares = [
        Share(cause, float(alone), float(whole))
        for cause, alone, whole in zip(CAUSES, first, total, strict=True)
        if cause != "forecast member" or job.weather.ensemble
    ]
    return tuple(sorted(shares, key=lambda share: (-share.total, share.cause)))
