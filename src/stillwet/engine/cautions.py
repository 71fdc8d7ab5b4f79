"""The usual cautions, and what this job in particular should make its reader wary of."""

from __future__ import annotations

from typing import Any

from stillwet.domain.assets import Asset
from stillwet.domain.basis import BasisKind
from stillwet.domain.job import Job
from stillwet.domain.plan import AssetPlan, Verdict
from stillwet.engine.drying import HORIZON_AFTER_FIRE_S
from stillwet.tables import load_table
from stillwet.units import depth_in_inches, from_si

_RAIN_WASHES_KG_M2 = 1.0  # untested default, 0.2 to 3 mm: rain that may wash a coat away
_NEAR_WATER_M = 91.44  # 300 ft: aerial distance as published; ground rule is local
_OLD_FORECAST_S = 6 * 3600.0


def job_cautions() -> tuple[str, ...]:
    """The cautions that stand on every plan."""
    table: dict[str, Any] = load_table("cautions")
    return tuple(table["general"]["lines"])


def asset_cautions(job: Job, asset: Asset) -> tuple[str, ...]:
    """The cautions of the asset's kind, and of water near it."""
    table: dict[str, Any] = load_table("cautions")
    kind = tuple(table.get("kind", {}).get(asset.kind, {}).get("lines", ()))
    distance = _distance_to_streams(job, asset)
    if distance is None or distance > _NEAR_WATER_M:
        return kind
    return (
        *kind,
        f"{distance:.0f} m ({from_si(distance, 'ft'):.0f} ft) from a stream: no overspray, runoff "
        "or wash-off may reach it; the local "
        "rule on distance comes first.",
    )


def _distance_to_streams(job: Job, asset: Asset) -> float | None:
    if not job.streams_m:
        return None
    from shapely.geometry import LineString, Point, Polygon

    shape = Polygon(asset.footprint_m) if asset.footprint_m else Point(asset.x_m, asset.y_m)
    return float(min(shape.distance(LineString(stream)) for stream in job.streams_m))


def job_warnings(job: Job, plans: tuple[AssetPlan, ...]) -> tuple[str, ...]:
    """What is shaky in this job: rain, old forecast, untested product, faces nobody can hold."""
    last = max(plan.fire_window_to_s for plan in plans)
    weather = job.weather
    warnings = []
    hopeless = sum(plan.verdict is Verdict.WILL_NOT_HOLD for plan in plans)
    if hopeless:
        warnings.append(
            f"{hopeless} of {len(plans)} assets: no coat will hold. Nothing is planned for them; "
            "spend the water and time elsewhere."
        )
    used = (weather.time_s >= job.start_s) & (weather.time_s <= last)
    rain = float(weather.precipitation_kg_m2[used].max(initial=0.0))
    if rain >= _RAIN_WASHES_KG_M2:
        warnings.append(
            f"Rain of {rain:.1f} mm ({depth_in_inches(rain):.2f} in) in an hour is forecast before "
            "the last fire window ends: a coat it falls on counts as washed, its state unknown. "
            "Rain never restores a coat."
        )
    if weather.issued_s is not None and job.start_s - weather.issued_s > _OLD_FORECAST_S:
        hours = (job.start_s - weather.issued_s) / 3600.0
        warnings.append(f"The forecast is {hours:.0f} h older than the start of work.")
    if float(weather.time_s[-1]) < last + HORIZON_AFTER_FIRE_S:
        warnings.append(
            "The weather ends before every coat does: a hold-until time at the end of the weather "
            "means at least until then."
        )
    untested = [
        name.replace("_", " ")
        for name, basis in job.product.basis.items()
        if basis.kind is BasisKind.UNTESTED
    ]
    if untested:
        warnings.append(
            f"{job.product.name} has no trial behind it. Untested defaults: {', '.join(untested)}. "
            "Mix a bucket and check cling and drying before relying on this plan."
        )
    return (*warnings, *job.remarks)
