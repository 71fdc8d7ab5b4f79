"""What if the coats are already on: one plan's coats, held against a changed job."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from stillwet.domain.comparison import AsLaid
from stillwet.domain.job import Job
from stillwet.domain.plan import Plan, SurfacePlan
from stillwet.engine import coating, mixing
from stillwet.engine.drying import job_drying
from stillwet.engine.exposure import ask_of_asset
from stillwet.engine.fire_behaviour import settle_fires
from stillwet.engine.members import draw_members
from stillwet.engine.verdicts import verdict_of


def as_laid(job: Job, plan: Plan, changed: Job) -> dict[str, AsLaid]:
    """How each coated asset of ``plan``, made from ``job``, fares if ``changed`` is the truth.

    Coats, ratios and lay times are the plan's. Assets of which no face is coated are not in it.
    """
    coated = {
        asset.asset_id: tuple(face for face in asset.surfaces if face.coat_kg_m2 > 0)
        for asset in plan.assets
        if any(face.coat_kg_m2 > 0 for face in asset.surfaces)
    }
    if not coated:
        return {}
    changed = settle_fires(
        replace(changed, assets=tuple(asset for asset in changed.assets if asset.id in coated))
    )
    chances = iter(_chances(job, changed, coated))
    found = {}
    for asset in changed.assets:
        faces = [(next(chances), face) for face in coated[asset.id]]
        # As in a plan: of faces with the same chance, the one that needs the thickest coat.
        chance, face = min(faces, key=lambda each: (each[0], -each[1].coat_needed_kg_m2))
        found[asset.id] = AsLaid(verdict_of(chance), chance, face.surface.label)
    return found


def _chances(job: Job, changed: Job, coated: dict[str, tuple[SurfacePlan, ...]]) -> list[float]:
    """The share of members in which each face's coat meets the demand, asset by asset."""
    members = draw_members(changed)
    # The mix sprayed was reckoned with the efficiency that the job stated.
    sprayed = changed.practice.transfer_efficiency / job.practice.transfer_efficiency
    members = replace(members, coat_factor=members.coat_factor * sprayed)
    plans = [face for asset in changed.assets for face in coated[asset.id]]
    surfaces = tuple(face.surface for face in plans)
    fires = [asset.fire for asset in changed.assets for _ in coated[asset.id]]
    ratio = np.array([face.mix_ratio for face in plans])
    lay_s = np.array([face.lay_time_s for face in plans])
    arrival_s = np.array([fire.arrival_to_s for fire in fires])
    demand = [
        ask_of_asset(
            changed, asset, tuple(face.surface for face in coated[asset.id]), members
        ).water_demand_kg_m2
        for asset in changed.assets
    ]
    chance = coating.probability(
        job_drying(changed, surfaces, members),
        coating.make_spread(
            members, mixing.cling_median(mixing.make_mix(changed, members), surfaces, ratio)
        ),
        coating.Ask(
            water_demand=np.concatenate(demand),
            arrival_s=arrival_s,
            end_s=arrival_s + changed.practice.ember_period_s,
            reserve=changed.practice.ember_reserve_kg_m2,
        ),
        coat=np.array([face.coat_kg_m2 for face in plans]),
        lay_s=lay_s,
    )
    # A coat that is not yet on when the front may come does not count.
    is_on = lay_s <= np.array([fire.arrival_from_s for fire in fires])
    return [float(value) for value in np.where(is_on, chance, 0.0)]
