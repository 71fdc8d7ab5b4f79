"""Where a number came from, carried beside the number to every page it reaches."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class BasisKind(StrEnum):
    """How sure the source of a number is, best first."""

    GIVEN = "given"
    TRIAL = "trial"
    PUBLISHED = "published"
    LIBRARY = "library"
    UNTESTED = "untested default"


@dataclass(frozen=True, slots=True)
class Basis:
    """The source of one number; an untested default always has its interval [low, high]."""

    kind: BasisKind
    source: str
    low: float | None = None
    high: float | None = None

    def __post_init__(self) -> None:
        if self.kind is BasisKind.UNTESTED and (self.low is None or self.high is None):
            raise ValueError(f"untested default without an interval: {self.source}")


@dataclass(frozen=True, slots=True)
class Input:
    """One number or word a plan used: its name, value in SI, unit (empty for words) and basis."""

    name: str
    value: float | str
    unit: str
    basis: Basis


def given(source: str) -> Basis:
    """A value the user handed over, with the file or key it stood in."""
    return Basis(BasisKind.GIVEN, source)
