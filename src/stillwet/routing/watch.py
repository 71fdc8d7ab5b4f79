"""A solver's eye on its budget and its callers: when to stop, what to tell, why it stopped."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from stillwet.routing.plan import Stopped
from stillwet.routing.search import Model, standing
from stillwet.routing.solver import Budget, OnProgress, Progress, ShouldStop


class Watch:
    """Plumbing: the budget, the callbacks, and why the solver stopped."""

    def __init__(
        self,
        clock: Callable[[], float],
        budget: Budget,
        on_progress: OnProgress | None,
        should_stop: ShouldStop | None,
    ) -> None:
        self._clock, self._budget = clock, budget
        self._on_progress, self._should_stop = on_progress, should_stop
        self._began = clock()
        self.share = 0.0
        self.stopped = Stopped.DONE

    def spent_s(self) -> float:
        """Seconds since the solver began."""
        return self._clock() - self._began

    def is_over(self, until_share: float = 1.0) -> bool:
        """True when asked to stop, or when this share of a time budget is used up."""
        if self.stopped is not Stopped.DONE:
            return True
        if self._should_stop is not None and self._should_stop():
            self.stopped = Stopped.ASKED
            return True
        if self._budget.seconds is None:
            return False
        self.share = min(1.0, self.spent_s() / max(self._budget.seconds, 1e-9))
        return self.share >= until_share

    def tell(self, model: Model, served: NDArray[np.bool_], stage: str) -> None:
        """Report the best plan so far by the visits it makes."""
        if self._on_progress is not None:
            missed, gap = standing(model, served)
            prize = model.prize_possible - gap
            self._on_progress(Progress(self.share, prize, int(served.sum()), missed, stage))
