"""A second opinion on a plan, written apart from the solvers and their timetable.

Takes nothing from the plan on trust but the steps and their times, and works out levels, durations,
queues and totals anew from the problem's records. Imports none of the solver's modules.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass

from stillwet.routing.plan import ConcentrateLoad, CrewRoute, Refill, RoutePlan, Step, Stop
from stillwet.routing.problem import RoutingCrew, RoutingProblem, Visit

_S = 1e-3  # tolerance of times
_M3 = 1e-6  # tolerance of volumes


@dataclass(frozen=True, slots=True)
class Violation:
    """One constraint a plan breaks: its kind, the crew, visit or place, and by how much in
    words.
    """

    kind: str
    where: str
    words: str


def validate_plan(problem: RoutingProblem, plan: RoutePlan) -> tuple[Violation, ...]:
    """Everything a plan breaks; empty when it may be driven."""
    found = [*_bookkeeping(problem, plan)]
    if found:
        return tuple(found)  # the rest would stumble over unknown ids
    crews = {crew.id: number for number, crew in enumerate(problem.crews)}
    for route in plan.routes:
        found += _follow(problem, crews[route.crew_id], route)
    found += _queues(problem, plan)
    found += _stocks(problem, plan)
    found += _precedence(problem, plan)
    found += _totals(problem, plan)
    return tuple(found)


def _bookkeeping(problem: RoutingProblem, plan: RoutePlan) -> Iterator[Violation]:
    if Counter(route.crew_id for route in plan.routes) != Counter(c.id for c in problem.crews):
        yield Violation("crew", "plan", "not one route for every crew")
    visits = {visit.id: visit for visit in problem.visits}
    known = set(visits) | {p.id for p in problem.fill_points} | {d.id for d in problem.depots}
    for route in plan.routes:
        for step in route.steps:
            if _id(step) not in known:
                yield Violation("step", route.crew_id, f"unknown place {_id(step)}")
                return
    made = Counter(stop.visit_id for route in plan.routes for stop in route.stops)
    groups = Counter(visits[one].group for one in made if visits[one].group is not None)
    for visit_id, times in made.items():
        if times > 1:
            yield Violation("twice", visit_id, f"made {times} times")
    for group, times in groups.items():
        if times > 1:
            yield Violation("group", str(group), f"{times} alternatives made")
    left_out = Counter(one.visit_id for one in plan.unserved)
    for visit in problem.visits:
        told = left_out[visit.id] + (visit.id in made)
        if told != 1 and not (told == 0 and visit.group is not None and groups[visit.group] > 0):
            yield Violation("account", visit.id, f"told {told} times as made or left out")


def _id(step: Step) -> str:
    if isinstance(step, Stop):
        return step.visit_id
    return step.point_id if isinstance(step, Refill) else step.depot_id


def _row(problem: RoutingProblem, step: Step) -> int:
    """Matrix row of a step's place."""
    if isinstance(step, Stop):
        ids = [visit.id for visit in problem.visits]
        return problem.visit_place(ids.index(step.visit_id))
    if isinstance(step, Refill):
        return problem.fill_place([p.id for p in problem.fill_points].index(step.point_id))
    return problem.depot_place([d.id for d in problem.depots].index(step.depot_id))


@dataclass
class _Truck:
    """What is on board as the route is followed."""

    crew: RoutingCrew
    water_m3: float
    concentrate_m3: float


def _follow(problem: RoutingProblem, number: int, route: CrewRoute) -> Iterator[Violation]:
    crew = problem.crews[number]
    seconds = problem.travel[crew.profile].seconds
    place, clock, road = problem.start_place(number), crew.shift_from_s, 0.0
    truck = _Truck(crew, crew.water_m3, crew.concentrate_m3)
    for step in route.steps:
        row = _row(problem, step)
        leg = float(seconds[place, row])
        if not step.arrive_s >= clock + leg - _S:
            yield Violation(
                "travel", _id(step), f"arrives {clock + leg - step.arrive_s:.1f} s early"
            )
        if step.start_s < step.arrive_s - _S:
            yield Violation("order", _id(step), "starts before it arrives")
        if isinstance(step, Stop):
            yield from _check_stop(problem, truck, step)
        elif isinstance(step, Refill):
            yield from _check_refill(problem, truck, step)
        else:
            yield from _check_load(problem, truck, step)
        place, clock, road = row, step.finish_s, road + leg
    home = 0.0
    if crew.end_m is not None and route.steps:
        home = float(seconds[place, problem.end_place(number)])
    if not math.isclose(route.start_s, crew.shift_from_s, abs_tol=_S):
        yield Violation("totals", crew.id, "the start is not that of the shift")
    if route.steps and not clock + home <= crew.shift_to_s + _S:
        yield Violation("shift", crew.id, f"over {clock + home - crew.shift_to_s:.1f} s late")
    if not math.isclose(route.end_s, clock + home, abs_tol=_S):
        yield Violation("totals", crew.id, "the end is not when the last step ends")
    if not math.isclose(route.travel_s, road + home, abs_tol=_S):
        yield Violation("totals", crew.id, "seconds on the road do not add up")


def _visit(problem: RoutingProblem, visit_id: str) -> Visit:
    return next(visit for visit in problem.visits if visit.id == visit_id)


def _check_stop(problem: RoutingProblem, truck: _Truck, stop: Stop) -> Iterator[Violation]:
    visit, crew = _visit(problem, stop.visit_id), truck.crew
    work = crew.setup_s + visit.mix_m3 / crew.spray_flow_m3_s
    if stop.finish_s < stop.start_s + work - _S:
        yield Violation("work", visit.id, f"takes {work:.0f} s, is given less")
    if stop.start_s < visit.earliest_s - _S or stop.start_s > visit.latest_s + _S:
        yield Violation("window", visit.id, "starts outside its window")
    if stop.finish_s > visit.fire_s - visit.egress_s + _S:
        yield Violation("egress", visit.id, "not gone in time before the fire")
    if not visit.needs <= crew.capabilities:
        yield Violation("capability", visit.id, f"{crew.id} lacks what it needs")
    truck.water_m3 -= visit.mix_m3
    truck.concentrate_m3 -= visit.concentrate_m3
    if visit.mix_m3 > 0 and truck.water_m3 < crew.reserve_m3 - _M3:
        yield Violation("reserve", visit.id, f"leaves {truck.water_m3:.3f} m3 in {crew.id}")
    if truck.concentrate_m3 < -_M3:
        yield Violation("concentrate", visit.id, f"{crew.id} is short of concentrate")
    if not math.isclose(stop.tank_after_m3, max(0.0, truck.water_m3), abs_tol=_M3):
        yield Violation("totals", visit.id, "the tank level told is not the one left")
    if (stop.asset_id, stop.mix_m3) != (visit.asset_id, visit.mix_m3):
        yield Violation("totals", visit.id, "asset or mix told are not those of the visit")


def _check_refill(problem: RoutingProblem, truck: _Truck, refill: Refill) -> Iterator[Violation]:
    point = next(one for one in problem.fill_points if one.id == refill.point_id)
    took = point.hookup_s + refill.amount_m3 / point.fill_flow_m3_s
    if refill.finish_s < refill.start_s + took - _S:
        yield Violation("fill time", point.id, f"takes {took:.0f} s, is given less")
    if refill.start_s < point.opens_s - _S or refill.finish_s > point.closes_s + _S:
        yield Violation("opening", point.id, "filled while closed")
    truck.water_m3 += refill.amount_m3
    if refill.amount_m3 < -_M3 or truck.water_m3 > truck.crew.tank_m3 + _M3:
        yield Violation("tank", point.id, f"{truck.crew.id} would hold {truck.water_m3:.3f} m3")
    if not math.isclose(refill.tank_after_m3, truck.water_m3, abs_tol=_M3):
        yield Violation("totals", point.id, "the tank level told is not the one filled to")


def _check_load(
    problem: RoutingProblem, truck: _Truck, load: ConcentrateLoad
) -> Iterator[Violation]:
    depot = next(one for one in problem.depots if one.id == load.depot_id)
    if load.finish_s < load.start_s + depot.load_s - _S:
        yield Violation("load time", depot.id, f"takes {depot.load_s:.0f} s, is given less")
    truck.concentrate_m3 += load.amount_m3
    if load.amount_m3 < -_M3 or truck.concentrate_m3 > truck.crew.concentrate_capacity_m3 + _M3:
        yield Violation("concentrate", depot.id, f"{truck.crew.id} cannot carry that much")


def _queues(problem: RoutingProblem, plan: RoutePlan) -> Iterator[Violation]:
    for point in problem.fill_points:
        moments: list[tuple[float, int]] = []
        for route in plan.routes:
            for refill in route.refills:
                if refill.point_id == point.id:
                    moments += [(refill.start_s + _S, 1), (refill.finish_s, -1)]
        at_once = 0
        for moment, change in sorted(moments):
            at_once += change
            if at_once > point.places:
                yield Violation(
                    "queue", point.id, f"{at_once} crews fill at once at {moment:.0f} s"
                )


def _stocks(problem: RoutingProblem, plan: RoutePlan) -> Iterator[Violation]:
    taken: dict[str, float] = defaultdict(float)
    for route in plan.routes:
        for load in route.loads:
            taken[load.depot_id] += load.amount_m3
    for depot in problem.depots:
        if taken[depot.id] > depot.stock_m3 + _M3:
            yield Violation("stock", depot.id, f"{taken[depot.id]:.3f} m3 taken")


def _precedence(problem: RoutingProblem, plan: RoutePlan) -> Iterator[Violation]:
    stops = {stop.visit_id: stop for route in plan.routes for stop in route.stops}
    for visit in problem.visits:
        if visit.after is None or visit.id not in stops:
            continue
        first = stops.get(visit.after)
        if first is None:
            yield Violation("after", visit.id, f"{visit.after} is not made")
        elif stops[visit.id].start_s < first.finish_s + visit.after_gap_s - _S:
            yield Violation("after", visit.id, f"starts too soon after {visit.after}")


def _totals(problem: RoutingProblem, plan: RoutePlan) -> Iterator[Violation]:
    made = [visit for visit in problem.visits if visit.id in plan.served]
    prize = sum(visit.prize for visit in made)
    if not math.isclose(plan.prize, prize, rel_tol=1e-9, abs_tol=1e-6):
        yield Violation("totals", "plan", f"prize told {plan.prize}, collected {prize}")
    possible: dict[str, float] = {}
    for visit in problem.visits:
        possible[visit.unit] = max(visit.prize, possible.get(visit.unit, 0.0))
    if not math.isclose(plan.prize_possible, sum(possible.values()), rel_tol=1e-9, abs_tol=1e-6):
        yield Violation("totals", "plan", f"prize told as possible {plan.prize_possible}")
    covered = {visit.unit for visit in made}
    missed = {visit.unit for visit in problem.visits if visit.must} - covered
    if plan.musts_missed != len(missed):
        yield Violation("totals", "plan", f"{len(missed)} musts missed, told {plan.musts_missed}")
    road = sum(route.travel_s for route in plan.routes)
    if not math.isclose(plan.travel_s, road, abs_tol=_S):
        yield Violation("totals", "plan", "seconds on the road do not add up")
