"""What no crew does, and why: assets left out, coats not laid anew, assets not to be sprayed."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from stillwet.domain.assets import Asset
from stillwet.domain.crew_plan import LeftOut, NotSprayed
from stillwet.domain.plan import AssetPlan
from stillwet.domain.products import Product, RatioBasis
from stillwet.engine.verdicts import CONFIDENT
from stillwet.routing.loosen import volume_words
from stillwet.routing.plan import Binding, Relief, ReliefKind, Unserved
from stillwet.services.crew_rounds import Day
from stillwet.units import from_si

_NO_TIME = "Crews must be clear before a coat could be laid."
_CHANGED = "Laid when crews could come, no coat that clings would hold."
_NO_HELP = "no fresh coat helps"
_NO_ROOM = "By then the face has no room for another even coat that would raise the chance."

_Reasons = Mapping[str, tuple[Unserved, ...]]


class LeftWriter:
    """``base``: the plan's assets as they would be with nobody in a hurry; ``gone``: the assets
    that are covered or done.
    """

    def __init__(
        self,
        assets: Mapping[str, Asset],
        base: tuple[AssetPlan, ...],
        day: Day,
        gone: frozenset[str],
        product: Product,
    ) -> None:
        self.assets, self.base, self.day, self.gone = assets, base, day, gone
        self.product = product
        self.plans = {asset.asset_id: asset for asset in day.work.plan.assets}
        self.reasons = _reasons(day)

    def left_out(self) -> Iterator[LeftOut]:
        """Assets worth a coat that nobody covers: musts first, then by worth."""
        missing = [
            asset for asset in self.base if asset.mix_m3 > 0 and asset.asset_id not in self.gone
        ]
        missing.sort(key=lambda asset: (not self.assets[asset.asset_id].must, -asset.value))
        for asset in missing:
            mix = self.plans[asset.asset_id].mix_m3
            found = self.reasons.get(f"asset {asset.asset_id}", ())
            parts = len(self.day.work.cuts.get(asset.asset_id, ()))
            without = (str(Binding.WINDOW), _NO_TIME if mix > 0 else _CHANGED)
            yield self._record(asset, mix or asset.mix_m3, found, parts, without)

    def not_recoated(
        self, first: Mapping[str, float], recoated: frozenset[str]
    ) -> Iterator[LeftOut]:
        """Coats laid early that fall short and that nobody lays anew; not the musts' fault.

        ``first``: the chance of each asset's coat alone; ``recoated``: assets with a fresh coat.
        """
        for asset in self.plans.values():
            name = asset.asset_id
            if not self.assets[name].recoat or name not in self.gone or name in recoated:
                continue
            if first[name] < CONFIDENT:
                layers = self.day.work.fresh.layers_of(asset)
                mix = sum(layer.mix_m3 for layer in layers.values())
                found = self.reasons.get(f"bundle recoat of {name}", ())
                parts = len(self.day.work.fresh.cuts.get(name, ()))
                yield self._record(asset, mix, found, parts, (_NO_HELP, _NO_ROOM))

    def _record(
        self,
        asset: AssetPlan,
        mix_m3: float,
        found: tuple[Unserved, ...],
        parts: int,
        without: tuple[str, str],
    ) -> LeftOut:
        """``found``: the visits that do not fit, each with its reason; none: as ``without``."""
        binding, reason = without
        frees: tuple[str, ...] = ()
        if found:
            binding, reason = str(found[0].binding), f"{_first_upper(found[0].reason)}."
            frees = tuple(dict.fromkeys(self._relief(relief) for relief in found[0].frees))
            if len(found) == 1 and parts > 1:
                reason = f"Half a coat protects nothing, and a part does not fit. {reason}"
            if len(found) > 1:
                reason = f"{len(found)} of {parts} visits do not fit. Of the first: {reason}"
        return LeftOut(
            asset_id=asset.asset_id,
            name=asset.name,
            value=asset.value,
            must=self.assets[asset.asset_id].must,
            mix_m3=mix_m3,
            binding=binding,
            reason=reason,
            frees=frees,
            frees_whole=len(found) <= 1,
        )

    def _relief(self, relief: Relief) -> str:
        """What would let a visit in; powder by mass, because it is weighed."""
        if (
            relief.kind is not ReliefKind.CONCENTRATE
            or self.product.ratio_basis is RatioBasis.VOLUME
        ):
            return relief.words
        mass_kg = relief.amount * self.product.density_kg_m3
        told = f"{math.ceil(mass_kg)} kg ({math.ceil(from_si(mass_kg, 'lb'))} lb)"
        return relief.words.replace(volume_words(relief.amount), told)

    def not_sprayed(self, done: frozenset[str]) -> Iterator[NotSprayed]:
        """Assets for which no coat is planned, whoever could come."""
        for asset in self.base:
            if asset.mix_m3 == 0 and asset.asset_id not in done:
                yield NotSprayed(
                    asset_id=asset.asset_id,
                    name=asset.name,
                    must=self.assets[asset.asset_id].must,
                    verdict=asset.verdict,
                    reason=asset.reason,
                )


def _reasons(day: Day) -> _Reasons:
    """Why visits are left out, by what is made whole or not at all."""
    whole = {visit.id: visit.whole for visit in day.routed.problem.visits}
    found: dict[str, tuple[Unserved, ...]] = {}
    for one in day.routed.routes.unserved:
        found.setdefault(whole[one.visit_id], (one,))
    return found | day.routed.halves


def _first_upper(text: str) -> str:
    return text[:1].upper() + text[1:]
