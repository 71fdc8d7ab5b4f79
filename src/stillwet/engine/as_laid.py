"""What if the coats are already on: one plan's coats, held against a changed job."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from stillwet.domain.comparison import AsLaid
from stillwet.domain.job import Job
from stillwet.domain.plan import Plan, SurfacePlan
from stillwet.engine import coating, mixing
from stillwet.engine.prepared import Prepared
from stillwet.engine.verdicts import verdict_of


def as_laid(job: Job, plan: Plan, changed: Prepared) -> dict[str, AsLaid]:
    """How each coated asset of ``plan``, made from ``job``, fares if ``changed`` is the truth.

    Coats, ratios and lay times are the plan's. Assets of which no face is coated are not in it.
    """
    by_id = {face.surface.id: face for asset in plan.assets for face in asset.surfaces}
    plans = [by_id[surface.id] for surface in changed.surfaces]
    coated: dict[str, list[tuple[float, SurfacePlan]]] = {}
    for chance, face in zip(_chances(job, plans, changed), plans, strict=True):
        if face.coat_kg_m2 > 0:
            coated.setdefault(face.surface.asset_id, []).append((chance, face))
    found = {}
    for asset_id, faces in coated.items():
        # As in a plan: of faces with the same chance, the one that needs the thickest coat.
        chance, face = min(faces, key=lambda each: (each[0], -each[1].coat_needed_kg_m2))
        found[asset_id] = AsLaid(verdict_of(chance), chance, face.surface.label)
    return found


def _chances(job: Job, plans: list[SurfacePlan], changed: Prepared) -> list[float]:
    """The share of members in which each face's coat meets the changed demand."""
    # The mix sprayed was reckoned with the efficiency that the job stated.
    sprayed = changed.job.practice.transfer_efficiency / job.practice.transfer_efficiency
    members = replace(changed.members, coat_factor=changed.members.coat_factor * sprayed)
    ratio = np.array([face.mix_ratio for face in plans])
    lay_s = np.array([face.lay_time_s for face in plans])
    chance = coating.probability(
        changed.drying,
        coating.make_spread(members, mixing.cling_median(changed.mix, changed.surfaces, ratio)),
        changed.demand,
        coat=np.array([face.coat_kg_m2 for face in plans]),
        lay_s=lay_s,
    )
    # A coat that is not yet on when the front may come does not count.
    earliest_s = changed.until_s + changed.job.practice.egress_lead_s
    return [float(value) for value in np.where(lay_s <= earliest_s, chance, 0.0)]
