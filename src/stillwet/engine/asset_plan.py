"""What was reckoned for every face, put together as the plan of each asset."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.assets import Asset, Surface
from stillwet.domain.job import Job
from stillwet.domain.plan import AssetPlan, SurfacePlan, Verdict
from stillwet.domain.suitability import Fit, RuleFinding, strictest
from stillwet.engine.cautions import asset_cautions, conditions_of, rule_cautions
from stillwet.engine.exposure import FireAsk, protection_under_peak
from stillwet.engine.inputs import asset_inputs
from stillwet.engine.quantities import NOTHING, face_amount, reference_crew
from stillwet.engine.suitability import Laying, asset_suitability, job_facts, own_findings
from stillwet.engine.suitability_fields import Facts
from stillwet.engine.surroundings import Surroundings, surroundings_of
from stillwet.engine.verdicts import CONFIDENT, Finding, governing_cause, reason_of, verdict_of

Array = NDArray[np.float64]

_WORST_FIRST = (Verdict.WILL_NOT_HOLD, Verdict.DOUBTFUL, Verdict.HOLDS, Verdict.DO_NOT_COAT)

_OF_LAYING = {"lay_to_fire", "wind_at_lay"}  # what rules know of the moment of laying


@dataclass(frozen=True, eq=False)
class Answer:
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


@dataclass(frozen=True, eq=False)
class _Case:
    """One asset with what was reckoned for it; its faces are rows ``first`` on of the answer."""

    job: Job
    asset: Asset
    surfaces: tuple[Surface, ...]
    ask: FireAsk
    answer: Answer
    first: int
    said: tuple[RuleFinding, ...]

    @cached_property
    def forbidding(self) -> RuleFinding | None:
        """The rule that forbids coating it, if one does."""
        return next((found for found in self.said if found.fit is Fit.DO_NOT), None)


def asset_plans(
    job: Job,
    faces: dict[str, tuple[Surface, ...]],
    asks: dict[str, FireAsk],
    answer: Answer,
) -> tuple[AssetPlan, ...]:
    """Every asset's plan, worst first; rows of ``answer`` follow the job's assets and faces."""
    plans = []
    row = 0
    around, job_wide = surroundings_of(job), job_facts(job)
    for asset in job.assets:
        count = len(faces[asset.id])
        said = _rules_on(job, asset, around, job_wide, answer, slice(row, row + count))
        case = _Case(job, asset, faces[asset.id], asks[asset.id], answer, row, said)
        plans.append(_asset_plan(case))
        row += count
    return tuple(sorted(plans, key=_urgency))


def _rules_on(
    job: Job,
    asset: Asset,
    around: Surroundings,
    job_wide: Facts,
    answer: Answer,
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


def _asset_plan(case: _Case) -> AssetPlan:
    job, asset = case.job, case.asset
    plans = _surface_plans(case)
    governing = min(plans, key=_weakness)
    mix = sum(plan.mix_m3 for plan in plans)
    said = case.said if mix > 0 else _without_laying(case.said)
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
        area_m2=sum(face.area_m2 for face in case.surfaces),
        mix_m3=mix,
        water_m3=sum(plan.water_m3 for plan in plans),
        concentrate_m3=sum(plan.concentrate_m3 for plan in plans),
        work_s=(reference_crew(job).setup_s if mix > 0 else 0.0)
        + sum(plan.spray_s for plan in plans),
        cautions=(
            *asset_cautions(asset, case.surfaces, case.ask.peak_flux_w_m2),
            *rule_cautions(said, case.forbidding),
        ),
        inputs=asset_inputs(asset),
        fire_bearing_deg=asset.fire.bearing_deg,
        note=asset.note,
        suitability=fit,
        conditions=conditions_of(own) if fit is Fit.ONLY_IF else (),
    )


def _without_laying(said: tuple[RuleFinding, ...]) -> tuple[RuleFinding, ...]:
    """Conditions on how a coat is laid have no place where none is."""
    return tuple(
        found
        for found in said
        if found.fit is not Fit.ONLY_IF or not _OF_LAYING & {fact.name for fact in found.facts}
    )


def _surface_plans(case: _Case) -> tuple[SurfacePlan, ...]:
    """Every face's plan; where one face is hopeless, none of them is sprayed."""
    found = [_finding(case, index) for index in range(len(case.surfaces))]
    hopeless = any(verdict_of(one.probability) is Verdict.WILL_NOT_HOLD for one in found)
    is_sprayed = case.forbidding is None and not hopeless
    return tuple(_surface_plan(case, index, one, is_sprayed) for index, one in enumerate(found))


def _weakness(plan: SurfacePlan) -> tuple[int, float, float]:
    """The weakest face first: by verdict, by chance, then by the coat it asks for."""
    return (_WORST_FIRST.index(plan.verdict), plan.probability, -plan.coat_needed_kg_m2)


def _finding(case: _Case, index: int) -> Finding:
    job, ask, answer, row = case.job, case.ask, case.answer, case.first + index
    return Finding(
        probability=float(answer.probability[row]),
        coat=float(answer.coat[row]),
        needed=float(answer.needed[row]),
        cling=float(answer.cling[row]),
        thinnest=case.asset.coats * job.practice.thinnest_coat_kg_m2,
        water_demand=float(np.median(ask.water_demand_kg_m2[index])),
        reserve=job.practice.ember_reserve_kg_m2,
        drying=float(answer.drying[row]),
        apply_until_s=float(answer.apply_until_s[row]),
        start_s=job.start_s,
        contact=bool(ask.contact[index]),
    )


def _surface_plan(case: _Case, index: int, found: Finding, is_sprayed: bool) -> SurfacePlan:
    ask, answer, row, forbidding = case.ask, case.answer, case.first + index, case.forbidding
    ratio = float(answer.ratio[row])
    face = case.surfaces[index]
    amount = face_amount(case.job, face, found.coat, ratio) if is_sprayed else NOTHING
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
            case.asset,
            ask,
            index=index,
            water_kg_m2=float(answer.left[row]),
            water_efficiency=case.job.practice.water_efficiency,
        ),
        mix_m3=amount.mix_m3,
        water_m3=amount.water_m3,
        concentrate_m3=amount.concentrate_m3,
        spray_s=amount.spray_s,
    )
