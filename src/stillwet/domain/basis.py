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
    """The source of one number or word.

    An untested default always says how wide it is: a number its interval [low, high], a word
    (a material) what it may be ``instead``.
    """

    kind: BasisKind
    source: str
    low: float | None = None
    high: float | None = None
    instead: str = ""

    def __post_init__(self) -> None:
        is_narrow = not self.instead and (self.low is None or self.high is None)
        if self.kind is BasisKind.UNTESTED and is_narrow:
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
