"""Is gel right here: the facts of a job, an asset or a stretch of line, and what the rules say."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from stillwet.domain.assets import Asset
from stillwet.domain.basis import BasisKind
from stillwet.domain.job import Job
from stillwet.domain.lines import Line, LinePurpose, LineSegment
from stillwet.domain.plan import Plan
from stillwet.domain.suitability import (
    Agent,
    AgentFit,
    Delivery,
    Fit,
    JobSuitability,
    RuleFinding,
    Scope,
    Suitability,
    Task,
    plain_words,
)
from stillwet.domain.weather import Weather
from stillwet.engine.faces import is_building
from stillwet.engine.mixing import hardest_water
from stillwet.engine.suitability_fields import LINE_KIND, Facts, Value
from stillwet.engine.suitability_rules import evaluate
from stillwet.engine.surroundings import (
    Surroundings,
    asset_shape,
    strip_shape,
    surroundings_of,
)
from stillwet.tables import load_table

_TASK_OF_PURPOSE = {
    LinePurpose.BURN: Task.LINE,
    LinePurpose.BESIDE: Task.REINFORCEMENT,
    LinePurpose.SLOWING: Task.REINFORCEMENT,
}


@dataclass(frozen=True, slots=True)
class Laying:
    """When and how a coat is to be laid: first and last moment [epoch s], ratio if it is known."""

    first_s: float
    last_s: float
    ratio: float | None = None


def task_of(asset: Asset) -> Task:
    """What an asset is treated for: its own task, else what its kind is usually treated for."""
    return asset.site.task or _task_of_kind(asset.kind)


@cache
def _task_of_kind(kind: str) -> Task:
    return Task(load_table("suitability")["task_of_kind"][kind])


def job_facts(job: Job) -> Facts:
    """What the rules may know of the job as a whole."""
    local, product = job.local, job.product
    hardest = hardest_water(job)
    guessed = BasisKind.UNTESTED
    bases = [point.basis.get("hardness") for point in job.water_points]
    return {
        "product": product.name,
        "product_type": product.product_type,
        "product_approved": _is_approved(job),
        "foam_in_equipment": local.foam_in_equipment,
        "hardness": None if hardest is None else hardest.hardness_kg_m3,
        "hardness_known": bool(bases) and not any(b and b.kind is guessed for b in bases),
        "water_drawn": bool(job.streams_m),
        "wells_drawn": bool(job.wells),
        "ground_buffer": local.ground_buffer_m,
        "well_buffer": local.well_buffer_m,
        "wind_limit": local.wind_limit_m_s,
    }


def _is_approved(job: Job) -> bool | None:
    if job.local.approved is None:
        return None
    listed = {plain_words(name) for name in job.local.approved}
    return bool(listed & {plain_words(job.product.id), plain_words(job.product.name)})


def asset_facts(job: Job, asset: Asset, around: Surroundings, laying: Laying) -> Facts:
    """What the rules may know of one asset, beside what they know of the job."""
    site, shape = asset.site, asset_shape(asset)
    return {
        "kind": asset.kind,
        "released": False if not asset.released else (True if site.release_told else None),
        "energised": site.energised,
        "heritage": site.heritage,
        "has_roof": is_building(asset),
        "has_windows": site.has_windows,
        "collects_rain": site.collects_rain,
        "water_distance": around.to_water_m(shape),
        "well_distance": around.to_well_m(shape),
        "lay_to_fire": asset.fire.arrival_to_s - laying.first_s,
        **_delivery_facts(job, site.delivery),
        **_laying_facts(job, laying),
    }


def segment_facts(
    job: Job, line: Line, segment: LineSegment, around: Surroundings, laying: Laying
) -> Facts:
    """What the rules may know of a stretch of line, beside what they know of the job."""
    shape = strip_shape(segment, line.work.wet_sides)
    return {
        "kind": LINE_KIND,
        "has_roof": False,
        "water_distance": around.to_water_m(shape),
        "well_distance": around.to_well_m(shape),
        **_delivery_facts(job, Delivery.GROUND),
        **_laying_facts(job, laying),
    }


def _delivery_facts(job: Job, delivery: Delivery) -> Facts:
    label, allowed = job.product.delivery, job.local.delivery
    return {
        "delivery": delivery,
        "delivery_on_label": delivery in label if label else None,
        "delivery_allowed": None if allowed is None else delivery in allowed,
    }


def _laying_facts(job: Job, laying: Laying) -> Facts:
    low, high = job.product.ratio_low, job.product.ratio_high
    share: Value | None = None
    if laying.ratio is not None and high > low:
        share = (laying.ratio - low) / (high - low)
    return {
        "ratio": laying.ratio,
        "ratio_low": low,
        "ratio_high": high,
        "ratio_share": share,
        "wind_at_lay": strongest_wind(job.weather, laying),
    }


def strongest_wind(weather: Weather, laying: Laying) -> float:
    """Strongest forecast wind [m/s] from the first to the last moment of laying."""
    between = weather.time_s[
        (weather.time_s > laying.first_s) & (weather.time_s < laying.last_s)
    ].tolist()
    moments = np.array([laying.first_s, *between, laying.last_s])
    return float(np.interp(moments, weather.time_s, weather.wind_speed_m_s).max())


def asset_suitability(
    job: Job, asset: Asset, around: Surroundings, laying: Laying, job_wide: Facts | None = None
) -> Suitability:
    """What the rules say of coating one asset with gel.

    ``job_wide``: ``job_facts(job)``, where the caller has it. Findings of the job's scope are in.
    """
    task = task_of(asset)
    facts = {
        **(job_facts(job) if job_wide is None else job_wide),
        **asset_facts(job, asset, around, laying),
        **_of_task(task, Agent.GEL),
    }
    return Suitability(asset.id, asset.name, asset.kind, task, evaluate(facts))


def line_suitability(job: Job, line: Line, around: Surroundings) -> tuple[Suitability, ...]:
    """What the rules say of each stretch of a line, at the wind when its work begins."""
    start_s = job.start_s if line.work.start_s is None else line.work.start_s
    laying = Laying(start_s, start_s, line.work.mix_ratio)
    task, found = _TASK_OF_PURPOSE[line.purpose], []
    for segment in line.segments:
        facts = {
            **job_facts(job),
            **segment_facts(job, line, segment, around, laying),
            **_of_task(task, Agent.GEL),
        }
        name = line.name if segment.name == line.name else f"{line.name}: {segment.name}"
        found.append(Suitability(segment.id, name, LINE_KIND, task, evaluate(facts)))
    return tuple(found)


def _of_task(task: Task, agent: Agent) -> dict[str, Value | None]:
    return {"task": task, "agent": agent}


def job_findings(job: Job) -> tuple[RuleFinding, ...]:
    """What the rules say of the job as a whole."""
    return evaluate(job_facts(job), (Scope.JOB,))


def job_suitability(job: Job, plan: Plan, cautions: tuple[str, ...]) -> JobSuitability:
    """The answer for a whole job with the coats as planned: strictest first, else as planned."""
    around, job_wide = surroundings_of(job), job_facts(job)
    by_id = {asset.id: asset for asset in job.assets}
    places = [
        _local(
            asset_suitability(
                job,
                by_id[answer.asset_id],
                around,
                Laying(
                    min(face.lay_time_s for face in answer.surfaces),
                    max(face.lay_time_s for face in answer.surfaces),
                    answer.governing.mix_ratio,
                ),
                job_wide,
            )
        )
        for answer in plan.assets
    ]
    for line in job.lines:
        places += [_local(found) for found in line_suitability(job, line, around)]
    return JobSuitability(
        job_name=job.name,
        product_name=job.product.name,
        findings=job_findings(job),
        places=tuple(sorted(places, key=lambda place: -place.fit.severity)),
        cautions=cautions,
    )


def own_findings(said: tuple[RuleFinding, ...]) -> tuple[RuleFinding, ...]:
    """Without what is said once for the whole job, unless it forbids."""
    return tuple(one for one in said if one.scope is not Scope.JOB or one.fit is Fit.DO_NOT)


def _local(found: Suitability) -> Suitability:
    return replace(found, findings=own_findings(found.findings))


def compare_agents(task: Task, job: Job | None = None) -> tuple[AgentFit, ...]:
    """Every agent for a task; with a job, its own findings count for gel too."""
    found = []
    for agent in Agent:
        findings = evaluate(_of_task(task, agent), (Scope.TASK,))
        if agent is Agent.GEL and job is not None:
            findings += job_findings(job)
        ordered = tuple(sorted(findings, key=lambda one: -one.fit.severity))
        found.append(AgentFit(agent, ordered))
    return tuple(found)
