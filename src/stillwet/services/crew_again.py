"""Planning the crews again from now: what is done is fixed, crews are where they are."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

from stillwet.domain.crew_plan import DoneVisit
from stillwet.domain.crew_status import CrewStatus, DoneWork, OldLoad, OldVisit
from stillwet.domain.job import Job
from stillwet.errors import Problem, StillwetError, shown
from stillwet.routing.plan import CrewRoute, RoutePlan, Stop, Stopped
from stillwet.routing.problem import RoutingProblem
from stillwet.routing.replan import CrewNow, remaining_problem
from stillwet.services.crew_parts import Cut
from stillwet.services.crew_rounds import Before
from stillwet.services.crew_travel import crew_travel


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
            stock_m3=self._stocks_m3(),
        )

    def _stocks_m3(self) -> dict[str, float]:
        """What is left in each depot, by the loads of the old plan that are behind its crews."""
        taken: dict[str, float] = defaultdict(float)
        for crew_id in self.status.orders:
            for load in self._loads_made(crew_id):
                taken[load.depot_id] += load.amount_m3
        return {one.id: max(0.0, one.stock_m3 - taken[one.id]) for one in self.job.depots}

    def _loads_made(self, crew_id: str) -> list[OldLoad]:
        """The loads that came before the last visit the crew has made, in the old plan's order."""
        made = self._made_by(crew_id)
        until_s = max((visit.finish_s for visit, _ in made), default=-math.inf)
        return [load for load in self.status.loads.get(crew_id, ()) if load.finish_s <= until_s]

    def _crews_now(self, problem: RoutingProblem) -> tuple[CrewNow, ...]:
        told = {state.crew_id: state for state in self.status.crews}
        found = []
        for crew in problem.crews:
            state = told.get(crew.id)
            if state is not None and state.out:
                continue
            last = self._last(crew.id)
            spot = (crew.x_m, crew.y_m) if last is None else (last.x_m, last.y_m)
            water = crew.water_m3 if last is None else last.tank_after_m3
            used = sum(visit.concentrate_m3 for visit, _ in self._made_by(crew.id))
            loaded = sum(load.amount_m3 for load in self._loads_made(crew.id))
            carried = max(0.0, crew.concentrate_m3 + loaded - used)
            if self._carries_enough(crew.id):
                carried = crew.concentrate_m3
            free = self.now_s if state is None or state.free_s is None else state.free_s
            if state is not None:
                spot = state.at_m or spot
                water = water if state.water_m3 is None else state.water_m3
                carried = carried if state.concentrate_m3 is None else state.concentrate_m3
            board = min(carried, crew.concentrate_capacity_m3)
            found.append(CrewNow(crew.id, *spot, free, min(water, crew.tank_m3), board))
        return tuple(found)

    def _carries_enough(self, crew_id: str) -> bool:
        crew = next(one for one in self.job.crews if one.id == crew_id)
        return crew.concentrate_m3 is None

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
            crew.name
            for crew in self.job.crews
            if crew.id not in told
            or (not told[crew.id].out and None in (told[crew.id].at_m, told[crew.id].water_m3))
        ]
        if not silent:
            return ()
        words = "Place or tank not told, so taken from the plan before and what is done"
        return (f"{words}: {', '.join(silent)}.",)

    def done_visits(self) -> tuple[DoneVisit, ...]:
        """What is done, for the reader."""
        names = {asset.id: asset.name for asset in self.job.assets}
        return tuple(
            DoneVisit(
                work.asset_id,
                f"{names[work.asset_id]}{_what(work)}",
                self._crew_name(work),
                work.time_s,
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
    made: dict[str, tuple[OldVisit, float]] = {}
    faults = []
    for work in status.done:
        of_asset = [v for v in _all_old(status) if v.asset_id == work.asset_id]
        chosen = [visit for visit in of_asset if work.is_of(visit)]
        if not chosen and (work.part is not None or work.coat is not None):
            faults.append(_not_planned(work, of_asset))
        if work.time_s > now_s:
            faults.append(Problem("time", "a time not after now", "a later one", work.asset_id))
        made |= {visit.visit_id: (visit, work.time_s) for visit in chosen}
    if faults:
        raise StillwetError(faults)
    return Again(job, status, now_s, made)


def _not_planned(work: DoneWork, of_asset: list[OldVisit]) -> Problem:
    """A part or pass that the old plan did not have."""
    if work.part is not None:
        known = ", ".join(str(v.part) for v in of_asset) or "none: it was not in the plan"
        return Problem("part", f"a part of the old plan ({known})", shown(work.part), work.asset_id)
    words = ", ".join(sorted({v.coat_word for v in of_asset})) or "none: it was not in the plan"
    return Problem("coat", f"a coat of the old plan ({words})", shown(work.coat), work.asset_id)


def _what(work: DoneWork) -> str:
    """Which part or pass of an asset is done, in words that follow its name."""
    coats = {None: "", "recoat": ", recoat"}
    told = coats.get(work.coat, f", coat {work.coat}")
    return told if work.part is None else f"{told}, part {work.part}"


def _all_old(status: CrewStatus) -> list[OldVisit]:
    return [visit for order in status.orders.values() for visit in order]
