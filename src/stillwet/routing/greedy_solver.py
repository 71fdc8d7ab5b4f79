"""The simple solver: insert the best worth for its time until nothing fits.

Handles everything a problem can ask (queues, visits that follow others, alternatives, concentrate)
and is the floor under the other solver. Any budget left is spent on ruin and recreate.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from stillwet.routing.answer import make_answer
from stillwet.routing.plan import RoutePlan, Stopped
from stillwet.routing.problem import RoutingProblem
from stillwet.routing.search import Model, Working, improve, insert_all, make_model
from stillwet.routing.solver import Budget, OnProgress, ShouldStop
from stillwet.routing.watch import Watch

_POLISH_UNTIL = 0.97  # of a time budget; the rest explains what is left out


@dataclass(frozen=True, slots=True)
class GreedySolver:
    """Insertion, then ruin and recreate for the budget. ``clock`` gives seconds for a time
    budget.
    """

    clock: Callable[[], float] = time.monotonic

    @property
    def name(self) -> str:
        """Shown beside the plan."""
        return "insertion"

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
        working = polish(working, seed, watch, budget.iterations)
        return make_answer(problem, model, working, self.name, seed, watch.stopped)


def first_routes(model: Model) -> Working:
    """Insertion from nothing."""
    working = Working(model)
    insert_all(working, model.hopeful)
    return working


def polish(
    working: Working,
    seed: int,
    watch: Watch,
    rounds: int | None,
    *,
    from_share: float = 0.0,
) -> Working:
    """Ruin and recreate for so many rounds, or (None) until this share of the time is used."""
    if rounds == 0 or working.model.hopeful.size == 0:
        return working

    def go_on(done: int) -> bool:
        if rounds is not None:
            watch.share = from_share + (1.0 - from_share) * min(1.0, done / rounds)
            return not watch.is_over() and done < rounds
        return not watch.is_over(_POLISH_UNTIL)

    best = working

    def better(found: Working) -> None:
        nonlocal best
        best = found
        watch.tell(found.model, found.served, "polish")

    try:
        return improve(working, np.random.default_rng(seed), go_on=go_on, on_better=better)
    except KeyboardInterrupt:
        watch.stopped = Stopped.INTERRUPTED
        return best
