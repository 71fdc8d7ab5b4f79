"""From the routes a search ended with to the plan a person reads."""

from __future__ import annotations

from stillwet.routing.left_out import explain_left_out
from stillwet.routing.plan import RoutePlan, Stopped
from stillwet.routing.problem import RoutingProblem
from stillwet.routing.schedule import routes_of
from stillwet.routing.search import Model, Working, insert_all


def make_answer(
    problem: RoutingProblem,
    model: Model,
    working: Working,
    solver: str,
    seed: int,
    stopped: Stopped,
) -> RoutePlan:
    """The plan: routes with times, what is left out and why, and how it came about.

    What still fits is put in first, so that nothing is told as left out for want of a last try.
    """
    insert_all(working, model.hopeful)
    missed, gap, travel = working.rank()
    if stopped is Stopped.DONE and model.hopeful.size == 0:
        stopped = Stopped.NOTHING_TO_DO
    profiles = dict.fromkeys(crew.profile for crew in problem.crews)
    return RoutePlan(
        routes=routes_of(problem, working.clock()),
        unserved=explain_left_out(problem, model, working),
        prize=model.prize_possible - gap,
        prize_possible=model.prize_possible,
        musts_missed=missed,
        travel_s=travel,
        solver=solver,
        seed=seed,
        stopped=stopped,
        provenance=tuple(f"{name}: {problem.travel[name].provenance}" for name in profiles),
    )
