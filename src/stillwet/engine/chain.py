"""Why: the chain of numbers behind one asset's answer, in the order of the method."""

from __future__ import annotations

from stillwet.domain.chain import Chain, Link
from stillwet.domain.job import Job
from stillwet.domain.plan import AssetPlan, Plan
from stillwet.engine.sensitivity import shares_of
from stillwet.errors import Problem, StillwetError, shown


def chain_of(job: Job, plan: Plan, asset_id: str) -> Chain:
    """Explain one asset of a plan made from this job. Raises StillwetError for an unknown asset."""
    found = [asset for asset in plan.assets if asset_id in (asset.asset_id, asset.name)]
    if not found:
        known = ", ".join(sorted(asset.asset_id for asset in plan.assets)[:30])
        raise StillwetError(Problem("asset", f"one of {known}", shown(asset_id)))
    answer = found[0]
    asset = next(item for item in job.assets if item.id == answer.asset_id)
    face = answer.governing
    return Chain(
        asset=answer,
        links=_links(job, answer),
        inputs=answer.inputs + plan.inputs,
        shares=shares_of(
            job,
            asset,
            face.surface,
            coat_kg_m2=face.coat_kg_m2 or min(face.cling_limit_kg_m2, face.coat_needed_kg_m2),
            ratio=face.mix_ratio,
            lay_s=face.lay_time_s,
        ),
    )


def _links(job: Job, answer: AssetPlan) -> tuple[Link, ...]:
    face = answer.governing
    ember = job.practice.ember_reserve_kg_m2
    return (
        Link(
            "What will the fire ask?",
            "peak heat flux at the face",
            face.peak_flux_w_m2,
            "W/m2",
            "tilted solid flame, exact view factor, air transmissivity; or as typed in",
            "view factor: contour integral (Siegel & Howell); Fuss & Hamins 2002",
        ),
        Link(
            "What will the fire ask?",
            "water the fire takes, middle case",
            face.water_demand_50_kg_m2,
            "kg/m2",
            "net heat over the water's heat to dry, by efficiency",
            "energy balance; IAPWS-97 heats; efficiency is an untested default",
        ),
        Link(
            "What will the fire ask?",
            "water left for embers",
            ember,
            "kg/m2",
            "a stated reserve through the ember period",
            "practice; untested default unless the job sets it",
        ),
        Link(
            "What will the sky take?",
            "drying demand summed from laying to the latest arrival, middle case",
            face.drying_to_arrival_kg_m2,
            "kg/m2",
            "wet-surface energy balance per facing and hour",
            "Lewis relation; flat plate (Incropera), Churchill & Bernstein, Churchill & Chu",
        ),
        Link(
            "What must be there at the start?",
            "coat needed for 9 cases in 10",
            face.coat_needed_kg_m2 if face.coat_needed_kg_m2 < 1e6 else None,
            "kg/m2",
            "falling-rate drying in closed form, thinnest tenth of a lognormal coat",
            "falling-rate law; exponent and unevenness are untested defaults unless tried",
        ),
        Link(
            "What will cling?",
            "thickest coat counted on",
            face.cling_limit_kg_m2,
            "kg/m2",
            "yield stress over weight along the face, less safety",
            "h = tau_y / (rho g sin theta); product curve as stated below",
        ),
        Link(
            "Until when?",
            "share of cases in which the coat meets the whole demand",
            face.probability,
            "fraction",
            f"{job.members} quasi-random members, seed {job.seed}",
            "scrambled Sobol sequence (Owen 1998)",
        ),
    )
