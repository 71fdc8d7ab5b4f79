"""Planning again from now: what is done stays done, crews are where they are, few things change.

Two plans are made: the old orders kept, put right and added to; and one from scratch. The kept one
is taken unless the fresh one covers more musts or collects a stated share more prize, because every
change has to be told to somebody over a radio.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from stillwet.errors import Problem, StillwetError, shown
from stillwet.routing.answer import make_answer
from stillwet.routing.plan import RoutePlan, Stopped
from stillwet.routing.problem import (
    Point,
    RoutingCrew,
    RoutingProblem,
    TravelMatrix,
    Visit,
    places_of,
)
from stillwet.routing.search import Working, insert_all, make_model
from stillwet.routing.solver import Budget, OnProgress, ShouldStop, Solver

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


@dataclass(frozen=True, eq=False)
class Replan:
    """The new plan for the problem that is left, and what changed. ``kept``: old orders kept."""

    problem: RoutingProblem
    plan: RoutePlan
    changes: tuple[Change, ...]
    kept: bool


def remaining_problem(
    problem: RoutingProblem,
    *,
    now_s: float,
    done: Mapping[str, float],
    crews_now: Sequence[CrewNow],
    make_travel: MakeTravel,
    stock_m3: Mapping[str, float] | None = None,
) -> RoutingProblem:
    """The problem from now on.

    ``done`` gives the finish of every visit made or being made; its alternatives are over with it,
    also for the visits that follow those.
    A crew not in ``crews_now`` is out of service. ``stock_m3`` is what depots hold now, where
    known. ``make_travel`` reckons travel between the new places.
    """
    by_id = {crew.id: crew for crew in problem.crews}
    visits = {visit.id: visit for visit in problem.visits}
    faults = [
        Problem("crew", "a crew of the plan", shown(c.crew_id))
        for c in crews_now
        if c.crew_id not in by_id
    ]
    faults += [
        Problem("done", "a visit of the plan", shown(one)) for one in done if one not in visits
    ]
    if faults:
        raise StillwetError(faults)
    over = _over(problem, done)
    left = tuple(_still_to_do(v, now_s, over) for v in problem.visits if v.id not in over)
    crews = tuple(_as_it_stands(by_id[state.crew_id], state, now_s) for state in crews_now)
    held = stock_m3 or {}
    depots = tuple(replace(d, stock_m3=held.get(d.id, d.stock_m3)) for d in problem.depots)
    travel = make_travel(places_of(crews, left, problem.fill_points, depots))
    return RoutingProblem(crews, left, problem.fill_points, depots, travel)


def _over(problem: RoutingProblem, done: Mapping[str, float]) -> dict[str, float]:
    """When each visit that is made, or whose alternative is, was over."""
    finish = {visit.unit: done[visit.id] for visit in problem.visits if visit.id in done}
    return {visit.id: finish[visit.unit] for visit in problem.visits if visit.unit in finish}


def _still_to_do(visit: Visit, now_s: float, over: Mapping[str, float]) -> Visit:
    earliest = max(visit.earliest_s, now_s)
    if visit.after is not None and visit.after in over:
        ready = over[visit.after] + visit.after_gap_s
        return replace(visit, earliest_s=max(earliest, ready), after=None, after_gap_s=0.0)
    return replace(visit, earliest_s=earliest)


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


def replan(
    left: RoutingProblem,
    old: RoutePlan,
    solver: Solver,
    *,
    seed: int,
    budget: Budget,
    fresh_worth: float = FRESH_WORTH,
    on_progress: OnProgress | None = None,
    should_stop: ShouldStop | None = None,
) -> Replan:
    """Plan what is left, changing little; ``left`` comes from remaining_problem."""
    kept = _kept_plan(left, old, seed)
    fresh = solver.solve(
        left, seed=seed, budget=budget, on_progress=on_progress, should_stop=should_stop
    )
    gain = fresh.prize - kept.prize
    takes_fresh = fresh.musts_missed < kept.musts_missed or (
        fresh.musts_missed == kept.musts_missed and gain > fresh_worth * kept.prize + 1e-9
    )
    plan = fresh if takes_fresh else replace(kept, stopped=fresh.stopped)
    return Replan(left, plan, changes_between(left, old, plan), not takes_fresh)


def _kept_plan(left: RoutingProblem, old: RoutePlan, seed: int) -> RoutePlan:
    """The old orders less what is done, put right, and added to."""
    model = make_model(left)
    numbers = {visit.id: number for number, visit in enumerate(left.visits)}
    routes = {route.crew_id: route for route in old.routes}
    orders = [
        [numbers[stop.visit_id] for stop in routes[crew.id].stops if stop.visit_id in numbers]
        if crew.id in routes
        else []
        for crew in left.crews
    ]
    working = Working(model, orders)
    working.settle()
    insert_all(working, np.asarray(model.hopeful))
    return make_answer(left, model, working, "old plan kept", seed, Stopped.DONE)


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
