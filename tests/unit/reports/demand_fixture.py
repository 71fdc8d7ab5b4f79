"""An invented drying demand: five facings over two days, peaks by day and nothing at night."""

from __future__ import annotations

import numpy as np

from stillwet.domain.facing import FacingDemand

from .plan_fixture import HOUR, START

LABELS = ("south-west wall", "north wall", "flat roof", "pole", "grass blade", "shaded wall")


def make_demand(hours: int = 48, labels: tuple[str, ...] = LABELS) -> FacingDemand:
    """Half sine waves from 06:00 to 18:00 local, each facing with its own height."""
    hour = np.arange(hours)
    wave = np.maximum(0.0, np.sin(hour / 12 * np.pi)) * (hour % 24 < 12)
    heights = np.linspace(1.6, 0.4, len(labels))
    return FacingDemand(
        labels=labels,
        time_s=np.array(START + HOUR * hour, dtype=np.float64),
        demand_kg_m2_s=np.array(heights[:, None] * wave[None, :] / HOUR, dtype=np.float64),
    )
