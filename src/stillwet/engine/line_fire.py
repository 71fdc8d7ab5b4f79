"""The fire beside a wetted strip, by hour and member: its flames, and how fast the black grows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.fire import Fuel
from stillwet.domain.lines import LineSegment
from stillwet.domain.weather import Weather
from stillwet.engine.fire_behaviour import SHADING_COVER, all_moistures
from stillwet.engine.sky import Sky

if TYPE_CHECKING:
    from stillwet.physics.spread import SurfaceSpread
    from stillwet.physics.spread_direction import DirectedSpread

Array = NDArray[np.float64]

_STRONGEST_WIND_M_S = 40.0
_DAYLIGHT_W_M2 = 5.0
_LEAST_MOISTURE = 0.01
_SHORT_FLAME_M = 0.5  # untested default, 0.2 to 1.5: of a backing fire in grass


@dataclass(frozen=True, eq=False)
class StripFire:
    """Fire at a segment's strip. (H, M) unless said.

    flame_length_m of the front that moves in the direction asked for; spread_rate_m_s of it;
    flame_view, what of the flames the strip sees one flame length in, as they lean over it;
    head_towards_deg of the fire as a whole, (H,) in the middle of the members; NaN without wind
    direction. wind_from_deg (H,).
    """

    dead_moisture: Array
    flame_length_m: Array
    spread_rate_m_s: Array
    flame_view: Array
    residence_s: float
    head_towards_deg: Array
    wind_from_deg: Array
    flags: tuple[str, ...]


def midflame_factor(segment: LineSegment) -> float:
    """Wind at midflame over the open wind at 10 m [-], for the segment's fuel and canopy."""
    from stillwet.physics.fuel_models import fuel_model
    from stillwet.physics.wind_reduction import midflame_wind, wind_adjustment

    fuel = _fuel(segment)
    adjustment = wind_adjustment(
        fuel_depth_m=fuel_model(fuel.model).depth_m,
        canopy_cover=fuel.canopy_cover,
        crown_ratio=fuel.crown_ratio,
        canopy_height_m=fuel.canopy_height_m,
    )
    return float(midflame_wind(wind_10m_m_s=1.0, adjustment=adjustment.factor))


def _fuel(segment: LineSegment) -> Fuel:
    assert segment.fuel is not None  # need_reckonable has looked
    return segment.fuel


def strip_fire(
    segment: LineSegment,
    sky: Sky,
    weather: Weather,
    *,
    towards_deg: float,
    wind_factor: float,
    is_lit: bool,
) -> StripFire:
    """The fire in the segment's fuel, in the direction ``towards_deg``.

    Beside a strip that has just been lit no head has grown yet: where the fire heads away from the
    line, the flames at the strip are taken as those of a flank. Without a wind direction the worst
    is taken: flames of the head, the back's rate.
    """
    fuel, shape = _fuel(segment), sky.air_temperature_k.shape
    wind_from = wind_direction(weather, sky)
    known = ~np.isnan(wind_from)[:, None]
    downwind = np.where(known, wind_from[:, None], towards_deg) + 180.0
    wind = np.minimum(np.broadcast_to(sky.wind_speed_m_s, shape) * wind_factor, _STRONGEST_WIND_M_S)
    dead = _dead_moisture(fuel, sky, weather)
    front = _Front(segment, downwind, _head(segment, dead, wind, downwind))
    found = front.towards(towards_deg)
    flame = np.asarray(found.flame_length_m)
    if is_lit:
        flank = front.towards(np.asarray(found.head_towards_deg) + 90.0)
        flame = np.minimum(flame, flank.flame_length_m)
    flame = np.where(known, flame, front.head.flame_length_m)
    over = np.where(known, wind * _lean(downwind, towards_deg, is_lit=is_lit), wind)
    bearing = np.broadcast_to(np.asarray(found.head_towards_deg), shape)[:, 0]
    return StripFire(
        dead_moisture=dead,
        flame_length_m=np.broadcast_to(flame, shape),
        spread_rate_m_s=np.broadcast_to(np.asarray(found.spread_rate_m_s), shape),
        flame_view=_flame_view(over),
        residence_s=float(np.max(front.head.residence_s)),
        head_towards_deg=np.where(known[:, 0], bearing, np.nan),
        wind_from_deg=wind_from,
        flags=front.head.flags,
    )


@dataclass(frozen=True, eq=False)
class _Front:
    """The head of the fire in a segment's fuel, and its other sides."""

    segment: LineSegment
    downwind_deg: Array  # (H, 1)
    head: SurfaceSpread

    def towards(self, towards_deg: float | Array) -> DirectedSpread:
        """The front that moves in this direction."""
        from stillwet.physics.spread_direction import spread_towards

        return spread_towards(
            head=self.head,
            upslope_deg=_upslope_deg(self.segment),
            downwind_deg=self.downwind_deg,
            towards_deg=towards_deg,
        )


def _upslope_deg(segment: LineSegment) -> float:
    return (segment.aspect_deg + 180.0) % 360.0


def _head(
    segment: LineSegment, dead_moisture: Array, wind_m_s: Array, downwind_deg: Array
) -> SurfaceSpread:
    from stillwet.physics.fuel_models import fuel_model
    from stillwet.physics.spread import surface_spread

    fuel = _fuel(segment)
    return surface_spread(
        fuel=fuel_model(fuel.model),
        moisture=all_moistures(fuel, dead_moisture),
        midflame_wind_m_s=wind_m_s,
        slope_deg=fuel.slope_deg,
        wind_from_upslope_deg=(downwind_deg - _upslope_deg(segment)) % 360.0,
    )


def _lean(downwind_deg: Array, towards_deg: float, *, is_lit: bool) -> Array:
    """Share of the wind that leans flames over the strip (H, 1), none when it blows away from it.

    A fire that was lit moves away from the strip, one that comes moves towards it.
    """
    over_strip = towards_deg + (180.0 if is_lit else 0.0)
    return np.maximum(np.cos(np.radians(downwind_deg - over_strip)), 0.0)


def _flame_view(wind_m_s: Array) -> Array:
    """What the strip sees of flames that this wind leans over it, one flame length in.

    The lean is that of short flames, which lean most: drier fuel, with longer and so steeper
    flames, must not seem to spare the strip.
    """
    from stillwet.physics.flame import flame_tilt_from_length
    from stillwet.physics.wet_fuel import ground_view_past_flames

    tilt = flame_tilt_from_length(wind_speed_m_s=wind_m_s, flame_length_m=_SHORT_FLAME_M)
    return np.asarray(ground_view_past_flames(tilt_deg=tilt))


def wind_direction(weather: Weather, sky: Sky) -> Array:
    """Where the wind comes from at the sky's hours (H,), NaN where the forecast does not say."""
    hours = np.searchsorted(weather.time_s, sky.time_s)
    return np.asarray(weather.wind_direction_deg[hours])


def _dead_moisture(fuel: Fuel, sky: Sky, weather: Weather) -> Array:
    """Moisture of the dead fine fuel before it is wetted (H, M)."""
    from stillwet.physics.fuel_moisture import fine_dead_moisture
    from stillwet.physics.sun import clear_sky, cloud_from_irradiance

    if fuel.moisture_1h is not None:
        return np.full(sky.air_temperature_k.shape, fuel.moisture_1h)
    clear = clear_sky(
        time_s=sky.sun_time_s,
        latitude_deg=weather.latitude_deg,
        longitude_deg=weather.longitude_deg,
        elevation_m=weather.elevation_m,
    )
    cloud = cloud_from_irradiance(ghi_w_m2=sky.ghi_w_m2, clear_sky_ghi_w_m2=clear.ghi_w_m2)
    sunlit = (sky.ghi_w_m2 > _DAYLIGHT_W_M2) & (fuel.canopy_cover < SHADING_COVER)
    found = fine_dead_moisture(
        air_temperature_k=sky.air_temperature_k,
        relative_humidity=np.broadcast_to(sky.relative_humidity, sky.air_temperature_k.shape),
        cloud_cover=cloud[:, None],
        is_sunlit=sunlit[:, None],
    )
    return np.maximum(found.moisture, _LEAST_MOISTURE)
