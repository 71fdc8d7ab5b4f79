"""Coats and routes made to agree: lay times set the coats, coats set the work, work the times.

A round reckons every coat from the moment it was sprayed in the round before, then plans the routes
again, keeping the old ones unless a fresh plan is worth clearly more. It is settled when nobody's
stops move by five minutes any more.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

from stillwet.domain.assets import Asset
from stillwet.domain.plan import AssetPlan, Plan
from stillwet.engine.lay_windows import LayWindow
from stillwet.engine.make_plan import plan_of
from stillwet.engine.prepared import Prepared
from stillwet.routing.plan import RoutePlan, Stopped
from stillwet.routing.problem import RoutingProblem
from stillwet.routing.replan import FRESH_WORTH
from stillwet.routing.solver import Budget, OnProgress, Progress, ShouldStop, Solver
from stillwet.services.crew_parts import Cut, Pace, Part, cut_passes, layers_of, recut
from stillwet.services.crew_problem import Work, able_crews, make_problem
from stillwet.services.crew_recoats import Fresh, fresh_coats, soonest_again_s
from stillwet.services.crew_whole import Routed, make_whole, with_halves

MOST_ROUNDS = 6
SETTLED_S = 300.0
_STEP_S = 300.0  # coats are reckoned from the last five minutes before spraying begins
_FIRST_SHARE = 0.5  # of a time budget for the starts of the first round; the rest for later ones
_WHOLE_SHARE = 0.5  # of a search's time for taking whole assets out and putting them back
_ITERATIONS_A_TRY = 5  # a solver's iterations that buy one such try

Tell = Callable[[str, float], None]
Shape = Callable[[RoutingProblem], RoutingProblem]


@dataclass(frozen=True, eq=False)
class Day:
    """Coats and routes as the last round left them. ``parts`` by visit id."""

    work: Work
    routed: Routed
    parts: Mapping[str, Part]
    settled: bool
    settling: str
    rounds: int

    @property
    def face_starts(self) -> dict[str, float]:
        """When spraying of each face's coat begins, by surface id."""
        return face_starts(self.routed, self.parts, is_recoat=False)

    @property
    def again_starts(self) -> dict[str, float]:
        """When spraying of each fresh coat begins, by surface id."""
        return face_starts(self.routed, self.parts, is_recoat=True)


@dataclass(frozen=True, eq=False)
class Before:
    """What is known from the plan before, when planning again: nothing on a fresh day.

    ``routes``: its orders; ``cuts``: the visits still to be made, by asset; what is done: assets
    whole, with a fresh coat too, by surface id when spraying of what is laid began (the fresh
    coats: ``again_s``), and by asset when the last of it was over.
    """

    routes: RoutePlan | None = None
    cuts: Mapping[str, tuple[Cut, ...]] = field(default_factory=dict)
    done_assets: frozenset[str] = frozenset()
    laid_s: Mapping[str, float] = field(default_factory=dict)
    done_again: frozenset[str] = frozenset()
    again_s: Mapping[str, float] = field(default_factory=dict)
    ready_s: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class _Start:
    """One way to begin: early or late coats, by which tank to split, and how far ahead of being
    sure to last coats that may be laid anew are laid, as a share of the most there is.
    """

    early: bool
    tank_m3: float
    ahead: float = 0.0


@dataclass(frozen=True, eq=False)
class Rounds:
    """What all rounds share. ``shape`` makes of a day's whole problem the one to solve now."""

    prepared: Prepared
    windows: Mapping[str, LayWindow]
    solver: Solver
    seed: int
    budget: Budget
    now_s: float
    tell: Tell
    should_stop: ShouldStop
    shape: Shape
    before: Before = Before()
    clock: Callable[[], float] = time.monotonic

    def run(self) -> Day:
        """The first round's best start, then rounds until settled or used up."""
        day = self._rounds()
        return replace(day, routed=with_halves(day.routed))

    def _rounds(self) -> Day:
        day = self._first()
        while not day.settled and day.rounds < MOST_ROUNDS:
            if self.should_stop() or _was_stopped(day):
                told = f"did not settle: stopped in round {day.rounds}, best plan found so far"
                return replace(day, settling=told)
            day = self._next(day)
        return day

    def _first(self) -> Day:
        starts = self._starts()
        best: Day | None = None
        for number, start in enumerate(starts):
            part = _part_of(self.budget, _FIRST_SHARE / len(starts))
            label = f"round 1, start {number + 1} of {len(starts)}"
            share = (number / len(starts), 1 / len(starts))
            day = self._solved(self._start_work(start), None, part, label, share)
            if best is None or day.routed.rank < best.routed.rank:
                best = day
            if self.should_stop() or _was_stopped(day):
                break
        assert best is not None  # there is always a tank size to start from
        return best

    def _starts(self) -> list[_Start]:
        """Ways to begin; those with coats that will be laid anew only where any may be."""
        tanks = self._tanks()
        starts = [_Start(early, tank) for early in (True, False) for tank in tanks]
        if any(self._may_be_early(name) for name in self.windows):
            starts += [_Start(True, tanks[0], ahead=share) for share in (1.0, 0.5)]
        return starts

    def _may_be_early(self, surface_id: str) -> bool:
        """True for a face whose first coat may be laid before one that is sure to last."""
        window = self.windows[surface_id]
        return self._owners[surface_id].recoat and window.early_s < window.from_s

    @cached_property
    def _owners(self) -> dict[str, Asset]:
        """The asset of each face, by surface id."""
        job = self.prepared.job
        faces = self.prepared.faces
        return {face.id: asset for asset in job.assets for face in faces[asset.id]}

    def _tanks(self) -> list[float]:
        """Sizes to split large visits by: the largest usable tank and the middle one."""
        sizes = sorted({crew.usable_m3 for crew in self.prepared.job.crews}, reverse=True)
        return list(dict.fromkeys((sizes[0], sizes[len(sizes) // 2]))) if sizes else [0.0]

    def _start_work(self, start: _Start) -> Work:
        """Coats for the earliest lay times there are, or for the work window before crews leave."""
        work_window_s = self.prepared.job.practice.work_window_s
        lay = {}
        for name, window in self.windows.items():
            late = max(window.from_s, window.until_s - work_window_s)
            lay[name] = window.from_s if start.early else late
            if start.ahead > 0.0 and self._may_be_early(name):
                lay[name] = window.from_s - start.ahead * (window.from_s - window.early_s)
        lay = {name: max(time, self.now_s) for name, time in lay.items()}
        lay |= self.before.laid_s
        plan = self._plan(lay)
        cuts = {
            asset.asset_id: self._cut(asset, lay, start.tank_m3)
            for asset in plan.assets
            if asset.asset_id not in self.before.done_assets
            and asset.mix_m3 > 0
            and self._is_open(asset)
        }
        again = soonest_again_s(self.prepared, plan, self.windows, lay)
        return self._work(plan, lay, cuts, {}, again)

    def _is_open(self, asset: AssetPlan) -> bool:
        """True when every coated face has a window that is not over."""
        faces = [face.surface.id for face in asset.surfaces if face.mix_m3 > 0]
        return all(
            name in self.windows and self.windows[name].until_s > self.now_s for name in faces
        )

    def _cut(self, asset: AssetPlan, lay: Mapping[str, float], tank_m3: float) -> tuple[Cut, ...]:
        """The visits to an asset: as before when planning again, else by the tank."""
        name, largest = asset.asset_id, self._largest[asset.asset_id]
        layers = layers_of(asset, lay)
        if name in self.before.cuts:
            return recut(name, layers, self._order, self.before.cuts[name], largest)
        passes = self._assets[name].coats
        return cut_passes(name, layers, self._order, min(tank_m3, largest), passes)

    @cached_property
    def _assets(self) -> dict[str, Asset]:
        return {asset.id: asset for asset in self.prepared.job.assets}

    @cached_property
    def _order(self) -> dict[str, float]:
        """From when each face may be sprayed at the earliest."""
        return {name: window.from_s for name, window in self.windows.items()}

    @cached_property
    def _largest(self) -> dict[str, float]:
        """The largest usable tank of the crews that have what an asset needs, by asset."""
        job = self.prepared.job
        return {
            asset.id: max((crew.usable_m3 for crew in able_crews(job, asset.needs)), default=0.0)
            for asset in job.assets
        }

    def _plan(self, lay: Mapping[str, float]) -> Plan:
        return plan_of(self.prepared, now_s=self.now_s, lay_times=lay)

    def _work(
        self,
        plan: Plan,
        lay: Mapping[str, float],
        cuts: Mapping[str, tuple[Cut, ...]],
        paces: Mapping[str, Pace],
        again_s: Mapping[str, float],
    ) -> Work:
        bare = {name: window.bare_chance for name, window in self.windows.items()}
        fresh = self._fresh(plan, lay, cuts, again_s)
        return Work(plan, lay, cuts, paces, bare, fresh, self.before.ready_s)

    def _fresh(
        self,
        plan: Plan,
        lay: Mapping[str, float],
        cuts: Mapping[str, tuple[Cut, ...]],
        again_s: Mapping[str, float],
    ) -> Fresh:
        """Fresh coats on what is to be coated or is coated, as far as the time for it lasts."""
        again = {
            name: max(self.now_s, lay_s)
            for name, lay_s in again_s.items()
            if (owner := self._owners[name].id) in cuts or owner in self.before.done_assets
            if self.windows[name].until_s > self.now_s
        }
        return fresh_coats(
            self.prepared,
            plan,
            first_s=lay,
            again_s={**again, **self.before.again_s},
            order=self._order,
            tanks=self._largest,
            over=self.before.done_again,
        )

    def _next(self, day: Day) -> Day:
        """One more round: coats from the times of the last, routes for those coats."""
        lay, fresh = dict(day.work.from_s), dict(day.work.fresh.again_s)
        for reckoned, starts in ((lay, day.face_starts), (fresh, day.again_starts)):
            for name, starts_s in starts.items():
                reckoned[name] = max(self.now_s, starts_s - starts_s % _STEP_S)
        lay |= self.before.laid_s
        plan = self._plan(lay)
        by_id = {asset.asset_id: asset for asset in plan.assets}
        cuts = {
            name: recut(name, layers_of(by_id[name], lay), self._order, before, self._largest[name])
            for name, before in day.work.cuts.items()
        }
        work = self._work(plan, lay, cuts, _paces(day.routed), fresh)
        number = day.rounds + 1
        part = _part_of(self.budget, (1.0 - _FIRST_SHARE) / (MOST_ROUNDS - 1))
        share = (number / (MOST_ROUNDS + 1), 1 / (MOST_ROUNDS + 1))
        again = self._solved(work, day.routed.routes, part, f"round {number}", share)
        moved = _moves(day, again)
        settled = not moved
        told = f"settled after {number} rounds"
        if moved and number == MOST_ROUNDS:
            told = f"did not settle in {number} rounds: {moved}"
        return replace(again, settled=settled, settling=told, rounds=number)

    def _solved(
        self,
        work: Work,
        before: RoutePlan | None,
        budget: Budget,
        label: str,
        share: tuple[float, float],
    ) -> Day:
        problem = self.shape(make_problem(self.prepared.job, work))
        before = before or self.before.routes
        heard = _told(self.tell, label, share)
        searched = self.solver.solve(
            problem,
            seed=self.seed,
            budget=_part_of(budget, 1.0 - _WHOLE_SHARE),
            on_progress=heard,
            should_stop=self.should_stop,
        )
        routed = self._whole(problem, searched, budget)
        if before is not None:
            told = replace(before, solver=searched.solver, stopped=searched.stopped)
            kept = self._whole(problem, told, budget)
            routed = routed if is_worth_it(routed, kept) else kept
        return Day(work, routed, work.parts, settled=False, settling="", rounds=1)

    def _whole(self, problem: RoutingProblem, routes: RoutePlan, budget: Budget) -> Routed:
        """Routes of whole assets; half the share of a round's budget for each of two."""
        began = self.clock()

        def go_on(tries: int) -> bool:
            if self.should_stop():
                return False
            if budget.seconds is None:
                return tries < (budget.iterations or 0) // _ITERATIONS_A_TRY
            return self.clock() - began < 0.5 * _WHOLE_SHARE * budget.seconds

        return make_whole(problem, routes, seed=self.seed, go_on=go_on)


def is_worth_it(fresh: Routed, kept: Routed) -> bool:
    """True when a fresh plan covers more musts or is worth clearly more than the old one kept."""
    if fresh.musts_missed != kept.musts_missed:
        return fresh.musts_missed < kept.musts_missed
    return fresh.routes.prize > (1.0 + FRESH_WORTH) * kept.routes.prize + 1e-9


def face_starts(routed: Routed, parts: Mapping[str, Part], *, is_recoat: bool) -> dict[str, float]:
    """When spraying of each face begins, by surface id: the earliest of its portions."""
    times: dict[str, float] = {}
    for route in routed.routes.routes:
        crew = next(one for one in routed.problem.crews if one.id == route.crew_id)
        for stop in route.stops:
            part = parts[stop.visit_id]
            if part.cut.is_recoat is not is_recoat:
                continue
            starts = part.face_starts(stop.start_s, Pace(crew.setup_s, crew.spray_flow_m3_s))
            for portion, starts_s in zip(part.portions, starts, strict=True):
                known = times.get(portion.surface_id, starts_s)
                times[portion.surface_id] = min(known, starts_s)
    return times


def _paces(routed: Routed) -> dict[str, Pace]:
    """By visit id, the pace of the crew that makes it."""
    crews = {crew.id: Pace(crew.setup_s, crew.spray_flow_m3_s) for crew in routed.problem.crews}
    return {
        stop.visit_id: crews[route.crew_id]
        for route in routed.routes.routes
        for stop in route.stops
    }


def _moves(before: Day, after: Day) -> str:
    """What still moved between two rounds, in words; empty when nothing did."""
    was, now = _stops(before.routed), _stops(after.routed)
    names = {visit.id: visit.name for visit in after.routed.problem.visits}
    if was.keys() != now.keys():
        other = sorted(names.get(one, one) for one in was.keys() ^ now.keys())
        return f"visits still came and went ({', '.join(other[:3])})"
    crews = [one for one in now if now[one][0] != was[one][0]]
    if crews:
        return f"{names[crews[0]]} still changed crews"
    worst = max(now, key=lambda one: abs(now[one][1] - was[one][1]), default=None)
    if worst is None:
        return ""
    moved_s = abs(now[worst][1] - was[worst][1])
    return "" if moved_s < SETTLED_S else f"{names[worst]} still moved by {moved_s / 60:.0f} min"


def _stops(routed: Routed) -> dict[str, tuple[str, float]]:
    return {
        stop.visit_id: (route.crew_id, stop.start_s)
        for route in routed.routes.routes
        for stop in route.stops
    }


def _was_stopped(day: Day) -> bool:
    return day.routed.routes.stopped in {Stopped.ASKED, Stopped.INTERRUPTED}


def _part_of(budget: Budget, share: float) -> Budget:
    """Iterations count for each search, seconds for all together."""
    return budget if budget.seconds is None else Budget(seconds=budget.seconds * share)


def _told(tell: Tell, label: str, share: tuple[float, float]) -> OnProgress:
    first, span = share

    def heard(progress: Progress) -> None:
        missed = f", {progress.musts_missed} musts missed" if progress.musts_missed else ""
        best = f"{label}: {progress.served} visits, worth {progress.prize:.0f}{missed}"
        tell(best, first + span * progress.share)

    return heard
