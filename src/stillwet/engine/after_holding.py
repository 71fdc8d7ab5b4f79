"""Holding as it was predicted before anybody had looked, against what was then seen."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from stillwet.domain.after import Band, ChanceBin, Dried, DrySeen, Holding, LookSeen
from stillwet.domain.log import Feel
from stillwet.engine.after_residue import setting
from stillwet.engine.coat_evidence import CoatModel, feel_chances, width
from stillwet.engine.drying import Drying
from stillwet.engine.log_coats import LoggedCoats, Look
from stillwet.engine.particles import Whole
from stillwet.engine.prepared import Array, Prepared

COUNT = 2048  # cases drawn
_BAND = (0.05, 0.5, 0.95)
_CONFIDENCE = 0.9
_WET, _DRY = 0, 2  # rows of the chances
BIN_EDGES = (0.0, 0.2, 0.4, 0.6, 0.8, 1.0)


@dataclass(frozen=True, eq=False)
class Predicted:
    """What was to be expected, in N cases drawn before any look: L coats, C looks."""

    chance_wet: Array  # (N, C) that a hand would say wet
    chance_dry: Array  # (N, C) that it would say dry
    weight: Array  # (N, C) water that a weighing would find, its own error included
    dry_s: Array  # (N, L) when a hand at the edge between tacky and dry would say dry


def predict(prepared: Prepared, logged: LoggedCoats, *, seed: int, count: int = COUNT) -> Predicted:
    """Draw cases as the plan does, without any check and without weather that was met.

    ``logged`` must hold a coat. Same job, log and seed: same answer.
    """
    random = np.random.default_rng(seed)
    model = CoatModel(prepared, logged)
    normal = random.standard_normal((count, model.dimensions))
    member = random.integers(0, prepared.members.count, count)
    touched, water = model.at_looks(normal, member)
    spread = np.hypot(width("weighing") * water, width("weighing_floor"))
    chances = feel_chances(touched)
    return Predicted(
        chance_wet=chances[_WET],
        chance_dry=chances[_DRY],
        weight=np.maximum(water + spread * random.standard_normal(water.shape), 0.0),
        dry_s=_dry_times(prepared, logged, model, normal, member),
    )


def _dry_times(
    prepared: Prepared, logged: LoggedCoats, model: CoatModel, normal: Array, member: Whole
) -> Array:
    from stillwet.physics.coat import drying_share_until

    cases = model.cases(normal, member)
    spent = drying_share_until(share=width("dry_below"), exponent=cases.exponent)
    found = np.empty_like(cases.coat)
    for row, coat in enumerate(logged.coats):
        total = prepared.drying.total_kg_m2[coat.face][None, :, member]
        here = Drying(prepared.drying.time_s, total)
        room = np.asarray(spent) * cases.coat[:, row] / cases.drying[:, row]
        found[:, row] = here.when(here.at(np.array([coat.laid_s])) + room[None, :])[0]
    return np.where(found < prepared.drying.time_s[-1], found, np.inf)


def _band(values: Array) -> Band:
    low, middle, high = (float(value) for value in np.quantile(values, _BAND, method="lower"))
    return low, middle, high


def with_looks(logged: LoggedCoats, moments: list[tuple[int, float]]) -> LoggedCoats:
    """The log with a look at each of these coats and moments that found nothing, put last."""
    more = tuple(Look(coat, when_s, None, None, -1) for coat, when_s in moments)
    return replace(logged, looks=logged.looks + more)


def holding_of(
    prepared: Prepared, logged: LoggedCoats, predicted: Predicted, *, seed: int
) -> Holding:
    """The predictions held against every look of the log."""
    looks = tuple(_look_seen(prepared, logged, predicted, row) for row in range(len(logged.looks)))
    touched = [row for row, look in enumerate(looks) if look.is_wet is not None]
    is_wet = np.array([bool(looks[row].is_wet) for row in touched])
    chance = np.array([looks[row].chance_wet for row in touched])
    weighed = [look for look in looks if look.is_within is not None]
    return Holding(
        looks=looks,
        dries=tuple(_dry_seen(prepared, logged, predicted, row) for row in _looked_at(logged)),
        bins=chance_bins(chance, is_wet),
        touched=len(touched),
        found_wet=int(is_wet.sum()),
        expected_wet=_count_band(predicted.chance_wet[:, touched], seed),
        brier=float(np.mean((chance - is_wet) ** 2)) if touched else None,
        weighed=len(weighed),
        weighed_within=sum(bool(look.is_within) for look in weighed),
        is_few=len(touched) < setting("few_checks"),
        until_s=float(prepared.drying.time_s[-1]),
    )


NOTHING_SEEN = Holding((), (), (), 0, 0, (0.0, 0.0, 0.0), None, 0, 0, is_few=True, until_s=0.0)


def _look_seen(prepared: Prepared, logged: LoggedCoats, predicted: Predicted, row: int) -> LookSeen:
    look = logged.looks[row]
    name, label, surface_id = _names(prepared, logged, look.coat)
    return LookSeen(
        surface_id=surface_id,
        asset_name=name,
        label=label,
        laid_s=logged.coats[look.coat].laid_s,
        when_s=look.when_s,
        feel=look.feel,
        chance_wet=float(predicted.chance_wet[:, row].mean()),
        chance_dry=float(predicted.chance_dry[:, row].mean()),
        weighed_kg_m2=look.weighed_kg_m2,
        weight_band=None if look.weighed_kg_m2 is None else _band(predicted.weight[:, row]),
    )


def _names(prepared: Prepared, logged: LoggedCoats, coat: int) -> tuple[str, str, str]:
    surface = prepared.surfaces[logged.coats[coat].face]
    by_id = {asset.id: asset.name for asset in prepared.job.assets}
    return by_id[surface.asset_id], surface.label, surface.id


def _looked_at(logged: LoggedCoats) -> list[int]:
    """The coats that a hand touched, in order."""
    return sorted({look.coat for look in logged.looks if look.feel is not None})


def _dry_seen(prepared: Prepared, logged: LoggedCoats, predicted: Predicted, coat: int) -> DrySeen:
    name, label, surface_id = _names(prepared, logged, coat)
    felt = sorted(
        (look.when_s, look.feel is Feel.DRY)
        for look in logged.looks
        if look.coat == coat and look.feel is not None
    )
    dry_at = next((when for when, is_dry in felt if is_dry), None)
    wet = [when for when, is_dry in felt if not is_dry and (dry_at is None or when < dry_at)]
    band = _band(predicted.dry_s[:, coat])
    wet_at = max(wet, default=None)
    return DrySeen(
        surface_id=surface_id,
        asset_name=name,
        label=label,
        laid_s=logged.coats[coat].laid_s,
        predicted_s=band,
        wet_at_s=wet_at,
        dry_at_s=dry_at,
        dried=dried_of(band, wet_at, dry_at),
    )


def dried_of(band: Band, wet_at_s: float | None, dry_at_s: float | None) -> Dried:
    """How the span in which a coat was seen to dry lies to the predicted 90 % band."""
    low, _, high = band
    if dry_at_s is not None and dry_at_s < low:
        return Dried.SOONER
    if wet_at_s is not None and wet_at_s > high:
        return Dried.LATER
    return Dried.OPEN if wet_at_s is None or dry_at_s is None else Dried.WITHIN


def chance_bins(chance: Array, is_wet: Array) -> tuple[ChanceBin, ...]:
    """Touches by predicted chance: the share found wet with the interval of Wilson (1927)."""
    from scipy.stats import binomtest

    bins = []
    index = np.clip(np.digitize(chance, BIN_EDGES) - 1, 0, len(BIN_EDGES) - 2)
    for number, (low, high) in enumerate(pairwise(BIN_EDGES)):
        here = index == number
        count, wet = int(here.sum()), int(is_wet[here].sum())
        if count:
            span = binomtest(wet, count).proportion_ci(_CONFIDENCE, method="wilson")
            mean = float(chance[here].mean())
            bins.append(
                ChanceBin(low, high, count, mean, wet / count, float(span.low), float(span.high))
            )
    return tuple(bins)


def _count_band(chance: Array, seed: int) -> Band:
    """5, 50 and 95 % points of how many touches find it wet, (N, C) chances in the same cases.

    Drawn case by case, because the checks of one site go wrong together.
    """
    random = np.random.default_rng([seed, 1])
    counts = (random.random(chance.shape) < chance).sum(axis=1).astype(np.float64)
    return _band(counts)
