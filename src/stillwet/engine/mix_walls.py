"""Walls of the mix window on faces and assets: where a coat slides, falls off, leaves the label."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.job import Job
from stillwet.domain.mix_window import AssetWindow, ClingCurve, FaceWindow, Wall, WallKind
from stillwet.domain.plan import AssetPlan, SurfacePlan, Verdict
from stillwet.domain.products import Product
from stillwet.engine.coating import round_coat_up
from stillwet.engine.mix_draws import BAND, Curve, MixDraws, cling_at, ratio_at
from stillwet.engine.mixing import MIX_DENSITY_KG_M3

Array = NDArray[np.float64]

_HARDEST_KG_M3 = 5.0  # no natural water that anybody mixes with is harder
_HALVINGS = 40


@dataclass(frozen=True, slots=True)
class Scope:
    """What one ratio has to serve: assets, their tightest walls, and who sets the lower one."""

    assets: tuple[AssetWindow, ...]
    lower: Wall
    upper: Wall
    lower_asset: AssetWindow

    @property
    def is_open(self) -> bool:
        """True when one ratio serves them all."""
        return self.lower.ratio <= self.upper.ratio


def wanted_coat(job: Job, face: SurfacePlan) -> float:
    """The coat a mix has to keep on a face [kg/m2].

    What the plan lays where that holds; elsewhere what 90 % confidence would take, were it to
    cling: infinite when no thickness is enough.
    """
    if face.verdict is Verdict.HOLDS and face.coat_kg_m2 > 0.0:
        return face.coat_kg_m2
    needed = float(round_coat_up(np.array(face.coat_needed_kg_m2)))
    return max(needed, job.practice.thinnest_coat_kg_m2)


def asset_window(job: Job, asset: AssetPlan, draws: MixDraws) -> AssetWindow:
    """The window of one asset: the tightest of its faces' walls and the label's."""
    faces = tuple(_face_window(job, face, draws) for face in asset.surfaces)
    lowest = max(faces, key=lambda face: face.cling.ratio)
    fall = min((face.fall for face in faces), key=lambda wall: wall.ratio)
    low, high = label_walls(job.product)
    soft = in_water(draws, 0.0, draws.mix.curve["temperature_k"])
    return AssetWindow(
        asset_id=asset.asset_id,
        name=asset.name,
        is_released=asset.verdict is not Verdict.DO_NOT_COAT,
        faces=faces,
        lower=max(lowest.cling, low, key=lambda wall: wall.ratio),
        upper=min(high, fall, key=lambda wall: wall.ratio),
        lower_face=lowest.label,
        soft_lower=counted_walls(job, (asset,), soft)[0],
        is_at_cling_limit=any(
            plan.surface.label == lowest.label
            and plan.verdict is Verdict.HOLDS
            and plan.coat_kg_m2 < plan.coat_needed_kg_m2
            for plan in asset.surfaces
        ),
    )


def counted_walls(job: Job, plans: tuple[AssetPlan, ...], draws: MixDraws) -> tuple[float, float]:
    """The tightest lower and upper wall over the faces of these assets and the label."""
    faces = [face for plan in plans for face in plan.surfaces]
    coats = np.array([wanted_coat(job, face) for face in faces])
    tilts = np.array([face.surface.tilt_deg for face in faces])
    adhesion = np.array(draws.mix.adhesion_pa)
    sure = coats / draws.mix.keep
    lower = _ratios(draws.middle, _leanest_pa(sure, tilts, adhesion))
    upper = _ratios(draws.middle, _stiffest_pa(sure, tilts, adhesion))
    product = job.product
    return (
        max(product.ratio_low, float(lower.max(initial=0.0))),
        min(product.ratio_high, float(upper.min(initial=np.inf))),
    )


def label_walls(product: Product) -> tuple[Wall, Wall]:
    """The label's range as walls; they do not waver."""
    low, high = product.ratio_low, product.ratio_high
    return Wall(WallKind.LABEL_LOW, low, low, low), Wall(WallKind.LABEL_HIGH, high, high, high)


def _face_window(job: Job, face: SurfacePlan, draws: MixDraws) -> FaceWindow:
    coat, tilt = wanted_coat(job, face), face.surface.tilt_deg
    return FaceWindow(
        surface_id=face.surface.id,
        label=face.surface.label,
        tilt_deg=tilt,
        coat_kg_m2=coat,
        cling=cling_wall(draws, coat, tilt),
        fall=fall_wall(draws, coat, tilt),
    )


def cling_wall(draws: MixDraws, coat_kg_m2: float, tilt_deg: float) -> Wall:
    """Leanest ratio that keeps a coat. Counted with the plan's safety; its band has none."""
    coat, tilt = np.array([coat_kg_m2]), np.array([tilt_deg])
    counted = _leanest_pa(coat / draws.mix.keep, tilt, np.array([draws.mix.adhesion_pa]))
    members = _leanest_pa(coat, tilt, draws.adhesion_pa)
    return _wall(WallKind.CLING, draws, counted, members)


def fall_wall(draws: MixDraws, coat_kg_m2: float, tilt_deg: float) -> Wall:
    """Richest ratio that keeps a coat: beyond it the mix no longer wets the face."""
    coat, tilt = np.array([coat_kg_m2]), np.array([tilt_deg])
    counted = _stiffest_pa(coat / draws.mix.keep, tilt, np.array([draws.mix.adhesion_pa]))
    members = _stiffest_pa(coat, tilt, draws.adhesion_pa)
    return _wall(WallKind.FALL, draws, counted, members)


def _leanest_pa(coat: Array, tilt: Array, adhesion_pa: Array) -> Array:
    from stillwet.physics.cling import yield_needed

    return np.asarray(
        yield_needed(
            coat_kg_m2=coat,
            tilt_deg=tilt,
            density_kg_m3=MIX_DENSITY_KG_M3,
            safety=1.0,
            adhesion_stress_pa=adhesion_pa,
        )
    )


def _stiffest_pa(coat: Array, tilt: Array, adhesion_pa: Array) -> Array:
    from stillwet.physics.cling import yield_most

    return np.asarray(
        yield_most(coat_kg_m2=coat, tilt_deg=tilt, safety=1.0, adhesion_stress_pa=adhesion_pa)
    )


def cling_curve(
    draws: MixDraws, ratio: Array, *, face: str, tilt_deg: float, needed: float
) -> ClingCurve:
    """Thickest coat that clings against ratio on one face, beside the coat needed there."""
    members = cling_at(draws.members, tilt_deg, ratio, draws.adhesion_pa)
    low, high = np.quantile(members, BAND, axis=1)
    middle = cling_at(draws.middle, tilt_deg, ratio, np.array([draws.mix.adhesion_pa]))[:, 0]
    return ClingCurve(
        face=face,
        ratio=tuple(ratio.tolist()),
        middle_kg_m2=tuple(middle.tolist()),
        low_kg_m2=tuple(low.tolist()),
        high_kg_m2=tuple(high.tolist()),
        counted_kg_m2=tuple((middle * draws.mix.keep).tolist()),
        needed_kg_m2=needed,
    )


def best_wall(draws: MixDraws) -> Wall:
    """The ratio that clings thickest on any face."""
    return _wall(WallKind.FALL, draws, np.array([draws.mix.adhesion_pa]), draws.adhesion_pa)


def _wall(kind: WallKind, draws: MixDraws, counted_pa: Array, members_pa: Array) -> Wall:
    ratios = _ratios(draws.middle, counted_pa), _ratios(draws.members, members_pa)
    # "higher" and "lower" instead of interpolation: some members have no such ratio (infinity)
    low = float(np.quantile(ratios[1], BAND[0], method="lower"))
    high = float(np.quantile(ratios[1], BAND[1], method="higher"))
    return Wall(kind, float(ratios[0][0]), low, high)


def _ratios(curve: Curve, stress_pa: Array) -> Array:
    """From yield stresses to ratios; a stress of zero asks for no thickener at all."""
    return np.where(stress_pa > 0.0, ratio_at(curve, stress_pa), 0.0)


def scope_of(windows: tuple[AssetWindow, ...], product: Product) -> Scope:
    """The tightest walls of those assets that some ratio serves, or of all when none is served."""
    served = tuple(asset for asset in windows if asset.is_open and asset.is_released)
    counted = served or windows
    low, high = label_walls(product)
    hardest = max(counted, key=lambda asset: asset.lower.ratio)
    return Scope(
        assets=counted,
        lower=max(low, hardest.lower, key=lambda wall: wall.ratio),
        upper=min((high, *(asset.upper for asset in counted)), key=lambda wall: wall.ratio),
        lower_asset=hardest,
    )


def in_water(draws: MixDraws, hardness_kg_m3: float, temperature_k: float) -> MixDraws:
    """The same product mixed with another water."""
    water = {"hardness_kg_m3": hardness_kg_m3, "temperature_k": temperature_k}
    return replace(
        draws,
        mix=replace(draws.mix, curve=draws.mix.curve | water),
        middle=draws.middle.in_water(water),
        members=draws.members.in_water(water),
    )


def hardness_limit(job: Job, plans: tuple[AssetPlan, ...], draws: MixDraws) -> float | None:
    """Hardness [kg/m3 as CaCO3] above which not all these assets are served by one ratio.

    None where hardness never closes the window; 0 where soft water does not open it.
    """
    temperature = draws.mix.curve["temperature_k"]

    def is_open(hardness: float) -> bool:
        lower, upper = counted_walls(job, plans, in_water(draws, hardness, temperature))
        return lower <= upper

    if is_open(_HARDEST_KG_M3):
        return None
    if not is_open(0.0):
        return 0.0
    low, high = 0.0, _HARDEST_KG_M3
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if is_open(middle) else (low, middle)
    return low
