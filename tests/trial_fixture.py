"""Trials made up for tests: mixes with their readings, and coats dried by the law itself."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from stillwet.domain.products import RatioBasis
from stillwet.domain.trials import DryingSeries, Reading, Trial, Weighing
from stillwet.evidence.drying_fit import demand_sum

SOLIDS = 0.01


def plain_trial(name: str, ratio: float, *readings: Reading, hardness: float = 0.05) -> Trial:
    """A mix in soft water, four hours old."""
    return Trial(
        id=name,
        product_id="p",
        when_s=0.0,
        ratio=ratio,
        ratio_basis=RatioBasis.VOLUME,
        water="hydrant",
        hardness_kg_m3=hardness,
        water_temperature_k=294.15,
        age_s=4 * 3600.0,
        readings=readings,
    )


def weighing(when_s: float, mass: float, *, wind: float = 4.0, humidity: float = 0.2) -> Weighing:
    """A look at a coat in hot, dry, shaded air."""
    return Weighing(when_s, mass, 308.0, humidity, wind, 0.0)


def made_series(
    exponent: float, *, seed: int, hours: float = 6.0, factor: float = 1.0, noise: float = 0.02
) -> DryingSeries:
    """A coat of 2 mm dried by the law itself, integrated in time by another library."""
    times = np.linspace(0.0, hours * 3600.0, 13)
    blank = DryingSeries(
        "c1", "p", SOLIDS, 90.0, 0.3, tuple(weighing(t, 2.0) for t in times.tolist())
    )
    rate = factor * demand_sum(blank)[-1] / times[-1]
    water = 2.0 * (1.0 - SOLIDS)

    def loss(_: float, left: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(-rate * (np.maximum(left, 0.0) / water) ** exponent)

    dried = solve_ivp(loss, (0.0, times[-1]), [water], t_eval=times, rtol=1e-8, atol=1e-10)
    random = np.random.default_rng(seed)
    seen = np.maximum(dried.y[0], 0.0) + 2.0 * SOLIDS
    seen = np.maximum(seen + noise * 2.0 * random.standard_normal(times.size), 0.05)
    return DryingSeries(
        "c1",
        "p",
        SOLIDS,
        90.0,
        0.3,
        tuple(weighing(t, m) for t, m in zip(times.tolist(), seen.tolist(), strict=True)),
    )
