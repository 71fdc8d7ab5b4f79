"""Planning the crews again from now: what is done is fixed, crews are where they are."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, replace

from stillwet.domain.crew_plan import DoneVisit
from stillwet.domain.crew_status import (
    CrewStart,
    CrewState,
    CrewStatus,
    DoneWork,
    OldLoad,
    OldVisit,
)
from stillwet.domain.job import Job
from stillwet.errors import Problem, StillwetError, shown
from stillwet.routing.plan import CrewRoute, RoutePlan, Stop, Stopped
from stillwet.routing.problem import RoutingCrew, RoutingProblem
from stillwet.routing.replan import CrewNow, remaining_problem
from stillwet.services.crew_parts import Cut
from stillwet.services.crew_rounds import Before
from stillwet.services.crew_travel import crew_travel

_HINT = "leave out what was done before that plan was made"
_FORGETS = (
    "The plan before was itself planned again, by a version that did not write down how it began:"
    " depots and concentrate are counted from the start of the job unless told, and what was done"
    " before that plan counts only where it is listed."
)


@dataclass(frozen=True, eq=False)
class Again:
    """The day so far, ready to be planned on from ``now_s``."""

    job: Job
    status: CrewStatus
    now_s: float
    made: Mapping[str, tuple[OldVisit, float]]  # old visits that are done, and when

    @property
    def before(self) -> Before:
        """What the rounds need to know of it."""
        cuts = self._cuts()
        done = {work.asset_id for work in self.status.done if work.is_whole}
        seen = {visit.asset_id for visit in _all_old(self.status) if not visit.is_recoat}
        return Before(
            routes=self._old_routes(),
            cuts=cuts,
            done_assets=frozenset(done | (seen - set(cuts))),
            laid_s=self._laid_s(is_recoat=False),
            done_again=self._done_again(),
            again_s=self._laid_s(is_recoat=True),
            ready_s=self._ready_s(),
        )

    @property
    def told(self) -> frozenset[str]:
        """The visits of the old plan, as its sheets call them."""
        return frozenset(visit.visit_id for visit in _all_old(self.status))

    def _laid_s(self, *, is_recoat: bool) -> dict[str, float]:
        """When spraying of each coat (or fresh coat) that is on began, by surface id."""
        laid: dict[str, float] = {}
        for visit, time_s in self.made.values():
            if visit.is_recoat is is_recoat:
                late = time_s - visit.finish_s
                for face in visit.faces:
                    starts = face.starts_s + late
                    laid[face.surface_id] = min(starts, laid.get(face.surface_id, starts))
        return laid

    def _done_again(self) -> frozenset[str]:
        """The assets of which every part of a fresh coat is on."""
        old = [visit for visit in _all_old(self.status) if visit.is_recoat]
        left = {visit.asset_id for visit in old if visit.visit_id not in self.made}
        return frozenset(visit.asset_id for visit in old) - left

    def _ready_s(self) -> dict[str, float]:
        """When the last of what is done at each asset was over."""
        ready: dict[str, float] = {}
        for work in self.status.done:
            ready[work.asset_id] = max(work.time_s, ready.get(work.asset_id, work.time_s))
        return ready

    def _cuts(self) -> dict[str, tuple[Cut, ...]]:
        """The old visits of each asset's coat that are still to be made."""
        done = {work.asset_id for work in self.status.done if work.is_whole}
        left: dict[str, list[Cut]] = defaultdict(list)
        for visit in sorted(_all_old(self.status), key=lambda one: (one.coat, one.part)):
            if visit.visit_id in self.made or visit.asset_id in done or visit.is_recoat:
                continue
            shares = tuple((face.surface_id, face.share) for face in visit.faces)
            left[visit.asset_id].append(
                Cut(visit.visit_id, visit.part, visit.parts, shares, visit.coat, visit.coats)
            )
        return {name: tuple(found) for name, found in left.items()}

    def _old_routes(self) -> RoutePlan:
        """The old orders as routes; nothing but their visits is ever looked at."""
        routes = tuple(
            CrewRoute(
                crew_id,
                tuple(
                    Stop(v.visit_id, v.asset_id, v.finish_s, v.finish_s, v.finish_s, 0.0, 0.0)
                    for v in order
                ),
                self.now_s,
                self.now_s,
                0.0,
            )
            for crew_id, order in self.status.orders.items()
        )
        return RoutePlan(
            routes=routes,
            unserved=(),
            prize=0.0,
            prize_possible=0.0,
            musts_missed=0,
            travel_s=0.0,
            solver="the plan before",
            seed=0,
            stopped=Stopped.DONE,
            provenance=(),
        )

    def shape(self, problem: RoutingProblem) -> RoutingProblem:
        """The problem of a whole day, cut down to what is left of it."""
        return remaining_problem(
            problem,
            now_s=self.now_s,
            crews_now=self._crews_now(problem),
            make_travel=lambda places: crew_travel(self.job, places),
            stock_m3=self.stocks_m3,
        )

    @property
    def stocks_m3(self) -> dict[str, float]:
        """What is left in each depot, by the loads of the old plan that are behind its crews."""
        taken: dict[str, float] = defaultdict(float)
        for crew_id in self.status.orders:
            for load in self._loads_made(crew_id):
                taken[load.depot_id] += load.amount_m3
        begun = self.status.began.stocks_m3
        left = {
            one.id: max(0.0, begun.get(one.id, one.stock_m3) - taken[one.id])
            for one in self.job.depots
        }
        return {**left, **self.status.stocks_m3}

    def _loads_made(self, crew_id: str) -> list[OldLoad]:
        """The loads that came before the last visit the crew has made, in the old plan's order."""
        made = self._made_by(crew_id)
        until_s = max((visit.finish_s for visit, _ in made), default=-math.inf)
        return [load for load in self.status.loads.get(crew_id, ()) if load.finish_s <= until_s]

    def _crews_now(self, problem: RoutingProblem) -> tuple[CrewNow, ...]:
        told = {state.crew_id: state for state in self.status.crews}
        found = []
        for crew in problem.crews:
            state = told.get(crew.id, CrewState(crew.id))
            if state.out:
                continue
            start, last = self._start(crew), self._last(crew.id)
            spot = start.at_m if last is None else (last.x_m, last.y_m)
            water = start.water_m3 if last is None else last.tank_after_m3
            water = water if state.water_m3 is None else state.water_m3
            free = max(self.now_s, start.free_s) if state.free_s is None else state.free_s
            board = min(self._aboard_m3(crew, state), crew.concentrate_capacity_m3)
            spot = state.at_m or spot
            found.append(CrewNow(crew.id, *spot, free, min(water, crew.tank_m3), board))
        return tuple(found)

    def _start(self, crew: RoutingCrew) -> CrewStart:
        """How a crew began the plan before; as the job has it where that plan does not tell."""
        own = CrewStart((crew.x_m, crew.y_m), crew.shift_from_s, crew.water_m3, crew.concentrate_m3)
        known = self.status.began.starts.get(crew.id, own)
        if known.concentrate_m3 is None:
            return replace(known, concentrate_m3=crew.concentrate_m3)
        return known

    def _aboard_m3(self, crew: RoutingCrew, state: CrewState) -> float:
        """The concentrate on board: as told, else what the work done has left of it."""
        if state.concentrate_m3 is not None:
            return state.concentrate_m3
        if crew.id in self.carry_enough:
            return crew.concentrate_m3
        used = sum(visit.concentrate_m3 for visit, _ in self._made_by(crew.id))
        loaded = sum(load.amount_m3 for load in self._loads_made(crew.id))
        return max(0.0, (self._start(crew).concentrate_m3 or 0.0) + loaded - used)

    @property
    def carry_enough(self) -> frozenset[str]:
        """The crews taken to carry concentrate for all of it: nobody ever told how much."""
        told = {one.crew_id for one in self.status.crews if one.concentrate_m3 is not None}
        starts = self.status.began.starts
        told |= {name for name, start in starts.items() if start.concentrate_m3 is not None}
        silent = {crew.id for crew in self.job.crews if crew.concentrate_m3 is None}
        return frozenset(silent - told)

    def _made_by(self, crew_id: str) -> list[tuple[OldVisit, float]]:
        order = self.status.orders.get(crew_id, ())
        return [self.made[visit.visit_id] for visit in order if visit.visit_id in self.made]

    def _last(self, crew_id: str) -> OldVisit | None:
        made = self._made_by(crew_id)
        return max(made, key=lambda pair: pair[1])[0] if made else None

    def assumed(self) -> tuple[str, ...]:
        """What the file did not say of the crews, and what was taken instead."""
        told = {state.crew_id: state for state in self.status.crews}
        silent = [
            crew
            for crew in self.job.crews
            if crew.id not in told
            or (not told[crew.id].out and None in (told[crew.id].at_m, told[crew.id].water_m3))
        ]
        known = [crew.name for crew in silent if crew.id in self.status.orders]
        new = [crew.name for crew in silent if crew.id not in self.status.orders]
        words = []
        if known:
            taken = "Place or tank not told, so taken from the plan before and what is done"
            words.append(f"{taken}: {', '.join(known)}.")
        if new:
            taken = "Not in the plan before, and place or tank not told, so taken as at the start"
            words.append(f"{taken} of the job: {', '.join(new)}.")
        if self.status.began.forgets:
            words.append(_FORGETS)
        return tuple(words)

    def done_visits(self) -> tuple[DoneVisit, ...]:
        """What is done, for the reader."""
        names = {asset.id: asset.name for asset in self.job.assets}
        return tuple(
            DoneVisit(
                work.asset_id,
                f"{names[work.asset_id]}{_what(work)}",
                self._crew_name(work),
                work.time_s,
                work.crew_id,
                work.part,
                work.coat,
            )
            for work in sorted(self.status.done, key=lambda one: (one.time_s, one.asset_id))
        )

    def _crew_name(self, work: DoneWork) -> str:
        names = {crew.id: crew.name for crew in self.job.crews}
        return names.get(work.crew_id, "somebody")

    def done_by(self) -> dict[str, str]:
        """Who made the assets that are whole, by asset id."""
        whole = self.before.done_assets
        return {
            work.asset_id: self._crew_name(work)
            for work in self.status.done
            if work.asset_id in whole
        }


def take_stock(job: Job, status: CrewStatus, *, now_s: float) -> Again:
    """Match what is done with the visits of the old plan; raises for a part it did not have."""
    began = status.began
    made = {visit.visit_id: (visit, visit.finish_s) for visit in began.made}
    known = {work.what for work in began.done}
    faults = []
    for work in status.done:
        # The whole of an asset told now does not make parts told of before as fresh as now.
        is_about = work.part is not None or work.what in known
        fixed = frozenset() if is_about else frozenset(v.visit_id for v in began.made)
        of_asset = [v for v in _all_old(status) if v.asset_id == work.asset_id]
        chosen = [visit for visit in of_asset if work.is_of(visit)]
        if not chosen and (work.part is not None or work.coat is not None):
            faults.append(_not_planned(work, of_asset))
        if work.time_s > now_s:
            faults.append(Problem("time", "a time not after now", "a later one", work.asset_id))
        made |= {v.visit_id: (v, work.time_s) for v in chosen if v.visit_id not in fixed}
    if faults:
        raise StillwetError(faults)
    again = {work.what for work in status.done}
    done = (*(work for work in began.done if work.what not in again), *status.done)
    return Again(job, replace(status, done=done), now_s, made)


def _not_planned(work: DoneWork, of_asset: list[OldVisit]) -> Problem:
    """A part or pass that the old plan did not have."""
    if work.part is not None:
        known = ", ".join(str(v.part) for v in of_asset) or "none: it was not in the plan"
        wanted = f"a part of the old plan ({known})"
        return Problem("part", wanted, shown(work.part), work.asset_id, _HINT)
    words = ", ".join(sorted({v.coat_word for v in of_asset})) or "none: it was not in the plan"
    wanted = f"a coat of the old plan ({words})"
    return Problem("coat", wanted, shown(work.coat), work.asset_id, _HINT)


def _what(work: DoneWork) -> str:
    """Which part or pass of an asset is done, in words that follow its name."""
    coats = {None: "", "recoat": ", recoat"}
    told = coats.get(work.coat, f", coat {work.coat}")
    return told if work.part is None else f"{told}, part {work.part}"


def _all_old(status: CrewStatus) -> list[OldVisit]:
    ordered = [visit for order in status.orders.values() for visit in order]
    return [*ordered, *status.began.made, *status.began.unordered]
