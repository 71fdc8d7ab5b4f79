"""Insertion, repair, and ruin-and-recreate on orders of visits: what both solvers share.

A *working* set of routes is changed in place here and nowhere else; nothing outside sees it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwet.routing.arrays import AFTER_GAP, EARLIEST, Arrays, is_coupled, make_arrays
from stillwet.routing.problem import RoutingProblem
from stillwet.routing.schedule import Timetable, run_steps, steps_of

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Rank = tuple[int, float, float]

_MUST_FIRST = 1e9  # musts are tried before any prize
_JITTER = 0.9  # most that worths and costs are jittered by when a route is rebuilt
_LARGEST_RUIN = 25  # visits taken out at once
_ROUND = 1e-9


@dataclass(frozen=True, eq=False)
class Model:
    """The arrays of a problem and what its visits are worth. ``unit``: what counts once
    (groups).
    """

    arrays: Arrays
    coupled: bool
    prize: Floats  # (N,)
    unit: Ints  # (N,)
    unit_must: NDArray[np.bool_]  # (units,)
    prize_possible: float
    hopeful: Ints  # visits that at least one crew could make if it had nothing else to do


def make_model(problem: RoutingProblem) -> Model:
    """What the search needs of a problem."""
    arrays = make_arrays(problem)
    names = {name: row for row, name in enumerate(dict.fromkeys(v.unit for v in problem.visits))}
    unit = np.array([names[visit.unit] for visit in problem.visits], dtype=np.int64)
    must = np.zeros(len(names), dtype=np.bool_)
    best = np.zeros(len(names))
    for row, visit in zip(unit, problem.visits, strict=True):
        must[row] |= visit.must
        best[row] = max(best[row], visit.prize)
    prize = np.array([visit.prize for visit in problem.visits], dtype=np.float64)
    hopeful = np.flatnonzero(feasible_alone(arrays).any(axis=0))
    return Model(arrays, is_coupled(arrays), prize, unit, must, float(best.sum()), hopeful)


def feasible_alone(arrays: Arrays) -> NDArray[np.bool_]:
    """Which crew could make which visit if it had nothing else to do, shape (K, N)."""
    from stillwet.routing import kernel

    crews, visits = arrays.service.shape
    found = np.zeros((crews, visits), dtype=np.bool_)
    none, every = np.empty(0, dtype=np.int64), np.arange(visits)
    position, added = np.empty(visits, dtype=np.int64), np.empty(visits)
    for crew in range(crews):
        kernel.best_insertions(arrays, crew, none, every, position, added)
        found[crew] = np.isfinite(added)
    return found


def standing(model: Model, served: NDArray[np.bool_]) -> tuple[int, float]:
    """Must units missed and prize not collected when these visits (N,) are made."""
    covered = np.zeros(model.unit_must.size, dtype=np.bool_)
    covered[model.unit[served]] = True
    missed = int((model.unit_must & ~covered).sum())
    return missed, model.prize_possible - float(model.prize[served].sum())


class Working:
    """Routes being worked on: orders, their steps, and (where crews hinder each other) the
    clock.
    """

    def __init__(self, model: Model, orders: Iterable[Iterable[int]] | None = None) -> None:
        crews, visits = model.arrays.service.shape
        self.model = model
        given = orders if orders is not None else [[] for _ in range(crews)]
        self.orders: list[list[int]] = [list(order) for order in given]
        self.steps: list[Ints] = [np.empty(0, dtype=np.int64)] * crews
        self.served = np.zeros(visits, dtype=np.bool_)
        self.arrays = model.arrays._replace(visit=model.arrays.visit.copy())
        for order in self.orders:
            self.served[order] = True

    def copy(self) -> Working:
        """Routes that may be changed without changing these."""
        other = Working(self.model, self.orders)
        other.steps = list(self.steps)
        other.arrays.visit[:] = self.arrays.visit
        return other

    def order(self, crew: int) -> Ints:
        """One crew's order as an array."""
        return np.array(self.orders[crew], dtype=np.int64)

    def clock(self) -> Timetable:
        """All crews together."""
        return run_steps(self.model.arrays, self.steps)

    def rank(self) -> Rank:
        """Smaller is better: must units missed, prize not collected, seconds on the road."""
        return (*standing(self.model, self.served), self.clock().travel_s)

    def lay_steps(self, crew: int) -> int:
        """Put the fills into one crew's order; -1, or the position of the first visit that
        fails.
        """
        self.steps[crew], fails = steps_of(self.arrays, crew, self.order(crew))
        return fails

    def heed(self, timetable: Timetable) -> None:
        """Let visits that follow others start no sooner than those are over."""
        model = self.model.arrays
        follows = model.after
        followers = np.flatnonzero(follows >= 0)
        if followers.size == 0:
            return
        width = timetable.steps.shape[1]
        real = np.arange(width)[None, :] < timetable.lengths[:, None]
        real &= timetable.steps < follows.size
        over = np.full(follows.size, -np.inf)
        over[timetable.steps[real]] = timetable.times[real, 2]
        sooner = over[follows[followers]] + model.visit[followers, AFTER_GAP]
        soonest = np.maximum(model.visit[followers, EARLIEST], sooner)
        self.arrays.visit[followers, EARLIEST] = soonest

    def take_out(self, visits: Iterable[int]) -> list[int]:
        """Remove visits, and those that follow them; returns all that went."""
        gone: list[int] = []
        waiting = [visit for visit in visits if self.served[visit]]
        while waiting:
            visit = waiting.pop()
            if not self.served[visit]:
                continue
            self.served[visit] = False
            gone.append(visit)
            followers = np.flatnonzero(self.model.arrays.after == visit)
            waiting += [int(later) for later in followers if self.served[later]]
            kept = self.model.arrays.visit[followers, EARLIEST]
            self.arrays.visit[followers, EARLIEST] = kept
        if gone:
            left = set(gone)
            for crew, order in enumerate(self.orders):
                kept = [visit for visit in order if visit not in left]
                if len(kept) != len(order):
                    self.orders[crew] = kept
        return gone

    def settle(self) -> None:
        """Drop visits until every crew's route, and all of them together, break nothing."""
        while True:
            for crew in range(len(self.orders)):
                while (fails := self.lay_steps(crew)) >= 0:
                    self.take_out([self.orders[crew][fails]])
            if not self.model.coupled:
                return
            timetable = self.clock()
            if timetable.is_sound:
                self.heed(timetable)
                return
            self.take_out([_first_to_go(timetable, len(self.arrays.visit))])


def _first_to_go(timetable: Timetable, visits: int) -> int:
    """The visit at, or next after, the earliest fault."""
    crews, columns = np.nonzero(timetable.fault)
    first = int(np.argmin(timetable.times[crews, columns, 0]))
    crew, column = int(crews[first]), int(columns[first])
    row = timetable.steps[crew, : int(timetable.lengths[crew])]
    later = row[column:]
    candidates = later[later < visits]
    return int(candidates[0]) if candidates.size else int(row[row < visits][-1])


def insert_all(working: Working, candidates: Ints, rng: np.random.Generator | None = None) -> None:
    """Insert what fits, the best worth for its time first; with ``rng`` the worths are jittered."""
    from stillwet.routing import kernel

    model, crews = working.model, len(working.orders)
    candidates = candidates[~working.served[candidates]]
    count = candidates.size
    if count == 0 or crews == 0:
        return
    position = np.full((crews, count), -1, dtype=np.int64)
    added = np.full((crews, count), np.inf)
    barred = np.zeros((crews, count), dtype=np.bool_)
    worth, blur = _worth(model, candidates), np.ones((crews, count))
    if rng is not None:
        worth = worth * _jitter(rng, count)
        blur = _jitter(rng, (crews, count))
    stale = list(range(crews))
    while True:
        for crew in stale:
            kernel.best_insertions(
                working.arrays, crew, working.order(crew), candidates, position[crew], added[crew]
            )
        added[barred] = np.inf
        ready = _ready(working, candidates)
        crew_of = np.argmin(added * blur, axis=0)
        least = added[crew_of, np.arange(count)]
        ready &= np.isfinite(least)
        if not ready.any():
            return
        time = np.maximum(least + model.arrays.service[crew_of, candidates], 1.0)
        column = int(np.argmax(np.where(ready, worth / time, -1.0)))
        crew, visit = int(crew_of[column]), int(candidates[column])
        stale = _try_one(working, crew, visit, int(position[crew, column]))
        if not stale:
            barred[crew, column] = True


def _jitter(rng: np.random.Generator, shape: int | tuple[int, int]) -> Floats:
    """Factors around 1, mostly near it, now and then far off: another order, another crew."""
    spread = _JITTER * rng.random() ** 2
    return rng.uniform(1.0 - spread, 1.0 + spread, shape)


def _worth(model: Model, candidates: Ints) -> Floats:
    must = model.unit_must[model.unit[candidates]]
    scale = float(model.prize.max(initial=0.0)) or 1.0
    return np.asarray(model.prize[candidates] / scale + 1e-6 + _MUST_FIRST * must)


def _ready(working: Working, candidates: Ints) -> NDArray[np.bool_]:
    """Not made yet, no alternative of it made, and what it follows made."""
    model = working.model
    taken = np.zeros(model.unit_must.size, dtype=np.bool_)
    taken[model.unit[working.served]] = True
    follows = model.arrays.after[candidates]
    return np.asarray(~taken[model.unit[candidates]] & ((follows < 0) | working.served[follows]))


def _try_one(working: Working, crew: int, visit: int, position: int) -> list[int]:
    """Insert a visit; the crews whose routes have to be looked at anew, none when it did not
    fit.
    """
    kept_steps = working.steps[crew]
    working.orders[crew].insert(position, visit)
    working.served[visit] = True
    fails = working.lay_steps(crew)
    if fails < 0 and not working.model.coupled:
        return [crew]
    timetable = working.clock() if fails < 0 else None
    if timetable is None or not timetable.is_sound:
        working.orders[crew].pop(position)
        working.served[visit] = False
        working.steps[crew] = kept_steps
        return []
    before = working.arrays.visit[:, EARLIEST].copy()
    working.heed(timetable)
    moved = bool((before != working.arrays.visit[:, EARLIEST]).any())
    return list(range(len(working.orders))) if moved else [crew]


def improve(
    working: Working,
    rng: np.random.Generator,
    *,
    go_on: Callable[[int], bool],
    on_better: Callable[[Working], None] | None = None,
) -> Working:
    """Ruin and recreate: take some visits out, put back what fits, keep it unless much worse.

    ``go_on`` is asked with the number of rounds done. Returns the best routes met.
    """
    best, best_rank = working, working.rank()
    current, current_rank = working, best_rank
    done = 0
    while go_on(done):
        trial = current.copy()
        trial.take_out(_victims(trial, rng))
        trial.settle()
        insert_all(trial, trial.model.hopeful, rng)
        rank = trial.rank()
        if _is_better(rank, best_rank):
            best, best_rank = trial, rank
            if on_better is not None:
                on_better(best)
        if _is_near(rank, current_rank, rng):
            current, current_rank = trial, rank
        elif rng.random() < 0.02:
            current, current_rank = best, best_rank
        done += 1
    return best


def _is_better(one: Rank, other: Rank) -> bool:
    for mine, yours in zip(one, other, strict=True):
        slack = _ROUND * (1.0 + abs(yours))
        if mine < yours - slack:
            return True
        if mine > yours + slack:
            return False
    return False


def _is_near(one: Rank, other: Rank, rng: np.random.Generator) -> bool:
    """Take what is no worse, and now and then what is a little worse."""
    if not _is_better(other, one):
        return True
    if one[0] > other[0] or rng.random() > 0.3:
        return False
    room = 0.01 * rng.random()
    return one[1] <= other[1] * (1 + room) + _ROUND and one[2] <= other[2] * (1 + 3 * room) + _ROUND


def _victims(working: Working, rng: np.random.Generator) -> list[int]:
    """Visits to take out: anywhere, near each other, or in a row of one route."""
    served = np.flatnonzero(working.served)
    if served.size == 0:
        return []
    most = min(_LARGEST_RUIN, max(5, served.size // 2))
    count = int(rng.integers(1, most + 1))
    kind = rng.random()
    if kind < 0.25:
        return [int(one) for one in rng.choice(served, min(count, served.size), replace=False)]
    if kind < 0.7:
        arrays = working.model.arrays
        centre = int(rng.integers(working.served.size))
        base = 2 * len(arrays.crew)
        crew = int(rng.integers(len(arrays.crew)))
        near = np.argsort(arrays.travel[crew, base + centre, base + served], kind="stable")
        return [int(one) for one in served[near[:count]]]
    busy = [order for order in working.orders if order]
    order = busy[int(rng.integers(len(busy)))]
    first = int(rng.integers(len(order)))
    return order[first : first + count]
