"""Whole or not at all: an asset sprayed in parts is worth nothing until every part is made.

The solvers count each part by itself. Here assets that came out half made are given up, the least
worth first, their crews' time goes to others, and at the end each is tried once more.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace

from stillwet.routing.greedy_solver import GreedySolver
from stillwet.routing.plan import RoutePlan, Unserved
from stillwet.routing.problem import RoutingProblem
from stillwet.routing.replan import replan
from stillwet.routing.solver import Budget
from stillwet.services.crew_problem import without_visits

_AT_ONCE = Budget(iterations=0)  # old orders kept and added to, no search


@dataclass(frozen=True, eq=False)
class Routed:
    """Routes in which every asset is made whole or left out, and the problem they answer.

    ``given_up``: of each asset that only part of was possible, why its other part was not.
    """

    problem: RoutingProblem
    routes: RoutePlan
    given_up: dict[str, Unserved]

    @property
    def musts_missed(self) -> int:
        """Must assets that are not covered."""
        left = {one.asset_id for one in self.routes.unserved if one.must}
        return len(left | {name for name, one in self.given_up.items() if one.must})

    @property
    def rank(self) -> tuple[int, float, float]:
        """Smaller is better: musts missed, then worth, then time on the road."""
        return (self.musts_missed, -self.routes.prize, self.routes.travel_s)


def make_whole(problem: RoutingProblem, routes: RoutePlan, *, seed: int) -> Routed:
    """Give up assets half made until none is left, then try each of them again."""
    everything, given_up = problem, dict[str, Unserved]()
    while halves := _halves(problem, routes):
        least = min(halves, key=lambda name: (halves[name].must, asset_prize(problem, name), name))
        given_up[least] = halves[least]
        problem, routes = _kept(problem, routes, _visits_of(problem, least), seed)
    order = sorted(
        given_up, key=lambda one: (not given_up[one].must, -asset_prize(everything, one))
    )
    for name in order:
        gone = {visit.id for visit in everything.visits} - {visit.id for visit in problem.visits}
        with_it = without_visits(everything, gone - _visits_of(everything, name))
        tried = kept_in(with_it, routes, seed=seed)
        if not _halves(with_it, tried) and routes.served < tried.served:
            kept = replace(tried, solver=routes.solver, stopped=routes.stopped)
            problem, routes = with_it, kept
            del given_up[name]
    return Routed(problem, routes, given_up)


def _halves(problem: RoutingProblem, routes: RoutePlan) -> dict[str, Unserved]:
    """The assets of which some visits are made and others not, with the first that is not."""
    made: dict[str, int] = defaultdict(int)
    for visit in problem.visits:
        made[visit.asset_id] += visit.id in routes.served
    missing: dict[str, Unserved] = {}
    for one in routes.unserved:
        missing.setdefault(one.asset_id, one)
    return {name: one for name, one in missing.items() if made[name] > 0}


def _visits_of(problem: RoutingProblem, asset_id: str) -> set[str]:
    return {visit.id for visit in problem.visits if visit.asset_id == asset_id}


def asset_prize(problem: RoutingProblem, asset_id: str) -> float:
    """The prize of all of an asset's visits together."""
    return sum(visit.prize for visit in problem.visits if visit.asset_id == asset_id)


def _kept(
    problem: RoutingProblem, routes: RoutePlan, gone: set[str], seed: int
) -> tuple[RoutingProblem, RoutePlan]:
    """The same routes without some visits, put right and added to."""
    fewer = without_visits(problem, gone)
    again = kept_in(fewer, routes, seed=seed)
    return fewer, replace(again, solver=routes.solver, stopped=routes.stopped)


def kept_in(problem: RoutingProblem, routes: RoutePlan, *, seed: int) -> RoutePlan:
    """The old orders in a problem that may differ, put right and added to, without a search."""
    return replan(problem, routes, GreedySolver(), seed=seed, budget=_AT_ONCE).plan
