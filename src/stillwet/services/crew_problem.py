"""A job and the plan of its coats, as the problem that the routing room solves."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from stillwet.domain.assets import Asset
from stillwet.domain.job import Job
from stillwet.domain.plan import AssetPlan, Plan
from stillwet.domain.products import Crew
from stillwet.routing.problem import (
    ConcentrateDepot,
    FillPoint,
    Point,
    RoutingCrew,
    RoutingProblem,
    Visit,
    places_of,
)
from stillwet.services.crew_parts import Cut, Pace, Part, layers_of, part_of
from stillwet.services.crew_recoats import Fresh
from stillwet.services.crew_travel import crew_travel, profile_of
from stillwet.services.crew_turns import in_turn


@dataclass(frozen=True, slots=True)
class Work:
    """What there is to spray: the plan, and by surface id from when each coat is reckoned.

    ``cuts``: in which visits each asset is sprayed; ``paces``: by visit id, of the crew that made
    it in the plan before; ``bare_chance`` by surface id. ``ready_s``: when the visits of an asset
    that are done were over, by asset.
    """

    plan: Plan
    from_s: Mapping[str, float]
    cuts: Mapping[str, tuple[Cut, ...]]
    paces: Mapping[str, Pace]
    bare_chance: Mapping[str, float]
    fresh: Fresh = field(default_factory=Fresh)
    ready_s: Mapping[str, float] = field(default_factory=dict)

    @property
    def assets(self) -> tuple[AssetPlan, ...]:
        """The assets that a crew can be sent to: coated, and every coated face with a time."""
        known = self.cuts.keys() | self.fresh.cuts.keys()
        return tuple(
            asset for asset in self.plan.assets if asset.mix_m3 > 0 and asset.asset_id in known
        )

    def gain(self, asset: AssetPlan) -> float:
        """Confidence gained by the coat: the chance with it less the chance without."""
        bare = min(self.bare_chance[face.surface.id] for face in asset.surfaces if face.mix_m3 > 0)
        return max(0.0, asset.governing.probability - bare)

    def more_gain(self, asset: AssetPlan) -> float:
        """Confidence that a fresh coat adds."""
        return max(0.0, self.fresh.chance_with(asset) - asset.governing.probability)

    @property
    def parts(self) -> dict[str, Part]:
        """Every visit's part by visit id."""
        return {part.visit_id: part for asset in self.assets for part in self.parts_of(asset)}

    def parts_of(self, asset: AssetPlan) -> tuple[Part, ...]:
        """The visits that one asset still asks for, first passes first."""
        name = asset.asset_id
        layers, fresh = layers_of(asset, self.from_s), self.fresh.layers_of(asset)
        return (
            *(part_of(name, cut, layers) for cut in self.cuts.get(name, ())),
            *(part_of(name, cut, fresh) for cut in self.fresh.cuts.get(name, ())),
        )


def make_problem(job: Job, work: Work) -> RoutingProblem:
    """The routing problem of a day: the job's crews, its water and concentrate, and the work."""
    visits = make_visits(job, work)
    enough = sum(visit.concentrate_m3 for visit in visits)
    crews = tuple(_routing_crew(job, crew, enough) for crew in job.crews)
    fills = tuple(
        FillPoint(
            id=point.id,
            name=point.name,
            x_m=point.x_m,
            y_m=point.y_m,
            fill_flow_m3_s=point.fill_flow_m3_s,
            hookup_s=point.hookup_s,
            places=point.places,
        )
        for point in job.water_points
    )
    depots = tuple(
        ConcentrateDepot(depot.id, depot.name, depot.x_m, depot.y_m, depot.stock_m3, depot.load_s)
        for depot in job.depots
    )
    travel = crew_travel(job, places_of(crews, visits, fills, depots))
    return RoutingProblem(crews, visits, fills, depots, travel)


def make_visits(job: Job, work: Work) -> tuple[Visit, ...]:
    """One visit for every part of every pass over every asset that is to be coated."""
    by_id = {asset.id: asset for asset in job.assets}
    made = tuple(
        (part.cut, _visit(job, by_id[asset.asset_id], asset, part, work))
        for asset in work.assets
        for part in work.parts_of(asset)
    )
    return in_turn(by_id, made)


def _visit(job: Job, asset: Asset, plan: AssetPlan, part: Part, work: Work) -> Visit:
    """The visit of a part, before it is told what it follows. A fresh coat is never a must."""
    cut = part.cut
    pace = work.paces.get(part.visit_id) or fastest_pace(job, asset.needs)
    until = min(face.apply_until_s for face in plan.surfaces if face.apply_until_s is not None)
    earliest = part.earliest_s(pace)
    if cut.stage > 1 and asset.id in work.ready_s:
        earliest = max(earliest, work.ready_s[asset.id] + asset.coat_gap_s)
    concentrate, prize = _asks(plan, part, work)
    return Visit(
        id=part.visit_id,
        asset_id=plan.asset_id,
        name=f"{plan.name}, {cut.label}" if cut.label else plan.name,
        x_m=plan.x_m,
        y_m=plan.y_m,
        mix_m3=part.mix_m3,
        concentrate_m3=concentrate,
        earliest_s=earliest,
        latest_s=until,
        prize=prize,
        fire_s=plan.fire_window_from_s,
        egress_s=job.practice.egress_lead_s,
        must=asset.must and not cut.is_recoat,
        needs=asset.needs,
        bundle=f"recoat of {asset.id}" if cut.is_recoat else None,
    )


def _asks(plan: AssetPlan, part: Part, work: Work) -> tuple[float, float]:
    """Concentrate [m3] and prize of a part: its share of those of the whole coat."""
    if part.cut.is_recoat:
        coats = [work.fresh.coats[name] for name in work.fresh.layers_of(plan)]
        share = part.mix_m3 / sum(coat.mix_m3 for coat in coats)
        whole = sum(coat.concentrate_m3 for coat in coats)
        return whole * share, plan.value * work.more_gain(plan) * share
    share = part.mix_m3 / plan.mix_m3
    return plan.concentrate_m3 * share, plan.value * work.gain(plan) * share


def able_crews(job: Job, needs: frozenset[str]) -> tuple[Crew, ...]:
    """The crews that have what an asset needs; all of them where none has."""
    able = tuple(crew for crew in job.crews if needs <= crew.capabilities)
    return able or job.crews


def fastest_pace(job: Job, needs: frozenset[str]) -> Pace:
    """The shortest set-up and the largest flow among the crews able: no face is sprayed sooner."""
    able = able_crews(job, needs)
    if not able:
        return Pace(0.0, math.inf)
    return Pace(min(crew.setup_s for crew in able), max(crew.spray_flow_m3_s for crew in able))


def start_of(job: Job, crew: Crew) -> Point:
    """Where a crew stands at the start: as told, or in the middle of the assets."""
    if crew.start_m is not None:
        return crew.start_m
    count = len(job.assets)
    return (
        sum(asset.x_m for asset in job.assets) / count,
        sum(asset.y_m for asset in job.assets) / count,
    )


def _routing_crew(job: Job, crew: Crew, enough_m3: float) -> RoutingCrew:
    """``enough_m3``: the concentrate of all work, carried where the job says nothing."""
    x_m, y_m = start_of(job, crew)
    start = job.start_s if crew.shift_from_s is None else max(job.start_s, crew.shift_from_s)
    end = job.fire_over_s if crew.shift_to_s is None else crew.shift_to_s
    carried = enough_m3 if crew.concentrate_m3 is None else crew.concentrate_m3
    room = carried if crew.concentrate_room_m3 is None else crew.concentrate_room_m3
    return RoutingCrew(
        id=crew.id,
        name=crew.name,
        x_m=x_m,
        y_m=y_m,
        profile=profile_of(crew.speed_m_s),
        tank_m3=crew.tank_m3,
        reserve_m3=crew.reserve_m3,
        water_m3=crew.tank_m3 if crew.water_m3 is None else crew.water_m3,
        spray_flow_m3_s=crew.spray_flow_m3_s,
        setup_s=crew.setup_s,
        shift_from_s=start,
        shift_to_s=max(start, end),
        concentrate_m3=carried,
        concentrate_capacity_m3=max(carried, room),
        capabilities=crew.capabilities,
    )


def not_waiting(job: Job, work: Work) -> tuple[str, ...]:
    """Which assets come after one that no crew is to coat any more: they do not wait."""
    planned = {asset.asset_id for asset in work.assets}
    names = {asset.id: asset.name for asset in job.assets}
    return tuple(
        f"{asset.name} does not wait for {names[asset.after]}, which has no coat to come."
        for asset in job.assets
        if asset.after is not None and asset.id in planned and asset.after not in planned
    )


def assumptions(job: Job) -> tuple[str, ...]:
    """What the job did not say about its crews, and what was taken instead."""
    told: list[str] = []
    for named, words in (
        ([c.name for c in job.crews if c.start_m is None], "start in the middle of the assets"),
        ([c.name for c in job.crews if c.shift_from_s is None], "start at the job's start"),
        ([c.name for c in job.crews if c.water_m3 is None], "start with a full tank"),
        (
            [c.name for c in job.crews if c.concentrate_m3 is None],
            "carry concentrate for all of it",
        ),
    ):
        if named:
            told.append(f"Not given, so taken to {words}: {', '.join(named)}.")
    return tuple(told)
