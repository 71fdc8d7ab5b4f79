"""The usual cautions, and what this job in particular should make its reader wary of."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.assets import Asset, Surface
from stillwet.domain.basis import BasisKind
from stillwet.domain.fire import FireExposure
from stillwet.domain.job import Job
from stillwet.domain.plan import AssetPlan, Verdict
from stillwet.domain.suitability import Fit, RuleFinding, Scope
from stillwet.engine.exposure import FireAsk
from stillwet.engine.sky import HORIZON_AFTER_FIRE_S
from stillwet.tables import load_table
from stillwet.units import depth_in_inches

Array = NDArray[np.float64]

LOW_FLUX_W_M2 = 12.5e3  # limit of the lowest radiant class, for ember attack (AS 3959:2018)
_RAIN_WASHES_KG_M2 = 1.0  # untested default, 0.2 to 3 mm: rain that may wash a coat away
_OLD_FORECAST_S = 6 * 3600.0


def job_cautions() -> tuple[str, ...]:
    """The cautions that stand on every plan."""
    table: dict[str, Any] = load_table("cautions")
    return tuple(table["general"]["lines"])


def asset_cautions(
    asset: Asset, surfaces: tuple[Surface, ...], peak_flux_w_m2: Array
) -> tuple[str, ...]:
    """The cautions of the asset's kind and fire; those of its place come from the rules.

    Where a face gets little radiant heat the embers come first: such a face is never just safe.
    """
    table: dict[str, Any] = load_table("cautions")
    kind = tuple(table.get("kind", {}).get(asset.kind, {}).get("lines", ()))
    return (
        *_of_embers(asset.fire, surfaces, peak_flux_w_m2),
        *_of_flame(asset.fire),
        *kind,
    )


def rule_cautions(
    said: tuple[RuleFinding, ...], forbidding: RuleFinding | None = None
) -> tuple[str, ...]:
    """What the rules of suitability have to tell on one asset's card, with sources.

    What is said once for the whole job is left to ``rule_warnings``. Where a rule forbids the coat,
    only what else forbids it is told: conditions of a coat that is not laid help nobody.
    """
    if forbidding is not None:
        rest = (found for found in said if found.fit is Fit.DO_NOT and found is not forbidding)
        return tuple(found.sentence() for found in rest)
    own = (found for found in said if found.is_on_card and found.scope is not Scope.JOB)
    return tuple(found.sentence() for found in own)


def conditions_of(said: tuple[RuleFinding, ...]) -> tuple[str, ...]:
    """On which conditions gel may be laid, with sources."""
    return tuple(found.sentence() for found in said if found.fit is Fit.ONLY_IF)


def rule_warnings(said: tuple[RuleFinding, ...]) -> tuple[str, ...]:
    """What the rules of suitability have to tell of the job as a whole, with sources."""
    return tuple(found.sentence() for found in said if found.is_on_card)


def _of_embers(
    fire: FireExposure, surfaces: tuple[Surface, ...], peak_flux_w_m2: Array
) -> tuple[str, ...]:
    from stillwet.physics.exposures import EMBER_WINDOW, exposures

    low = [
        face.label
        for face, flux in zip(surfaces, peak_flux_w_m2, strict=True)
        if flux < LOW_FLUX_W_M2
    ]
    if not low:
        return ()
    known = exposures().get(fire.name)
    said = EMBER_WINDOW if known is None else known.ember_window
    where = "Every face" if len(low) == len(surfaces) else ", ".join(low).capitalize()
    return (f"{where}: little radiant heat (under 12.5 kW/m2). {said}",)


def _of_flame(fire: FireExposure) -> tuple[str, ...]:
    """What left the published range of a relation that the flame was reckoned by."""
    if not fire.flags:
        return ()
    if fire.flame_length_m == 0.0:
        return (
            "By its fuel model and moisture this fire does not spread, so no flame is reckoned "
            "with: type in a flame if you expect one.",
        )
    return (
        f"The reckoned flame is outside what its relations were tested for ({'; '.join(fire.flags)}"
        "): watch the fire and type in what is seen.",
    )


def fire_warnings(job: Job, asks: Mapping[str, FireAsk]) -> tuple[str, ...]:
    """What is shaky in the fires of this job as a whole."""
    flagged = sum(bool(asset.fire.flags) for asset in job.assets)
    dry = sum(not ask.is_air_in_range for ask in asks.values())
    warnings = []
    if flagged:
        warnings.append(
            f"{flagged} of {len(job.assets)} assets meet a reckoned flame outside the range of its "
            "published relations; each says why."
        )
    if dry:
        warnings.append(
            f"At {dry} of {len(asks)} assets the air at the fire is outside the range of the "
            "published transmissivity (19 to 35 C, 25 to 100 % humidity): the flux is extrapolated."
        )
    return tuple(warnings)


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
        tried = any(basis.kind is BasisKind.TRIAL for basis in job.product.basis.values())
        told = "is known by trials only in part" if tried else "has no trial behind it"
        warnings.append(
            f"{job.product.name} {told}. Untested defaults: {', '.join(untested)}. "
            "Mix a bucket and check cling and drying before relying on this plan."
        )
    return (*warnings, *job.remarks)
