"""The main solver: PyVRP searches, the exact timetable puts its orders right, ruin and recreate
takes up the slack that PyVRP's whole-tank fill times left.

Never worse than the insertion plan it starts by making. Same problem, seed and iterations, same
plan; a time budget gives what the machine had time for.
"""

from __future__ import annotations

import time
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from importlib.metadata import version
from typing import Any

import numpy as np

from stillwet.routing.answer import make_answer
from stillwet.routing.greedy_solver import first_routes, polish
from stillwet.routing.plan import RoutePlan, Stopped
from stillwet.routing.problem import RoutingProblem
from stillwet.routing.pyvrp_model import PyvrpModel, make_pyvrp_model
from stillwet.routing.search import Model, Working, insert_all, make_model
from stillwet.routing.solver import Budget, OnProgress, ShouldStop
from stillwet.routing.watch import Watch

_SEARCH_SHARE = 0.35  # of the budget; the rest goes to ruin and recreate
_ITERATIONS_PER_ROUND = 20  # PyVRP iterations that buy one round of ruin and recreate


@dataclass(frozen=True, slots=True)
class PyvrpSolver:
    """PyVRP, repair, polish. Time and volume are counted in whole ``time_unit_s`` and
    ``volume_unit_m3``; ``clock`` gives seconds for a time budget.
    """

    time_unit_s: float = 1.0
    volume_unit_m3: float = 1e-3
    clock: Callable[[], float] = time.monotonic

    @property
    def name(self) -> str:
        """Shown beside the plan."""
        return f"PyVRP {version('pyvrp')} with exact refills"

    def solve(
        self,
        problem: RoutingProblem,
        *,
        seed: int,
        budget: Budget,
        on_progress: OnProgress | None = None,
        should_stop: ShouldStop | None = None,
    ) -> RoutePlan:
        """Plan the routes; see solver.Solver."""
        watch = Watch(self.clock, budget, on_progress, should_stop)
        model = make_model(problem)
        working = first_routes(model)
        watch.tell(model, working.served, "first plan")
        if model.hopeful.size:
            found = self._search(model, seed, budget, watch)
            working = min((working, found), key=Working.rank)
            rounds = None
            if budget.iterations is not None:
                rounds = budget.iterations // _ITERATIONS_PER_ROUND
            working = polish(working, seed, watch, rounds, from_share=_SEARCH_SHARE)
        return make_answer(problem, model, working, self.name, seed, watch.stopped)

    def _search(self, model: Model, seed: int, budget: Budget, watch: Watch) -> Working:
        pyvrp_model = make_pyvrp_model(model, self.time_unit_s, self.volume_unit_m3)
        best = _run_pyvrp(pyvrp_model, model, seed, budget, watch)
        found = Working(model, pyvrp_model.orders(best, len(model.arrays.crew)) if best else None)
        found.settle()
        insert_all(found, model.hopeful)
        return found


def _run_pyvrp(
    pyvrp_model: PyvrpModel, model: Model, seed: int, budget: Budget, watch: Watch
) -> Any:
    """PyVRP's best feasible solution; None when it was stopped before it had one."""
    import pyvrp

    class Notes(pyvrp.IteratedLocalSearchCallbacks):  # type: ignore[misc]
        best: Any = None

        def on_best(self, best: Any) -> None:
            if best.is_feasible():
                self.best = best
                served = np.zeros(len(model.arrays.visit), dtype=np.bool_)
                for order in pyvrp_model.orders(best, len(model.arrays.crew)):
                    served[order] = True
                watch.tell(model, served, "search")

    notes = Notes()
    params = pyvrp.SolveParams(ils=pyvrp.IteratedLocalSearchParams(callbacks=notes))
    stop = _Stop(budget, watch)
    with warnings.catch_warnings():
        # PyVRP warns when nothing feasible is near; what is left out is explained by us.
        warnings.simplefilter("ignore")
        try:
            result = pyvrp.solve(
                pyvrp_model.data, stop, seed, collect_stats=False, display=False, params=params
            )
        except KeyboardInterrupt:
            watch.stopped = Stopped.INTERRUPTED
            return notes.best
    return result.best if result.best.is_feasible() else notes.best


class _Stop:
    """PyVRP's stopping rule: iterations, or the search's share of the time, or being asked to."""

    def __init__(self, budget: Budget, watch: Watch) -> None:
        self._iterations, self._watch, self._done = budget.iterations, watch, 0

    def __call__(self, best_cost: int) -> bool:
        if self._watch.is_over(_SEARCH_SHARE):
            return True
        if self._iterations is None:
            return False
        self._watch.share = _SEARCH_SHARE * self._done / max(1, self._iterations)
        self._done += 1
        return self._done > self._iterations
