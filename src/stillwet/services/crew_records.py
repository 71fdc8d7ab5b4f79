"""From the last round to the records that people read: runs, what is left out, bands, totals."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from stillwet.domain.crew_plan import (
    BegunVisit,
    CrewPlan,
    CrewRun,
    CrewStep,
    DepotStock,
    DoneVisit,
    FaceBand,
    FaceWork,
    StepKind,
)
from stillwet.domain.job import Job
from stillwet.domain.plan import AssetPlan
from stillwet.domain.products import Crew
from stillwet.engine.lay_windows import SprayedFace
from stillwet.engine.mix_draws import MixDraws, draw_mix
from stillwet.engine.mix_pumping import pump_note
from stillwet.engine.recoating import Recoat
from stillwet.engine.verdicts import verdict_of
from stillwet.routing.plan import ConcentrateLoad, CrewRoute, Refill, Stop
from stillwet.routing.problem import ConcentrateDepot, FillPoint, RoutingCrew
from stillwet.services.crew_left import LeftWriter
from stillwet.services.crew_parts import Pace, Part
from stillwet.services.crew_problem import Work
from stillwet.services.crew_rounds import Day

_SOMEBODY = "somebody"  # where nobody said who laid a coat


@dataclass(frozen=True, eq=False)
class Told:
    """What a crew plan says beside the day itself. ``carry_enough``: crews of which nobody told
    how much concentrate they have.
    """

    made_s: float
    seed: int
    budget: str
    assumed: tuple[str, ...]
    done: tuple[DoneVisit, ...] = ()
    done_by: Mapping[str, str] | None = None  # crew names by asset id; None: a fresh day
    changes: tuple[str, ...] = ()
    carry_enough: frozenset[str] = frozenset()
    begun: tuple[BegunVisit, ...] = ()


@dataclass(frozen=True, eq=False)
class Laid:
    """What coats are worth laid when they are laid, by surface id: alone, and with a fresh coat."""

    sprayed: Mapping[str, SprayedFace]
    again: Mapping[str, Recoat]


def crew_plan_of(
    job: Job, base: tuple[AssetPlan, ...], day: Day, laid: Laid, told: Told
) -> CrewPlan:
    """The crew plan. ``base``: the plan's assets as they would be with nobody in a hurry."""
    writer = _Writer(job, day, laid, told)
    plan, routes = day.work.plan, day.routed.routes
    by_id = {asset.asset_id: asset for asset in plan.assets}
    done = frozenset(told.done_by or ())
    covered = frozenset(writer.crew_of) | done
    lefts = LeftWriter(writer.assets, base, day, covered, job.product)
    left, unsprayed = tuple(lefts.left_out()), tuple(lefts.not_sprayed(done))
    runs = tuple(writer.run(route) for route in routes.routes)
    first = {name: writer.first_chance(asset) for name, asset in by_id.items()}
    marks = (plan.id, str(told.seed), told.budget, repr(routes.routes), repr(told.done))
    return CrewPlan(
        id=hashlib.sha256("|".join(marks).encode()).hexdigest()[:10],
        job_name=job.name,
        time_zone=job.time_zone,
        crs=job.crs,
        made_s=told.made_s,
        plan_id=plan.id,
        product_name=plan.product_name,
        ratio_basis=plan.ratio_basis,
        density_kg_m3=job.product.density_kg_m3,
        pack_m3=job.product.pack_m3,
        crews=runs,
        left_out=left,
        not_sprayed=unsprayed,
        not_recoated=tuple(lefts.not_recoated(first, writer.recoated)),
        bands=tuple(writer.bands()),
        done=told.done,
        changes=told.changes,
        is_replan=told.done_by is not None,
        worth=sum(by_id[name].value * writer.gain(by_id[name]) for name in covered),
        worth_possible=sum(
            asset.value * _gain(day.work, asset, asset.governing.probability)
            for asset in base
            if asset.mix_m3 > 0
        ),
        covered=len(covered),
        musts_missed=sum(one.must for one in left) + sum(one.must for one in unsprayed),
        settled=day.settled,
        settling=day.settling,
        rounds=day.rounds,
        solver=routes.solver,
        seed=told.seed,
        budget=told.budget,
        stopped=str(routes.stopped),
        travel=tuple(dict.fromkeys(words.partition(": ")[2] for words in routes.provenance)),
        assumed=told.assumed,
        cautions=plan.cautions,
        warnings=(*(run.pump_note for run in runs if run.pump_note), *plan.warnings),
        water_points_m=plan.water_points_m,
        depots_m=tuple((depot.name, depot.x_m, depot.y_m) for depot in job.depots),
        streams_m=plan.streams_m,
        assets_m=tuple((a.asset_id, a.x_m, a.y_m, a.footprint_m) for a in plan.assets),
        stocks=tuple(DepotStock(d.id, d.name, d.stock_m3) for d in day.routed.problem.depots),
        begun=told.begun,
    )


def _gain(work: Work, asset: AssetPlan, chance: float) -> float:
    bare = [work.bare_chance.get(face.surface.id, 0.0) for face in asset.surfaces]
    return max(0.0, chance - min(bare))


class _Writer:
    """Looks up what the records need by id."""

    def __init__(self, job: Job, day: Day, laid: Laid, told: Told) -> None:
        self.job, self.day, self.told = job, day, told
        self.sprayed, self.again = laid.sprayed, laid.again
        self.assets = {asset.id: asset for asset in job.assets}
        self.plans = {asset.asset_id: asset for asset in day.work.plan.assets}
        self.crews = {crew.id: crew for crew in job.crews}
        self.routing = {crew.id: crew for crew in day.routed.problem.crews}
        self.concentrate = {v.id: v.concentrate_m3 for v in day.routed.problem.visits}
        self.crew_of: dict[str, str] = {}
        self.again_by: dict[str, str] = {}  # who lays fresh coats
        for route in day.routed.routes.routes:
            for stop in route.stops:
                is_recoat = day.parts[stop.visit_id].cut.is_recoat
                by = self.again_by if is_recoat else self.crew_of
                by.setdefault(stop.asset_id, self.crews[route.crew_id].name)

    @cached_property
    def _mix(self) -> MixDraws:
        return draw_mix(self.job)

    @property
    def recoated(self) -> frozenset[str]:
        """The assets that get a fresh coat, or have one."""
        return frozenset(
            asset.asset_id
            for asset in self.plans.values()
            if any(face.surface.id in self.again for face in asset.surfaces)
        )

    def gain(self, asset: AssetPlan) -> float:
        return _gain(self.day.work, asset, self.chance(asset))

    def chance(self, asset: AssetPlan) -> float:
        """Of the weakest coated face, laid when it is laid, with its fresh coat if it has one."""
        return self._weakest(asset, {**self.sprayed, **self.again})

    def first_chance(self, asset: AssetPlan) -> float:
        """The same without any fresh coat."""
        return self._weakest(asset, self.sprayed)

    def _weakest(self, asset: AssetPlan, laid: Mapping[str, SprayedFace | Recoat]) -> float:
        found = [
            laid[face.surface.id].probability
            for face in asset.surfaces
            if face.surface.id in laid and face.mix_m3 > 0
        ]
        return min(found, default=asset.governing.probability)

    def run(self, route: CrewRoute) -> CrewRun:
        """One crew's day."""
        crew, start = self.crews[route.crew_id], self.routing[route.crew_id]
        steps = tuple(self._steps(route, crew, start))
        richest = max((step.mix_ratio or 0.0 for step in steps), default=0.0)
        return CrewRun(
            crew_id=crew.id,
            name=crew.name,
            people=crew.people,
            tank_m3=crew.tank_m3,
            reserve_m3=crew.reserve_m3,
            start_at_m=(start.x_m, start.y_m),
            start_s=route.start_s,
            end_s=route.end_s,
            drive_s=route.travel_s,
            water_at_start_m3=start.water_m3,
            steps=steps,
            pump_note=pump_note(self._mix, crew, richest),
            concentrate_at_start_m3=(
                None if crew.id in self.told.carry_enough else start.concentrate_m3
            ),
        )

    def _steps(self, route: CrewRoute, crew: Crew, start: RoutingCrew) -> Iterator[CrewStep]:
        clock = start.shift_from_s
        for step in route.steps:
            drive_s = step.arrive_s - clock
            clock = step.finish_s
            if isinstance(step, Stop):
                yield self._coat(step, crew, drive_s)
            else:
                yield self._taken_on(step, drive_s)

    def _taken_on(self, step: Refill | ConcentrateLoad, drive_s: float) -> CrewStep:
        """A fill of the tank or a load of concentrate."""
        problem = self.day.routed.problem
        place: FillPoint | ConcentrateDepot
        if isinstance(step, Refill):
            place = next(one for one in problem.fill_points if one.id == step.point_id)
        else:
            place = next(one for one in problem.depots if one.id == step.depot_id)
        is_fill = isinstance(step, Refill)
        return CrewStep(
            kind=StepKind.FILL if is_fill else StepKind.LOAD,
            place_id=place.id,
            visit_id=place.id,
            name=place.name,
            x_m=place.x_m,
            y_m=place.y_m,
            arrive_s=step.arrive_s,
            start_s=step.start_s,
            finish_s=step.finish_s,
            amount_m3=step.amount_m3,
            concentrate_m3=0.0 if is_fill else step.amount_m3,
            tank_after_m3=step.tank_after_m3 if isinstance(step, Refill) else None,
            drive_s=drive_s,
        )

    def _coat(self, stop: Stop, crew: Crew, drive_s: float) -> CrewStep:
        asset, plan = self.assets[stop.asset_id], self.plans[stop.asset_id]
        part = self.day.parts[stop.visit_id]
        cut = part.cut
        starts = part.face_starts(stop.start_s, Pace(crew.setup_s, crew.spray_flow_m3_s))
        chance = self.chance(plan)
        ratios = [face.mix_ratio for face in plan.surfaces if face.mix_m3 > 0]
        leave = min(f.apply_until_s for f in plan.surfaces if f.apply_until_s is not None)
        return CrewStep(
            kind=StepKind.COAT,
            place_id=plan.asset_id,
            visit_id=stop.visit_id,
            name=plan.name,
            x_m=plan.x_m,
            y_m=plan.y_m,
            arrive_s=stop.arrive_s,
            start_s=stop.start_s,
            finish_s=stop.finish_s,
            amount_m3=stop.mix_m3,
            concentrate_m3=self.concentrate[stop.visit_id],
            tank_after_m3=stop.tank_after_m3,
            drive_s=drive_s,
            leave_by_s=leave,
            part=cut.number,
            parts=cut.of,
            mix_ratio=max(ratios),
            faces=tuple(
                FaceWork(p.surface_id, p.label, p.coat_kg_m2, p.share, p.mix_m3, starts_s)
                for p, starts_s in zip(part.portions, starts, strict=True)
            ),
            chance=chance,
            verdict=verdict_of(chance),
            must=asset.must,
            needs=tuple(sorted(asset.needs)),
            cautions=plan.cautions,
            note=plan.note,
            coat=cut.coat,
            coats=cut.coats,
            is_recoat=cut.is_recoat,
            first_holds_until_s=self._first_holds(part) if cut.is_recoat else None,
            waits_for=self._waits_for(stop),
        )

    def _first_holds(self, part: Part) -> float:
        """Until when the coats below a fresh one hold by themselves, 90 % sure."""
        return min(self.sprayed[portion.surface_id].hold_90_s for portion in part.portions)

    def _waits_for(self, stop: Stop) -> tuple[str, ...]:
        """The names of what must be over first; not of what the same crew just did itself."""
        visits = {visit.id: visit for visit in self.day.routed.problem.visits}
        visit, made_by = visits[stop.visit_id], self._made_by
        if visit.after is None:
            return ()
        is_own = made_by[visit.after] == made_by[visit.id] and visit.after_gap_s == 0.0
        return () if is_own else (visits[visit.after].name,)

    @cached_property
    def _made_by(self) -> dict[str, str]:
        """Crew ids by visit id."""
        routes = self.day.routed.routes.routes
        return {stop.visit_id: route.crew_id for route in routes for stop in route.stops}

    def bands(self) -> Iterator[FaceBand]:
        """Every coated face, asset by asset in the order they are first sprayed."""
        names = {**self.crew_of, **(self.told.done_by or {})}
        rows = [
            (asset, face, spray, is_recoat)
            for asset in self.plans.values()
            if asset.asset_id in names
            for face in asset.surfaces
            for is_recoat, laid in ((False, self.sprayed), (True, self.again))
            if (spray := laid.get(face.surface.id)) is not None and face.mix_m3 > 0
        ]
        first: dict[str, float] = {}
        for asset, _, spray, _ in rows:
            first[asset.asset_id] = min(spray.lay_s, first.get(asset.asset_id, spray.lay_s))
        rows.sort(key=lambda row: (first[row[0].asset_id], row[0].asset_id, row[3], row[2].lay_s))
        for asset, face, spray, is_recoat in rows:
            by = self.again_by if is_recoat else names
            yield FaceBand(
                asset_id=asset.asset_id,
                asset_name=asset.name,
                label=face.surface.label,
                crew_name=by.get(asset.asset_id, _SOMEBODY),
                laid_s=spray.lay_s,
                hold_90_s=spray.hold_90_s,
                hold_50_s=spray.hold_50_s,
                fire_from_s=asset.fire_window_from_s,
                fire_to_s=asset.fire_window_to_s,
                probability=spray.probability,
                is_recoat=is_recoat,
            )
