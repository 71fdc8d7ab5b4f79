"""Random jobs of every kind: the independent validator finds nothing, and plans account for all."""

from __future__ import annotations

import pytest

from routing_jobs import random_problem
from stillwet.routing.greedy_solver import GreedySolver
from stillwet.routing.plan import Binding
from stillwet.routing.pyvrp_solver import PyvrpSolver
from stillwet.routing.solver import Budget
from stillwet.routing.validator import validate_plan

FEW, MANY = 60, 1000


def bindings_of(seed: int) -> set[Binding]:
    """Plan one random job with both solvers; the reasons met."""
    job = random_problem(seed)
    plans = [
        GreedySolver().solve(job, seed=seed, budget=Budget(iterations=5)),
        PyvrpSolver().solve(job, seed=seed, budget=Budget(iterations=100)),
    ]
    for plan in plans:
        assert validate_plan(job, plan) == (), f"{seed}, {plan.solver}"
        for one in plan.unserved:
            assert one.reason, f"{seed}: {one.visit_id}"
            assert all(relief.amount >= 0 and relief.words for relief in one.frees), seed
    return {one.binding for plan in plans for one in plan.unserved}


def test_random_jobs_break_nothing() -> None:
    """60 jobs with queues, shared stock, second coats, alternatives, musts, hours, shifts."""
    met = set().union(*(bindings_of(seed) for seed in range(FEW)))
    assert len(met) >= 8  # the jobs are of many kinds


@pytest.mark.slow
@pytest.mark.parametrize("part", range(10))
def test_a_thousand_random_jobs_break_nothing(part: int) -> None:
    """The same on 1000 jobs in ten parts."""
    size = MANY // 10
    for seed in range(FEW + part * size, FEW + (part + 1) * size):
        bindings_of(seed)
