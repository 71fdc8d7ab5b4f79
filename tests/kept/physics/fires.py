"""The fire: its flame, the heat it throws, and the Standard that does the whole chain."""

from __future__ import annotations

from typing import Any

import numpy as np

from kept.keeping import Groups
from kept.physics.drawing import COUNT, at, each, every, log, many, seeded, to
from stillwet.physics import as3959, exposures, flame, flux, transmissivity, view_factor

INTENSITY = log(1e3, 1.9e8)
_KINDS = tuple(flame.FireKind)

_FLAME = {
    "fireline_intensity_byram": many(
        flame.fireline_intensity_byram,
        heat_yield_j_kg=to(16e6, 20e6),
        fuel_consumed_kg_m2=to(0.1, 5.0),
        spread_rate_m_s=log(0.01, 3.0),
    ),
    "flame_length_byram": many(flame.flame_length_byram, intensity_w_m=INTENSITY),
    "flame_length_thomas": many(flame.flame_length_thomas, intensity_w_m=INTENSITY),
    "flame_length_nelson_adkins": many(flame.flame_length_nelson_adkins, intensity_w_m=INTENSITY),
    "flame_length_butler": many(flame.flame_length_butler, intensity_w_m=INTENSITY),
    "flame_length": many(
        flame.flame_length,
        intensity_w_m=INTENSITY,
        kind=every(*_KINDS),
        edges=[
            {"intensity_w_m": intensity}
            for intensity in (0.0, -1.0, 1e4, 9.9e3, 1e7, 1.01e7, 3.1e7, 3.9e6, 1.01e8, 2e8, 2.1e8)
        ],
    ),
    "flame_length by default": many(flame.flame_length, intensity_w_m=INTENSITY),
    "intensity_from_flame_length_byram": many(
        flame.intensity_from_flame_length_byram,
        flame_length_m=to(0.1, 40.0),
        edges=[{"flame_length_m": length} for length in (-0.1, 0.0, 100.0, 101.0)],
    ),
    "residence_time_anderson": many(
        flame.residence_time_anderson,
        surface_to_volume_1_m=log(1e3, 2e4),
        edges=[{"surface_to_volume_1_m": ratio} for ratio in (0.9, 1.0, 5.1e4)],
    ),
    "measured_residence": at(
        flame.measured_residence, *({"kind": kind} for kind in ("forest", "crown"))
    ),
    "measured_flux": at(
        flame.measured_flux,
        *({"kind": kind} for kind in ("understorey", "surface", "shrub", "crown")),
    ),
    "flame_depth": many(
        flame.flame_depth, spread_rate_m_s=log(0.01, 3.0), residence_s=to(5.0, 90.0)
    ),
    "is_deep_front": many(
        flame.is_deep_front,
        flame_length_m=to(0.0, 3.0),
        flame_depth_m=to(2.0, 9.0),
        edges=[{"flame_length_m": length, "flame_depth_m": 1.0} for length in (0.0, 1.9, 2.0, 2.1)],
    ),
    "flame_tilt_albini": many(
        flame.flame_tilt_albini,
        wind_speed_m_s=to(0.0, 25.0),
        flame_height_m=log(0.1, 40.0),
        edges=[
            {"wind_speed_m_s": -0.1},
            {"wind_speed_m_s": 61.0},
            {"flame_height_m": 0.0},
            {"flame_height_m": 101.0},
        ],
    ),
    "flame_tilt_from_length": many(
        flame.flame_tilt_from_length,
        wind_speed_m_s=to(0.0, 25.0),
        flame_length_m=log(0.1, 40.0),
        edges=[
            {"wind_speed_m_s": 0.0},
            {"wind_speed_m_s": -0.1},
            {"wind_speed_m_s": 61.0},
            {"flame_length_m": 0.0},
            {"flame_length_m": 101.0},
        ],
    ),
    "action_class": at(
        flame.action_class,
        *(
            {"flame_length_m": feet * 0.3048}
            for feet in (0.0, 3.9, 4.0, 7.9, 8.0, 10.9, 11.0, 40.0, -1.0, 400.0)
        ),
    ),
}

_SPREADING: dict[str, Any] = {
    "flame_length_m": 6.0,
    "flame_width_m": 40.0,
    "flame_tilt_deg": 35.0,
    "spread_rate_m_s": 0.4,
    "residence_s": 40.0,
    "setback_m": 4.0,
    "face_tilt_deg": np.array([90.0, 90.0, 30.0, 0.0]),
    "face_azimuth_deg": np.array([200.0, 290.0, 200.0, 0.0]),
    "face_height_m": np.array([1.5, 1.5, 4.0, 3.0]),
    "fire_bearing_deg": 225.0,
    "air_temperature_k": 308.0,
    "relative_humidity": 0.3,
}
_TILT, _TURN = np.radians([90.0, 60.0, 30.0, 46.0, 44.0, 90.0]), np.radians([0, -40, 0, 0, 0, -90])
_NORMALS = np.stack(
    [np.sin(_TILT) * np.cos(_TURN), np.sin(_TILT) * np.sin(_TURN), np.cos(_TILT)], axis=-1
)
_FLAME_FLUX: dict[str, Any] = {
    "distance_m": np.array([-1.0, 0.0, 0.5, 2.0, 8.0, 60.0])[:, None],
    "flame_length_m": 6.0,
    "flame_width_m": 30.0,
    "flame_tilt_deg": 30.0,
    "face_height_m": 2.0,
    "normal": _NORMALS,
    "air_temperature_k": 308.0,
    "relative_humidity": 0.3,
}


def _pulse(start_s: float, peak_w_m2: float) -> flux.FluxHistory:
    time, heat = flux.flux_from_peak(flux_peak_w_m2=peak_w_m2, flux_duration_s=90.0, faces=2)
    return flux.FluxHistory("front", time, heat, start_s)


def _history() -> dict[str, Any]:
    random = seeded("history")
    return {"time_s": np.cumsum(random.random(7)), "flux_w_m2": 5e4 * random.random((2, 3, 7))}


_FLUX = {
    "transmissivity_any_path": many(
        flux.transmissivity_any_path,
        path_m=log(0.1, 400.0),
        air_temperature_k=to(292.0, 308.0),
        flame_temperature_k=to(1000.0, 1500.0),
        relative_humidity=to(0.1, 1.0),
        edges=[{"path_m": path} for path in (0.0, 9.99, 10.0, 10.01)],
    ),
    "emissive_power": many(
        flux.emissive_power, flame_temperature_k=to(900.0, 1500.0), emissivity=to(0.5, 1.0)
    ),
    "flame_flux": at(
        flux.flame_flux,
        _FLAME_FLUX,
        {**_FLAME_FLUX, "ground_slope_deg": 20.0},
        {**_FLAME_FLUX, "ground_slope_deg": -10.0, "flame_tilt_deg": 0.0},
        {**_FLAME_FLUX, "flame_length_m": 0.0},
        {
            **_FLAME_FLUX,
            "flame_temperature_k": 1250.0,
            "emissivity": 0.8,
            "contact_flux_w_m2": 6e4,
        },
    ),
    "front_flux_history": at(
        flux.front_flux_history,
        _SPREADING,
        {**_SPREADING, "spread_rate_m_s": 0.0},
        {**_SPREADING, "fire_bearing_deg": None, "burn_out_share": 0.5},
        {
            **_SPREADING,
            "flame_temperature_k": 1250.0,
            "emissivity": 0.8,
            "contact_flux_w_m2": 3e5,
            "ground_slope_deg": 15.0,
            "setback_m": 0.3,
        },
    ),
    "flux_from_peak": at(
        flux.flux_from_peak,
        {"flux_peak_w_m2": 2e4, "flux_duration_s": 60.0},
        {"flux_peak_w_m2": 3e4, "flux_duration_s": 90.0, "faces": 3},
    ),
    "sum_fluxes": at(
        flux.sum_fluxes, {"sources": [_pulse(0.0, 2e4), _pulse(60.0, 3e4), _pulse(400.0, 1e4)]}
    ),
    "peak_flux": lambda: flux.peak_flux(flux_w_m2=_history()["flux_w_m2"]),
    "dose": lambda: flux.dose(**_history()),
}

_FIT: dict[str, Any] = {
    "air_temperature_k": to(292.0, 308.0),
    "relative_humidity": to(0.25, 1.0),
}
_TRANSMISSIVITY = {
    "transmissivity_fuss_hamins": many(
        transmissivity.transmissivity_fuss_hamins,
        path_m=to(0.0, 260.0),
        flame_temperature_k=to(1000.0, 1700.0),
        **_FIT,
        edges=[{"path_m": -3.0}, {"path_m": 200.0}, {"path_m": 201.0}],
    ),
    "is_in_fuss_hamins_range": many(
        transmissivity.is_in_fuss_hamins_range,
        path_m=to(0.0, 260.0),
        **_FIT,
        edges=[
            {"path_m": 50.0, **edge}
            for edge in (
                *({"path_m": path} for path in (9.99, 10.0, 200.0, 200.1)),
                *({"air_temperature_k": air} for air in (291.9, 292.0, 308.2, 308.3)),
                *({"relative_humidity": damp} for damp in (0.24, 0.25, 1.0, 1.01)),
            )
        ],
    ),
}

_SIDE, _PANEL = (
    log(0.2, 20.0),
    {
        "distance_m": to(0.5, 40.0),
        "flame_length_m": to(0.5, 20.0),
        "flame_width_m": to(1.0, 100.0),
        "flame_tilt_deg": to(0.0, 60.0),
        "face_height_m": to(0.0, 6.0),
    },
)


def _polygons() -> dict[str, Any]:
    """Squares before, beside, above and partly behind points that look all ways."""
    random = seeded("polygons")
    square = np.array([[0.0, -1.0, -1.0], [0.0, 1.0, -1.0], [0.0, 1.0, 1.0], [0.0, -1.0, 1.0]])
    places = np.array([2.0, 0.0, 0.0]) + random.normal(size=(COUNT, 1, 3))
    normals = random.normal(size=(COUNT, 3))
    return {
        "corners_m": square + places,
        "normal": normals / np.linalg.norm(normals, axis=1)[:, None],
    }


_VIEW_FACTOR = {
    "view_factor_parallel_rectangles": many(
        view_factor.view_factor_parallel_rectangles, width=_SIDE, depth=_SIDE, gap=_SIDE
    ),
    "view_factor_perpendicular_rectangles": many(
        view_factor.view_factor_perpendicular_rectangles,
        width=_SIDE,
        height=_SIDE,
        common_edge=_SIDE,
    ),
    "view_factor_element_parallel": many(
        view_factor.view_factor_element_parallel, width=_SIDE, height=_SIDE, gap=_SIDE
    ),
    "view_factor_element_perpendicular": many(
        view_factor.view_factor_element_perpendicular, height=_SIDE, width=_SIDE, gap=_SIDE
    ),
    "view_factor_polygon_lambert": lambda: view_factor.view_factor_polygon_lambert(**_polygons()),
    "face_normal": many(
        view_factor.face_normal,
        tilt_deg=to(0.0, 150.0),
        azimuth_deg=to(0.0, 360.0),
        fire_bearing_deg=every(None, 75.0),
    ),
    "flame_panel_corners": many(
        view_factor.flame_panel_corners, **_PANEL, edges=[{"ground_slope_deg": 15.0}]
    ),
    "view_factor_flame_panel": many(
        view_factor.view_factor_flame_panel,
        **_PANEL,
        normal=every(*_NORMALS[:3]),
        edges=[{"ground_slope_deg": 15.0}],
    ),
}

_NAMES = ("forest", "woodland", "shrubland", "scrub", "mallee_mulga", "rainforest", "grassland")
_TO_BUILDING: dict[str, Any] = {
    "vegetation": every(*_NAMES),
    "fire_danger_index": to(40.0, 100.0),
    "slope_deg": to(0.0, 20.0),
}

_AS3959 = {
    "vegetation_named": at(
        as3959.vegetation_named, *({"name": name} for name in (*_NAMES, "moss"))
    ),
    "spread_rate_mcarthur_forest": many(
        as3959.spread_rate_mcarthur_forest,
        fire_danger_index=to(1.0, 100.0),
        surface_fuel_kg_m2=to(0.5, 3.0),
    ),
    "spread_rate_mcarthur_grass": many(
        as3959.spread_rate_mcarthur_grass, grass_fire_danger_index=to(1.0, 130.0)
    ),
    "spread_rate_catchpole_shrub": many(
        as3959.spread_rate_catchpole_shrub, wind_speed_m_s=to(1.0, 17.0), height_m=to(0.3, 3.0)
    ),
    "slope_factor_mcarthur": many(as3959.slope_factor_mcarthur, slope_deg=to(-10.0, 20.0)),
    "flame_length_noble_forest": many(
        as3959.flame_length_noble_forest,
        spread_rate_m_s=to(0.01, 2.0),
        total_fuel_kg_m2=to(0.5, 4.0),
    ),
    "flame_length_as3959_grass": many(as3959.flame_length_as3959_grass, intensity_w_m=INTENSITY),
    "grass_index_paired": each(
        as3959.grass_index_paired,
        fire_danger_index=to(40.0, 100.0),
        edges=[{"fire_danger_index": 39.0}, {"fire_danger_index": 101.0}],
    ),
    "front_as3959": lambda: [
        at(
            as3959.front_as3959,
            *(
                {"vegetation": as3959.vegetation_named(name), **fire}
                for fire in (
                    {"fire_danger_index": 80.0},
                    {"fire_danger_index": 100.0, "slope_deg": 20.0},
                    {"fire_danger_index": 101.0, "slope_deg": 21.0},
                    {"fire_danger_index": 50.0, "slope_deg": -5.0},
                    {"fire_danger_index": 201.0},
                    {"fire_danger_index": 0.5},
                    {"fire_danger_index": 50.0, "slope_deg": 46.0},
                )
            ),
        )()
        for name in _NAMES
    ],
    "view_factor_as3959": many(
        as3959.view_factor_as3959,
        flame_length_m=to(2.0, 30.0),
        flame_angle_deg=to(5.0, 90.0),
        distance_m=to(1.0, 100.0),
        slope_deg=to(0.0, 20.0),
        flame_width_m=100.0,
        edges=[{"distance_m": 0.1, "flame_length_m": 20.0, "flame_angle_deg": 30.0}],
    ),
    "worst_flame_angle_as3959": each(
        as3959.worst_flame_angle_as3959,
        flame_length_m=to(2.0, 30.0),
        distance_m=to(5.0, 100.0),
        slope_deg=to(0.0, 20.0),
        flame_width_m=to(20.0, 100.0),
    ),
    "exposure_as3959": at(
        as3959.exposure_as3959,
        *(
            {"vegetation": name, "fire_danger_index": 90.0, "slope_deg": 8.0, "distance_m": away}
            for name in _NAMES
            for away in (12.0, 45.0)
        ),
        *(
            {
                "vegetation": "forest",
                "fire_danger_index": 80.0,
                "slope_deg": -3.0,
                "distance_m": 30.0,
                **edge,
            }
            for edge in (
                {"flame_width_m": 20.0},
                {"flame_width_m": 0.0},
                {"flame_width_m": 3000.0},
                {"distance_m": 0.0},
                {"distance_m": 300.0},
                {"distance_m": 2001.0},
                {"vegetation": "moss"},
            )
        ),
    ),
    "emissive_power_as3959": as3959.emissive_power_as3959,
    "distance_for_flux_as3959": at(
        as3959.distance_for_flux_as3959,
        *(
            {
                "vegetation": name,
                "fire_danger_index": 90.0,
                "slope_deg": 8.0,
                "heat_flux_w_m2": heat,
            }
            for name, heat in (
                *(("forest", 29e3), ("grassland", 12.5e3), ("scrub", 19e3), ("scrub", 55e3)),
                *(("forest", 9.0), ("forest", 10.0), ("forest", 61e3)),
            )
        ),
    ),
    "attack_level": at(
        as3959.attack_level,
        *(
            {"heat_flux_w_m2": heat}
            for heat in (0.0, 1e3, 12.5e3, 12.6e3, 19e3, 19.1e3, 29e3, 29.1e3, 40e3, 40.1e3, 6e5)
        ),
        {"heat_flux_w_m2": -1.0},
    ),
    "distances_for_levels_as3959": at(
        as3959.distances_for_levels_as3959,
        {"vegetation": "woodland", "fire_danger_index": 80.0, "slope_deg": 5.0},
    ),
}

GROUPS: Groups = {
    "flame": _FLAME,
    "flux": _FLUX,
    "transmissivity": _TRANSMISSIVITY,
    "view_factor": _VIEW_FACTOR,
    "as3959": _AS3959,
    "exposures": {"exposures": exposures.exposures},
}
