"""Fresh coats on coats laid early: which faces get one, what it is worth, and in which visits."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from stillwet.domain.plan import AssetPlan, Plan
from stillwet.engine.lay_windows import LayWindow
from stillwet.engine.prepared import Prepared
from stillwet.engine.recoating import Recoat, recoats
from stillwet.engine.verdicts import CONFIDENT
from stillwet.services.crew_parts import Cut, Layer, Layers, Pass, cut_layers, parts_needed

_SHARES = (0.0, 0.15, 0.3, 0.45, 0.6, 0.75, 0.9)  # of the time there is, at which to try


@dataclass(frozen=True, eq=False)
class Fresh:
    """The fresh coats of a round: by surface id, and in which visits they are laid, by asset.

    ``again_s``: the moment each is reckoned from, by surface id, also of faces that get none.
    """

    coats: Mapping[str, Recoat] = field(default_factory=dict)
    cuts: Mapping[str, tuple[Cut, ...]] = field(default_factory=dict)
    again_s: Mapping[str, float] = field(default_factory=dict)

    def layers_of(self, asset: AssetPlan) -> Layers:
        """The fresh coats of an asset's faces."""
        return {
            face.surface.id: Layer(face.surface.label, found.coat_kg_m2, found.mix_m3, found.lay_s)
            for face in asset.surfaces
            if (found := self.coats.get(face.surface.id)) is not None and found.mix_m3 > 0
        }

    def chance_with(self, asset: AssetPlan) -> float:
        """Of the weakest coated face, once the fresh coats are on."""
        return min(
            self.coats[face.surface.id].probability
            if face.surface.id in self.coats
            else face.probability
            for face in asset.surfaces
            if face.mix_m3 > 0
        )


def soonest_again_s(
    prepared: Prepared,
    plan: Plan,
    windows: Mapping[str, LayWindow],
    first_s: Mapping[str, float],
) -> dict[str, float]:
    """When fresh coats may be laid, before any route says so: by surface id.

    An asset's is the soonest of a few moments from when its first has set to when crews leave at
    which all of it is sure to last, or the moment that makes it surest. Sooner, the first coat
    still leaves too little room; later only gains.
    """
    assets = {asset.id: asset for asset in prepared.job.assets if asset.recoat}
    chosen = tuple(one for one in plan.assets if one.asset_id in assets and one.mix_m3 > 0)
    best: dict[str, float] = {}
    found: dict[str, float] = {}
    for share in _SHARES if chosen else ():
        again = {
            face.surface.id: _between(
                first_s[face.surface.id] + assets[one.asset_id].coat_gap_s,
                windows[face.surface.id].until_s,
                share,
            )
            for one in chosen
            for face in one.surfaces
            if face.surface.id in windows
        }
        fresh = Fresh(recoats(prepared, chosen, first_s=first_s, second_s=again))
        for one in chosen:
            chance = fresh.chance_with(one)
            if chance > best.get(one.asset_id, -1.0) and best.get(one.asset_id, 0.0) < CONFIDENT:
                best[one.asset_id] = chance
                found |= {
                    name: again[name] for f in one.surfaces if (name := f.surface.id) in again
                }
    return found


def _between(first: float, last: float, share: float) -> float:
    return first + share * max(0.0, last - first)


def fresh_coats(
    prepared: Prepared,
    plan: Plan,
    *,
    first_s: Mapping[str, float],
    again_s: Mapping[str, float],
    order: Mapping[str, float],
    tanks: Mapping[str, float],
    over: frozenset[str] = frozenset(),
) -> Fresh:
    """The fresh coats that raise an asset's chance, cut in visits.

    ``again_s``: the moment of each, by surface id, of the faces that may get one. ``tanks``: the
    largest usable tank, by asset. ``over``: assets whose fresh coats are on already: no visits.
    """
    names = {asset.id for asset in prepared.job.assets if asset.recoat}
    chosen = tuple(one for one in plan.assets if one.asset_id in names and one.mix_m3 > 0)
    if not chosen or not again_s:
        return Fresh(again_s=again_s)
    found = recoats(prepared, chosen, first_s=first_s, second_s=again_s)
    cuts: dict[str, tuple[Cut, ...]] = {}
    fresh = Fresh(found, cuts, again_s)
    for asset in chosen:
        layers = fresh.layers_of(asset)
        if layers and fresh.chance_with(asset) > asset.governing.probability:
            tank = tanks[asset.asset_id]
            count = parts_needed(sum(layer.mix_m3 for layer in layers.values()), tank)
            if asset.asset_id not in over:
                cuts[asset.asset_id] = cut_layers(
                    asset.asset_id,
                    layers,
                    order,
                    range(1, count + 1),
                    count,
                    tank,
                    laid=Pass(is_recoat=True),
                )
    return fresh
