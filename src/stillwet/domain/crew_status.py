"""How the day stands when crews are planned again: what is done, who is where, the plan before."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class DoneWork:
    """Work that is over: an asset, or one part of it; ``time_s``: when the crew finished."""

    asset_id: str
    part: int | None
    crew_id: str
    time_s: float


@dataclass(frozen=True, slots=True)
class CrewState:
    """A crew as it stands; None where nobody said: then what the plan before says of it counts."""

    crew_id: str
    at_m: tuple[float, float] | None = None
    water_m3: float | None = None
    concentrate_m3: float | None = None
    free_s: float | None = None
    out: bool = False  # out of service


@dataclass(frozen=True, slots=True)
class OldFace:
    """One face of an old visit: the share laid and when its spraying was to begin."""

    surface_id: str
    share: float
    starts_s: float


@dataclass(frozen=True, slots=True)
class OldVisit:
    """One visit of the plan before."""

    visit_id: str
    asset_id: str
    part: int
    parts: int
    x_m: float
    y_m: float
    finish_s: float
    tank_after_m3: float
    concentrate_m3: float
    faces: tuple[OldFace, ...]


@dataclass(frozen=True, slots=True)
class CrewStatus:
    """The day so far; ``orders``: the old visits of each crew, in order."""

    now_s: float | None
    done: tuple[DoneWork, ...]
    crews: tuple[CrewState, ...]
    orders: dict[str, tuple[OldVisit, ...]]
