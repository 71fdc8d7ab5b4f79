"""The routing problem: plain numbers, checked once, never changed.

Volumes in m3, times in seconds (epoch seconds for instants), positions in metres of the job's
projected CRS. Knobs, seed and stopping rule are not part of a problem: they are arguments of a
solver.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwet.errors import Problem, StillwetError, shown
from stillwet.units import is_bounded

Point = tuple[float, float]

_LONG_S = 1e11  # bounds for instants: a year or two is 1e7, epoch seconds are 1e9


@dataclass(frozen=True, slots=True)
class RoutingCrew:
    """One engine or team as it stands at the start of its shift.

    The reserve rule: the tank never holds less than ``reserve_m3`` after a visit, so a crew that
    starts below its reserve has to fill before it sprays. ``profile`` names a travel matrix.
    ``end_m`` is where the crew has to be by the end of its shift; None lets it end anywhere.
    """

    id: str
    name: str
    x_m: float
    y_m: float
    profile: str
    tank_m3: float
    reserve_m3: float
    water_m3: float  # in the tank at the start
    spray_flow_m3_s: float
    setup_s: float  # at every visit, before spraying
    shift_from_s: float
    shift_to_s: float
    concentrate_m3: float  # on board at the start
    concentrate_capacity_m3: float
    capabilities: frozenset[str] = frozenset()
    end_m: Point | None = None

    @property
    def usable_m3(self) -> float:
        """What one full tank can put on assets: tank less reserve."""
        return max(0.0, self.tank_m3 - self.reserve_m3)


@dataclass(frozen=True, slots=True)
class FillPoint:
    """Where tanks are filled. A fill tops the tank up, takes ``hookup_s`` and then the volume over
    the flow, and has to be over by ``closes_s``. ``places`` engines can fill at once; others wait.
    """

    id: str
    name: str
    x_m: float
    y_m: float
    fill_flow_m3_s: float
    hookup_s: float = 0.0
    opens_s: float = -math.inf
    closes_s: float = math.inf
    places: int = 1


@dataclass(frozen=True, slots=True)
class ConcentrateDepot:
    """Where concentrate is taken on: a stock shared by all crews, and the time one loading
    takes.
    """

    id: str
    name: str
    x_m: float
    y_m: float
    stock_m3: float
    load_s: float


@dataclass(frozen=True, slots=True)
class Visit:
    """One coating of one asset.

    Work (set-up, then spraying) starts within [earliest_s, latest_s] and is over ``egress_s``
    before ``fire_s``. Of the visits that share a ``group`` at most one is made: the same coat at
    other times, each with its own prize, says how its worth falls with time. A visit with ``after``
    starts no sooner than ``after_gap_s`` past the end of that visit, whichever crew makes it: a
    second coat, or one crew waiting for another. ``must`` visits come before any prize. ``bundle``
    names visits that are worth something only when all of them are made; those of an asset where
    there is none.
    """

    id: str
    asset_id: str
    name: str
    x_m: float
    y_m: float
    mix_m3: float
    concentrate_m3: float
    earliest_s: float
    latest_s: float
    prize: float
    fire_s: float = math.inf
    egress_s: float = 0.0
    must: bool = False
    needs: frozenset[str] = frozenset()
    group: str | None = None
    after: str | None = None
    after_gap_s: float = 0.0
    bundle: str | None = None

    @property
    def leave_by_s(self) -> float:
        """When the crew has to be gone."""
        return self.fire_s - self.egress_s

    @property
    def whole(self) -> str:
        """What is made whole or not at all: the bundle where there is one, else the asset."""
        return f"bundle {self.bundle}" if self.bundle is not None else f"asset {self.asset_id}"

    @property
    def unit(self) -> str:
        """What counts once: the group where there is one, else the visit."""
        return f"group {self.group}" if self.group is not None else f"visit {self.id}"


@dataclass(frozen=True, eq=False)
class TravelMatrix:
    """Seconds from place to place, shape (places, places), inf where there is no way; and
    whence.
    """

    seconds: NDArray[np.float64]
    provenance: str  # "road network ..." or "straight line x factor ..."

    def __post_init__(self) -> None:
        kept = np.array(self.seconds, dtype=np.float64)
        kept.setflags(write=False)
        object.__setattr__(self, "seconds", kept)
        if kept.ndim != 2 or kept.shape[0] != kept.shape[1]:
            raise StillwetError(Problem("travel", "a square matrix", f"shape {kept.shape}"))
        if np.isnan(kept).any() or (kept < 0).any():
            raise StillwetError(
                Problem("travel", "seconds of 0 or more", "a negative or no number")
            )


def places_of(
    crews: Sequence[RoutingCrew],
    visits: Sequence[Visit],
    fill_points: Sequence[FillPoint],
    depots: Sequence[ConcentrateDepot],
) -> tuple[Point, ...]:
    """Every place of a problem, in the order travel matrices use.

    Crew starts, crew ends (the start again where a crew may end anywhere), visits, fill points,
    concentrate depots.
    """
    return (
        *((crew.x_m, crew.y_m) for crew in crews),
        *(crew.end_m or (crew.x_m, crew.y_m) for crew in crews),
        *((visit.x_m, visit.y_m) for visit in visits),
        *((point.x_m, point.y_m) for point in fill_points),
        *((depot.x_m, depot.y_m) for depot in depots),
    )


@dataclass(frozen=True, eq=False)
class RoutingProblem:
    """Crews, visits, water, concentrate and travel; raises with every fault found at once.

    No crew, no water or no visit is not a fault: the plan then says what that leaves undone.
    """

    crews: tuple[RoutingCrew, ...]
    visits: tuple[Visit, ...]
    fill_points: tuple[FillPoint, ...]
    depots: tuple[ConcentrateDepot, ...]
    travel: Mapping[str, TravelMatrix]

    def __post_init__(self) -> None:
        faults = [*_crew_faults(self), *_visit_faults(self), *_place_faults(self)]
        faults += _reference_faults(self)
        if faults:
            raise StillwetError(faults)

    @property
    def places(self) -> tuple[Point, ...]:
        """Every place in matrix order."""
        return places_of(self.crews, self.visits, self.fill_points, self.depots)

    @property
    def place_count(self) -> int:
        """How many rows a travel matrix has."""
        return 2 * len(self.crews) + len(self.visits) + len(self.fill_points) + len(self.depots)

    def start_place(self, crew: int) -> int:
        """Matrix row of a crew's start."""
        return crew

    def end_place(self, crew: int) -> int:
        """Matrix row of a crew's end."""
        return len(self.crews) + crew

    def visit_place(self, visit: int) -> int:
        """Matrix row of a visit."""
        return 2 * len(self.crews) + visit

    def fill_place(self, point: int) -> int:
        """Matrix row of a fill point."""
        return 2 * len(self.crews) + len(self.visits) + point

    def depot_place(self, depot: int) -> int:
        """Matrix row of a concentrate depot."""
        return 2 * len(self.crews) + len(self.visits) + len(self.fill_points) + depot


def _bounds(
    place: str, values: Mapping[str, float], low: float, high: float, wanted: str
) -> Iterator[Problem]:
    for name, value in values.items():
        if not is_bounded(value, low, high):
            yield Problem(name, wanted, shown(value), place)


def _crew_faults(problem: RoutingProblem) -> Iterator[Problem]:
    for crew in problem.crews:
        place = f"crew {crew.id}"
        volumes = {
            "reserve": crew.reserve_m3,
            "water": crew.water_m3,
            "concentrate": crew.concentrate_m3,
            "concentrate_capacity": crew.concentrate_capacity_m3,
        }
        yield from _bounds(place, {"tank": crew.tank_m3}, 1e-3, 1e6, "0.001 to 1e6 m3")
        yield from _bounds(place, volumes, 0.0, 1e6, "0 to 1e6 m3")
        yield from _bounds(place, {"spray_flow": crew.spray_flow_m3_s}, 1e-7, 1e6, "above 0 m3/s")
        yield from _bounds(place, {"setup": crew.setup_s}, 0.0, 86400.0, "0 to 86400 s")
        shift = {"shift_from": crew.shift_from_s, "shift_to": crew.shift_to_s}
        yield from _bounds(place, shift, -_LONG_S, _LONG_S, "an instant in seconds")
        if crew.shift_to_s < crew.shift_from_s:
            yield Problem("shift", "an end not before the start", "an end before the start", place)
        if crew.water_m3 > crew.tank_m3:
            yield Problem(
                "water", f"at most the tank ({crew.tank_m3:g} m3)", shown(crew.water_m3), place
            )
        if crew.concentrate_m3 > crew.concentrate_capacity_m3:
            wanted = f"at most the capacity ({crew.concentrate_capacity_m3:g} m3)"
            yield Problem("concentrate", wanted, shown(crew.concentrate_m3), place)


def _visit_faults(problem: RoutingProblem) -> Iterator[Problem]:
    for visit in problem.visits:
        place = f"visit {visit.id}"
        volumes = {"mix": visit.mix_m3, "concentrate": visit.concentrate_m3}
        yield from _bounds(place, volumes, 0.0, 1e6, "0 to 1e6 m3")
        yield from _bounds(place, {"prize": visit.prize}, 0.0, 1e12, "0 to 1e12")
        spans = {"egress": visit.egress_s, "after_gap": visit.after_gap_s}
        yield from _bounds(place, spans, 0.0, 1e7, "0 s or more")
        yield from _bounds(
            place, {"earliest": visit.earliest_s}, -_LONG_S, _LONG_S, "an instant in seconds"
        )
        for name, value in (("latest", visit.latest_s), ("fire", visit.fire_s)):
            if math.isnan(value):
                yield Problem(name, "an instant in seconds, or none", "no number", place)


def _place_faults(problem: RoutingProblem) -> Iterator[Problem]:
    for point in problem.fill_points:
        place = f"fill point {point.id}"
        yield from _bounds(place, {"fill_flow": point.fill_flow_m3_s}, 1e-7, 1e6, "above 0 m3/s")
        yield from _bounds(place, {"hookup": point.hookup_s}, 0.0, 86400.0, "0 to 86400 s")
        yield from _bounds(place, {"places": point.places}, 1, 100, "1 to 100")
        if not point.opens_s < point.closes_s:
            yield Problem("opening", "an end after the start", "an end not after the start", place)
    for depot in problem.depots:
        place = f"concentrate depot {depot.id}"
        yield from _bounds(place, {"stock": depot.stock_m3}, 0.0, 1e6, "0 to 1e6 m3")
        yield from _bounds(place, {"load": depot.load_s}, 0.0, 86400.0, "0 to 86400 s")
    for crew in problem.crews:
        if crew.profile not in problem.travel:
            known = ", ".join(problem.travel) or "none"
            yield Problem("profile", f"one of {known}", shown(crew.profile), f"crew {crew.id}")
    for name, matrix in problem.travel.items():
        if matrix.seconds.shape[0] != problem.place_count:
            wanted = f"{problem.place_count} places"
            yield Problem("travel", wanted, f"{matrix.seconds.shape[0]} rows", f"profile {name}")


def _reference_faults(problem: RoutingProblem) -> Iterator[Problem]:
    kinds = {
        "crew": [crew.id for crew in problem.crews],
        "visit": [visit.id for visit in problem.visits],
        "fill point": [point.id for point in problem.fill_points],
        "concentrate depot": [depot.id for depot in problem.depots],
    }
    for kind, ids in kinds.items():
        for repeated in sorted({one for one in ids if ids.count(one) > 1}):
            yield Problem(f"{kind} id", "each id once", shown(repeated))
    by_id = {visit.id: visit for visit in problem.visits}
    for visit in problem.visits:
        if visit.after is not None and visit.after not in by_id:
            yield Problem("after", "the id of a visit", shown(visit.after), f"visit {visit.id}")
        elif _is_own_ancestor(visit, by_id):
            yield Problem("after", "no circle of visits", shown(visit.after), f"visit {visit.id}")
        elif visit.after is not None and _same_group(visit, by_id[visit.after]):
            wanted = "a visit outside its own group"
            yield Problem("after", wanted, shown(visit.after), f"visit {visit.id}")


def _same_group(one: Visit, other: Visit) -> bool:
    return one.group is not None and one.group == other.group


def _is_own_ancestor(visit: Visit, by_id: Mapping[str, Visit]) -> bool:
    seen: set[str] = set()
    step = visit.after
    while step is not None and step in by_id and step not in seen:
        if step == visit.id:
            return True
        seen.add(step)
        step = by_id[step].after
    return False
