"""Why a plan says what it says: the chain of numbers behind one asset's answer."""

from __future__ import annotations

from dataclasses import dataclass

from stillwet.domain.basis import Input
from stillwet.domain.plan import AssetPlan, Plan


@dataclass(frozen=True, slots=True)
class Share:
    """How much of the margin's variance one uncertain quantity carries, alone and in all."""

    cause: str
    first_order: float
    total: float


@dataclass(frozen=True, slots=True)
class Link:
    """One number of the chain in SI, the model it came from and that model's source.

    ``unit`` is that of the value; "time" for a moment in epoch seconds, "ratio" for a mix ratio.
    None: there is no such number, and ``absent`` says what that means.
    """

    quantity: str
    value: float | None
    unit: str
    model: str
    source: str
    absent: str


@dataclass(frozen=True, slots=True)
class Step:
    """One question of the method: its numbers, what they stood on, and what is uncertain there."""

    question: str
    links: tuple[Link, ...]
    inputs: tuple[Input, ...]
    causes: tuple[str, ...]  # uncertain quantities that enter at this step


@dataclass(frozen=True, slots=True)
class Chain:
    """The whole explanation of one asset's governing face, in the order of the method."""

    plan: Plan
    asset: AssetPlan
    steps: tuple[Step, ...]
    others: tuple[Input, ...]  # numbers of the plan that no step of this face names
    shares: tuple[Share, ...]  # largest total first; empty when nothing varies


@dataclass(frozen=True, slots=True)
class AssetShares:
    """What one asset's answer hangs on, at its governing face."""

    asset: AssetPlan
    shares: tuple[Share, ...]


@dataclass(frozen=True, slots=True)
class JobShares:
    """What a whole plan hangs on: each asset's shares and their mean, weighted by value.

    Assets that are not to be coated at all, and those where nothing varies, are left out.
    """

    plan: Plan
    assets: tuple[AssetShares, ...]  # in the plan's order
    shares: tuple[Share, ...]  # largest total first
