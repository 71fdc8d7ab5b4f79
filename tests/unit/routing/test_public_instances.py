"""Well-known routing instances, through our own problem records, against best-known answers.

See tests/data/routing/README.md for where they come from.
"""

from __future__ import annotations

import math

import pytest

from routing_instances import FOLDER, as_problem, read_instance
from stillwet.routing.problem import RoutingProblem
from stillwet.routing.pyvrp_solver import PyvrpSolver
from stillwet.routing.solver import Budget
from stillwet.routing.validator import validate_plan

E_N22_K4_OPTIMUM = 375.0  # told in the file: Christofides and Eilon 1969
RC208_OPTIMUM = 7761.0  # in tenths: 776.1 with distances cut to one decimal (from memory)


def road_time(job: RoutingProblem, iterations: int) -> float:
    """Seconds on the road of a plan that makes every visit and breaks nothing."""
    plan = PyvrpSolver().solve(job, seed=1, budget=Budget(iterations=iterations))
    assert validate_plan(job, plan) == ()
    assert plan.musts_missed == 0
    return plan.travel_s


@pytest.mark.parametrize(("engines", "fills"), [(4, False), (1, True)])
def test_e_n22_k4_to_the_optimum(engines: int, fills: bool) -> None:
    """21 visits, tanks of 6000, whole-number distances: 375 for four engines, each one trip.

    And 375 for one engine that fills at the depot three times and drives the same four trips.
    """
    job = as_problem(read_instance("E-n22-k4.txt"), round, engines=engines, fills=fills)
    assert road_time(job, 600) == E_N22_K4_OPTIMUM


@pytest.mark.slow
def test_rc208_near_the_optimum() -> None:
    """100 visits with windows, four engines: within 1 % of 776.1, and not below it."""
    job = as_problem(read_instance("RC208.vrp"), math.floor, engines=4, scale=10.0)
    assert RC208_OPTIMUM <= road_time(job, 4000) <= 1.01 * RC208_OPTIMUM


@pytest.mark.slow
def test_many_trips_beside_the_library_itself() -> None:
    """100 visits with windows of an hour, ten engines that fill as often as they like.

    No published best value of RC_1_S_35 was at hand: the answer is set beside that of the routing
    library reading the file by itself, without our records, fills and clock. Within 2 %.
    """
    pyvrp = pytest.importorskip("pyvrp")
    data = pyvrp.read(FOLDER / "RC_1_S_35.vrp", round_func="round")
    stop = pyvrp.stop.MaxIterations(2000)
    theirs = pyvrp.solve(data, stop=stop, seed=1, display=False)
    assert theirs.is_feasible()
    job = as_problem(read_instance("RC_1_S_35.vrp"), round, engines=10, fills=True)
    assert road_time(job, 2000) <= 1.02 * theirs.cost()
