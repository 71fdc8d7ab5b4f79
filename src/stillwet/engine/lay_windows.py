"""From when each face may be coated at all, and what its coat is worth laid at some other time."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from stillwet.domain.plan import AssetPlan
from stillwet.engine import coating, mixing
from stillwet.engine.prepared import Array, Prepared
from stillwet.engine.verdicts import CONFIDENT, EVEN


@dataclass(frozen=True, slots=True)
class LayWindow:
    """When one face may be sprayed [epoch s]: never before the thickest coat would dry too far,
    and never longer before the earliest arrival than a coat is left to wait (``longest_wait``).

    ``confidence``: the chance that the thickest coat, laid from ``from_s`` on, meets the demand:
    90 % where it can, else 50 %. ``bare_chance``: the same with no coat, by the same measure (the
    ember reserve counts as a demand, so a bare face nearly always misses it). ``early_s``: from
    when it does so in half the cases, for a first coat that is to be laid anew.
    """

    surface_id: str
    from_s: float
    until_s: float
    confidence: float
    bare_chance: float
    early_s: float


def lay_windows(prepared: Prepared) -> dict[str, LayWindow]:
    """The widest window of every face that has one, by surface id."""
    surfaces, start_s = prepared.surfaces, prepared.job.start_s
    strongest = mixing.best_ratio(prepared.mix, len(surfaces))
    spread = _spread(prepared, strongest)
    until = np.maximum(prepared.until_s, start_s)
    first = {
        confidence: coating.apply_from(
            prepared.drying,
            spread,
            prepared.demand,
            coat=prepared.cling,
            start_s=prepared.from_s,
            until_s=until,
            confidence=confidence,
        )
        for confidence in (CONFIDENT, EVEN)
    }
    bare = coating.probability(
        prepared.drying, spread, prepared.demand, coat=np.zeros(len(surfaces)), lay_s=until
    )
    windows = {}
    for row, face in enumerate(surfaces):
        found = [(times[row], confidence) for confidence, times in first.items()]
        found = [(from_s, confidence) for from_s, confidence in found if not np.isnan(from_s)]
        if found and prepared.until_s[row] > start_s:
            from_s, confidence = found[0]
            windows[face.id] = LayWindow(
                surface_id=face.id,
                from_s=float(from_s),
                until_s=float(until[row]),
                confidence=confidence,
                bare_chance=float(bare[row]),
                early_s=float(found[-1][0]),
            )
    return windows


@dataclass(frozen=True, slots=True)
class SprayedFace:
    """A planned coat laid at a moment of its own: its chance, and until when it holds."""

    surface_id: str
    lay_s: float
    probability: float
    hold_50_s: float
    hold_90_s: float


def as_sprayed(
    prepared: Prepared, assets: tuple[AssetPlan, ...], lay_times: Mapping[str, float]
) -> dict[str, SprayedFace]:
    """What the coats of these plans are worth when laid at ``lay_times`` (by surface id).

    Faces without a lay time are not in it.
    """
    rows = {face.id: row for row, face in enumerate(prepared.surfaces)}
    coat, ratio = np.zeros(len(rows)), np.full(len(rows), prepared.mix.product.ratio_low)
    lay = np.maximum(prepared.until_s, prepared.job.start_s)
    for asset in assets:
        for face in asset.surfaces:
            row = rows[face.surface.id]
            coat[row], ratio[row] = face.coat_kg_m2, face.mix_ratio
            lay[row] = lay_times.get(face.surface.id, lay[row])
    spread, demand = _spread(prepared, ratio), prepared.demand
    chance = coating.probability(prepared.drying, spread, demand, coat=coat, lay_s=lay)
    hold = coating.hold_until(prepared.drying, spread, demand, coat=coat, lay_s=lay)
    even, sure = coating.reached(hold, EVEN), coating.reached(hold, CONFIDENT)
    return {
        name: SprayedFace(
            name,
            float(lay[rows[name]]),
            float(chance[rows[name]]),
            float(even[rows[name]]),
            float(sure[rows[name]]),
        )
        for name in lay_times
        if name in rows
    }


def _spread(prepared: Prepared, ratio: Array) -> coating.Spread:
    return coating.make_spread(
        prepared.members, mixing.cling_median(prepared.mix, prepared.surfaces, ratio)
    )
