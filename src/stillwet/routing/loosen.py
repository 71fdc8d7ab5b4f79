"""One constraint loosened at a time, to see what would let a visit in."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stillwet.routing.arrays import (
    AFTER_GAP,
    SHIFT_FROM,
    SHIFT_TO,
    USABLE,
    WATER,
    Arrays,
    Limits,
    latest_starts,
)
from stillwet.routing.plan import Relief, ReliefKind
from stillwet.routing.problem import RoutingProblem, TravelMatrix
from stillwet.routing.search import Model, Working, feasible_alone, insert_all
from stillwet.units import from_si

MOST_S = 4 * 3600.0  # no more than this is offered as "so many minutes earlier"
MOST_M3 = 20.0
STEP_S = 60.0
STEP_M3 = 0.01
FREE_M3 = 1e5  # a tank that never runs dry

Loosen = Callable[[float], Arrays]
Fits = Callable[[Arrays], bool]
Orders = Sequence[Sequence[int]]  # visit numbers, one row a crew


def volume_words(amount_m3: float) -> str:
    """A volume in both systems."""
    litres, gallons = from_si(amount_m3, "L"), from_si(amount_m3, "gal")
    return f"{litres:.3g} L ({gallons:.2g} gal)" if litres < 100.0 else _large(litres, gallons)


def _large(litres: float, gallons: float) -> str:
    return f"{litres:,.0f} L ({gallons:,.0f} gal)"


def minute_words(seconds: float) -> str:
    """Whole minutes, rounded up."""
    return f"{math.ceil(seconds / 60 - 1e-9)} min"


@dataclass(frozen=True, eq=False)
class Way:
    """A change of a size: what it makes of the arrays, and how it is told."""

    kind: ReliefKind
    loosen: Loosen
    words: str
    step: float = STEP_S
    most: float = MOST_S

    def relief(self, amount: float) -> Relief:
        """The change of this size, in words."""
        told = minute_words(amount) if self.step == STEP_S else volume_words(amount)
        return Relief(self.kind, amount, self.words.format(told))


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

    def without_stock(self) -> Arrays:
        """Concentrate without end, water as it is."""
        return self.arrays.with_crew(carried=FREE_M3)

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

    def first_sooner(self, seconds: float) -> Arrays:
        """The visit this one follows over so much sooner."""
        visit = self.arrays.visit.copy()
        visit[self.number, AFTER_GAP] -= seconds
        return self.arrays._replace(visit=visit)

    def ways(self) -> tuple[Way, ...]:
        """The changes that are offered, each with its step, its most, and its words."""
        return (
            Way(ReliefKind.EARLIER_START, self.earlier_start, "crews starting {} earlier"),
            Way(ReliefKind.LATER_FIRE, self.later_fire, "{} more before it has to be left"),
            Way(ReliefKind.LONGER_SHIFT, self.longer_shift, "shifts {} longer"),
            Way(ReliefKind.WATER, self.more_tank, "{} more water in a tank", STEP_M3, MOST_M3),
        )

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


def fits_the_plan(model: Model, orders: Orders, number: int) -> bool:
    """True when the visit goes into the plan, all crews on one clock and nothing dropped for it."""
    trial = Working(model, orders)
    before = int(trial.served.sum())
    trial.settle()
    if int(trial.served.sum()) < before:
        return False
    insert_all(trial, np.array([number], dtype=np.int64))
    return bool(trial.served[number])


def one_more_engine(problem: RoutingProblem, crew: int) -> RoutingProblem:
    """The problem with a second crew like this one, from where it starts."""
    count, twin = len(problem.crews), problem.crews[crew]
    rows = [*range(count), crew, *range(count, 2 * count), count + crew]
    rows += range(2 * count, problem.place_count)
    travel = {
        name: TravelMatrix(matrix.seconds[np.ix_(rows, rows)], matrix.provenance)
        for name, matrix in problem.travel.items()
    }
    names = {one.id for one in problem.crews}
    own = next(f"{twin.id} {n}" for n in itertools.count(2) if f"{twin.id} {n}" not in names)
    return replace(problem, crews=(*problem.crews, replace(twin, id=own)), travel=travel)


def reliefs(
    quick: Iterable[Way], fits: Fits, exact: Iterable[Way], confirm: Fits
) -> Iterator[Relief]:
    """The least of each change that helps: ``fits`` is asked often, ``confirm`` once a change."""
    for way, exactly in zip(quick, exact, strict=True):
        amount = least(way, fits)
        if amount is not None and confirm(exactly.loosen(amount)):
            yield way.relief(amount)


def least(way: Way, fits: Fits) -> float | None:
    """The least multiple of its step that fits, by halving; None when its most does not."""
    low, high = 0, math.floor(way.most / way.step)
    if not fits(way.loosen(high * way.step)):
        return None
    while high - low > 1:
        middle = (low + high) // 2
        if fits(way.loosen(middle * way.step)):
            high = middle
        else:
            low = middle
    return high * way.step
