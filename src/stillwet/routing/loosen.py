"""One constraint loosened at a time, to see what would let a visit in."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stillwet.routing.arrays import (
    SHIFT_FROM,
    SHIFT_TO,
    USABLE,
    WATER,
    Arrays,
    Limits,
    latest_starts,
)
from stillwet.routing.plan import Relief, ReliefKind
from stillwet.routing.search import Model, Working, feasible_alone, insert_all
from stillwet.units import from_si

MOST_S = 4 * 3600.0  # no more than this is offered as "so many minutes earlier"
MOST_M3 = 20.0
STEP_S = 60.0
STEP_M3 = 0.01
FREE_M3 = 1e5  # a tank that never runs dry

Loosen = Callable[[float], Arrays]
Fits = Callable[[Arrays], bool]


def volume_words(amount_m3: float) -> str:
    """A volume in both systems."""
    return f"{amount_m3:.2f} m3 ({from_si(amount_m3, 'gal'):.0f} gal)"


def minute_words(seconds: float) -> str:
    """Whole minutes, rounded up."""
    return f"{math.ceil(seconds / 60 - 1e-9)} min"


@dataclass(frozen=True, eq=False)
class Loosener:
    """Loosened versions of a problem's arrays, for the sake of one visit."""

    limits: Limits
    arrays: Arrays
    number: int

    def without_water(self) -> Arrays:
        """Every tank full without end."""
        return self.arrays.with_crew(water=FREE_M3)

    def without_concentrate(self) -> Arrays:
        """Water and concentrate without end."""
        return self.arrays.with_crew(water=FREE_M3, carried=FREE_M3)

    def without_fire(self) -> Arrays:
        """No fire comes to this visit."""
        return self.arrays._replace(
            latest=latest_starts(self.limits, fire_more_s=self._only(np.inf))
        )

    def without_window(self) -> Arrays:
        """Neither fire nor window ends this visit."""
        most = self._only(np.inf)
        latest = latest_starts(self.limits, fire_more_s=most, window_more_s=most)
        return self.arrays._replace(latest=latest)

    def earlier_start(self, seconds: float) -> Arrays:
        """Every shift starts so much sooner."""
        return self.arrays.with_crew(shift_from=self.arrays.crew[:, SHIFT_FROM] - seconds)

    def later_fire(self, seconds: float) -> Arrays:
        """Fire and window of this visit so much later."""
        more = self._only(seconds)
        latest = latest_starts(self.limits, fire_more_s=more, window_more_s=more)
        return self.arrays._replace(latest=latest)

    def longer_shift(self, seconds: float) -> Arrays:
        """Every shift ends so much later."""
        latest = latest_starts(self.limits, shift_more_s=seconds)
        longer = self.arrays.with_crew(shift_to=self.arrays.crew[:, SHIFT_TO] + seconds)
        return longer._replace(latest=latest)

    def more_tank(self, more_m3: float) -> Arrays:
        """Every tank larger, and fuller at the start, by so much."""
        crew = self.arrays.crew
        return self.arrays.with_crew(
            usable=crew[:, USABLE] + more_m3, water=crew[:, WATER] + more_m3
        )

    def reliefs(self, fits: Fits, confirm: Fits) -> Iterator[Relief]:
        """The least of each change that helps: ``fits`` is asked often, ``confirm`` once a
        change.
        """
        for kind, loosen, words in (
            (ReliefKind.EARLIER_START, self.earlier_start, "crews starting {} earlier"),
            (ReliefKind.LATER_FIRE, self.later_fire, "{} more before it has to be left"),
            (ReliefKind.LONGER_SHIFT, self.longer_shift, "shifts {} longer"),
        ):
            seconds = least(loosen, fits, STEP_S, MOST_S)
            if seconds is not None and confirm(loosen(seconds)):
                yield Relief(kind, seconds, words.format(minute_words(seconds)))
        more = least(self.more_tank, fits, STEP_M3, MOST_M3)
        if more is not None and confirm(self.more_tank(more)):
            yield Relief(ReliefKind.WATER, more, f"{volume_words(more)} more water in a tank")

    def _only(self, seconds: float) -> NDArray[np.float64]:
        more = np.zeros(len(self.arrays.visit))
        more[self.number] = seconds
        return more


def fits_alone(arrays: Arrays, number: int) -> bool:
    """True when some crew could make the visit if it had nothing else to do."""
    return bool(feasible_alone(arrays)[:, number].any())


def fits_a_route(working: Working, arrays: Arrays, number: int) -> bool:
    """True when the visit goes into some crew's order, the other crews out of sight."""
    from stillwet.routing import kernel

    candidate = np.array([number], dtype=np.int64)
    position, added = np.empty(1, dtype=np.int64), np.empty(1)
    for crew in range(len(working.orders)):
        kernel.best_insertions(arrays, crew, working.order(crew), candidate, position, added)
        if np.isfinite(added[0]):
            return True
    return False


def fits_the_plan(model: Model, working: Working, arrays: Arrays, number: int) -> bool:
    """True when the visit goes into the plan, all crews on one clock and nothing dropped for it."""
    trial = Working(replace(model, arrays=arrays), working.orders)
    before = int(trial.served.sum())
    trial.settle()
    if int(trial.served.sum()) < before:
        return False
    insert_all(trial, np.array([number], dtype=np.int64))
    return bool(trial.served[number])


def least(loosen: Loosen, fits: Fits, step: float, most: float) -> float | None:
    """The least multiple of ``step`` up to ``most`` that fits, by halving; None when none does."""
    low, high = 0, math.floor(most / step)
    if not fits(loosen(high * step)):
        return None
    while high - low > 1:
        middle = (low + high) // 2
        if fits(loosen(middle * step)):
            high = middle
        else:
            low = middle
    return high * step
