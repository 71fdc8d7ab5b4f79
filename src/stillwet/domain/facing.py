"""The drying demand by facing over the forecast, as the engine answers it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, eq=False)
class FacingDemand:
    """Drying demand of a fully wet coat on typical faces, at the forecast's own hours.

    ``demand_kg_m2_s`` has shape (facings, hours); ``labels`` names the facings in the same order.
    """

    labels: tuple[str, ...]
    time_s: NDArray[np.float64]
    demand_kg_m2_s: NDArray[np.float64]
