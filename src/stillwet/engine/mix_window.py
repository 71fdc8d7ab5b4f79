"""The mix window of a job or an asset: its walls, the ratio to set for each crew, the margins."""

from __future__ import annotations

import math

import numpy as np

from stillwet.domain.basis import BasisKind, Input
from stillwet.domain.gear import Gear
from stillwet.domain.job import Job
from stillwet.domain.mix_window import (
    AssetWindow,
    ClingCurve,
    CrewWindow,
    Fit,
    MixWindow,
    Tank,
    Wall,
    WaterWindow,
)
from stillwet.domain.plan import AssetPlan, Plan
from stillwet.domain.products import Crew, Product
from stillwet.engine.cautions import job_cautions
from stillwet.engine.mix_draws import MixDraws, draw_mix
from stillwet.engine.mix_pumping import SETS, flows_at, pump_wall
from stillwet.engine.mix_signs import hydration_wait_s, leaves_at, signs_at
from stillwet.engine.mix_walls import (
    Scope,
    asset_window,
    best_wall,
    cling_curve,
    counted_walls,
    hardness_limit,
    in_water,
    scope_of,
)
from stillwet.engine.mixing import RATIO_STEP, concentrate_share, hardest_water, water_share

_CURVE_POINTS = 121


def make_mix_window(job: Job, plan: Plan, asset_id: str | None = None) -> MixWindow:
    """Between which ratios the mix of a job, or of one of its assets, does its work.

    Parameters: job; the plan made of it; asset_id, to look at one asset alone.
    """
    draws = draw_mix(job)
    chosen = tuple(one for one in plan.assets if asset_id in (None, one.asset_id))
    windows = tuple(asset_window(job, one, draws) for one in chosen)
    scope = scope_of(windows, job.product)
    best = best_wall(draws)
    crews = _crew_windows(job, draws, scope, best)
    shown = _ratio_shown(crews, scope, best, job.product, _plan_ratio(chosen))
    counted = {asset.asset_id for asset in scope.assets}
    served = tuple(one for one in chosen if one.asset_id in counted)
    return MixWindow(
        job_name=job.name,
        plan_id=plan.id,
        asset_name="" if asset_id is None else chosen[0].name,
        product_name=job.product.name,
        product_type=draws.kind.name,
        curve_basis=_curve_basis(job.product),
        ratio_basis=job.product.ratio_basis.value,
        label_low=job.product.ratio_low,
        label_high=job.product.ratio_high,
        best=best,
        assets=tuple(sorted(windows, key=lambda one: (one.is_open, -one.lower.ratio))),
        lower=scope.lower,
        upper=scope.upper,
        lower_asset=scope.lower_asset.name,
        is_one_ratio_enough=scope.is_open or not any(one.is_open for one in scope.assets),
        crews=crews,
        waters=_waters(job, served, draws),
        hardness_limit_kg_m3=hardness_limit(job, _with_coat(served, windows), draws),
        curve=_curve(job, draws, scope, best),
        leaves=leaves_at(job, draws, shown),
        plan_ratio=_plan_ratio(chosen),
        ratio_shown=shown,
        hydration_wait_s=hydration_wait_s(draws),
        signs=signs_at(draws, shown),
        inputs=tuple(item for crew in job.crews for item in _gear_inputs(crew)),
        cautions=job_cautions(),
    )


def _plan_ratio(plans: tuple[AssetPlan, ...]) -> float:
    """The richest mix of the coats that are laid; the sheets of the crews say no other."""
    laid = (face.mix_ratio for one in plans for face in one.surfaces if face.mix_m3 > 0.0)
    return max(laid, default=0.0)


def _curve_basis(product: Product) -> str:
    basis = product.basis.get("yield_coefficient")
    if basis is None:
        return str(BasisKind.GIVEN)
    return f"{basis.kind} ({basis.source})" if basis.source else str(basis.kind)


def _waters(job: Job, plans: tuple[AssetPlan, ...], draws: MixDraws) -> tuple[WaterWindow, ...]:
    """The window of the same assets in each of the job's waters."""
    hardest = hardest_water(job)
    found = []
    for point in job.water_points:
        mixed = in_water(draws, point.hardness_kg_m3, point.water_temperature_k)
        lower, upper = counted_walls(job, plans, mixed)
        found.append(
            WaterWindow(
                name=point.name,
                hardness_kg_m3=point.hardness_kg_m3,
                temperature_k=point.water_temperature_k,
                lower=lower,
                is_open=lower <= upper,
                is_reckoned_with=point is hardest,
            )
        )
    return tuple(found)


def _with_coat(
    plans: tuple[AssetPlan, ...], windows: tuple[AssetWindow, ...]
) -> tuple[AssetPlan, ...]:
    """Those assets that some thickness of coat would serve."""
    able = {one.asset_id for one in windows if one.has_coat}
    return tuple(plan for plan in plans if plan.asset_id in able)


def _crew_windows(job: Job, draws: MixDraws, scope: Scope, best: Wall) -> tuple[CrewWindow, ...]:
    known: dict[tuple[Gear, float], tuple[Wall, Wall]] = {}
    found = []
    for crew in job.crews:
        if crew.gear is None:
            continue
        key = (crew.gear, crew.spray_flow_m3_s)
        if key not in known:
            a, b = (pump_wall(draws, crew, crew.gear, which) for which in SETS)
            known[key] = (a, b)
        found.append(_crew_window(job.product, draws, scope, best, crew, crew.gear, known[key]))
    return tuple(found)


def _crew_window(
    product: Product,
    draws: MixDraws,
    scope: Scope,
    best: Wall,
    crew: Crew,
    gear: Gear,
    pumps: tuple[Wall, Wall],
) -> CrewWindow:
    upper = min((scope.upper, *pumps), key=lambda wall: wall.ratio)
    fit, ratio = setting_for(
        scope.lower.ratio,
        upper.ratio,
        best.ratio,
        delivered=(gear.delivered_low, gear.delivered_high),
    )
    is_open = fit is not Fit.CLOSED
    return CrewWindow(
        crew_id=crew.id,
        name=crew.name,
        wanted_flow_m3_s=crew.spray_flow_m3_s,
        pumps=pumps,
        delivered_low=gear.delivered_low,
        delivered_high=gear.delivered_high,
        fit=fit,
        upper=upper,
        ratio=ratio,
        lean_margin=1.0 - scope.lower.ratio / ratio,
        rich_margin=upper.ratio / ratio - 1.0,
        flows=flows_at(draws, gear, ratio) if is_open else (),
        tank=_tank(product, crew, ratio) if is_open else None,
    )


def setting_for(
    lower: float, upper: float, best: float, *, delivered: tuple[float, float]
) -> tuple[Fit, float]:
    """How a proportioner fits between two walls, and the ratio to set on it.

    Parameters: lower and upper wall, best ratio, and the leanest and richest ``delivered`` ratio
    over the one set. Where all that may be delivered fits, the leanest such ratio is set, to save
    concentrate; else the one that strays over both walls by the same factor. Never above the best
    ratio; NaN where the window is closed.
    """
    if not lower <= upper:
        return Fit.CLOSED, math.nan
    lean, rich = lower / delivered[0], upper / delivered[1]
    stepped = math.ceil(lean / RATIO_STEP - 1e-9) * RATIO_STEP
    if stepped <= rich + 1e-12 and stepped <= best + 1e-12:
        return Fit.FITS, stepped
    middle = math.sqrt(lean * rich)
    first, last = math.ceil(lower / RATIO_STEP - 1e-9), math.floor(upper / RATIO_STEP + 1e-9)
    if first <= last:
        step = min(max(round(min(middle, best) / RATIO_STEP), first), last)
        return Fit.NARROW, step * RATIO_STEP
    return Fit.NARROW, min(max(middle, lower), upper)


def _tank(product: Product, crew: Crew, ratio: float) -> Tank:
    """One fill: what is sprayed of it is usable, what stays is the reserve, mixed as well."""
    mix = crew.tank_m3
    concentrate = mix * concentrate_share(product, ratio)
    return Tank(
        mix_m3=mix,
        water_m3=mix * water_share(product, ratio),
        concentrate_m3=concentrate,
        concentrate_kg=concentrate * product.density_kg_m3,
        packs=concentrate / product.pack_m3,
    )


def _ratio_shown(
    crews: tuple[CrewWindow, ...], scope: Scope, best: Wall, product: Product, planned: float
) -> float:
    """The first crew's ratio to set; else the plan's; else the nearest on the label that clings."""
    for crew in crews:
        if crew.fit is not Fit.CLOSED:
            return crew.ratio
    if planned > 0.0:
        return planned
    wanted = min(scope.lower.ratio, best.ratio, product.ratio_high)
    return max(wanted, product.ratio_low)


def _curve(job: Job, draws: MixDraws, scope: Scope, best: Wall) -> ClingCurve:
    asset = scope.lower_asset
    face = next(one for one in asset.faces if one.label == asset.lower_face)
    ends = [job.product.ratio_high, *(r for r in (scope.lower.ratio,) if math.isfinite(r))]
    if best.ratio < 2.0 * job.product.ratio_high:
        ends.append(best.ratio)
    ratio = np.linspace(0.0, 1.3 * max(ends), _CURVE_POINTS)
    return cling_curve(
        draws,
        ratio,
        face=f"{asset.name}, {face.label}",
        tilt_deg=face.tilt_deg,
        needed=face.coat_kg_m2,
    )


_GEAR_UNITS = {
    "pump_flow": "m3/s",
    "pump_pressure": "Pa",
    "hose_bore": "m",
    "hose_length": "m",
    "lift": "m",
    "nozzle_pressure": "Pa",
    "nozzle_least": "Pa",
    "delivered_low": "fraction",
    "delivered_high": "fraction",
}


def _gear_inputs(crew: Crew) -> tuple[Input, ...]:
    """The numbers of a crew's gear that nobody gave, with where they come from."""
    gear = crew.gear
    if gear is None:
        return ()
    values = {
        "pump_flow": gear.pump_flow_m3_s[-1],
        "pump_pressure": gear.pump_pressure_pa[0],
        "hose_bore": gear.hoses_m[0][0],
        "hose_length": gear.hoses_m[0][1],
        "lift": gear.lift_m,
        "nozzle_pressure": gear.nozzle_pressure_pa,
        "nozzle_least": gear.nozzle_least_pa,
        "delivered_low": gear.delivered_low,
        "delivered_high": gear.delivered_high,
    }
    return tuple(
        Input(f"{crew.name}: {name.replace('_', ' ')}", value, _GEAR_UNITS[name], crew.basis[name])
        for name, value in values.items()
        if name in crew.basis and crew.basis[name].kind is not BasisKind.GIVEN
    )
