"""Two plans beside each other: what a change flips."""

from __future__ import annotations

from dataclasses import dataclass

from stillwet.domain.plan import AssetPlan, Plan


@dataclass(frozen=True, slots=True)
class Pair:
    """One asset in both plans."""

    before: AssetPlan
    after: AssetPlan

    @property
    def is_flipped(self) -> bool:
        """True when the verdict is another one."""
        return self.before.verdict is not self.after.verdict


@dataclass(frozen=True, slots=True)
class Comparison:
    """The plan as it stands, the plan with the changes as typed, and every asset in both."""

    changes: tuple[str, ...]
    before: Plan
    after: Plan
    pairs: tuple[Pair, ...]  # in the order of the plan before


def pair_plans(changes: tuple[str, ...], before: Plan, after: Plan) -> Comparison:
    """Set two plans of the same assets beside each other."""
    by_id = {asset.asset_id: asset for asset in after.assets}
    pairs = tuple(Pair(asset, by_id[asset.asset_id]) for asset in before.assets)
    return Comparison(changes, before, after, pairs)
