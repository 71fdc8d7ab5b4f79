"""How the day stands when crews are planned again: what is done, who is where, the plan before."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class DoneWork:
    """Work that is over: an asset, or one part or pass of it; ``time_s``: when the crew finished.

    ``coat`` is "1", "2" or "recoat"; None for all passes of the coat, a recoat not among them.
    """

    asset_id: str
    part: int | None
    crew_id: str
    time_s: float
    coat: str | None = None

    @property
    def is_whole(self) -> bool:
        """True for an asset's whole coat."""
        return self.part is None and self.coat is None

    @property
    def what(self) -> tuple[str, int | None, str | None]:
        """Of which asset, part and coat: the same twice is one piece of work told again."""
        return self.asset_id, self.part, self.coat

    def is_of(self, visit: OldVisit) -> bool:
        """True when an old visit is among this work."""
        if self.asset_id != visit.asset_id or self.part not in {None, visit.part}:
            return False
        return not visit.is_recoat if self.coat is None else self.coat == visit.coat_word


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
    coat: int = 1
    coats: int = 1
    is_recoat: bool = False

    @property
    def coat_word(self) -> str:
        """Which coat it lays, as a status file tells it."""
        return "recoat" if self.is_recoat else str(self.coat)


@dataclass(frozen=True, slots=True)
class OldLoad:
    """One load of concentrate that a crew of the plan before was to take on board."""

    depot_id: str
    finish_s: float
    amount_m3: float


@dataclass(frozen=True, slots=True)
class CrewStart:
    """How a crew began the plan before: where, when free, with what on board.

    None of concentrate where that plan took it to carry enough, or does not tell.
    """

    at_m: tuple[float, float]
    free_s: float
    water_m3: float
    concentrate_m3: float | None


@dataclass(frozen=True, slots=True)
class Began:
    """How the plan before began; all empty where it does not tell.

    ``starts`` by crew, ``stocks_m3`` by depot. ``done``: what was done before that plan; ``made``:
    its visits, finished at their ``finish_s``; ``unordered``: visits to assets on which work has
    begun that no crew of that plan was sent to. ``forgets``: it was itself planned again, by a
    version that did not write any of this down.
    """

    starts: Mapping[str, CrewStart] = field(default_factory=dict)
    stocks_m3: Mapping[str, float] = field(default_factory=dict)
    done: tuple[DoneWork, ...] = ()
    made: tuple[OldVisit, ...] = ()
    unordered: tuple[OldVisit, ...] = ()
    forgets: bool = False


@dataclass(frozen=True, slots=True)
class CrewStatus:
    """The day so far; ``orders`` and ``loads``: the old visits and loads of each crew, in order.

    ``stocks_m3``: what depots hold now, by id, where somebody told.
    """

    now_s: float | None
    done: tuple[DoneWork, ...]
    crews: tuple[CrewState, ...]
    orders: Mapping[str, tuple[OldVisit, ...]]
    loads: Mapping[str, tuple[OldLoad, ...]] = field(default_factory=dict)
    began: Began = field(default_factory=Began)
    stocks_m3: Mapping[str, float] = field(default_factory=dict)
