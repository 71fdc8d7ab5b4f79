"""The figure of a fit: its band in each water, with the readings that show a yield stress."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from stillwet.domain.trial_figure import SeenStress, TrialFigure, WaterCurve
from stillwet.domain.trials import Trial
from stillwet.evidence.curve_fit import CurveFit, Water, yields_at
from stillwet.evidence.readings import SEES_YIELD

_POINTS = 61
_HARD_STEP_KG_M3 = 0.001  # waters are one water to a milligram a litre


def trial_figure(
    fit: CurveFit,
    trials: Iterable[Trial],
    waters: Sequence[Water],
    *,
    label: tuple[float, float],
    most: float,
    stress_pa: float,
) -> TrialFigure:
    """Bands over ratios from 0 to ``most``; a reading stands in the water it was taken in."""
    by_id = {one.id: one for one in trials}
    seen = _seen(fit, by_id)
    ratios = np.linspace(0.0, max([most, *(one.ratio for one, _ in seen)]), _POINTS)
    curves = []
    for water in waters:
        bands = fit.quantiles(yields_at(fit.members, ratios, water))
        own = [one for one, hard in seen if abs(hard - water.hardness_kg_m3) <= _HARD_STEP_KG_M3]
        curves.append(
            WaterCurve(
                hardness_kg_m3=water.hardness_kg_m3,
                temperature_k=water.temperature_k,
                ratio=tuple(ratios.tolist()),
                low_pa=tuple(bands[0].tolist()),
                middle_pa=tuple(bands[1].tolist()),
                high_pa=tuple(bands[2].tolist()),
                seen=tuple(own),
            )
        )
    return TrialFigure(tuple(curves), stress_pa, label, fit.count - len(seen))


def _seen(fit: CurveFit, by_id: dict[str, Trial]) -> list[tuple[SeenStress, float]]:
    """Each reading of a yield stress with the hardness of its water."""
    found = []
    for point, odd in zip(fit.read.points, fit.odd, strict=True):
        trial = by_id.get(point.trial_id)
        if trial is None or point.method not in SEES_YIELD:
            continue
        one = SeenStress(
            point.trial_id,
            point.method.value,
            trial.ratio,
            point.observed,
            point.bound,
            bool(odd),
        )
        found.append((one, trial.hardness_kg_m3))
    return found
