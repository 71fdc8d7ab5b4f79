"""How hard the sky pulls on a wetted strip: drying per ground area, by hour and member."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stillwet.constants import STEFAN_BOLTZMANN
from stillwet.domain.assets import Geometry
from stillwet.domain.lines import LineSegment
from stillwet.domain.weather import Weather
from stillwet.engine.drying import GEOMETRY_CODE, Drying, running_sum
from stillwet.engine.line_members import LineMembers
from stillwet.engine.sky import Sky
from stillwet.physics.wet_fuel import WetBed

Array = NDArray[np.float64]

# Sky light from all sides goes deeper than a high sun: untested default, 0.6 to 1.0.
DIFFUSE_EXTINCTION = 0.8
_WET_BLADE_COOLER_K = 5.0  # only steers the buoyant part of a blade's exchange
_BLADE = int(GEOMETRY_CODE[Geometry.BLADE])


@dataclass(frozen=True, eq=False)
class StripDrying:
    """Demand [kg/m2s of ground] (H, M) and its running sum, for the bed and for lone blades.

    ``alone`` is every blade drying as if the others were not there: the most there could be.
    """

    demand: Array
    alone: Array
    bed_sum: Drying
    alone_sum: Drying


def strip_drying(
    segment: LineSegment,
    bed: WetBed,
    sky: Sky,
    weather: Weather,
    draws: LineMembers,
    *,
    wind_factor: float,
    albedo: float,
) -> StripDrying:
    """Drying of one segment's strip. wind_factor: wind at midflame over that at 10 m."""
    from stillwet.physics.bed_air import (
        TALLEST_M,
        bed_drying_penman,
        renewal_share,
        through_flow,
        top_exchange_fao56,
    )

    shape = sky.air_temperature_k.shape
    wind = np.broadcast_to(sky.wind_speed_m_s, shape)
    widths = np.unique(np.quantile(draws.blade_width_m, (0.0, 0.5, 1.0)))
    whole, air = _blades(segment, bed, sky, weather, draws, widths, wind_factor, albedo)
    blade = _to_width(widths, _conductance(sky, wind * wind_factor, widths), draws)
    depth = min(bed.depth_m, TALLEST_M)
    supply = top_exchange_fao56(wind_m_s=wind, height_m=depth) + through_flow(
        bed_wind_m_s=wind * wind_factor * draws.bed_wind,
        depth_m=depth,
        width_m=segment.width_m,
    )
    share = renewal_share(surface=bed.surface, blade_m_s=blade, supply_m_s=supply)
    own, ventilated = _to_width(widths, whole, draws), _to_width(widths, air, draws)
    demand = np.asarray(
        bed_drying_penman(
            whole_kg_m2_s=own, ventilated_kg_m2_s=ventilated, share=share, surface=bed.surface
        )
    )
    alone = bed.surface * own
    return StripDrying(
        demand=demand,
        alone=alone,
        bed_sum=running_sum(sky.time_s, demand[None]),
        alone_sum=running_sum(sky.time_s, alone[None]),
    )


def _ground_irradiance(segment: LineSegment, sky: Sky, weather: Weather, albedo: float) -> Array:
    """Sun on the ground's slope (H,), under what canopy there is."""
    from stillwet.physics.sun import face_irradiance

    slope = 0.0 if segment.fuel is None else segment.fuel.slope_deg
    cover = 0.0 if segment.fuel is None else segment.fuel.canopy_cover
    row = face_irradiance(
        time_s=sky.sun_time_s,
        latitude_deg=weather.latitude_deg,
        longitude_deg=weather.longitude_deg,
        elevation_m=weather.elevation_m,
        ghi_w_m2=sky.ghi_w_m2,
        dni_w_m2=sky.dni_w_m2,
        dhi_w_m2=sky.dhi_w_m2,
        tilt_deg=np.array([slope]),
        azimuth_deg=np.array([segment.aspect_deg]),
        shaded=np.array([False]),
        albedo=albedo,
    )[0]
    return np.asarray((1.0 - cover) * np.interp(sky.time_s, sky.sun_time_s, row))


def _blades(
    segment: LineSegment,
    bed: WetBed,
    sky: Sky,
    weather: Weather,
    draws: LineMembers,
    widths: Array,
    wind_factor: float,
    albedo: float,
) -> tuple[Array, Array]:
    """Demand of a blade's surface (N, H, M) for each width: in its light, and in the air alone."""
    from stillwet.physics.kernel import drying_demand_grid
    from stillwet.physics.wet_fuel import mean_share_on_surface, tilt_for_sky_view
    from stillwet.physics.wind import FORECAST_HEIGHT_M

    shape, count = sky.air_temperature_k.shape, widths.size
    sun = _ground_irradiance(segment, sky, weather, albedo)
    light = mean_share_on_surface(surface=bed.surface, extinction=draws.leaf_extinction)
    view = mean_share_on_surface(surface=bed.surface, extinction=DIFFUSE_EXTINCTION)
    common: dict[str, Any] = {
        "air_temperature_k": sky.air_temperature_k,
        "relative_humidity": np.broadcast_to(sky.relative_humidity, shape),
        "wind_speed_m_s": np.broadcast_to(sky.wind_speed_m_s, shape),
        "pressure_pa": sky.pressure_pa,
        "length_m": widths,
        "height_m": np.full(count, FORECAST_HEIGHT_M),
        "geometry": np.full(count, _BLADE, dtype=np.int8),
        "sheltering": np.full(count, wind_factor),
        "back_conductance_w_m2k": 0.0,
    }
    whole = drying_demand_grid(
        irradiance_w_m2=np.broadcast_to(sun, (count, sun.size)),
        irradiance_factor=np.broadcast_to(sky.irradiance_factor * light, shape),
        sky_longwave_w_m2=np.broadcast_to(sky.sky_longwave_w_m2, shape),
        tilt_deg=np.full(count, float(tilt_for_sky_view(sky_view=view))),
        **common,
    )
    air = drying_demand_grid(
        irradiance_w_m2=np.zeros((count, sun.size)),
        irradiance_factor=np.ones(shape),
        sky_longwave_w_m2=STEFAN_BOLTZMANN * sky.air_temperature_k**4,
        tilt_deg=np.zeros(count),
        **common,
    )
    return whole, air


def _conductance(sky: Sky, wind_m_s: Array, widths: Array) -> Array:
    """Conductance [m/s] between a blade's surface and the air about it (N, H, M)."""
    from stillwet.physics.air import vapour_pressure, volumetric_heat_capacity
    from stillwet.physics.convection import BLADE, outdoor_coefficient

    air: dict[str, Any] = {
        "vapour_pressure_pa": vapour_pressure(
            temperature_k=sky.air_temperature_k, relative_humidity=sky.relative_humidity
        ),
        "pressure_pa": sky.pressure_pa[:, None],
    }
    capacity = volumetric_heat_capacity(temperature_k=sky.air_temperature_k, **air)
    found = [
        outdoor_coefficient(
            geometry=BLADE,
            length_m=float(width),
            wind_m_s=wind_m_s,
            surface_temperature_k=sky.air_temperature_k - _WET_BLADE_COOLER_K,
            air_temperature_k=sky.air_temperature_k,
            **air,
        )
        / capacity
        for width in widths
    ]
    return np.stack([np.asarray(each) for each in found])


def _to_width(widths: Array, values: Array, draws: LineMembers) -> Array:
    """Values (N, H, M) at the nodes' widths, each member's at its own (linear in the logarithm)."""
    if widths.size == 1:
        return np.asarray(values[0])
    position = np.interp(
        np.log(draws.blade_width_m), np.log(widths), np.arange(widths.size, dtype=float)
    )
    lower = np.minimum(position.astype(np.int64), widths.size - 2)
    share = position - lower
    members = np.arange(values.shape[2])
    below, above = values[lower, :, members].T, values[lower + 1, :, members].T
    return np.asarray(below + share * (above - below))
