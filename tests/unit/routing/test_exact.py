"""Small jobs against the best plan there is, found by trying everything."""

from __future__ import annotations

import pytest

from brute_force import best_rank
from routing_jobs import random_problem
from stillwet.routing.pyvrp_solver import PyvrpSolver
from stillwet.routing.solver import Budget
from stillwet.routing.validator import validate_plan

FEW, MANY = 25, 200
SHORTFALL = 0.01  # of the best prize


def shortfall(seed: int) -> float:
    """Share of the best prize not collected on one small job; musts have to match."""
    job = random_problem(seed, visits=3 + seed % 5, crews=1 + seed % 3, plain=True)
    missed, prize = best_rank(job)
    found = PyvrpSolver().solve(job, seed=seed, budget=Budget(iterations=400))
    assert validate_plan(job, found) == ()
    assert found.musts_missed == missed, seed
    assert found.prize <= prize + 1e-9, f"better than the best there is: {seed}"
    return 1.0 - found.prize / prize if prize else 0.0


@pytest.mark.parametrize("seed", range(FEW))
def test_small_jobs_are_solved(seed: int) -> None:
    """3 to 7 visits, 1 to 3 crews, fills: the prize of the best plan, or within 1 %."""
    assert shortfall(seed) <= SHORTFALL


@pytest.mark.slow
def test_two_hundred_small_jobs_are_solved() -> None:
    """The same on 200 jobs; nearly all have to be the best plan itself."""
    gaps = [shortfall(seed) for seed in range(MANY)]
    assert max(gaps) <= SHORTFALL
    assert sum(gap <= 1e-9 for gap in gaps) >= 0.95 * MANY
