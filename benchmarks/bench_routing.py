"""Prize collected by the routes in the time a person waits for, beside other ways of planning.

Run: ``python benchmarks/bench_routing.py``. Two jobs in which crews do not hinder each other (60
visits x 4 crews, 10 s; 200 x 6, 30 s), so that a general routing library can be given the same
job, and one with queues, second coats and a shared cache. The gap is to the best plan of any run
here, longer ones included. Fails when a gap is beyond the limit, when a plan breaks anything, or
when insertion alone is better.
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from general_routing import (  # beside this file
    general_orders,
    is_installed,
)

from stillwet.routing.greedy_solver import GreedySolver
from stillwet.routing.plan import RoutePlan
from stillwet.routing.problem import (
    ConcentrateDepot,
    FillPoint,
    RoutingCrew,
    RoutingProblem,
    Visit,
    places_of,
)
from stillwet.routing.pyvrp_solver import PyvrpSolver
from stillwet.routing.roads import straight_line_travel
from stillwet.routing.search import Working, insert_all, make_model
from stillwet.routing.solver import Budget
from stillwet.routing.validator import validate_plan

HOUR = 3600.0
L_MIN = 1e-3 / 60.0
SIDE_M = 8000.0
LIMIT = 0.03
GENERAL = "general library (OR-Tools)"
LONGER = 4  # times the budget, for the best there is


@dataclass(frozen=True)
class Case:
    """A job and how long somebody waits for its plan."""

    name: str
    visits: int
    crews: int
    seconds: int
    seed: int
    is_coupled: bool


CASES = (
    Case("60 x 4", 60, 4, 10, 1, is_coupled=False),
    Case("200 x 6", 200, 6, 30, 2, is_coupled=False),
    Case("60 x 4, queues, second coats, one cache", 60, 4, 10, 3, is_coupled=True),
)


def make_job(case: Case) -> RoutingProblem:
    """A random settlement 8 km across, houses asking 0.2 to 1.2 m3, windows of 1 to 3 hours."""
    r = np.random.default_rng(case.seed)
    tanks = (1.9, 2.8, 3.8)
    crews = tuple(
        RoutingCrew(
            id=f"E{n}",
            name=f"Engine {n}",
            x_m=r.uniform(0, SIDE_M),
            y_m=r.uniform(0, SIDE_M),
            profile="engine",
            tank_m3=tanks[n % 3],
            reserve_m3=0.38,
            water_m3=tanks[n % 3] * r.uniform(0.5, 1.0),
            spray_flow_m3_s=(100, 60)[n % 2] * L_MIN,
            setup_s=300.0,
            shift_from_s=0.0,
            shift_to_s=6 * HOUR,
            concentrate_m3=0.04 if case.is_coupled else 1.0,
            concentrate_capacity_m3=0.08 if case.is_coupled else 1.0,
            capabilities=frozenset({"ladder"} if n % 2 == 0 else ()),
        )
        for n in range(case.crews)
    )
    points = tuple(
        FillPoint(
            f"W{n}",
            f"Hydrant {n}",
            r.uniform(0, SIDE_M),
            r.uniform(0, SIDE_M),
            fill_flow_m3_s=1000 * L_MIN,
            hookup_s=120.0,
            places=1 if case.is_coupled else case.crews,
        )
        for n in range(4)
    )
    depots = (ConcentrateDepot("D", "Cache", SIDE_M / 2, SIDE_M / 2, 0.3, 300.0),)
    visits = tuple(_visit(r, n, case.is_coupled) for n in range(case.visits))
    held = depots if case.is_coupled else ()
    places = places_of(crews, visits, points, held)
    travel = {"engine": straight_line_travel(places, speed_m_s=12.0)}
    return RoutingProblem(crews, visits, points, held, travel)


def _visit(r: np.random.Generator, n: int, is_coupled: bool) -> Visit:
    mix, early = r.uniform(0.2, 1.2), r.uniform(0, 3 * HOUR)
    follows = is_coupled and n > 0 and r.random() < 0.1
    return Visit(
        id=f"v{n}",
        asset_id=f"a{n}",
        name=f"House {n}",
        x_m=r.uniform(0, SIDE_M),
        y_m=r.uniform(0, SIDE_M),
        mix_m3=mix,
        concentrate_m3=0.015 * mix,
        earliest_s=early,
        latest_s=early + r.uniform(1, 3) * HOUR,
        prize=float(r.integers(1, 100)),
        fire_s=early + 4 * HOUR,
        egress_s=1800.0,
        needs=frozenset({"ladder"} if r.random() < 0.1 else ()),
        after=f"v{r.integers(0, n)}" if follows else None,
        after_gap_s=600.0 if follows else 0.0,
    )


def general_prize(job: RoutingProblem, seconds: int) -> float:
    """The general library's orders, timed and finished (insertion) as our own are."""
    model = make_model(job)
    working = Working(model, general_orders(model, seconds))
    working.settle()
    insert_all(working, model.hopeful)
    return model.prize_possible - working.rank()[1]


def timed(what: Callable[[], float]) -> tuple[float, float, float]:
    """Prize, seconds by the clock, seconds of processor time."""
    begun, used = time.perf_counter(), time.process_time()
    prize = what()
    return prize, time.perf_counter() - begun, time.process_time() - used


def bench(case: Case) -> bool:
    """Print one job's table; True when all is within limits."""
    job = make_job(case)
    plans: list[RoutePlan] = []

    def plan(solver: GreedySolver | PyvrpSolver, budget: Budget, seed: int) -> float:
        plans.append(solver.solve(job, seed=seed, budget=budget))
        return plans[-1].prize

    wait, longer = Budget(seconds=case.seconds), Budget(seconds=LONGER * case.seconds)
    floor = "insertion alone"
    runs = {
        floor: timed(lambda: plan(GreedySolver(), Budget(iterations=0), 1)),
        "insertion, ruin and recreate": timed(lambda: plan(GreedySolver(), wait, 1)),
    }
    if not case.is_coupled and is_installed():
        runs[GENERAL] = timed(lambda: general_prize(job, case.seconds))
    ours = f"PyVRP with exact refills, {case.seconds} s"
    for seed in (1, 2, 3):
        runs[f"{ours}, seed {seed}"] = timed(lambda seed=seed: plan(PyvrpSolver(), wait, seed))  # type: ignore[misc]  # a loop's value, kept
    runs[f"PyVRP with exact refills, {LONGER * case.seconds} s"] = timed(
        lambda: plan(PyvrpSolver(), longer, 4)
    )
    best = max(prize for prize, _, _ in runs.values())
    print(f"\n{case.name}: {plans[0].prize_possible:.0f} of prize possible")
    for name, (prize, clock, used) in runs.items():
        print(
            f"  {name:45s} prize {prize:6.0f}  of best {prize / best:6.1%}  "
            f"{clock:5.1f} s ({used:5.1f} s of processor)"
        )
    mine = [prize for name, (prize, _, _) in runs.items() if name.startswith(ours)]
    for other in (floor, GENERAL):
        if other in runs:
            print(f"  mean of three over {other}: x {np.mean(mine) / runs[other][0]:.3f}")
    faults = [fault for one in plans for fault in validate_plan(job, one)]
    return not faults and min(mine) >= (1 - LIMIT) * best and min(mine) >= runs[floor][0]


def main() -> int:
    """Print the tables; 1 when a limit is broken."""
    PyvrpSolver().solve(make_job(CASES[2]), seed=0, budget=Budget(iterations=20))  # compile first
    fine = [bench(case) for case in CASES]
    print(f"\nload while this ran: {', '.join(f'{one:.1f}' for one in os.getloadavg())}")
    if not is_installed():
        print("general library not installed: no column for it (pip install ortools)")
    return 0 if all(fine) else 1


if __name__ == "__main__":
    sys.exit(main())
