"""The main solver: the same plan for the same seed, never worse than insertion, stopped at will."""

from __future__ import annotations

import itertools
from collections.abc import Callable

import pytest

from routing_jobs import a_crew, a_problem, a_visit, random_problem
from stillwet.routing.greedy_solver import GreedySolver
from stillwet.routing.plan import Stopped
from stillwet.routing.pyvrp_solver import PyvrpSolver
from stillwet.routing.solver import Budget, Progress, Solver
from stillwet.routing.validator import validate_plan

JOB = random_problem(7, visits=25, crews=3)


def ticking(step_s: float) -> Callable[[], float]:
    """A clock that moves on by a step each time it is read."""
    ticks = itertools.count()
    return lambda: next(ticks) * step_s


def solvers(clock: Callable[[], float]) -> list[Solver]:
    """Both solvers on one clock."""
    return [GreedySolver(clock=clock), PyvrpSolver(clock=clock)]


@pytest.mark.parametrize("solver", [GreedySolver(), PyvrpSolver()], ids=["insertion", "pyvrp"])
def test_same_seed_same_plan(solver: Solver) -> None:
    """Every time, order and reason the same for the same problem, seed and iterations."""
    budget = Budget(iterations=300)
    again = [solver.solve(JOB, seed=3, budget=budget) for _ in range(2)]
    assert again[0] == again[1]
    assert (again[0].seed, again[0].stopped) == (3, Stopped.DONE)


@pytest.mark.parametrize("seed", range(8))
def test_never_worse_than_insertion(seed: int) -> None:
    """Musts, prize, road time: the floor holds whatever the search does."""
    job = random_problem(100 + seed)
    floor = GreedySolver().solve(job, seed=0, budget=Budget(iterations=0))
    found = PyvrpSolver().solve(job, seed=seed, budget=Budget(iterations=60))
    missed, lost, road = floor.rank
    assert found.rank <= (missed, lost + 1e-9, road + 1e-6)


def test_more_iterations_are_no_loss() -> None:
    """A longer search with the same seed collects at least as much."""
    short, long = (
        PyvrpSolver().solve(JOB, seed=1, budget=Budget(iterations=count)) for count in (0, 600)
    )
    floor = GreedySolver().solve(JOB, seed=1, budget=Budget(iterations=0))
    assert long.rank <= short.rank <= floor.rank
    assert (long.musts_missed, -long.prize) < (floor.musts_missed, -floor.prize)


@pytest.mark.parametrize("which", [0, 1], ids=["insertion", "pyvrp"])
def test_a_time_budget_ends_on_its_clock(which: int) -> None:
    """With a clock that moves 0.05 s a look, 5 s are about a hundred looks; shares only grow."""
    told: list[Progress] = []
    looks = 0
    clock = ticking(0.05)

    def watched() -> float:
        nonlocal looks
        looks += 1
        return clock()

    solver = solvers(watched)[which]
    found = solver.solve(JOB, seed=1, budget=Budget(seconds=5.0), on_progress=told.append)
    assert looks <= 105
    assert found.stopped is Stopped.DONE
    assert validate_plan(JOB, found) == ()
    assert told[0].stage == "first plan"
    shares = [one.share for one in told]
    assert shares == sorted(shares)
    assert 0.0 <= shares[0] <= shares[-1] <= 1.0
    best = min((one.musts_missed, -one.prize) for one in told if one.stage != "search")
    assert (found.musts_missed, -found.prize) == pytest.approx(best)


@pytest.mark.parametrize("which", [0, 1], ids=["insertion", "pyvrp"])
@pytest.mark.parametrize("looks", [1, 10, 60])
def test_asked_to_stop_it_answers_with_the_best_so_far(which: int, looks: int) -> None:
    """Whenever it is asked, the answer is a sound plan no worse than insertion."""
    asked = itertools.count(1)
    solver = solvers(ticking(0.0))[which]
    found = solver.solve(
        JOB,
        seed=1,
        budget=Budget(iterations=100_000),
        should_stop=lambda: next(asked) >= looks,
    )
    assert found.stopped is Stopped.ASKED
    assert next(asked) <= looks + 3
    assert validate_plan(JOB, found) == ()
    floor = GreedySolver().solve(JOB, seed=1, budget=Budget(iterations=0))
    assert found.rank <= floor.rank


@pytest.mark.parametrize("which", [0, 1], ids=["insertion", "pyvrp"])
@pytest.mark.parametrize("looks", [2, 40])
def test_interrupted_it_answers_with_the_best_so_far(which: int, looks: int) -> None:
    """Ctrl-C in the middle of the search gives a plan too."""
    asked = itertools.count(1)

    def interrupt() -> bool:
        if next(asked) >= looks:
            raise KeyboardInterrupt
        return False

    found = solvers(ticking(0.0))[which].solve(
        JOB, seed=1, budget=Budget(iterations=100_000), should_stop=interrupt
    )
    assert found.stopped is Stopped.INTERRUPTED
    assert validate_plan(JOB, found) == ()
    assert found.served


def test_grain_does_not_cost_a_visit() -> None:
    """Exactly 3 x 0.2 m3 in 0.6 m3 usable and a shift to the second: all made."""
    crew = a_crew(tank_m3=1.0, reserve_m3=0.4, water_m3=1.0, shift_to_s=100.0 + 3 * 500.0)
    visits = [a_visit(f"v{n}", mix_m3=0.2) for n in range(3)]
    found = PyvrpSolver().solve(a_problem([crew], visits), seed=1, budget=Budget(iterations=50))
    assert len(found.served) == 3


def test_the_name_tells_the_library_and_its_version() -> None:
    """A plan says what made it."""
    assert PyvrpSolver().name == "PyVRP 0.14.1 with exact refills"
