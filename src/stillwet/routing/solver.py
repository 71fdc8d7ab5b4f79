"""What every solver offers: a problem in, a plan out; seed, budget and callbacks are arguments."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

from stillwet.errors import Problem, StillwetError, shown
from stillwet.routing.plan import RoutePlan
from stillwet.routing.problem import RoutingProblem


@dataclass(frozen=True, slots=True)
class Budget:
    """When to stop: after so many iterations (same seed, same plan) or so many seconds (not so)."""

    iterations: int | None = None
    seconds: float | None = None

    def __post_init__(self) -> None:
        if (self.iterations is None) == (self.seconds is None):
            raise StillwetError(Problem("budget", "iterations or seconds", "both or neither"))
        if self.iterations is not None and self.iterations < 0:
            raise StillwetError(Problem("iterations", "0 or more", shown(self.iterations)))
        if self.seconds is not None and not self.seconds >= 0:
            raise StillwetError(Problem("seconds", "0 or more", shown(self.seconds)))


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a solver is: the share of its budget used, and the best plan known so far."""

    share: float  # 0 to 1
    prize: float
    served: int
    musts_missed: int
    stage: str  # "first plan", "search", "polish"


OnProgress = Callable[[Progress], None]
ShouldStop = Callable[[], bool]


class Solver(Protocol):
    """A way of planning. Whatever happens the answer is a plan; what it leaves out says why."""

    @property
    def name(self) -> str:
        """Shown beside the plan."""
        ...

    def solve(
        self,
        problem: RoutingProblem,
        *,
        seed: int,
        budget: Budget,
        on_progress: OnProgress | None = None,
        should_stop: ShouldStop | None = None,
    ) -> RoutePlan:
        """Plan the routes. ``should_stop`` is asked often; True gives the best plan found so far,
        and so does Ctrl-C.
        """
        ...
