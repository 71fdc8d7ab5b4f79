"""Areas and coats to mix, water, concentrate, fills, minutes and cost."""

from __future__ import annotations

import math
from dataclasses import dataclass

from stillwet.domain.assets import Surface
from stillwet.domain.job import Job
from stillwet.domain.plan import AssetPlan, CrewLoad, Load
from stillwet.domain.products import Crew, Product
from stillwet.engine.mixing import concentrate_share, packs_for, water_share
from stillwet.errors import Problem, StillwetError


@dataclass(frozen=True, slots=True)
class Amount:
    """What one face takes at the nozzle, losses included."""

    mix_m3: float
    water_m3: float
    concentrate_m3: float
    spray_s: float


NOTHING = Amount(0.0, 0.0, 0.0, 0.0)


def reference_crew(job: Job) -> Crew:
    """The crew whose nozzle flow the spraying minutes are reckoned with: the first listed."""
    if not job.crews:
        raise StillwetError(Problem("crews", "at least one crew", "none"))
    return job.crews[0]


def amount_for(
    product: Product,
    *,
    area_m2: float,
    coat_kg_m2: float,
    ratio: float,
    transfer_efficiency: float,
    flow_m3_s: float,
) -> Amount:
    """Mix to spray on one face so that ``coat_kg_m2`` of water stays on it on average."""
    share = water_share(product, ratio)
    mix = area_m2 * coat_kg_m2 / 1000.0 / share / transfer_efficiency
    return Amount(
        mix_m3=mix,
        water_m3=mix * share,
        concentrate_m3=mix * concentrate_share(product, ratio),
        spray_s=mix / flow_m3_s,
    )


def face_amount(job: Job, face: Surface, coat: float, ratio: float) -> Amount:
    """What a coat [kg/m2] on one face takes as the job plans it, sprayed by the reference crew."""
    return amount_for(
        job.product,
        area_m2=face.area_m2,
        coat_kg_m2=coat,
        ratio=ratio,
        transfer_efficiency=job.practice.transfer_efficiency,
        flow_m3_s=reference_crew(job).spray_flow_m3_s,
    )


def _crew_load(crew: Crew, mix_m3: float) -> CrewLoad:
    fills = math.ceil(mix_m3 / crew.usable_m3 - 1e-9) if crew.usable_m3 > 0 else None
    return CrewLoad(
        crew_id=crew.id,
        name=crew.name,
        usable_m3=crew.usable_m3,
        fills=fills,
        spray_s=mix_m3 / crew.spray_flow_m3_s,
    )


def load_for(job: Job, assets: tuple[AssetPlan, ...]) -> Load:
    """The load list of the whole job: what all coated assets take together."""
    mix = sum(asset.mix_m3 for asset in assets)
    concentrate = sum(asset.concentrate_m3 for asset in assets)
    packs = packs_for(job.product, concentrate)
    return Load(
        mix_m3=mix,
        water_m3=sum(asset.water_m3 for asset in assets),
        concentrate_m3=concentrate,
        concentrate_kg=concentrate * job.product.density_kg_m3,
        packs=packs,
        cost=job.product.price(packs),
        crews=tuple(_crew_load(crew, mix) for crew in job.crews),
        reference_crew=reference_crew(job).name,
        currency=job.currency,
    )
