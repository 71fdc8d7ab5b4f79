"""The plan, made the way the method reads: the fire, the sky, the coat, the mix, the work."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.assets import Asset, Surface
from stillwet.domain.job import Job
from stillwet.domain.plan import AssetPlan, Plan, SurfacePlan, Verdict, WeatherSummary
from stillwet.domain.suitability import Fit, RuleFinding, strictest
from stillwet.domain.weather import HOUR_S, Weather
from stillwet.engine import coating, mixing
from stillwet.engine.cautions import (
    asset_cautions,
    conditions_of,
    fire_warnings,
    job_cautions,
    job_warnings,
    rule_cautions,
    rule_warnings,
)
from stillwet.engine.exposure import FireAsk, protection_under_peak
from stillwet.engine.inputs import asset_inputs, job_inputs
from stillwet.engine.prepared import Prepared, Progress, prepare
from stillwet.engine.quantities import NOTHING, Amount, amount_for, load_for, reference_crew
from stillwet.engine.suitability import (
    Laying,
    asset_suitability,
    job_facts,
    job_findings,
    own_findings,
)
from stillwet.engine.suitability_fields import Facts
from stillwet.engine.surroundings import Surroundings, surroundings_of
from stillwet.engine.verdicts import CONFIDENT, Finding, governing_cause, reason_of, verdict_of
from stillwet.engine.weather_summary import weather_summary
from stillwet.version import VERSION

Array = NDArray[np.float64]

_WORST_FIRST = (Verdict.WILL_NOT_HOLD, Verdict.DOUBTFUL, Verdict.HOLDS, Verdict.DO_NOT_COAT)


@dataclass(frozen=True, eq=False)
class _Answer:
    """The reckoning for all faces of the job. S faces, M members."""

    coat: Array
    needed: Array
    cling: Array
    ratio: Array
    lay_s: Array
    apply_from_s: Array
    apply_until_s: Array
    probability: Array
    hold_50_s: Array
    hold_90_s: Array
    drying: Array
    left: Array  # median water of the thinnest tenth when the front arrives


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
    plans = _asset_plans(job, prepared.faces, asks, answer)
    tell("done", 1.0)
    return _assemble(job, now_s, plans, fire_warnings(job, asks))


def _reckon(prepared: Prepared, lay_times: Mapping[str, float]) -> _Answer:
    """Coat, ratio, times and probability of every face, in arrays over all faces at once."""
    job, members, surfaces, drying = (
        prepared.job,
        prepared.members,
        prepared.surfaces,
        prepared.drying,
    )
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
    return _Answer(
        coat=coat,
        needed=needed,
        cling=cling,
        ratio=ratio,
        lay_s=lay,
        apply_from_s=first,
        apply_until_s=until,
        probability=np.where(until < job.start_s, 0.0, chance),
        hold_50_s=np.quantile(hold, 0.5, axis=1, method="lower"),
        hold_90_s=np.quantile(hold, 1.0 - CONFIDENT, axis=1, method="lower"),
        drying=np.median(drying.at(arrival) - drying.at(lay), axis=1),
        left=np.median(coating.left_at(drying, spread, coat=coat, lay_s=lay, at_s=arrival), axis=1),
    )


def _one_ratio_an_asset(surfaces: tuple[Surface, ...], ratio: Array) -> Array:
    """The highest ratio that any face of an asset asks for: a dial is not turned face by face."""
    highest: dict[str, float] = {}
    for face, value in zip(surfaces, ratio, strict=True):
        highest[face.asset_id] = max(float(value), highest.get(face.asset_id, 0.0))
    return np.array([highest[face.asset_id] for face in surfaces])


def _asset_plans(
    job: Job,
    faces: dict[str, tuple[Surface, ...]],
    asks: dict[str, FireAsk],
    answer: _Answer,
) -> tuple[AssetPlan, ...]:
    plans = []
    row = 0
    around, job_wide = surroundings_of(job), job_facts(job)
    for asset in job.assets:
        count = len(faces[asset.id])
        said = _rules_on(job, asset, around, job_wide, answer, slice(row, row + count))
        plans.append(_asset_plan(job, asset, faces[asset.id], asks[asset.id], answer, row, said))
        row += count
    return tuple(sorted(plans, key=_urgency))


def _rules_on(
    job: Job,
    asset: Asset,
    around: Surroundings,
    job_wide: Facts,
    answer: _Answer,
    rows: slice,
) -> tuple[RuleFinding, ...]:
    """What the rules say of coating this asset as reckoned, strictest first."""
    lay = answer.lay_s[rows]
    laying = Laying(float(lay.min()), float(lay.max()), float(answer.ratio[rows][0]))
    return asset_suitability(job, asset, around, laying, job_wide).findings


def _urgency(plan: AssetPlan) -> tuple[int, float, float, str]:
    return (
        _WORST_FIRST.index(plan.verdict),
        plan.governing.probability,
        plan.fire_window_from_s,
        plan.asset_id,
    )


def _asset_plan(
    job: Job,
    asset: Asset,
    surfaces: tuple[Surface, ...],
    ask: FireAsk,
    answer: _Answer,
    first_row: int,
    said: tuple[RuleFinding, ...],
) -> AssetPlan:
    forbidding = next((found for found in said if found.fit is Fit.DO_NOT), None)
    drafts = [
        _finding(job, asset, ask, answer, (first_row + index, index))
        for index in range(len(surfaces))
    ]
    verdicts = [verdict_of(found.probability) for found in drafts]
    hopeless = Verdict.WILL_NOT_HOLD in verdicts
    plans = tuple(
        _surface_plan(
            job,
            asset,
            face,
            ask,
            answer,
            (first_row + index, index),
            drafts[index],
            forbidding,
            is_sprayed=forbidding is None and not hopeless,
        )
        for index, face in enumerate(surfaces)
    )
    governing = min(
        plans,
        key=lambda plan: (
            _WORST_FIRST.index(plan.verdict),
            plan.probability,
            -plan.coat_needed_kg_m2,
        ),
    )
    crew = reference_crew(job)
    mix = sum(plan.mix_m3 for plan in plans)
    own = own_findings(said)
    fit = strictest(own)
    return AssetPlan(
        asset_id=asset.id,
        name=asset.name,
        kind=asset.kind,
        value=asset.value,
        x_m=asset.x_m,
        y_m=asset.y_m,
        footprint_m=asset.footprint_m,
        exposure=asset.fire.name,
        fire_window_from_s=asset.fire.arrival_from_s,
        fire_window_to_s=asset.fire.arrival_to_s + job.practice.ember_period_s,
        arrival_to_s=asset.fire.arrival_to_s,
        verdict=governing.verdict,
        reason=governing.reason,
        governing=governing,
        surfaces=plans,
        area_m2=sum(face.area_m2 for face in surfaces),
        mix_m3=mix,
        water_m3=sum(plan.water_m3 for plan in plans),
        concentrate_m3=sum(plan.concentrate_m3 for plan in plans),
        work_s=(crew.setup_s if mix > 0 else 0.0) + sum(plan.spray_s for plan in plans),
        cautions=(
            *asset_cautions(asset, surfaces, ask.peak_flux_w_m2),
            *rule_cautions(said, forbidding),
        ),
        inputs=asset_inputs(asset),
        fire_bearing_deg=asset.fire.bearing_deg,
        note=asset.note,
        suitability=fit,
        conditions=conditions_of(own) if fit is Fit.ONLY_IF else (),
    )


def _finding(
    job: Job, asset: Asset, ask: FireAsk, answer: _Answer, rows: tuple[int, int]
) -> Finding:
    row, index = rows
    return Finding(
        probability=float(answer.probability[row]),
        coat=float(answer.coat[row]),
        needed=float(answer.needed[row]),
        cling=float(answer.cling[row]),
        thinnest=asset.coats * job.practice.thinnest_coat_kg_m2,
        water_demand=float(np.median(ask.water_demand_kg_m2[index])),
        reserve=job.practice.ember_reserve_kg_m2,
        drying=float(answer.drying[row]),
        apply_until_s=float(answer.apply_until_s[row]),
        start_s=job.start_s,
        contact=bool(ask.contact[index]),
    )


def _surface_plan(
    job: Job,
    asset: Asset,
    face: Surface,
    ask: FireAsk,
    answer: _Answer,
    rows: tuple[int, int],
    found: Finding,
    forbidding: RuleFinding | None,
    *,
    is_sprayed: bool,
) -> SurfacePlan:
    row, index = rows
    ratio = float(answer.ratio[row])
    amount = _amount(job, face, found.coat, ratio) if is_sprayed else NOTHING
    has_window = not np.isnan(answer.apply_from_s[row])
    return SurfacePlan(
        surface=face,
        verdict=Verdict.DO_NOT_COAT if forbidding else verdict_of(found.probability),
        reason=f"{forbidding.reason} {forbidding.instead}" if forbidding else reason_of(found),
        governs="rule" if forbidding else governing_cause(found),
        coat_kg_m2=found.coat if is_sprayed else 0.0,
        coat_needed_kg_m2=found.needed,
        cling_limit_kg_m2=found.cling,
        mix_ratio=ratio,
        lay_time_s=float(answer.lay_s[row]),
        apply_from_s=float(answer.apply_from_s[row]) if has_window and is_sprayed else None,
        apply_until_s=found.apply_until_s if is_sprayed else None,
        hold_until_50_s=float(answer.hold_50_s[row]) if is_sprayed else None,
        hold_until_90_s=float(answer.hold_90_s[row]) if is_sprayed else None,
        probability=found.probability,
        water_demand_50_kg_m2=found.water_demand,
        water_demand_90_kg_m2=float(np.quantile(ask.water_demand_kg_m2[index], CONFIDENT)),
        drying_to_arrival_kg_m2=found.drying,
        peak_flux_w_m2=float(ask.peak_flux_w_m2[index]),
        bare_ignition_s=ask.bare_ignition_s[index],
        protection_s=protection_under_peak(
            asset,
            ask,
            index=index,
            water_kg_m2=float(answer.left[row]),
            water_efficiency=job.practice.water_efficiency,
        ),
        mix_m3=amount.mix_m3,
        water_m3=amount.water_m3,
        concentrate_m3=amount.concentrate_m3,
        spray_s=amount.spray_s,
    )


def _amount(job: Job, face: Surface, coat: float, ratio: float) -> Amount:
    return amount_for(
        job.product,
        area_m2=face.area_m2,
        coat_kg_m2=coat,
        ratio=ratio,
        transfer_efficiency=job.practice.transfer_efficiency,
        flow_m3_s=reference_crew(job).spray_flow_m3_s,
    )


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
        weather=_weather_summary(job.weather, job),
        lines_m=tuple(line.track_m for line in job.lines),
        streams_m=job.streams_m,
        water_points_m=tuple((point.name, point.x_m, point.y_m) for point in job.water_points),
        cautions=job_cautions(),
        warnings=(*job_warnings(job, plans), *of_fire, *rule_warnings(job_findings(job))),
        inputs=job_inputs(job),
    )


def _weather_summary(weather: Weather, job: Job) -> WeatherSummary:
    last = max(asset.fire.arrival_to_s for asset in job.assets) + job.practice.ember_period_s
    used = (weather.time_s >= job.start_s - 1.0) & (weather.time_s < last + HOUR_S)
    return weather_summary(weather, used)
