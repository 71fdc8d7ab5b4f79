"""Fire from fuel: fuel model and forecast become flame, spread, residence and lean, by member."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.basis import Basis, BasisKind
from stillwet.domain.fire import FireExposure, Fuel
from stillwet.domain.job import Job
from stillwet.domain.weather import HOUR_S
from stillwet.engine.members import Members
from stillwet.engine.sky import Air, air_at
from stillwet.units import from_si

if TYPE_CHECKING:
    from stillwet.physics.flame import FireKind
    from stillwet.physics.spread import FuelMoisture

Array = NDArray[np.float64]

SOURCE = "surface spread (Rothermel 1972, Albini 1976, Andrews 2018)"
# Field of the exposure -> its name in the basis. What the user gave of these is left alone.
RECKONED = {
    "flame_length_m": "flame_length",
    "flame_tilt_deg": "flame_tilt",
    "spread_rate_m_s": "spread_rate",
    "residence_s": "residence",
}
_SHRUBS = ("4", "5", "6", "7")  # Anderson 1982, shrub group
SHADING_COVER = 0.5  # half or more counts as shaded (Rothermel 1983)
_FASTEST_M_S = 10.0  # as the exposure's own bound: beyond any front reported
_MOST_LEAN_DEG = 80.0
_STRONGEST_WIND_M_S = 60.0
_NODES = (0.0, 0.25, 0.5, 0.75, 1.0)  # of the members, by intensity: where the flux is reckoned


@dataclass(frozen=True, eq=False)
class Front:
    """The head of a front, one value a member (M,)."""

    intensity_w_m: Array
    flame_length_m: Array
    flame_tilt_deg: Array
    spread_rate_m_s: Array
    residence_s: Array
    one_hour_moisture: Array
    midflame_wind_m_s: Array
    flags: tuple[str, ...]

    def member(self, index: int) -> dict[str, Any]:
        """The exposure's fields for one member."""
        return {name: float(getattr(self, name)[index]) for name in RECKONED}


@dataclass(frozen=True, eq=False)
class Cases:
    """Exposures from the weakest to the strongest front, and each member's place among them.

    ``position`` (M,) is an index that may fall between two exposures.
    """

    fires: tuple[FireExposure, ...]
    position: Array


@dataclass(frozen=True, eq=False)
class _Reckoned:
    """The front of a fuel in one arrival window: the middle case, the weak and the strong end."""

    when_s: float
    middle: Front
    weak: Front
    strong: Front


def settle_fire(job: Job, fire: FireExposure) -> FireExposure:
    """The exposure with every flame number that fuel and forecast decide; settling twice is once.

    The worst hour of the arrival window counts: the one with the most intense front.
    """
    return _settled(job, fire, {})


def settle_fires(job: Job) -> Job:
    """The job with every asset's fire settled; like fuels in like windows are reckoned once."""
    known: dict[tuple[Any, ...], _Reckoned] = {}
    assets = tuple(replace(asset, fire=_settled(job, asset.fire, known)) for asset in job.assets)
    return replace(job, assets=assets)


def _settled(job: Job, fire: FireExposure, known: dict[tuple[Any, ...], _Reckoned]) -> FireExposure:
    if fire.fuel is None or fire.reckoned_s is not None:
        return fire
    fuel = tuple(
        getattr(fire.fuel, item.name) for item in fields(fire.fuel) if item.name != "basis"
    )
    key = (*fuel, fire.arrival_from_s, fire.arrival_to_s)
    if key not in known:
        known[key] = _reckon(job, fire.fuel, fire.arrival_from_s, fire.arrival_to_s)
    found = known[key]
    basis, changes = dict(fire.basis), dict[str, Any]()
    for name, label in RECKONED.items():
        if not _is_given(fire, label):
            fronts = (found.weak, found.middle, found.strong)
            edges = sorted(front.member(0)[name] for front in fronts)
            low, high = (edges[0], edges[-1]) if edges[0] < edges[-1] else (None, None)
            basis[label] = Basis(BasisKind.PUBLISHED, _source(fire.fuel, found), low, high)
            changes[name] = found.middle.member(0)[name]
    flags = found.middle.flags if changes else ()
    return replace(fire, **changes, basis=basis, flags=flags, reckoned_s=found.when_s)


def _source(fuel: Fuel, found: _Reckoned) -> str:
    wind = float(found.middle.midflame_wind_m_s[0])
    return (
        f"{SOURCE} in fuel model {fuel.model}, worst hour of the arrival window: fine dead fuel at "
        f"{100 * found.middle.one_hour_moisture[0]:.0f} %, midflame wind {wind:.1f} m/s "
        f"({from_si(wind, 'mph'):.0f} mph) straight uphill"
    )


def _reckon(job: Job, fuel: Fuel, from_s: float, to_s: float) -> _Reckoned:
    """The front at the worst hour that the window touches, under the forecast as it stands."""
    time_s = job.weather.time_s
    touched = time_s[(time_s > from_s - HOUR_S) & (time_s < to_s + HOUR_S)]
    moments = touched if touched.size else np.array([to_s])
    airs = [air_at(job, None, float(when_s)) for when_s in moments]
    every = Air(
        *(np.concatenate([getattr(air, item.name) for air in airs]) for item in fields(Air))
    )
    sunlit = _is_sunlit(job, fuel, moments)
    worst = int(np.argmax(_front(fuel, every, sunlit).intensity_w_m))
    one = slice(worst, worst + 1)
    middle, weak, strong = (_front(fuel, airs[worst], sunlit[one], case) for case in (0, -1, 1))
    return _Reckoned(float(moments[worst]), middle, weak, strong)


def fire_cases(job: Job, fire: FireExposure, members: Members) -> Cases:
    """A settled exposure as the members' wind and humidity move it.

    Fronts differ in length, rate and lean together; they are laid out by intensity, at the quarters
    of the members, and a member between two of them takes a share of each. What the user gave stays
    as given.
    """
    moving = [name for name, label in RECKONED.items() if not _is_given(fire, label)]
    is_fixed = fire.flux_peak_w_m2 is not None or not moving
    if fire.fuel is None or fire.reckoned_s is None or is_fixed:
        return Cases((fire,), np.zeros(members.count))
    sunlit = _is_sunlit(job, fire.fuel, np.array([fire.reckoned_s]))
    front = _front(fire.fuel, air_at(job, members, fire.reckoned_s), sunlit)
    ranked = np.argsort(front.intensity_w_m, kind="stable")
    picked = ranked[np.round(np.array(_NODES) * (members.count - 1)).astype(np.int64)]
    strength, first = np.unique(front.intensity_w_m[picked], return_index=True)
    fires = [
        replace(fire, **{name: front.member(int(picked[index]))[name] for name in moving})
        for index in first
    ]
    order = np.arange(len(fires), dtype=np.float64)
    return Cases(tuple(fires), np.interp(front.intensity_w_m, strength, order))


def _is_given(fire: FireExposure, label: str) -> bool:
    basis = fire.basis.get(label)
    return basis is not None and basis.kind in (BasisKind.GIVEN, BasisKind.TRIAL)


def _is_sunlit(job: Job, fuel: Fuel, time_s: Array) -> NDArray[np.bool_]:
    weather = job.weather
    place = (weather.latitude_deg, weather.longitude_deg, weather.elevation_m)
    zenith_deg = np.array([_zenith_deg(float(when_s), *place) for when_s in time_s])
    return (zenith_deg < 90.0) & (fuel.canopy_cover < SHADING_COVER)


@lru_cache(maxsize=256)  # all assets of a job ask for the same few hours
def _zenith_deg(
    when_s: float, latitude_deg: float, longitude_deg: float, elevation_m: float
) -> float:
    from stillwet.physics.sun import sun_position

    zenith_deg, _ = sun_position(
        time_s=np.array([when_s]),
        latitude_deg=latitude_deg,
        longitude_deg=longitude_deg,
        elevation_m=elevation_m,
    )
    return float(zenith_deg[0])


def _front(fuel: Fuel, air: Air, is_sunlit: NDArray[np.bool_], case: int = 0) -> Front:
    """The front in this air. ``case`` -1 and 1 take the weak and the strong end of every relation:
    dead moisture and wind adjustment over their siblings, flame length over three relations, lean
    by 10 degrees.
    """
    from stillwet.physics import flame
    from stillwet.physics.fuel_models import fuel_model
    from stillwet.physics.spread import surface_spread

    moisture, dead_flags = _moisture(fuel, air, is_sunlit, case)
    wind, wind_flags = _midflame_wind(fuel, air, case)
    spread = surface_spread(
        fuel=fuel_model(fuel.model),
        moisture=moisture,
        midflame_wind_m_s=wind,
        slope_deg=fuel.slope_deg,
    )
    intensity = np.minimum(spread.fireline_intensity_w_m, flame.HIGHEST_INTENSITY_W_M)
    flames = flame.flame_length(intensity_w_m=intensity, kind=_kind_of_flame(fuel))
    length = np.asarray((flames.length_m, flames.high_m, flames.low_m)[case])
    lean = flame.flame_tilt_from_length(
        wind_speed_m_s=wind, flame_length_m=np.maximum(length, 1e-3)
    )
    lean = np.clip(lean + case * flame.TILT_UNCERTAINTY_DEG, 0.0, _MOST_LEAN_DEG)
    rate = np.minimum(spread.spread_rate_m_s, _FASTEST_M_S)
    residence = np.broadcast_to(np.asarray(spread.residence_s), wind.shape)
    return Front(
        intensity_w_m=intensity,
        flame_length_m=length,
        flame_tilt_deg=np.where(length > 0, lean, 0.0),
        spread_rate_m_s=rate,
        residence_s=residence,
        one_hour_moisture=np.broadcast_to(np.asarray(moisture.one_hour), wind.shape),
        midflame_wind_m_s=wind,
        flags=(
            *spread.flags,
            *flames.flags,
            *wind_flags,
            *dead_flags,
            *_cut_flags(spread.fireline_intensity_w_m, intensity, spread.spread_rate_m_s, rate),
            *_depth_flags(length, rate, residence),
        ),
    )


def _kind_of_flame(fuel: Fuel) -> FireKind:
    from stillwet.physics.flame import FireKind

    is_shrub = fuel.model.upper().startswith("SH") or fuel.model in _SHRUBS
    return FireKind.SHRUB if is_shrub else FireKind.SURFACE


def _midflame_wind(fuel: Fuel, air: Air, case: int) -> tuple[Array, tuple[str, ...]]:
    """Wind at midflame height [m/s] under what canopy there is, and the flags of its relation."""
    from stillwet.physics.fuel_models import fuel_model
    from stillwet.physics.wind_reduction import midflame_wind, wind_adjustment

    shelter = wind_adjustment(
        fuel_depth_m=fuel_model(fuel.model).depth_m,
        canopy_cover=fuel.canopy_cover,
        crown_ratio=fuel.crown_ratio,
        canopy_height_m=fuel.canopy_height_m,
    )
    wind = midflame_wind(
        wind_10m_m_s=np.minimum(air.wind_speed_m_s, _STRONGEST_WIND_M_S),
        adjustment=(shelter.factor, shelter.high, shelter.low)[case],
    )
    return np.asarray(wind), shelter.flags


def _moisture(
    fuel: Fuel, air: Air, is_sunlit: NDArray[np.bool_], case: int
) -> tuple[FuelMoisture, tuple[str, ...]]:
    """Moisture of all classes, and flags of the dead fuel's; what the fuel states is kept."""
    from stillwet.physics.fuel_moisture import fine_dead_moisture

    flags: tuple[str, ...] = ()
    if fuel.moisture_1h is None:
        fine = fine_dead_moisture(
            air_temperature_k=air.air_temperature_k,
            relative_humidity=air.relative_humidity,
            cloud_cover=air.cloud_cover,
            is_sunlit=is_sunlit,
        )
        one_hour, flags = (fine.moisture, fine.low, fine.high)[case], fine.flags
    else:
        one_hour = np.full_like(air.air_temperature_k, fuel.moisture_1h)
    return all_moistures(fuel, one_hour), flags


def all_moistures(fuel: Fuel, one_hour: float | Array) -> FuelMoisture:
    """Moisture of all classes by that of the fine dead fuel; what the fuel states is kept."""
    from stillwet.physics.fuel_moisture import coarse_dead_moisture_rothermel
    from stillwet.physics.spread import FuelMoisture

    ten_hour, hundred_hour = coarse_dead_moisture_rothermel(one_hour=one_hour)
    return FuelMoisture(
        one_hour=one_hour,
        ten_hour=ten_hour if fuel.moisture_10h is None else fuel.moisture_10h,
        hundred_hour=hundred_hour if fuel.moisture_100h is None else fuel.moisture_100h,
        herb=fuel.moisture_herb,
        woody=fuel.moisture_woody,
    )


def _cut_flags(intensity: Any, cut: Array, rate: Any, cut_rate: Array) -> tuple[str, ...]:
    return (
        *(("intensity cut at that of the strongest fires",) if np.any(intensity > cut) else ()),
        *(("spread rate cut at that of the fastest fires",) if np.any(rate > cut_rate) else ()),
    )


def _depth_flags(length: Array, rate: Array, residence: Array) -> tuple[str, ...]:
    from stillwet.physics.flame import flame_depth, is_deep_front

    depth = flame_depth(spread_rate_m_s=rate, residence_s=residence)
    if not is_deep_front(flame_length_m=length, flame_depth_m=np.asarray(depth)):
        return ()
    return ("front deep against its flame, which then reads too long",)
