"""Air, sun, sky and wind."""

from __future__ import annotations

from typing import Any

import numpy as np

from kept.keeping import Groups
from kept.physics.drawing import at, each, every, log, many, row_of, seeded, to
from stillwet.physics import air, fao56, sun, sun_grid, sun_track, wind, wind_reduction

WARM, OUTDOOR = to(250.0, 370.0), to(253.15, 333.15)  # K
VAPOUR = log(60.0, 6000.0)  # Pa
PRESSURE = to(60e3, 105e3)
MOIST: dict[str, Any] = {
    "temperature_k": OUTDOOR,
    "vapour_pressure_pa": VAPOUR,
    "pressure_pa": PRESSURE,
}
SHARE = to(0.0, 1.0)
DAYS_S: Any = 1.78e9 + 3600.0 * 37.0 * np.arange(
    24
)  # every 37 hours: all times of the day and night
PLACE: dict[str, Any] = {"latitude_deg": -36.5, "longitude_deg": 147.3, "elevation_m": 620.0}

_AIR = {
    "saturation_pressure_water_hyland_wexler": many(
        air.saturation_pressure_water_hyland_wexler, temperature_k=to(233.0, 473.0)
    ),
    "saturation_pressure_ice_hyland_wexler": many(
        air.saturation_pressure_ice_hyland_wexler, temperature_k=to(173.2, 273.1)
    ),
    "saturation_pressure_ashrae": many(
        air.saturation_pressure_ashrae,
        temperature_k=to(180.0, 470.0),
        edges=[{"temperature_k": at_k} for at_k in (273.14, 273.15, 273.16)],
    ),
    "saturation_pressure_tetens_fao56": many(
        air.saturation_pressure_tetens_fao56, temperature_k=WARM
    ),
    "saturation_pressure_magnus_wmo": many(air.saturation_pressure_magnus_wmo, temperature_k=WARM),
    "vapour_pressure": many(air.vapour_pressure, temperature_k=OUTDOOR, relative_humidity=SHARE),
    "vapour_density": many(air.vapour_density, temperature_k=OUTDOOR, vapour_pressure_pa=VAPOUR),
    "humidity_ratio": many(air.humidity_ratio, vapour_pressure_pa=VAPOUR, pressure_pa=PRESSURE),
    "vapour_pressure_from_humidity_ratio": many(
        air.vapour_pressure_from_humidity_ratio, humidity_ratio=to(0.0, 0.05), pressure_pa=PRESSURE
    ),
    "humidity_ratio_from_wet_bulb_ashrae": many(
        air.humidity_ratio_from_wet_bulb_ashrae,
        temperature_k=to(293.15, 323.15),
        wet_bulb_k=to(258.15, 293.15),
        pressure_pa=PRESSURE,
        edges=[{"wet_bulb_k": wet_k} for wet_k in (273.14, 273.15, 290.0)],
    ),
    "wet_bulb_ashrae": many(
        air.wet_bulb_ashrae,
        temperature_k=to(278.15, 323.15),
        vapour_pressure_pa=to(100.0, 800.0),
        pressure_pa=PRESSURE,
        edges=[
            {"temperature_k": 200.0, "vapour_pressure_pa": 0.1},  # under -100 C after 60 K less
            {"temperature_k": 268.15, "vapour_pressure_pa": 100.0},
        ],
    ),
    "dew_point_ashrae": many(
        air.dew_point_ashrae,
        vapour_pressure_pa=log(0.01, 1.4e6),
        edges=[{"vapour_pressure_pa": pressure_pa} for pressure_pa in (1e-4, 611.0, 1e7)],
    ),
    "pressure_at_elevation": many(air.pressure_at_elevation, elevation_m=to(-500.0, 10e3)),
    "air_density": many(air.air_density, **MOIST),
    "volumetric_heat_capacity": many(air.volumetric_heat_capacity, **MOIST),
    "latent_heat": many(air.latent_heat, temperature_k=to(273.15, 373.15)),
    "latent_heat_harrison_fao56": many(
        air.latent_heat_harrison_fao56, temperature_k=to(273.15, 373.15)
    ),
    "dynamic_viscosity_sutherland": many(
        air.dynamic_viscosity_sutherland, temperature_k=to(170.0, 1900.0)
    ),
    "kinematic_viscosity": many(air.kinematic_viscosity, **MOIST),
    "thermal_conductivity_sutherland": many(
        air.thermal_conductivity_sutherland, temperature_k=to(160.0, 2000.0)
    ),
    "vapour_diffusivity_massman": many(
        air.vapour_diffusivity_massman, temperature_k=OUTDOOR, pressure_pa=PRESSURE
    ),
    "lewis_number": many(air.lewis_number, **MOIST),
}

_FAO56 = {
    "saturation_slope_fao56": many(fao56.saturation_slope_fao56, temperature_k=OUTDOOR),
    "psychrometric_constant_fao56": many(fao56.psychrometric_constant_fao56, pressure_pa=PRESSURE),
    "extraterrestrial_radiation_fao56": many(
        fao56.extraterrestrial_radiation_fao56,
        latitude_deg=every(-75.0, -20.0, 45.0),
        day_of_year=to(1.0, 366.0),
    ),
    "daylight_hours_fao56": many(
        fao56.daylight_hours_fao56,
        latitude_deg=every(-75.0, -20.0, 45.0),
        day_of_year=to(1.0, 366.0),
    ),
    "solar_radiation_angstrom_fao56": many(
        fao56.solar_radiation_angstrom_fao56,
        extraterrestrial_w_m2=to(50.0, 500.0),
        sunshine_share=SHARE,
    ),
    "net_longwave_fao56": many(
        fao56.net_longwave_fao56,
        highest_k=to(285.0, 315.0),
        lowest_k=to(260.0, 285.0),
        vapour_pressure_pa=VAPOUR,
        solar_share=SHARE,
    ),
    "reference_evapotranspiration_fao56": many(
        fao56.reference_evapotranspiration_fao56,
        net_radiation_w_m2=to(0.0, 300.0),
        ground_heat_w_m2=to(-20.0, 20.0),
        temperature_k=OUTDOOR,
        wind_2m_m_s=to(0.0, 10.0),
        saturation_pressure_pa=to(3000.0, 8000.0),
        vapour_pressure_pa=to(100.0, 3000.0),
        pressure_pa=PRESSURE,
        edges=[{"coefficient": 888.0}],
    ),
    "open_water_evaporation_penman": many(
        fao56.open_water_evaporation_penman,
        net_radiation_w_m2=to(0.0, 300.0),
        temperature_k=OUTDOOR,
        wind_2m_m_s=to(0.0, 10.0),
        saturation_pressure_pa=to(3000.0, 8000.0),
        vapour_pressure_pa=to(100.0, 3000.0),
        pressure_pa=PRESSURE,
        edges=[{"still_mm_day_kpa": 6.43, "wind_mm_day_kpa": 3.454}],
    ),
}


def _light() -> dict[str, Any]:
    """Global, direct and diffuse that belong to `DAYS_S` at `PLACE`: a clear sky, part of it."""
    clear = sun.clear_sky(time_s=DAYS_S, **PLACE)
    share = seeded("light").random(DAYS_S.size)
    return {
        "ghi_w_m2": clear.ghi_w_m2 * share,
        "dni_w_m2": clear.dni_w_m2 * share + 5.0,  # some with the sun down: it must not count
        "dhi_w_m2": clear.dhi_w_m2 * share,
    }


def _face_irradiance() -> object:
    return sun.face_irradiance(
        time_s=DAYS_S,
        **PLACE,
        **_light(),
        tilt_deg=np.array([0.0, 90.0, 35.0, 90.0]),
        azimuth_deg=np.array([0.0, 270.0, 10.0, 0.0]),
        shaded=np.array([False, False, False, True]),
    )


_DARK = {"ghi_w_m2": np.zeros(3), "clear_sky_ghi_w_m2": np.array([0.0, 49.9, 10.0])}

_SUN = {
    "sun_position": at(sun.sun_position, {"time_s": DAYS_S, **PLACE}),
    "clear_sky": at(sun.clear_sky, {"time_s": DAYS_S, **PLACE}),
    "irradiance_from_cloud": at(
        sun.irradiance_from_cloud,
        {"time_s": DAYS_S, **PLACE, "cloud_cover": np.linspace(-0.2, 1.2, DAYS_S.size)},
    ),
    "cloud_transmission_kasten_czeplak": many(
        sun.cloud_transmission_kasten_czeplak, cloud_cover=SHARE
    ),
    "cloud_from_irradiance": row_of(
        sun.cloud_from_irradiance,
        ghi_w_m2=to(0.0, 900.0),
        clear_sky_ghi_w_m2=to(0.0, 800.0),
        edges=[_DARK, {"clear_sky_ghi_w_m2": np.full(12, 50.0)}],
    ),
    "face_irradiance": _face_irradiance,
    "clear_sky_emissivity_brutsaert": many(
        sun.clear_sky_emissivity_brutsaert, air_temperature_k=OUTDOOR, vapour_pressure_pa=VAPOUR
    ),
    "clear_sky_emissivity_prata": many(
        sun.clear_sky_emissivity_prata, air_temperature_k=OUTDOOR, vapour_pressure_pa=VAPOUR
    ),
    "clear_sky_emissivity_brunt_fao56": many(
        sun.clear_sky_emissivity_brunt_fao56, vapour_pressure_pa=VAPOUR
    ),
    "sky_longwave": many(
        sun.sky_longwave, air_temperature_k=OUTDOOR, vapour_pressure_pa=VAPOUR, cloud_cover=SHARE
    ),
}

_TURBIDITY = 2.0 + 0.3 * np.arange(12)[:, None] + 0.5 * np.arange(3)[None, :]
_CELLS: dict[str, Any] = {
    "latitude_deg": np.array([-36.5, 68.0, 0.5]),
    "longitude_deg": np.array([147.3, -120.0, 10.0]),
    "elevation_m": np.array([620.0, 0.0, 3500.0]),
    "turbidity": _TURBIDITY,
}
_FACES = {
    "tilt_deg": np.array([0.0, 90.0, 35.0, 90.0]),
    "azimuth_deg": np.array([0.0, 270.0, 10.0, 45.0]),
}


def _grid(source: sun_grid.SunFrom, **more: Any) -> sun_grid.GridLight:
    random, shape = seeded("grid"), (DAYS_S.size, 3)
    track = sun_track.sun_track(time_s=DAYS_S)
    is_cloud = source is sun_grid.SunFrom.CLOUD
    return sun_grid.grid_light(
        source=source,
        given=random.random(shape) * (1.2 if is_cloud else 900.0),
        direct_w_m2=random.random(shape) * 700.0,
        diffuse_w_m2=random.random(shape) * 200.0,
        track=track,
        place=sun_track.places(**_CELLS),
        faces=sun_track.face_directions(**_FACES),
        **more,
    )


def _grid_cloud() -> object:
    random = seeded("grid cloud")
    clear = random.random((24, 4)) * 120.0
    clear[:, 3] = 20.0  # a place without daylight
    return sun_grid.grid_cloud(ghi_w_m2=random.random((24, 4)) * 150.0, clear_ghi_w_m2=clear)


def _grid_longwave(*, is_shared: bool) -> object:
    random, shape = seeded("longwave"), (5, 3, 2)
    return sun_grid.grid_longwave(
        air_temperature_k=260.0 + 60.0 * random.random(shape),
        relative_humidity=random.random(shape),
        cloud_cover=random.random(shape[:2] if is_shared else shape),
    )


_SUN_TRACK = {
    "sun_track": at(sun_track.sun_track, {"time_s": DAYS_S}),
    "places": at(sun_track.places, _CELLS),
    "face_directions": at(sun_track.face_directions, _FACES),
}

_SUN_GRID = {
    "grid_light": lambda: [
        _grid(sun_grid.SunFrom.PARTS),
        _grid(sun_grid.SunFrom.GLOBAL),
        _grid(sun_grid.SunFrom.GLOBAL, with_clear=True, albedo=0.35),
        _grid(sun_grid.SunFrom.CLOUD),
    ],
    "grid_cloud": _grid_cloud,
    "grid_longwave": lambda: [_grid_longwave(is_shared=shared) for shared in (True, False)],
}

_HEIGHTS = {"from_height_m": to(5.0, 20.0), "to_height_m": to(0.01, 12.0)}

_WIND = {
    "log_profile_factor": many(
        wind.log_profile_factor,
        **_HEIGHTS,
        roughness_m=every(0.03, 0.25),
        edges=[{"roughness_m": 0.0}, {"from_height_m": 0.01}],
    ),
    "wind_at_height_log": many(
        wind.wind_at_height_log,
        speed_m_s=to(0.0, 25.0),
        **_HEIGHTS,
        edges=[{"roughness_m": 0.1}],
    ),
    "wind_at_2m_fao56": many(
        wind.wind_at_2m_fao56, speed_m_s=to(0.0, 25.0), from_height_m=to(2.0, 20.0)
    ),
}

_REDUCTION = {
    "wind_at_20ft_turner": many(
        wind_reduction.wind_at_20ft_turner,
        wind_10m_m_s=to(0.0, 40.0),
        edges=[{"wind_10m_m_s": speed} for speed in (-0.1, 60.0, 60.1)],
    ),
    "wind_at_10m_turner": many(
        wind_reduction.wind_at_10m_turner,
        wind_20ft_m_s=to(0.0, 40.0),
        edges=[{"wind_20ft_m_s": speed} for speed in (-0.1, 60.0, 60.1)],
    ),
    "wind_adjustment_unsheltered": many(
        wind_reduction.wind_adjustment_unsheltered,
        fuel_depth_m=log(0.01, 5.0),
        edges=[{"fuel_depth_m": depth} for depth in (0.009, 5.1)],
    ),
    "crown_fill": many(
        wind_reduction.crown_fill,
        canopy_cover=SHARE,
        crown_ratio=SHARE,
        edges=[{"canopy_cover": 1.1}, {"crown_ratio": -0.1}, {"crown_ratio": 55.0}],
    ),
    "wind_adjustment_sheltered": many(
        wind_reduction.wind_adjustment_sheltered,
        crown_fill=to(0.05, 0.33),
        canopy_height_m=to(3.0, 40.0),
        edges=[{"crown_fill": 0.004}, {"canopy_height_m": 0.9}, {"canopy_height_m": 121.0}],
    ),
    "wind_adjustment": each(
        wind_reduction.wind_adjustment,
        fuel_depth_m=log(0.03, 4.0),
        edges=[
            {"fuel_depth_m": 0.0605},
            {"fuel_depth_m": 1.832},
            *(
                {"canopy_cover": cover, "crown_ratio": 0.5, "canopy_height_m": height_m}
                for cover, height_m in ((0.2, 12.0), (0.3, 3.0), (0.49, 20.0), (0.5, 20.0))
            ),
        ],
    ),
    "midflame_wind": many(
        wind_reduction.midflame_wind,
        wind_10m_m_s=to(0.0, 40.0),
        adjustment=to(0.05, 0.6),
        edges=[{"adjustment": 0.009}, {"adjustment": 1.1}],
    ),
}

GROUPS: Groups = {
    "air": _AIR,
    "fao56": _FAO56,
    "sun": _SUN,
    "sun_track": _SUN_TRACK,
    "sun_grid": _SUN_GRID,
    "wind": _WIND,
    "wind_reduction": _REDUCTION,
}
