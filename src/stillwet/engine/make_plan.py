"""The plan, made the way the method reads: the fire, the sky, the coat, the mix, the work."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.assets import Surface
from stillwet.domain.job import Job
from stillwet.domain.plan import AssetPlan, Plan, WeatherSummary
from stillwet.domain.weather import HOUR_S
from stillwet.engine import coating, mixing
from stillwet.engine.asset_plan import Answer, asset_plans
from stillwet.engine.cautions import fire_warnings, job_cautions, job_warnings, rule_warnings
from stillwet.engine.inputs import job_inputs
from stillwet.engine.prepared import Prepared, Progress, prepare
from stillwet.engine.quantities import load_for
from stillwet.engine.suitability import job_findings
from stillwet.engine.verdicts import CONFIDENT, EVEN
from stillwet.engine.weather_summary import weather_summary
from stillwet.version import VERSION

Array = NDArray[np.float64]


def make_plan(job: Job, *, now_s: float, progress: Progress | None = None) -> Plan:
    """Reckon the whole job backward from the fire.

    Parameters: job; now_s, when the plan is made [epoch s] (recorded, not reckoned with); progress,
    called with a step's name and the share done. Returns a Plan, worst asset first; the same job
    gives the same plan to the bit. Raises StillwetError where the job cannot be reckoned at all.
    """
    return plan_of(prepare(job, progress=progress), now_s=now_s, progress=progress)


def plan_of(
    prepared: Prepared,
    *,
    now_s: float,
    lay_times: Mapping[str, float] | None = None,
    progress: Progress | None = None,
) -> Plan:
    """The plan of a prepared job; see ``make_plan``.

    ``lay_times``: when spraying of a face begins [epoch s], by surface id, where crews have a time
    for it; such a coat is reckoned from that moment, the others from the work window.
    """
    tell = progress or (lambda _step, _share: None)
    job, asks = prepared.job, prepared.asks
    tell("how thick, and until when", 0.6)
    answer = _reckon(prepared, lay_times or {})
    tell("what it takes", 0.9)
    plans = asset_plans(job, prepared.faces, asks, answer)
    tell("done", 1.0)
    return _assemble(job, now_s, plans, fire_warnings(job, asks))


def _reckon(prepared: Prepared, lay_times: Mapping[str, float]) -> Answer:
    """Coat, ratio, times and probability of every face, in arrays over all faces at once."""
    job, members = prepared.job, prepared.members
    surfaces, drying = prepared.surfaces, prepared.drying
    practice, ask, mix, cling = job.practice, prepared.demand, prepared.mix, prepared.cling
    arrival, until = ask.arrival_s, prepared.until_s
    told = np.array([lay_times.get(face.id, np.nan) for face in surfaces])
    latest = np.maximum(until, job.start_s)
    free = np.clip(until - practice.work_window_s, prepared.from_s, latest)
    lay = np.where(np.isnan(told), free, np.clip(told, job.start_s, latest))
    spread = coating.make_spread(members, cling / mix.keep)
    needed = coating.coat_needed(drying, spread, ask, lay_s=lay, confidence=CONFIDENT)
    passes = np.array([asset.coats for asset in job.assets for _ in prepared.faces[asset.id]])
    thinnest = passes * practice.thinnest_coat_kg_m2
    wanted = np.maximum(coating.round_coat_up(needed), thinnest)
    coat = np.minimum(wanted, cling)
    ratio = _one_ratio_an_asset(surfaces, mixing.ratio_for(mix, surfaces, coat))
    spread = coating.make_spread(members, mixing.cling_median(mix, surfaces, ratio))
    first = coating.apply_from(
        drying,
        spread,
        ask,
        coat=coat,
        start_s=prepared.from_s,
        until_s=latest,
        confidence=CONFIDENT,
    )
    # A coat too thin for the planned lay time is laid later; one that never holds, last of all.
    late = np.where(np.isnan(first), latest, first)
    lay = np.where(np.isnan(told), np.maximum(lay, late), lay)
    hold = coating.hold_until(drying, spread, ask, coat=coat, lay_s=lay)
    chance = coating.probability(drying, spread, ask, coat=coat, lay_s=lay)
    return Answer(
        coat=coat,
        needed=needed,
        cling=cling,
        ratio=ratio,
        lay_s=lay,
        apply_from_s=first,
        apply_until_s=until,
        probability=np.where(until < job.start_s, 0.0, chance),
        hold_50_s=coating.reached(hold, EVEN),
        hold_90_s=coating.reached(hold, CONFIDENT),
        drying=np.median(drying.at(arrival) - drying.at(lay), axis=1),
        left=np.median(coating.left_at(drying, spread, coat=coat, lay_s=lay, at_s=arrival), axis=1),
    )


def _one_ratio_an_asset(surfaces: tuple[Surface, ...], ratio: Array) -> Array:
    """The highest ratio that any face of an asset asks for: a dial is not turned face by face."""
    highest: dict[str, float] = {}
    for face, value in zip(surfaces, ratio, strict=True):
        highest[face.asset_id] = max(float(value), highest.get(face.asset_id, 0.0))
    return np.array([highest[face.asset_id] for face in surfaces])


def _assemble(
    job: Job, now_s: float, plans: tuple[AssetPlan, ...], of_fire: tuple[str, ...]
) -> Plan:
    sprayed = [face.mix_ratio for plan in plans for face in plan.surfaces if face.mix_m3 > 0]
    marks = (job.input_hash, VERSION, str(job.seed), str(job.members))
    return Plan(
        id=hashlib.sha256("|".join(marks).encode()).hexdigest()[:10],
        job_name=job.name,
        time_zone=job.time_zone,
        crs=job.crs,
        made_s=now_s,
        start_s=job.start_s,
        model_version=VERSION,
        seed=job.seed,
        members=job.members,
        input_hash=job.input_hash,
        product_name=job.product.name,
        ratio_basis=job.product.ratio_basis.value,
        mix_ratio=max(sprayed, default=0.0),
        assets=plans,
        load=load_for(job, plans),
        weather=_weather_summary(job),
        lines_m=tuple(line.track_m for line in job.lines),
        streams_m=job.streams_m,
        water_points_m=tuple((point.name, point.x_m, point.y_m) for point in job.water_points),
        cautions=job_cautions(),
        warnings=(*job_warnings(job, plans), *of_fire, *rule_warnings(job_findings(job))),
        inputs=job_inputs(job),
    )


def _weather_summary(job: Job) -> WeatherSummary:
    weather = job.weather
    used = (weather.time_s >= job.start_s - 1.0) & (weather.time_s < job.fire_over_s + HOUR_S)
    return weather_summary(weather, used)
