"""Why a plan says what it says: the chain of numbers behind one asset's answer."""

from __future__ import annotations

from dataclasses import dataclass

from stillwet.domain.basis import Input
from stillwet.domain.plan import AssetPlan


@dataclass(frozen=True, slots=True)
class Share:
    """How much of the margin's variance one uncertain quantity carries, alone and in all."""

    cause: str
    first_order: float
    total: float


@dataclass(frozen=True, slots=True)
class Link:
    """One step of the chain: what it answers, its number in SI, the model and its source."""

    question: str
    quantity: str
    value: float | None
    unit: str
    model: str
    source: str


@dataclass(frozen=True, slots=True)
class Chain:
    """The whole explanation of one asset's governing face."""

    asset: AssetPlan
    links: tuple[Link, ...]
    inputs: tuple[Input, ...]
    shares: tuple[Share, ...]
