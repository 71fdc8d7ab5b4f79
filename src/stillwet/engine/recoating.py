"""A fresh coat on one that has dried or thinned: how thick it may be, and what both hold together.

Nothing is restored. The old coat goes on drying by its own law as if nothing lay on it, and only
what it still holds is counted; the fresh coat dries by its own. Both pull at the air at once, which
asks more of them than the air could take: the reckoning errs on the short side. Together they never
hold more than one coat laid at the limit would have had, so that two coats never beat one laid as
thick as it clings at the moment of the second.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from stillwet.domain.plan import AssetPlan
from stillwet.engine import coating, mixing
from stillwet.engine.coating import Array, Spread
from stillwet.engine.prepared import Prepared
from stillwet.engine.quantities import face_amount
from stillwet.engine.verdicts import CONFIDENT, EVEN

_ROUNDING = 1e-9
_HALVINGS = 50
_DRY_OUT = 40.0  # coats of drying demand after which nothing worth counting is left at any exponent

_Waters = tuple[Array, Array]  # (S, M) of the second coat, of the first


@dataclass(frozen=True, slots=True)
class Recoat:
    """A fresh coat on one face: when, how much, and the chance and hold times of both together."""

    surface_id: str
    lay_s: float
    coat_kg_m2: float
    mix_ratio: float
    mix_m3: float
    concentrate_m3: float
    first_probability: float  # of the first coat alone
    probability: float
    hold_50_s: float
    hold_90_s: float


@dataclass(frozen=True, eq=False)
class _Layers:
    """Coats (S, M): the second, the first as it was laid, and what is left of it by then."""

    fresh: Array
    old: Array
    left: Array


@dataclass(frozen=True, eq=False)
class _Twice:
    """Faces (S,) with a first coat and the moment of the second."""

    prepared: Prepared
    spread: Spread
    first: Array
    first_s: Array
    second_s: Array
    limit: Array  # (S,) thickest mean coat counted on at the first coat's ratio

    def old_left(self, coat: Array) -> Array:
        """Water (S, M) that a layer (S, M) of the first coat holds at the second."""
        from stillwet.physics.coat import coat_left

        drying = self.prepared.drying
        return np.asarray(
            coat_left(
                coat_kg_m2=coat,
                drying_kg_m2=drying.at(self.second_s) - drying.at(self.first_s),
                exponent=self.spread.exponent[None, :],
            )
        )

    def laid(self, coat: Array) -> Array:
        """Mean coat (S, M) really laid the first time for one planned at ``coat`` (S,)."""
        return np.minimum(coat[:, None] * self.spread.coat_factor[None, :], self.spread.cling)

    def room(self) -> Array:
        """The thickest second coat (S,) that is planned: the limit less what is left, at median."""
        left = np.median(self.old_left(self.laid(self.first)), axis=1)
        return np.maximum(0.0, coating.round_coat_down(self.limit - left))

    def layers(self, second: Array) -> _Layers:
        """The thinnest tenths. More than the face keeps slides off the second coat."""
        old = self.laid(self.first)
        most = np.minimum(self.laid(self.limit), self.spread.cling)
        fresh = second[:, None] * self.spread.coat_factor[None, :]
        fresh = np.clip(fresh, 0.0, np.maximum(0.0, most - self.old_left(old)))
        thinnest = self.spread.thinnest[None, :]
        return _Layers(fresh * thinnest, old * thinnest, self.old_left(old * thinnest))

    def dried(self, layers: _Layers, waters: _Waters, drying: Array) -> _Waters:
        """What each coat holds (S, M) after a drying demand, having held ``waters``."""
        from stillwet.physics.coat import coat_left_from

        top, below = (
            np.asarray(
                coat_left_from(
                    water_kg_m2=water,
                    coat_kg_m2=coat,
                    drying_kg_m2=drying,
                    exponent=self.spread.exponent[None, :],
                )
            )
            for water, coat in zip(waters, (layers.fresh, layers.old), strict=True)
        )
        return top, below

    def margin(self, second: Array) -> Array:
        """Water to spare (S, M) at the end of the ember period; below 0 both fall short.

        What the front takes is taken from both alike.
        """
        ask, drying, layers = self.prepared.demand, self.prepared.drying, self.layers(second)
        laid, front = drying.at(self.second_s), drying.at(ask.arrival_s)
        top, below = self.dried(layers, (layers.fresh, layers.left), front - laid)
        both = top + below
        passed = both - ask.water_demand
        kept = np.maximum(passed, 0.0) / np.where(both > 0.0, both, 1.0)
        after = self.dried(layers, (top * kept, below * kept), drying.at(ask.end_s) - front)
        return np.where(passed < 0.0, passed, sum(after)) - ask.reserve

    def chance(self, second: Array) -> Array:
        """The share of members (S,) in which both meet the whole demand."""
        return np.asarray((self.margin(second) >= 0.0).mean(axis=1))

    def hold_until(self, second: Array) -> Array:
        """The time (S, M) until which both still have the front's demand and the reserve."""
        ask, drying, layers = self.prepared.demand, self.prepared.drying, self.layers(second)
        target = ask.water_demand + ask.reserve
        low = np.zeros_like(target)
        high = (layers.fresh + layers.old) * _DRY_OUT
        for _ in range(_HALVINGS):
            middle = 0.5 * (low + high)
            top, below = self.dried(layers, (layers.fresh, layers.left), middle)
            enough = top + below >= target
            low, high = np.where(enough, middle, low), np.where(enough, high, middle)
        when = drying.when(drying.at(self.second_s) + low)
        return np.asarray(np.maximum(when, self.second_s[:, None]))


def _second_coat(twice: _Twice, *, thinnest: float) -> Array:
    """The smallest second coat (S,) for 90 %, else the thickest there is room for; 0 for none.

    None is laid where there is no room for the thinnest even coat.
    """
    most, step = twice.room(), coating.COAT_STEP_KG_M2
    least = int(np.ceil(thinnest / step - _ROUNDING))
    low = np.full(most.size, least - 1, dtype=np.int64)
    high = np.maximum(np.floor(most / step + _ROUNDING).astype(np.int64), least)
    while int(np.max(high - low, initial=0)) > 1:
        middle = (low + high) // 2
        enough = twice.chance(np.asarray(middle * step, dtype=np.float64)) >= CONFIDENT
        is_open = high - low > 1  # a face that is found keeps its coat while others are searched
        low = np.where(is_open & ~enough, middle, low)
        high = np.where(is_open & enough, middle, high)
    return np.where(most >= thinnest - _ROUNDING, high * step, 0.0)


def recoats(
    prepared: Prepared,
    assets: tuple[AssetPlan, ...],
    *,
    first_s: Mapping[str, float],
    second_s: Mapping[str, float],
) -> dict[str, Recoat]:
    """The second coats that raise the chance of faces whose first falls short, by surface id.

    ``assets``: the plan of the first coats. ``first_s``, ``second_s``: when spraying of each begins
    [epoch s], by surface id; faces that do not stand in both are not looked at.
    """
    names, twice, ratio = _twice_of(prepared, assets, first_s, second_s)
    if not names:
        return {}
    coat = _second_coat(twice, thinnest=prepared.job.practice.thinnest_coat_kg_m2)
    found = _records(twice, names, coat, ratio)
    return {
        name: one
        for name, one in found.items()
        if one.coat_kg_m2 > 0 and one.first_probability < min(CONFIDENT, one.probability)
    }


def recoats_as_sprayed(
    prepared: Prepared,
    assets: tuple[AssetPlan, ...],
    planned: Mapping[str, Recoat],
    *,
    first_s: Mapping[str, float],
    second_s: Mapping[str, float],
) -> dict[str, Recoat]:
    """What planned second coats are worth when laid at ``second_s``, by surface id."""
    second_s = {name: when for name, when in second_s.items() if name in planned}
    names, twice, ratio = _twice_of(prepared, assets, first_s, second_s)
    coats = [planned[face.id].coat_kg_m2 if face.id in names else 0.0 for face in prepared.surfaces]
    return _records(twice, names, np.array(coats), ratio) if names else {}


def _twice_of(
    prepared: Prepared,
    assets: tuple[AssetPlan, ...],
    first_s: Mapping[str, float],
    second_s: Mapping[str, float],
) -> tuple[frozenset[str], _Twice, Array]:
    """The faces with two coats, all faces' arrays, and the ratio of each face's first coat."""
    rows = {face.id: row for row, face in enumerate(prepared.surfaces)}
    until = np.maximum(prepared.until_s, prepared.job.start_s)
    first, ratio = np.zeros(until.size), np.full(until.size, prepared.mix.product.ratio_low)
    lay, again, names = until.copy(), until.copy(), set()
    for face in (face for asset in assets for face in asset.surfaces):
        name = face.surface.id
        if face.coat_kg_m2 == 0 or name not in first_s or name not in second_s:
            continue
        row = rows[name]
        names.add(name)
        first[row], ratio[row] = face.coat_kg_m2, face.mix_ratio
        lay[row], again[row] = first_s[name], max(first_s[name], second_s[name])
    cling = mixing.cling_median(prepared.mix, prepared.surfaces, ratio)
    limit = np.minimum(prepared.cling, coating.round_coat_down(cling * prepared.mix.keep))
    twice = _Twice(
        prepared=prepared,
        spread=coating.make_spread(prepared.members, cling),
        first=first,
        first_s=lay,
        second_s=again,
        limit=np.maximum(limit, first),
    )
    return frozenset(names), twice, ratio


def _records(twice: _Twice, names: frozenset[str], coat: Array, ratio: Array) -> dict[str, Recoat]:
    prepared = twice.prepared
    alone = coating.probability(
        prepared.drying, twice.spread, prepared.demand, coat=twice.first, lay_s=twice.first_s
    )
    chance, hold = twice.chance(coat), twice.hold_until(coat)
    even, sure = coating.reached(hold, EVEN), coating.reached(hold, CONFIDENT)
    found = {}
    for row, face in enumerate(prepared.surfaces):
        if face.id in names:
            amount = face_amount(prepared.job, face, float(coat[row]), float(ratio[row]))
            found[face.id] = Recoat(
                surface_id=face.id,
                lay_s=float(twice.second_s[row]),
                coat_kg_m2=float(coat[row]),
                mix_ratio=float(ratio[row]),
                mix_m3=amount.mix_m3,
                concentrate_m3=amount.concentrate_m3,
                first_probability=float(alone[row]),
                probability=float(chance[row]),
                hold_50_s=float(even[row]),
                hold_90_s=float(sure[row]),
            )
    return found
