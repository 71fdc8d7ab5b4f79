"""The wet board: every face that has a coat or wants one, what it needs next, worst first. SI."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from stillwet.domain.left import FaceLeft, Left


class FaceState(StrEnum):
    """What a face needs next."""

    LOOK = "look at it"  # what is left is not known
    COAT_NOW = "coat it now"  # it will not last, and a coat laid now does
    TOO_LATE = "too late"  # it will not last, and crews have to be gone
    NO_COAT = "no coat lasts"
    COAT_LATER = "coat it later"  # it will not last, and a coat laid now would not either
    HOLDS = "holds"


class AlarmKind(StrEnum):
    """What an alarm is about."""

    BELOW_DEMAND = "below demand before fire"
    COAT_DUE = "coat due"
    UNKNOWN = "look at it"


@dataclass(frozen=True, slots=True)
class FaceRow:
    """One face on the board. ``left`` is None while no coat on it has been logged.

    ``coat_from_s`` to ``coat_by_s``: when a fresh coat may be laid that lasts, with crews gone in
    time; None where none lasts. ``crew`` is to be there ``crew_at_s``, by the crew plan.
    """

    surface_id: str
    asset_id: str
    asset_name: str
    label: str
    state: FaceState
    left: FaceLeft | None
    coat_from_s: float | None
    coat_by_s: float | None
    fire_from_s: float
    fire_to_s: float
    crew: str = ""
    crew_at_s: float | None = None

    @property
    def key_s(self) -> float:
        """The moment that orders faces of one state: the first that runs out comes first."""
        if self.left is not None:
            return self.left.hold_90_s
        return self.fire_from_s if self.coat_by_s is None else self.coat_by_s


@dataclass(frozen=True, slots=True)
class Alarm:
    """One thing that somebody has to hear of; the same ``id`` as long as it is the same thing."""

    id: str
    kind: AlarmKind
    surface_id: str
    asset_name: str
    label: str
    by_s: float | None
    why: str = ""  # of a look: what speaks against the coat


@dataclass(frozen=True, slots=True)
class Board:
    """The whole board at ``at_s``; ``rows`` worst first."""

    at_s: float
    plan_id: str
    rows: tuple[FaceRow, ...]
    alarms: tuple[Alarm, ...]
    left: Left
    weather_issued_s: float | None
    weather_seen_s: float | None  # when somebody last logged the weather
