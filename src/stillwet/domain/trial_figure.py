"""What the figure of a fit shows: bands of yield stress against ratio, readings, what is asked."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class SeenStress:
    """A reading that shows a yield stress, at its ratio. ``bound``: 1 at least, -1 at most."""

    trial_id: str
    method: str
    ratio: float
    yield_pa: float
    bound: int
    is_odd: bool


@dataclass(frozen=True, slots=True)
class WaterCurve:
    """The fit in one water: 5, 50 and 95 % of yield stress at ratios (R,), readings in it."""

    hardness_kg_m3: float
    temperature_k: float
    ratio: tuple[float, ...]
    low_pa: tuple[float, ...]
    middle_pa: tuple[float, ...]
    high_pa: tuple[float, ...]
    seen: tuple[SeenStress, ...]


@dataclass(frozen=True, slots=True)
class TrialFigure:
    """All waters of a fit; ``unseen`` counts readings that show no yield stress."""

    curves: tuple[WaterCurve, ...]
    asked_pa: float
    label: tuple[float, float]
    unseen: int
