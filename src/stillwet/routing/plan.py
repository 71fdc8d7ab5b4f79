"""What a solver answers: routes with their times, and what is left undone and why."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


@dataclass(frozen=True, slots=True)
class Stop:
    """One visit made: arrive, start work (set-up, then spraying), finish. Tank levels in m3."""

    visit_id: str
    asset_id: str
    arrive_s: float
    start_s: float
    finish_s: float
    mix_m3: float
    tank_after_m3: float


@dataclass(frozen=True, slots=True)
class Refill:
    """One filling of the tank; between arrive and start the crew waits for its turn or the
    opening.
    """

    point_id: str
    arrive_s: float
    start_s: float
    finish_s: float
    amount_m3: float
    tank_after_m3: float

    @property
    def wait_s(self) -> float:
        """Time in the queue or before the point opens."""
        return self.start_s - self.arrive_s


@dataclass(frozen=True, slots=True)
class ConcentrateLoad:
    """Concentrate taken on board at a depot."""

    depot_id: str
    arrive_s: float
    start_s: float
    finish_s: float
    amount_m3: float


Step = Stop | Refill | ConcentrateLoad


@dataclass(frozen=True, slots=True)
class CrewRoute:
    """What one crew does, in order. ``end_s`` is when it is done, back at its end place if it has
    one.
    """

    crew_id: str
    steps: tuple[Step, ...]
    start_s: float
    end_s: float
    travel_s: float

    @property
    def stops(self) -> tuple[Stop, ...]:
        """The visits of the route in order."""
        return tuple(step for step in self.steps if isinstance(step, Stop))

    @property
    def refills(self) -> tuple[Refill, ...]:
        """The fills of the route in order."""
        return tuple(step for step in self.steps if isinstance(step, Refill))

    @property
    def loads(self) -> tuple[ConcentrateLoad, ...]:
        """The concentrate loads of the route in order."""
        return tuple(step for step in self.steps if isinstance(step, ConcentrateLoad))


class Binding(StrEnum):
    """What keeps a visit out of the plan."""

    NO_CREW = "no crew"
    CAPABILITY = "no crew has what it needs"
    UNREACHABLE = "no way there"
    TANK = "asks more than a tank holds"
    WATER = "no water for it"
    CONCENTRATE = "no concentrate for it"
    EGRESS = "no time to be gone before the fire"
    WINDOW = "its window closes first"
    SHIFT = "the shifts do not reach it"
    FIRST_COAT = "the visit it follows is not made"
    FIRST_COAT_LATE = "the visit it follows is over too late"
    CREWS_BUSY = "the crews are busy with other visits"


class ReliefKind(StrEnum):
    """A change that would let a visit in."""

    ENGINE = "one more engine"
    EARLIER_START = "an earlier start"
    LATER_FIRE = "a later fire or window"
    LONGER_SHIFT = "a longer shift"
    WATER = "more water in the tank"
    CONCENTRATE = "more concentrate"
    CAPABILITY = "a crew with what it needs"
    ROAD = "a way there"
    SPLIT = "splitting the work"
    FIRST_COAT = "making the first visit, or making it sooner"


@dataclass(frozen=True, slots=True)
class Relief:
    """One such change: how much of it (s or m3, or a count; 0 where it has no size), and in
    words.
    """

    kind: ReliefKind
    amount: float
    words: str


@dataclass(frozen=True, slots=True)
class Unserved:
    """A visit left out: the constraint that binds, in words, and what would let it in (may be
    none).
    """

    visit_id: str
    asset_id: str
    must: bool
    prize: float
    binding: Binding
    reason: str
    frees: tuple[Relief, ...]


class Stopped(StrEnum):
    """Why a solver stopped."""

    DONE = "all of its budget used"
    ASKED = "asked to stop; best found so far"
    INTERRUPTED = "interrupted; best found so far"
    NOTHING_TO_DO = "nothing that could be planned"


@dataclass(frozen=True, slots=True)
class RoutePlan:
    """Routes for every crew (also idle ones), what is left out, and how the plan came about.

    Plans are compared by must visits missed, then prize, then seconds on the road.
    """

    routes: tuple[CrewRoute, ...]
    unserved: tuple[Unserved, ...]
    prize: float
    prize_possible: float  # of all visits; of a group, its best
    musts_missed: int
    travel_s: float
    solver: str
    seed: int
    stopped: Stopped
    provenance: tuple[str, ...]  # where the travel times came from

    @property
    def served(self) -> frozenset[str]:
        """Ids of the visits made."""
        return frozenset(stop.visit_id for route in self.routes for stop in route.stops)

    @property
    def rank(self) -> tuple[int, float, float]:
        """Smaller is better: musts missed, prize not collected, seconds on the road."""
        return (self.musts_missed, self.prize_possible - self.prize, self.travel_s)
