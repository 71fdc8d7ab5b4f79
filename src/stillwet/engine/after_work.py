"""Work that the log tells of, on an asset or along a line, and its sum."""

from __future__ import annotations

from dataclasses import dataclass, field

from stillwet.domain.after import Amounts


@dataclass(frozen=True, slots=True)
class LaidWork:
    """What one entry of the log took at one place: who, when, and how much.

    ``place_id`` is an asset's id, or "line/segment" of a stretch of line.
    """

    place_id: str
    crew_id: str
    when_s: float
    amounts: Amounts
    is_said: bool  # the entry says how much
    is_line: bool = False


@dataclass
class WorkSum:
    """The works of one place or one crew together."""

    amounts: Amounts = field(default_factory=Amounts)
    coats: int = 0
    said: int = 0
    times_s: list[float] = field(default_factory=list)

    def add(self, work: LaidWork) -> None:
        """Count one more."""
        self.amounts += work.amounts
        self.coats += 1
        self.said += work.is_said
        self.times_s.append(work.when_s)
