"""The clean-up list of a plan: what was coated, with what, and which water is near."""

from __future__ import annotations

from stillwet.domain.assets import Asset, Geometry
from stillwet.domain.cleaning import CleanAsset, CleanCrew, CleanFace, CleanUp
from stillwet.domain.job import Job
from stillwet.domain.plan import AssetPlan, Plan, SurfacePlan
from stillwet.domain.products import Crew
from stillwet.engine.surroundings import Surroundings, asset_shape, surroundings_of


def make_clean_up(job: Job, plan: Plan) -> CleanUp:
    """What is to be washed and flushed if the plan is carried out, in the plan's order."""
    around = surroundings_of(job)
    by_id = {asset.id: asset for asset in job.assets}
    foam = job.local.foam_in_equipment
    return CleanUp(
        assets=tuple(
            _asset(by_id[asset.asset_id], asset, around)
            for asset in plan.assets
            if asset.mix_m3 > 0.0
        ),
        crews=tuple(_crew(crew, foam) for crew in job.crews),
        wells=tuple((well.kind, well.name) for well in job.wells),
        water_points=tuple(point.name for point in job.water_points),
        has_streams=bool(job.streams_m),
    )


def _asset(asset: Asset, plan: AssetPlan, around: Surroundings) -> CleanAsset:
    shape = asset_shape(asset)
    return CleanAsset(
        asset_id=asset.id,
        name=asset.name,
        faces=tuple(_face(face) for face in plan.surfaces if face.coat_kg_m2 > 0.0),
        mix_m3=plan.mix_m3,
        collects_rain=asset.site.collects_rain,
        has_windows=asset.site.has_windows,
        is_heritage=asset.site.heritage,
        to_stream_m=around.to_water_m(shape),
        to_well_m=around.to_well_m(shape),
    )


def _face(face: SurfacePlan) -> CleanFace:
    return CleanFace(
        surface_id=face.surface.id,
        label=face.surface.label,
        area_m2=face.surface.area_m2,
        coat_kg_m2=face.coat_kg_m2,
        is_slippery=face.surface.geometry is Geometry.ROOF,
    )


def _crew(crew: Crew, foam: bool | None) -> CleanCrew:
    gear = crew.gear
    return CleanCrew(
        crew_id=crew.id,
        name=crew.name,
        tank_m3=crew.tank_m3,
        hoses_m=() if gear is None else gear.hoses_m,
        has_eductor=gear is not None and gear.eductor_flow_m3_s is not None,
        may_hold_foam=foam,
    )
