"""Two plans beside each other: what a change flips."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from stillwet.domain.plan import AssetPlan, Plan, Verdict

_BEST_FIRST = (Verdict.HOLDS, Verdict.DOUBTFUL, Verdict.WILL_NOT_HOLD)


@dataclass(frozen=True, slots=True)
class WhatIf:
    """One change as it was typed, and what it was taken to mean."""

    text: str
    words: str


@dataclass(frozen=True, slots=True)
class AsLaid:
    """How the coats of the plan as it stands fare after the change: the weakest coated face."""

    verdict: Verdict
    probability: float
    surface: str  # its label


@dataclass(frozen=True, slots=True)
class Pair:
    """One asset in both plans. ``as_laid`` is None where the plan as it stands lays nothing."""

    before: AssetPlan
    after: AssetPlan
    as_laid: AsLaid | None

    @property
    def is_flipped(self) -> bool:
        """True when the verdict is another one."""
        return self.before.verdict is not self.after.verdict

    @property
    def is_let_down(self) -> bool:
        """True when a coat laid as the plan as it stands says keeps less than its verdict said."""
        if self.as_laid is None:
            return False
        rank = _BEST_FIRST.index
        return rank(self.as_laid.verdict) > rank(self.before.verdict)


@dataclass(frozen=True, slots=True)
class Comparison:
    """The plan as it stands, the plan with the changes, and every asset in both."""

    changes: tuple[WhatIf, ...]
    before: Plan
    after: Plan
    pairs: tuple[Pair, ...]  # in the order of the plan before

    @property
    def flipped(self) -> tuple[Pair, ...]:
        """The assets whose verdict is another one."""
        return tuple(pair for pair in self.pairs if pair.is_flipped)

    @property
    def let_down(self) -> tuple[Pair, ...]:
        """The assets that the change lets down if they are already coated."""
        return tuple(pair for pair in self.pairs if pair.is_let_down)

    @property
    def new_warnings(self) -> tuple[str, ...]:
        """What the changed plan warns of and the plan as it stands does not, numbers apart."""
        known = {_without_numbers(text) for text in self.before.warnings}
        return tuple(text for text in self.after.warnings if _without_numbers(text) not in known)


def _without_numbers(text: str) -> str:
    return re.sub(r"[\d.,]+", "", text)


@dataclass(frozen=True, slots=True)
class NotTried:
    """A change that the job at hand does not allow, and why."""

    change: WhatIf
    reason: str


def pair_plans(
    changes: tuple[WhatIf, ...], before: Plan, after: Plan, as_laid: Mapping[str, AsLaid]
) -> Comparison:
    """Set two plans of the same assets beside each other; ``as_laid`` by asset id."""
    by_id = {asset.asset_id: asset for asset in after.assets}
    pairs = tuple(
        Pair(asset, by_id[asset.asset_id], as_laid.get(asset.asset_id)) for asset in before.assets
    )
    return Comparison(changes, before, after, pairs)
