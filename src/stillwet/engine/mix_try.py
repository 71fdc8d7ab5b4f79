"""Try out one mix: the walls around it in its water, and what of it clings and is pumped."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from stillwet.domain.job import Job
from stillwet.domain.mix_try import CrewPump, MixTried, Tried, TryVerdict
from stillwet.domain.mix_window import ClingCurve, Wall
from stillwet.engine.mix_draws import BAND, MixDraws, cling_at
from stillwet.engine.mix_pumping import SETS, flows_at, pump_wall
from stillwet.engine.mix_signs import hydration_wait_s, signs_at
from stillwet.engine.mix_walls import cling_curve, cling_wall, fall_wall, in_water

_POINTS = 91
_SPAN = 1.3  # of the richest ratio that matters


class MixBench:
    """One job's product, drawn once, tried out again and again.

    Pumping is the slow part and hangs on the water alone: it is kept for the last waters.
    """

    _MOST_KEPT = 32

    def __init__(self, job: Job, draws: MixDraws) -> None:
        self._job, self._draws = job, draws
        self._geared = [(crew, crew.gear) for crew in job.crews if crew.gear is not None]
        self._walls: dict[tuple[float, float], tuple[Wall, ...]] = {}

    def try_mix(self, tried: Tried) -> MixTried:
        """What becomes of this mix."""
        draws = in_water(self._draws, tried.hardness_kg_m3, tried.temperature_k)
        product = self._job.product
        lower = cling_wall(draws, tried.coat_kg_m2, tried.tilt_deg)
        upper = fall_wall(draws, tried.coat_kg_m2, tried.tilt_deg)
        at = np.array([tried.ratio])
        members = cling_at(draws.members, tried.tilt_deg, at, draws.adhesion_pa)[0]
        low, middle, high = (
            float(np.quantile(members, share)) for share in (BAND[0], 0.5, BAND[1])
        )
        found = MixTried(
            tried=tried,
            verdict=TryVerdict.CLINGS,
            lower=lower,
            upper=upper,
            label=(product.ratio_low, product.ratio_high),
            ratio_basis=product.ratio_basis.value,
            clings_kg_m2=(low, middle, high),
            counted_kg_m2=self._counted(draws, tried),
            crews=self._crews(draws, tried),
            curve=_curve(draws, tried, product.ratio_high),
            hydration_wait_s=hydration_wait_s(draws),
            signs=signs_at(draws, tried.ratio),
        )
        return replace(found, verdict=_verdict(found))

    def _counted(self, draws: MixDraws, tried: Tried) -> float:
        adhesion, at = np.array([draws.mix.adhesion_pa]), np.array([tried.ratio])
        return float(cling_at(draws.middle, tried.tilt_deg, at, adhesion)[0, 0] * draws.mix.keep)

    def _crews(self, draws: MixDraws, tried: Tried) -> tuple[CrewPump, ...]:
        walls = self._pump_walls(draws, tried)
        return tuple(
            CrewPump(crew.name, wall, flows_at(draws, gear, tried.ratio), crew.spray_flow_m3_s)
            for (crew, gear), wall in zip(self._geared, walls, strict=True)
        )

    def _pump_walls(self, draws: MixDraws, tried: Tried) -> tuple[Wall, ...]:
        """The stricter of both sets' walls, by crew with gear."""
        key = (tried.hardness_kg_m3, tried.temperature_k)
        if key not in self._walls:
            if len(self._walls) >= self._MOST_KEPT:
                self._walls.pop(next(iter(self._walls)))
            self._walls[key] = tuple(
                min(
                    (pump_wall(draws, crew, gear, which) for which in SETS),
                    key=lambda wall: wall.ratio,
                )
                for crew, gear in self._geared
            )
        return self._walls[key]


def _verdict(found: MixTried) -> TryVerdict:
    ratio = found.tried.ratio
    if ratio < found.lower.ratio:
        return TryVerdict.TOO_THIN
    if ratio > found.upper.ratio:
        return TryVerdict.TOO_STIFF
    if any(ratio > one.wall.ratio for one in found.crews):
        return TryVerdict.NO_PUMP
    low, high = found.label
    return TryVerdict.CLINGS if low <= ratio <= high else TryVerdict.OFF_LABEL


def _curve(draws: MixDraws, tried: Tried, label_high: float) -> ClingCurve:
    """Thickest coat that clings against ratio, on this face in this water."""
    ratio = np.linspace(0.0, _SPAN * max(2.0 * label_high, tried.ratio), _POINTS)
    return cling_curve(draws, ratio, face="", tilt_deg=tried.tilt_deg, needed=tried.coat_kg_m2)
