"""What the fire asks of each face of an asset: flux history, then water demand by member."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.assets import Asset, Surface
from stillwet.domain.fire import FireExposure, StandingFire
from stillwet.domain.job import Job
from stillwet.engine.fire_behaviour import fire_cases, settle_fire
from stillwet.engine.members import Members

if TYPE_CHECKING:
    from stillwet.physics.flux import FluxHistory

Array = NDArray[np.float64]

# Water demand is reckoned at these factors on the flux and interpolated between them by member.
_FLUX_FACTORS = np.array([0.25, 0.5, 0.75, 1.0, 1.25, 1.5, 2.0, 3.0])
_PATH_M = 20.0  # a path inside the fit's own: what is asked is whether the air is
WET_CONVECTION_W_M2K = 15.0  # a wet face near 100 C in outdoor air; untested default, 5 to 40


@dataclass(frozen=True, eq=False)
class FireAsk:
    """The fire's demand on the faces of one asset. S faces, M members, T times."""

    time_s: Array  # (T,) from the start of the pulse
    flux_w_m2: Array  # (S, T)
    peak_flux_w_m2: Array  # (S,)
    water_demand_kg_m2: Array  # (S, M)
    bare_ignition_s: tuple[float | None, ...]  # under the peak flux
    contact: NDArray[np.bool_]  # (S,) flames touch the face
    air_temperature_k: float
    is_air_in_range: bool  # of the published transmissivity


def _contact_flux(name: str) -> float:
    """The named fire's flux where its flames touch."""
    from stillwet.physics.exposures import exposures
    from stillwet.physics.flux import CONTACT_FLUX

    known = exposures()
    return known[name].contact_flux_w_m2.value if name in known else CONTACT_FLUX


def _source(
    fire: FireExposure | StandingFire,
    surfaces: tuple[Surface, ...],
    air: tuple[float, float],
    *,
    spread_rate_m_s: float,
    ground_slope_deg: float,
) -> FluxHistory:
    """One fire's flux at the faces; ``air`` is temperature [K] and humidity [fraction]."""
    from stillwet.physics.flux import FluxHistory, front_flux_history

    time_s, flux = front_flux_history(
        flame_length_m=fire.flame_length_m,
        flame_width_m=fire.flame_width_m,
        flame_tilt_deg=fire.flame_tilt_deg,
        spread_rate_m_s=spread_rate_m_s,
        residence_s=fire.residence_s,
        setback_m=fire.setback_m,
        face_tilt_deg=np.array([face.tilt_deg for face in surfaces]),
        face_azimuth_deg=np.array([face.azimuth_deg for face in surfaces]),
        face_height_m=np.array([face.height_m for face in surfaces]),
        fire_bearing_deg=fire.bearing_deg,
        air_temperature_k=air[0],
        relative_humidity=air[1],
        contact_flux_w_m2=_contact_flux(fire.name),
        ground_slope_deg=ground_slope_deg,
    )
    return FluxHistory(fire.name, np.asarray(time_s), np.asarray(flux))


def _front(
    fire: FireExposure, surfaces: tuple[Surface, ...], air: tuple[float, float]
) -> FluxHistory:
    """The front's flux at the faces: what was typed in, else its flame's."""
    from stillwet.physics.flux import FluxHistory, flux_from_peak

    if fire.flux_peak_w_m2 is not None and fire.flux_duration_s is not None:
        time_s, flux = flux_from_peak(
            flux_peak_w_m2=fire.flux_peak_w_m2,
            flux_duration_s=fire.flux_duration_s,
            faces=len(surfaces),
        )
        return FluxHistory(fire.name, time_s, flux)
    return _source(
        fire,
        surfaces,
        air,
        spread_rate_m_s=fire.spread_rate_m_s,
        ground_slope_deg=fire.ground_slope_deg,
    )


def _beside(
    fire: FireExposure, surfaces: tuple[Surface, ...], air: tuple[float, float]
) -> list[FluxHistory]:
    """What burns beside the front, on level ground: lit when the front arrives."""
    return [
        _source(extra, surfaces, air, spread_rate_m_s=0.0, ground_slope_deg=0.0)
        for extra in fire.also
    ]


def _together(front: FluxHistory, beside: list[FluxHistory]) -> tuple[Array, Array]:
    from stillwet.physics.flux import sum_fluxes

    if not beside:
        return front.time_s, front.flux_w_m2
    return sum_fluxes(sources=[front, *beside])


def leans_to_face(flame: FireExposure | StandingFire) -> bool:
    """True when the flame's tip lies over the setback or beyond."""
    lean_m = flame.flame_length_m * math.sin(math.radians(flame.flame_tilt_deg))
    return flame.flame_length_m > 0.0 and lean_m >= flame.setback_m


def _touched(
    fire: FireExposure, front: FluxHistory, beside: list[FluxHistory]
) -> NDArray[np.bool_]:
    """The faces (S,) that flames of any of the fires reach."""
    found = np.zeros(len(front.flux_w_m2), dtype=np.bool_)
    flames: list[tuple[FireExposure | StandingFire, FluxHistory]] = []
    if fire.flux_peak_w_m2 is None:
        flames.append((fire, front))
    flames += list(zip(fire.also, beside, strict=True))
    for flame, history in flames:
        if leans_to_face(flame):
            found |= history.flux_w_m2.max(axis=1) >= _contact_flux(flame.name)
    return found


def ask_of_asset(
    job: Job, asset: Asset, surfaces: tuple[Surface, ...], members: Members
) -> FireAsk:
    """The water demand of every face and member, from the asset's exposure and material.

    The air is that forecast for the latest arrival; the coat is taken to start at its temperature.
    A flame reckoned from fuel moves with each member's wind and humidity; what is told of the flux
    itself is that of the forecast as it stands.
    """
    from stillwet.physics.ignition import bare_time
    from stillwet.physics.materials import materials

    fire = settle_fire(job, asset.fire)
    air = _air_at_fire(job, fire)
    front, beside = _front(fire, surfaces, air), _beside(fire, surfaces, air)
    time_s, flux = _together(front, beside)
    peak = flux.max(axis=1)
    material = materials()[asset.material]
    bare = bare_time(material=material, flux_w_m2=peak, start_temperature_k=air[0])
    cases = fire_cases(job, fire, members)
    fronts = [front if case == fire else _front(case, surfaces, air) for case in cases.fires]
    grid = np.stack([_demand_grid(asset, air[0], *_together(each, beside)) for each in fronts])
    demand = _by_member(grid, cases.position, members.flux_factor)
    return FireAsk(
        time_s=time_s,
        flux_w_m2=flux,
        peak_flux_w_m2=peak,
        water_demand_kg_m2=demand / members.water_efficiency[None, :],
        bare_ignition_s=tuple(_finite(value) for value in bare),
        contact=_touched(fire, front, beside),
        air_temperature_k=air[0],
        is_air_in_range=fire.flux_peak_w_m2 is not None or _is_in_range(air),
    )


def _air_at_fire(job: Job, fire: FireExposure) -> tuple[float, float]:
    """Temperature [K] and humidity [fraction] forecast for the latest arrival."""
    when, weather = fire.arrival_to_s, job.weather
    return (
        float(np.interp(when, weather.time_s, weather.air_temperature_k)),
        float(np.interp(when, weather.time_s, weather.relative_humidity)),
    )


def _is_in_range(air: tuple[float, float]) -> bool:
    from stillwet.physics.transmissivity import is_in_fuss_hamins_range

    return bool(
        is_in_fuss_hamins_range(path_m=_PATH_M, air_temperature_k=air[0], relative_humidity=air[1])
    )


def _demand_grid(asset: Asset, air_temperature_k: float, time_s: Array, flux: Array) -> Array:
    """Water demand (S, F) at each flux factor, at an efficiency of 1.

    A member's efficiency divides it afterwards.
    """
    from stillwet.physics.demand import water_demand
    from stillwet.physics.ignition import bare_limit
    from stillwet.physics.materials import materials

    material = materials()[asset.material]
    return np.asarray(
        water_demand(
            time_s=time_s,
            flux_w_m2=flux[:, None, :] * _FLUX_FACTORS[:, None],
            absorptivity=material.emissivity.value,
            start_temperature_k=air_temperature_k,
            air_temperature_k=air_temperature_k,
            convection_w_m2k=WET_CONVECTION_W_M2K,
            water_efficiency=1.0,
            bare_limit_w_m2=bare_limit(material=material),
        )
    )


def _by_member(grid: Array, position: Array, flux_factor: Array) -> Array:
    """The demand (S, M) read off a grid (cases, S, F) at each member's case and flux factor."""
    by_case = np.stack(
        [[np.interp(flux_factor, _FLUX_FACTORS, face) for face in case] for case in grid]
    )
    lower = np.clip(position.astype(np.int64), 0, max(0, len(grid) - 2))
    upper = np.minimum(lower + 1, len(grid) - 1)
    share = position - lower
    every = np.arange(position.size)
    below, above = by_case[lower, :, every].T, by_case[upper, :, every].T
    return np.asarray(below + share * (above - below))


def _finite(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None


def protection_under_peak(
    asset: Asset, ask: FireAsk, *, index: int, water_kg_m2: float, water_efficiency: float
) -> float | None:
    """Seconds that water left on a face, and then the bare face, stand the peak flux held steady.

    None when the face stands it without end.
    """
    from stillwet.physics.ignition import protection_time
    from stillwet.physics.materials import materials

    return _finite(
        protection_time(
            material=materials()[asset.material],
            flux_w_m2=float(ask.peak_flux_w_m2[index]),
            coat_kg_m2=water_kg_m2,
            start_temperature_k=ask.air_temperature_k,
            air_temperature_k=ask.air_temperature_k,
            convection_w_m2k=WET_CONVECTION_W_M2K,
            water_efficiency=water_efficiency,
        )
    )
