"""Planning again from now: crews are where they are, and what differs is told.

Whoever plans again makes two plans: the old orders kept, put right and added to; and one from
scratch. The kept one is taken unless the fresh one covers more musts or collects ``FRESH_WORTH``
more prize, because every change has to be told to somebody over a radio.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from stillwet.errors import Problem, StillwetError, shown
from stillwet.routing.plan import RoutePlan
from stillwet.routing.problem import (
    Point,
    RoutingCrew,
    RoutingProblem,
    TravelMatrix,
    places_of,
)

FRESH_WORTH = 0.02  # untested default: a fresh plan has to collect this share more to be taken
FRESH_WORTH_LOW, FRESH_WORTH_HIGH = 0.0, 0.1

MakeTravel = Callable[[tuple[Point, ...]], Mapping[str, TravelMatrix]]


@dataclass(frozen=True, slots=True)
class CrewNow:
    """A crew as it stands: where and when it is free (after the work it is on), what is on
    board.
    """

    crew_id: str
    x_m: float
    y_m: float
    free_s: float
    water_m3: float
    concentrate_m3: float


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that differs from the old plan; ``words`` says it for the radio."""

    visit_id: str
    old_crew: str | None
    new_crew: str | None
    words: str


def remaining_problem(
    problem: RoutingProblem,
    *,
    now_s: float,
    crews_now: Sequence[CrewNow],
    make_travel: MakeTravel,
    stock_m3: Mapping[str, float],
) -> RoutingProblem:
    """A problem of the visits still to be made, from now on.

    A crew not in ``crews_now`` is out of service. ``stock_m3`` is what depots hold now, by id; one
    that it does not name holds what it did. ``make_travel`` reckons travel between the new places.
    Raises StillwetError for a crew that the problem does not have.
    """
    by_id = {crew.id: crew for crew in problem.crews}
    faults = [
        Problem("crew", "a crew of the plan", shown(one.crew_id))
        for one in crews_now
        if one.crew_id not in by_id
    ]
    if faults:
        raise StillwetError(faults)
    visits = tuple(
        replace(visit, earliest_s=max(visit.earliest_s, now_s)) for visit in problem.visits
    )
    crews = tuple(_as_it_stands(by_id[state.crew_id], state, now_s) for state in crews_now)
    depots = tuple(replace(d, stock_m3=stock_m3.get(d.id, d.stock_m3)) for d in problem.depots)
    travel = make_travel(places_of(crews, visits, problem.fill_points, depots))
    return RoutingProblem(crews, visits, problem.fill_points, depots, travel)


def _as_it_stands(crew: RoutingCrew, state: CrewNow, now_s: float) -> RoutingCrew:
    free = max(state.free_s, now_s)
    return replace(
        crew,
        x_m=state.x_m,
        y_m=state.y_m,
        water_m3=state.water_m3,
        concentrate_m3=state.concentrate_m3,
        shift_from_s=free,
        shift_to_s=max(free, crew.shift_to_s),
    )


def changes_between(
    left: RoutingProblem,
    old: RoutePlan,
    new: RoutePlan,
    crew_names: Mapping[str, str] | None = None,
) -> tuple[Change, ...]:
    """What differs, visit by visit: another crew, dropped, added, or another turn in the order.

    ``crew_names`` by id, for crews that were in the old plan and are not in the problem any more.
    """
    before, after = _turns(left, old), _turns(left, new)
    names = {**(crew_names or {}), **{crew.id: crew.name for crew in left.crews}}
    changes = []
    for visit in left.visits:
        was, now = before.get(visit.id), after.get(visit.id)
        if was == now:
            continue
        old_crew, new_crew = was[0] if was else None, now[0] if now else None
        told_old, told_new = (names.get(one or "", one or "") for one in (old_crew, new_crew))
        if now is None:
            words = f"{visit.name}: dropped (was {told_old})"
        elif was is None:
            words = f"{visit.name}: added for {told_new}"
        elif old_crew != new_crew:
            words = f"{visit.name}: now {told_new} instead of {told_old}"
        else:
            follows = now[1] or "the start"
            words = f"{visit.name}: {told_new} now makes it after {follows}"
        changes.append(Change(visit.id, old_crew, new_crew, words))
    return tuple(changes)


def _turns(left: RoutingProblem, plan: RoutePlan) -> dict[str, tuple[str, str | None]]:
    """Crew and the visit before, of every visit that is still to do."""
    names = {visit.id: visit.name for visit in left.visits}
    turns: dict[str, tuple[str, str | None]] = {}
    for route in plan.routes:
        before: str | None = None
        for stop in route.stops:
            if stop.visit_id in names:
                turns[stop.visit_id] = (route.crew_id, before)
                before = names[stop.visit_id]
    return turns
