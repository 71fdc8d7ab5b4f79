"""Composites for cases whose answer is a record, a word or a march: what the source gives of it."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from reference.chains_spread import scenario_moisture
from stillwet.constants import STEFAN_BOLTZMANN
from stillwet.physics import (
    air,
    as3959,
    demand,
    drying,
    flame,
    flux,
    funnel,
    hose,
    ignition,
    kernel,
    materials,
    proportioning,
    pump,
    spread_direction,
    sun,
    sun_grid,
    sun_track,
    transient,
    wet_fuel,
    wind_reduction,
    wood_film,
)
from stillwet.physics.convection import ROOF, WALL
from stillwet.physics.fuel_models import fuel_model
from stillwet.physics.pump import HoseLay, PumpCurve
from stillwet.physics.spread import surface_spread

PRESSURE_PA = 101325.0


def attack_limits(*, levels: str) -> list[float]:
    """The highest flux [W/m2] that each named level still covers, found by halving."""
    found = []
    for level in levels.split():
        low, high = 0.0, 300e3
        names = [as3959.attack_level(heat_flux_w_m2=q) for q in np.linspace(0.0, 200e3, 801)]
        last = max(i for i, name in enumerate(names) if name == level)
        low, high = last * 250.0, (last + 1) * 250.0
        for _ in range(40):
            middle = 0.5 * (low + high)
            is_in = as3959.attack_level(heat_flux_w_m2=middle) == level
            low, high = (middle, high) if is_in else (low, middle)
        found.append(low)
    return found


def action_classes(*, flame_length_m: Any) -> list[float]:
    """The handbook class of each flame length, from 0."""
    lengths = np.atleast_1d(flame_length_m)
    return [float(flame.action_class(flame_length_m=float(each))[0]) for each in lengths]


def flame_spread_of_siblings(*, intensity_w_m: float) -> list[float]:
    """Least, chosen and most flame length [m]."""
    found = flame.flame_length(intensity_w_m=intensity_w_m)
    return [float(found.low_m), float(found.length_m), float(found.high_m)]


def measured_peaks(*, kinds: str) -> list[float]:
    """Highest measured flux [W/m2] of each kind of fire."""
    return [flame.measured_flux(kind).high for kind in kinds.split()]


def measured_stand(*, kind: str) -> float:
    """Longest measured residence [s]."""
    return flame.measured_residence(kind).high


def deep_fronts(*, flame_length_m: Any, flame_depth_m: Any) -> list[float]:
    """1 where the front is too deep for its flame."""
    pairs = zip(flame_length_m, flame_depth_m, strict=True)
    return [float(flame.is_deep_front(flame_length_m=a, flame_depth_m=b)) for a, b in pairs]


def two_pulses(*, peak_w_m2: float, seconds: float, gap_s: float) -> list[float]:
    """Peak [W/m2] and dose [J/m2] of two equal pulses that overlap but for ``gap_s``."""
    time, pulse = flux.flux_from_peak(flux_peak_w_m2=peak_w_m2, flux_duration_s=seconds)
    histories = [flux.FluxHistory("pulse", time, pulse, start) for start in (0.0, gap_s)]
    clock, total = flux.sum_fluxes(sources=histories)
    return [
        float(flux.peak_flux(flux_w_m2=total)[0]),
        float(flux.dose(time_s=clock, flux_w_m2=total)[0]),
    ]


def endless_front_at_foot(*, flame_temperature_k: float, flame_length_m: float) -> float:
    """Highest flux of a front that comes close to a wall's foot without touching, over sigma T^4.

    A face close before an endless sheet sees nothing but flame, so this tends to 1.
    """
    _, history = flux.front_flux_history(
        flame_length_m=flame_length_m,
        flame_width_m=2000.0,
        flame_tilt_deg=0.0,
        spread_rate_m_s=0.5,
        residence_s=30.0,
        setback_m=0.2,
        face_tilt_deg=np.array([90.0]),
        face_azimuth_deg=np.array([0.0]),
        face_height_m=np.array([flame_length_m / 2.0]),
        fire_bearing_deg=0.0,
        air_temperature_k=300.0,
        relative_humidity=0.2,
        flame_temperature_k=flame_temperature_k,
        emissivity=1.0,
        contact_flux_w_m2=0.0,
    )
    return float(history.max() / (STEFAN_BOLTZMANN * flame_temperature_k**4))


def coat_seconds(*, absorbed_w_m2: float, coat_kg_m2: float, start_temperature_k: float) -> Any:
    """Seconds a coat lasts in air at the boiling point, by both clocks: steady and history."""
    steady = demand.water_time(
        flux_w_m2=absorbed_w_m2,
        coat_kg_m2=coat_kg_m2,
        absorptivity=1.0,
        start_temperature_k=start_temperature_k,
        air_temperature_k=373.15,
        convection_w_m2k=20.0,
        water_efficiency=1.0,
    )
    history = demand.coat_used_up_time(
        time_s=[0.0, 1000.0],
        flux_w_m2=[absorbed_w_m2, absorbed_w_m2],
        coat_kg_m2=coat_kg_m2,
        absorptivity=1.0,
        start_temperature_k=start_temperature_k,
        air_temperature_k=373.15,
        convection_w_m2k=20.0,
        water_efficiency=1.0,
        bare_limit_w_m2=12e3,
    )
    return [float(steady), float(history)]


def aspirated_wick(*, air_temperature_k: float, relative_humidity: float) -> float:
    """Temperature [K] of a wet 3 mm wick in 5 m/s that sees only things at air temperature."""
    return drying.wet_surface(
        geometry=2,
        length_m=0.003,
        tilt_deg=90.0,
        wind_m_s=5.0,
        air_temperature_k=air_temperature_k,
        relative_humidity=relative_humidity,
        pressure_pa=PRESSURE_PA,
        irradiance_w_m2=0.0,
        sky_longwave_w_m2=STEFAN_BOLTZMANN * air_temperature_k**4,
        back_conductance_w_m2k=0.0,
    ).temperature_k


def kernel_demand(*, relative_humidity: Any, tilt_deg: Any) -> Any:
    """Drying demand [kg/m2s] of faces by night under a sky at air temperature, 30 C, 4 m/s."""
    humid = np.atleast_1d(relative_humidity)[:, None]
    tilts = np.atleast_1d(tilt_deg)
    shape, faces = humid.shape, tilts.size
    return kernel.drying_demand_grid(
        air_temperature_k=np.full(shape, 303.15),
        relative_humidity=humid,
        wind_speed_m_s=np.full(shape, 4.0),
        pressure_pa=np.full(shape[0], PRESSURE_PA),
        irradiance_w_m2=np.zeros((faces, shape[0])),
        irradiance_factor=np.ones(shape),
        sky_longwave_w_m2=np.full(shape, STEFAN_BOLTZMANN * 303.15**4),
        tilt_deg=tilts,
        length_m=np.full(faces, 3.0),
        height_m=np.full(faces, 2.0),
        geometry=np.where(tilts > 45.0, WALL, ROOF).astype(np.int8),
        sheltering=np.ones(faces),
    )[..., 0].ravel()


def sky_views(*, tilt_deg: Any) -> Any:
    """Share of the sky that faces of these tilts see, as the kernel takes it."""
    tilts = np.atleast_1d(tilt_deg)
    return kernel.face_columns(
        tilt_deg=tilts,
        length_m=np.ones(tilts.size),
        height_m=np.full(tilts.size, 2.0),
        sheltering=np.ones(tilts.size),
        geometry=np.zeros(tilts.size, dtype=np.int8),
        roughness_m=0.03,
    )[0]


def film_lost_in_saturated_air(*, hours: int) -> float:
    """Water [kg/m2] a coat loses in saturated air under a sky at air temperature."""
    shape = (hours, 1)
    found = transient.film_history(
        geometry=np.array([WALL], dtype=np.int8),
        length_m=np.array([3.0]),
        tilt_deg=np.array([90.0]),
        wind_m_s=np.full((1, *shape), 4.0),
        air_temperature_k=np.full(shape, 293.15),
        relative_humidity=np.ones(shape),
        pressure_pa=np.full(hours, PRESSURE_PA),
        irradiance_w_m2=np.zeros((1, hours)),
        sky_longwave_w_m2=np.full(shape, STEFAN_BOLTZMANN * 293.15**4),
        coat_kg_m2=3.0,
    )
    return float(found.evaporation_kg_m2.sum())


def ten_and_hundred_hour(*, one_hour: float) -> list[float]:
    """Moisture of 10-h and 100-h fuel."""
    from stillwet.physics.fuel_moisture import coarse_dead_moisture_rothermel

    return [float(each) for each in coarse_dead_moisture_rothermel(one_hour=one_hour)]


def fine_moisture_band(*, air_temperature_k: float, relative_humidity: float) -> float:
    """Fine dead moisture out of the sun."""
    from stillwet.physics.fuel_moisture import fine_dead_moisture

    found = fine_dead_moisture(
        air_temperature_k=air_temperature_k,
        relative_humidity=relative_humidity,
        cloud_cover=1.0,
        is_sunlit=False,
    )
    return float(found.moisture)


def true_funnels(*, water_seconds: Any) -> list[float]:
    """1 for a funnel that the standard accepts."""
    return [float(funnel.funnel_is_true(water_seconds=s)) for s in np.atleast_1d(water_seconds)]


def bare_of(*, material: str, flux_w_m2: Any) -> Any:
    """Seconds a bare face stands a flux, and the flux it bears without end [W/m2] last."""
    row = materials.materials()[material]
    times = ignition.bare_time(material=row, flux_w_m2=flux_w_m2, start_temperature_k=293.15)
    return np.append(times, ignition.bare_limit(material=row))


def bare_over_thick_solid(*, material: str, flux_w_m2: float) -> float:
    """Bare time over the half-space time to the same surface temperature: above 1 by the losses."""
    row = materials.materials()[material]
    bare = float(ignition.bare_time(material=row, flux_w_m2=flux_w_m2, start_temperature_k=293.15))
    rise = row.limit_temperature_k.value - 293.15
    inertia = row.thermal_inertia_j2_m4k2s.value
    endless = math.pi / 4.0 * inertia * (rise / (row.bare_emissivity.value * flux_w_m2)) ** 2
    return bare / endless


def coat_adds(*, material: str, flux_w_m2: float, coat_kg_m2: float) -> float:
    """Seconds that a coat adds to a bare face in air at the boiling point."""
    row = materials.materials()[material]
    with_coat = ignition.protection_time(
        material=row,
        flux_w_m2=flux_w_m2,
        coat_kg_m2=coat_kg_m2,
        start_temperature_k=293.15,
        air_temperature_k=373.15,
        convection_w_m2k=20.0,
        water_efficiency=1.0,
    )
    bare = ignition.bare_time(material=row, flux_w_m2=flux_w_m2, start_temperature_k=293.15)
    return float(with_coat - bare) * row.emissivity.value


def bare_wood_ignites(*, flux_w_m2: float) -> float:
    """Seconds until dry wood of the film model ignites with little convection."""
    wood = wood_film.Wood(moisture=0.0, thickness_m=0.06, emissivity=1.0)
    return wood_film.film_on_wood(
        time_s=[0.0, 600.0],
        flux_w_m2=[flux_w_m2, flux_w_m2],
        coat_kg_m2=0.0,
        air_temperature_k=293.15,
        convection_w_m2k=0.1,
        start_temperature_k=293.15,
        wood=wood,
        absorptivity=1.0,
    ).ignition_s


def judged(*, ratio: Any, uncertainty: float, low: float, high: float) -> list[float]:
    """0 accept, 1 too lean, 2 too rich, 3 cannot tell."""
    order = list(proportioning.Judgement)
    return [
        float(
            order.index(
                proportioning.judge(
                    ratio=float(each), uncertainty=uncertainty, window=(low, high)
                ).judgement
            )
        )
        for each in np.atleast_1d(ratio)
    ]


def methods_that_can_judge(*, uncertainty: Any, low: float, high: float) -> list[float]:
    """1 where a method this uncertain could ever accept."""
    return [
        float(proportioning.can_judge(uncertainty=float(each), window=(low, high)))
        for each in np.atleast_1d(uncertainty)
    ]


def steady_pump(*, pressure_pa: float, length_m: float, bore_m: float, tip_m: float) -> list[float]:
    """Flow [gal/min] from a pump held at one pressure, and the pressure left over there [psi]."""
    curve = PumpCurve((0.0, 0.05), (pressure_pa, pressure_pa))
    lay = HoseLay(hoses=((bore_m, length_m),), lift_m=0.0, tip_m=tip_m, nozzle_pressure_min_pa=0.0)
    flow = pump.operating_point(pump=curve, lay=lay).flow_m3_s
    spare = pump.spare_pressure(
        flow_m3_s=flow,
        pump=curve,
        lay=lay,
        yield_pa=0.0,
        consistency_pa_s=1e-6,
        index=1.0,
        density_kg_m3=998.2,
    )
    return [flow / hose.GPM, float(spare) / hose.PSI]


def flows_warned_of(*, flow_m3_s: Any, bore_m: float) -> list[float]:
    """How many warnings a flow in a hose brings."""
    lay = HoseLay(hoses=((bore_m, 30.0),), lift_m=0.0, tip_m=0.01, nozzle_pressure_min_pa=0.0)
    return [
        float(len(pump.flow_warnings(flow_m3_s=float(each), lay=lay)))
        for each in np.atleast_1d(flow_m3_s)
    ]


def water_in_hose(*, flow_m3_s: float, length_m: float, bore_m: float) -> float:
    """Loss [Pa] of plain water by coefficient set B."""
    return float(
        pump.hose_loss(flow_m3_s=flow_m3_s, length_m=length_m, bore_m=bore_m, gel=None, which="b")
    )


def tip_of(*, flow_m3_s: float, pressure_pa: float) -> list[float]:
    """The smooth bore [m] that passes a flow, and the pressure it then asks [Pa]."""
    tip = hose.equivalent_tip(flow_m3_s=flow_m3_s, pressure_pa=pressure_pa)
    return [tip, float(hose.nozzle_pressure_freeman(flow_m3_s=flow_m3_s, diameter_m=tip))]


def back_over_head(*, fuel: str, midflame_wind_m_s: float) -> list[float]:
    """Spread against the wind over spread with it, and that ratio from the ellipse's own shape."""
    head = surface_spread(
        fuel=fuel_model(fuel),
        moisture=scenario_moisture("D2L2"),
        midflame_wind_m_s=midflame_wind_m_s,
    )
    rates = [
        float(
            spread_direction.spread_towards(
                head=head, upslope_deg=0.0, downwind_deg=90.0, towards_deg=bearing
            ).spread_rate_m_s
        )
        for bearing in (90.0, 270.0)
    ]
    return [rates[1] / rates[0]]


def wind_back_from_factor(*, fuel: str, midflame_wind_m_s: float) -> float:
    """The effective wind [m/s] read back from the wind factor of a level fire."""
    head = surface_spread(
        fuel=fuel_model(fuel),
        moisture=scenario_moisture("D2L2"),
        midflame_wind_m_s=midflame_wind_m_s,
    )
    return float(spread_direction.effective_wind_rothermel(fire=head, factor=head.wind_factor))


def sun_place(*, time_s: Any) -> dict[str, Any]:
    """Arguments of one place: 40 N, 105 W, 1600 m."""
    return {
        "time_s": np.atleast_1d(np.asarray(time_s, dtype=float)),
        "latitude_deg": 40.0,
        "longitude_deg": -105.0,
        "elevation_m": 1600.0,
    }


def clear_noon(*, time_s: Any) -> Any:
    """Global irradiance of a clear sky [W/m2]."""
    return sun.clear_sky(**sun_place(time_s=time_s)).ghi_w_m2


def clouded_closure(*, time_s: Any, cloud_cover: float) -> Any:
    """Direct and diffuse put together again, over global: must be 1."""
    place = sun_place(time_s=time_s)
    count = place["time_s"].size
    found = sun.irradiance_from_cloud(**place, cloud_cover=np.full(count, cloud_cover))
    zenith = sun.sun_position(**place).zenith_deg
    direct = found.dni_w_m2 * np.cos(np.radians(zenith))
    return (direct + found.dhi_w_m2) / found.ghi_w_m2


def level_face_over_global(*, time_s: Any) -> Any:
    """Sun on a face that looks straight up over the global irradiance: must be 1."""
    place = sun_place(time_s=time_s)
    clear = sun.clear_sky(**place)
    level = sun.face_irradiance(
        **place,
        **clear._asdict(),
        tilt_deg=np.array([0.0]),
        azimuth_deg=np.array([180.0]),
        shaded=np.array([False]),
    )
    zenith = sun.sun_position(**place).zenith_deg
    global_ = clear.dni_w_m2 * np.cos(np.radians(zenith)) + clear.dhi_w_m2
    return level[0] / global_


def cloud_read_back(*, cloud_cover: Any) -> Any:
    """Cloud cover read back from the irradiance that it lets through."""
    cover = np.atleast_1d(np.asarray(cloud_cover, dtype=float))
    clear = np.full(cover.size, 800.0)
    through = sun.cloud_transmission_kasten_czeplak(cloud_cover=cover) * clear
    return sun.cloud_from_irradiance(ghi_w_m2=through, clear_sky_ghi_w_m2=clear)


def wetted_model_moisture(*, water_kg_m2: float, fuel_moisture: float) -> float:
    """Moisture of tall grass, all of it dead, under this water."""
    bed = wet_fuel.wet_bed(fuel=fuel_model("3"), cured_fraction=0.0)
    return float(
        wet_fuel.dead_moisture_wetted(bed=bed, water_kg_m2=water_kg_m2, fuel_moisture=fuel_moisture)
    )


def adjustment_of(*, fuel_depth_m: float) -> float:
    """Wind adjustment in the open."""
    return float(wind_reduction.wind_adjustment(fuel_depth_m=fuel_depth_m).factor)


def midflame(*, wind_10m_m_s: float, adjustment: float) -> float:
    """Midflame wind [m/s]."""
    return float(wind_reduction.midflame_wind(wind_10m_m_s=wind_10m_m_s, adjustment=adjustment))


def product_shapes() -> list[float]:
    """How many product types there are, and how many parameters each has."""
    from stillwet.physics.product_types import parameter_names, product_type_names

    return [float(len(product_type_names())), float(len(parameter_names()))]


def grid_beam(*, tilt_deg: Any, azimuth_deg: Any) -> Any:
    """A beam of 1000 W/m2 and no other light on faces, at the worked example's place and moment."""
    one = np.ones((1, 1))
    place = sun_track.places(
        latitude_deg=np.array([39.742476]),
        longitude_deg=np.array([-105.1786]),
        elevation_m=np.array([1830.14]),
        turbidity=np.full((12, 1), 3.0),
    )
    found = sun_grid.grid_light(
        source=sun_grid.SunFrom.PARTS,
        given=0.0 * one,
        direct_w_m2=1000.0 * one,
        diffuse_w_m2=0.0 * one,
        track=sun_track.sun_track(time_s=np.array([1066419030.0])),
        place=place,
        faces=sun_track.face_directions(tilt_deg=tilt_deg, azimuth_deg=azimuth_deg),
        albedo=0.0,
    )
    return found.faces_w_m2.ravel()


def grid_sky() -> list[float]:
    """Cloud read back from the sun it lets through, and sky radiation under half cloud [W/m2]."""
    clear = np.full((1, 1), 800.0)
    cloud = sun_grid.grid_cloud(ghi_w_m2=(1.0 - 0.75 * 0.5**3.4) * clear, clear_ghi_w_m2=clear)
    saturated = air.saturation_pressure_water_hyland_wexler(temperature_k=293.15)
    longwave = sun_grid.grid_longwave(
        air_temperature_k=np.full((1, 1, 1), 293.15),
        relative_humidity=np.full((1, 1, 1), 1000.0 / float(saturated)),
        cloud_cover=cloud,
    )
    return [float(cloud[0, 0]), float(longwave.ravel()[0])]
