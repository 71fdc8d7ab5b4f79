"""Whole or not at all: an asset sprayed in parts is worth nothing until every part is made.

The solvers count each visit by itself. Here their routes are taken up asset by asset: half made
ones are given up, then whole assets are taken out and put back for as long as that makes the day
worth more.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from stillwet.routing.answer import make_answer
from stillwet.routing.left_out import explain_left_out
from stillwet.routing.plan import RoutePlan, Unserved
from stillwet.routing.problem import RoutingProblem
from stillwet.routing.search import Model, Working, insert_all, make_model

GoOn = Callable[[int], bool]

_MUST_FIRST = 1e9
_TAKE_WORSE = 0.01  # of the worth: as much as is given away now and then to get out of a corner


@dataclass(frozen=True, eq=False)
class Routed:
    """Routes in which every asset is made whole or left out, and the problem they answer.

    ``halves``: of each asset (or recoat) in several visits that is left out, which do not fit
    beside all else though the others were made, and why (``with_halves``); by ``Visit.whole``.
    """

    problem: RoutingProblem
    routes: RoutePlan
    halves: dict[str, tuple[Unserved, ...]] = field(default_factory=dict)

    @property
    def musts_missed(self) -> int:
        """Must assets that are not covered."""
        return len({one.asset_id for one in self.routes.unserved if one.must})

    @property
    def rank(self) -> tuple[int, float, float]:
        """Smaller is better: musts missed, then worth, then time on the road."""
        return (self.musts_missed, -self.routes.prize, self.routes.travel_s)


@dataclass(frozen=True, eq=False)
class _Assets:
    """The model of a problem with its visits grouped by what is made whole or not at all."""

    model: Model
    names: list[str]
    visits: list[NDArray[np.int64]]  # by asset
    worth: NDArray[np.float64]  # (assets,) prize for the nozzle time, musts far above

    @property
    def follows(self) -> NDArray[np.bool_]:
        """Which visits follow another."""
        return self.model.arrays.after >= 0

    def is_made(self, working: Working, asset: int) -> bool:
        return bool(working.served[self.visits[asset]].all())

    def made(self, working: Working) -> list[int]:
        return [one for one in range(len(self.names)) if self.is_made(working, one)]


def _assets_of(problem: RoutingProblem) -> _Assets:
    model = make_model(problem)
    rows: dict[str, list[int]] = {}
    for number, visit in enumerate(problem.visits):
        rows.setdefault(visit.whole, []).append(number)
    groups = [np.array(numbers, dtype=np.int64) for numbers in rows.values()]
    service = model.arrays.service.min(axis=0) if problem.crews else np.ones(len(problem.visits))
    worth = [
        float(model.prize[group].sum() / max(1.0, service[group].sum()))
        + _MUST_FIRST * any(problem.visits[number].must for number in group)
        for group in groups
    ]
    return _Assets(model, list(rows), groups, np.array(worth, dtype=np.float64))


def make_whole(problem: RoutingProblem, routes: RoutePlan, *, seed: int, go_on: GoOn) -> Routed:
    """Routes of whole assets out of any routes for (nearly) the same visits.

    Visits that the problem does not have any more are passed over. ``go_on`` is asked with the
    number of tries made. Never worth less than the routes' whole assets.
    """
    assets = _assets_of(problem)
    rng = np.random.default_rng(seed)
    best = _filled(assets, _started(problem, assets, routes), assets.worth)
    current, best_rank = best, best.rank()
    current_rank, tries = best_rank, 0
    while problem.visits and problem.crews and go_on(tries):
        trial = _shaken(assets, current, rng)
        rank = trial.rank()
        if rank < current_rank or _is_near(rank, current_rank, rng):
            current, current_rank = trial, rank
        if rank < best_rank:
            best, best_rank = trial, rank
        tries += 1
    return Routed(problem, _answer(problem, assets, best, routes, seed))


def _answer(
    problem: RoutingProblem, assets: _Assets, working: Working, routes: RoutePlan, seed: int
) -> RoutePlan:
    """The routes as records. The answer's own last try must not put parts of assets in."""
    open_to_all = [group for group in assets.visits if group.size == 1]
    single = np.concatenate(open_to_all) if open_to_all else np.empty(0, dtype=np.int64)
    model = replace(assets.model, hopeful=np.intersect1d(assets.model.hopeful, single))
    answer = make_answer(problem, model, working, routes.solver, seed, routes.stopped)
    return replace(answer, stopped=routes.stopped)


def _started(problem: RoutingProblem, assets: _Assets, routes: RoutePlan) -> Working:
    """The routes' orders put right in this problem, with nothing half made."""
    numbers = {visit.id: number for number, visit in enumerate(problem.visits)}
    orders = {
        route.crew_id: [numbers[s.visit_id] for s in route.stops if s.visit_id in numbers]
        for route in routes.routes
    }
    working = Working(assets.model, [orders.get(crew.id, []) for crew in problem.crews])
    working.settle()
    return _without_halves(assets, working)


def _without_halves(assets: _Assets, working: Working) -> Working:
    """Half made assets finished where that is possible, else taken out, the least worth first."""
    while halves := _halves(assets, working):
        one = min(halves, key=lambda half: assets.worth[half])
        insert_all(working, assets.visits[one])
        if not assets.is_made(working, one):
            working.take_out([int(visit) for visit in assets.visits[one]])
            working.settle()
    return working


def _halves(assets: _Assets, working: Working) -> list[int]:
    """The assets of which some visits are made and others not."""
    return [
        one
        for one, group in enumerate(assets.visits)
        if working.served[group].any() and not working.served[group].all()
    ]


def _filled(assets: _Assets, working: Working, urge: NDArray[np.float64]) -> Working:
    """Every asset that still fits whole put in, those of the greatest urge first."""
    waiting = [int(one) for one in np.argsort(-urge, kind="stable")]
    while True:
        left = []
        for one in waiting:
            if assets.is_made(working, one):
                continue
            trial = working.copy()
            insert_all(trial, assets.visits[one])
            if assets.is_made(trial, one):
                working = trial
            else:
                left.append(one)
        # What follows another asset could not go in before that one: once more, if any went in.
        if len(left) == len(waiting) or not assets.follows.any():
            return working
        waiting = left


def _shaken(assets: _Assets, working: Working, rng: np.random.Generator) -> Working:
    """Some whole assets taken out, then filled up in another order."""
    trial, made = working.copy(), assets.made(working)
    if made:
        count = int(rng.integers(1, max(2, len(made) // 2 + 1)))
        gone = rng.choice(made, min(count, len(made)), replace=False)
        trial.take_out([int(visit) for one in gone for visit in assets.visits[int(one)]])
        trial.settle()
        trial = _without_halves(assets, trial)
    urge = assets.worth * np.exp(rng.normal(0.0, 1.0, assets.worth.size))
    return _filled(assets, trial, urge)


def _is_near(
    rank: tuple[int, float, float], other: tuple[int, float, float], rng: np.random.Generator
) -> bool:
    """True for a day no worse, and now and then for one a little worse."""
    if rank[0] != other[0]:
        return False
    room = _TAKE_WORSE * other[1] if rng.random() < 0.2 else 0.0
    return rank[1] <= other[1] + room + 1e-9


def with_halves(routed: Routed) -> Routed:
    """The same with, for each asset in parts that is left out, the parts that do not fit."""
    problem = routed.problem
    assets = _assets_of(problem)
    working = _started(problem, assets, routed.routes)
    halves = {}
    for one, name in enumerate(assets.names):
        if assets.is_made(working, one) or assets.visits[one].size == 1:
            continue
        trial = working.copy()
        insert_all(trial, assets.visits[one])
        left = explain_left_out(problem, assets.model, trial)
        own = {problem.visits[number].id for number in assets.visits[one]}
        halves[name] = tuple(item for item in left if item.visit_id in own)
    return replace(routed, halves=halves)
