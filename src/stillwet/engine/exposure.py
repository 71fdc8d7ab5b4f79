"""What the fire asks of each face of an asset: flux history, then water demand by member."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.assets import Asset, Surface
from stillwet.domain.fire import FireExposure
from stillwet.domain.job import Job
from stillwet.engine.members import Members

Array = NDArray[np.float64]

# Water demand is reckoned at these factors on the flux and interpolated between them by member.
_FLUX_FACTORS = np.array([0.25, 0.5, 0.75, 1.0, 1.25, 1.5, 2.0, 3.0])
WET_CONVECTION_W_M2K = 15.0  # a wet face near 100 C in outdoor air; untested default, 5 to 40


@dataclass(frozen=True, eq=False)
class FireAsk:
    """The fire's demand on the faces of one asset. S faces, M members, T times."""

    time_s: Array  # (T,) from the start of the pulse
    flux_w_m2: Array  # (S, T)
    peak_flux_w_m2: Array  # (S,)
    water_demand_kg_m2: Array  # (S, M)
    bare_ignition_s: tuple[float | None, ...]  # under the peak flux
    contact: bool  # flames touch the faces
    air_temperature_k: float


def _flux_history(
    fire: FireExposure,
    surfaces: tuple[Surface, ...],
    *,
    air_temperature_k: float,
    relative_humidity: float,
) -> tuple[Array, Array]:
    from stillwet.physics.exposures import exposures
    from stillwet.physics.flux import CONTACT_FLUX, flux_from_peak, front_flux_history

    if fire.flux_peak_w_m2 is not None and fire.flux_duration_s is not None:
        return flux_from_peak(
            flux_peak_w_m2=fire.flux_peak_w_m2,
            flux_duration_s=fire.flux_duration_s,
            faces=len(surfaces),
        )
    time_s, flux = front_flux_history(
        flame_length_m=fire.flame_length_m,
        flame_width_m=fire.flame_width_m,
        flame_tilt_deg=fire.flame_tilt_deg,
        spread_rate_m_s=fire.spread_rate_m_s,
        residence_s=fire.residence_s,
        setback_m=fire.setback_m,
        face_tilt_deg=np.array([face.tilt_deg for face in surfaces]),
        face_azimuth_deg=np.array([face.azimuth_deg for face in surfaces]),
        face_height_m=np.array([face.height_m for face in surfaces]),
        fire_bearing_deg=fire.bearing_deg,
        air_temperature_k=air_temperature_k,
        relative_humidity=relative_humidity,
        contact_flux_w_m2=(
            exposures()[fire.name].contact_flux_w_m2.value
            if fire.name in exposures()
            else CONTACT_FLUX
        ),
    )
    return np.asarray(time_s), np.asarray(flux)


def ask_of_asset(
    job: Job, asset: Asset, surfaces: tuple[Surface, ...], members: Members
) -> FireAsk:
    """The water demand of every face and member, from the asset's exposure and material.

    The air is that forecast for the latest arrival; the coat is taken to start at its temperature.
    """
    from stillwet.physics.demand import water_demand
    from stillwet.physics.ignition import bare_limit, bare_time
    from stillwet.physics.materials import materials

    when, weather = asset.fire.arrival_to_s, job.weather
    air_temperature_k = float(np.interp(when, weather.time_s, weather.air_temperature_k))
    relative_humidity = float(np.interp(when, weather.time_s, weather.relative_humidity))
    time_s, flux = _flux_history(
        asset.fire,
        surfaces,
        air_temperature_k=air_temperature_k,
        relative_humidity=relative_humidity,
    )
    material = materials()[asset.material]
    # At an efficiency of 1 and each flux factor; a member's efficiency divides it afterwards.
    grid = np.stack(
        [
            water_demand(
                time_s=time_s,
                flux_w_m2=flux * factor,
                absorptivity=material.emissivity.value,
                start_temperature_k=air_temperature_k,
                air_temperature_k=air_temperature_k,
                convection_w_m2k=WET_CONVECTION_W_M2K,
                water_efficiency=1.0,
                bare_limit_w_m2=bare_limit(material=material),
            )
            for factor in _FLUX_FACTORS
        ],
        axis=-1,
    )
    demand = np.stack([np.interp(members.flux_factor, _FLUX_FACTORS, row) for row in grid])
    peak = flux.max(axis=1)
    bare = bare_time(material=material, flux_w_m2=peak, start_temperature_k=air_temperature_k)
    return FireAsk(
        time_s=time_s,
        flux_w_m2=flux,
        peak_flux_w_m2=peak,
        water_demand_kg_m2=demand / members.water_efficiency[None, :],
        bare_ignition_s=tuple(_finite(value) for value in bare),
        contact=asset.fire.setback_m <= 0.0 and asset.fire.flux_peak_w_m2 is None,
        air_temperature_k=air_temperature_k,
    )


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
