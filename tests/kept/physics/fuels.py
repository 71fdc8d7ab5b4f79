"""Fuel: the standard models, their beds, their moisture from the air and from a spray."""

from __future__ import annotations

from typing import Any

import numpy as np

from kept.keeping import Groups
from kept.physics.drawing import COUNT, Answer, at, each, every, log, many, to
from stillwet.errors import StillwetError
from stillwet.physics import bed_air, fuel_bed, fuel_models, fuel_moisture, wet_fuel

SHARE = to(0.0, 1.0)
SEVERAL = ("1", "4", "10", "GR4", "GS3", "SH7", "TU3", "TL8", "SB4")
_AIR: dict[str, Any] = {"air_temperature_k": to(263.0, 318.0), "relative_humidity": to(0.02, 1.0)}
_BAD_AIR: list[dict[str, Any]] = [
    *({"air_temperature_k": air} for air in (213.0, 343.2, 35.0)),
    *({"relative_humidity": damp} for damp in (-0.01, 1.01, 40.0)),
]


def _changed(**columns: Any) -> object:
    """What is said of a model with columns that cannot be."""
    given = {
        name: getattr(fuel_models.fuel_model("1"), name)
        for name in fuel_models.FuelModel.__dataclass_fields__
    }
    try:
        return fuel_models.FuelModel(**{**given, **columns})
    except StillwetError as error:
        return str(error)


_FUEL_MODELS: dict[str, Answer] = {
    "fuel_models": fuel_models.fuel_models,
    "fuel_model": at(
        fuel_models.fuel_model, *({"code": code} for code in (" gr2 ", "13", "sb4", "GR10"))
    ),
    "FuelModel refused": lambda: [
        _changed(load_kg_m2=np.array([0.0, 0.1, 0.0, 0.0, 0.0])),
        _changed(load_kg_m2=np.array([0.1, 0.1])),
        _changed(load_kg_m2=np.array([9.0, 0.1, 0.0, 0.0, -0.1])),
        *(
            _changed(**{name: value})
            for name, (low, high, _) in fuel_models.BOUNDS.items()
            if name.endswith(("depth_m", "extinction_moisture", "heat_content_j_kg"))
            for value in (low, high, low * 0.999, high * 1.001)
        ),
        _changed(surface_to_volume_1_m=np.array([49.0, 50.0, 15e3, 15001.0, 100.0])),
    ],
}


def _beds() -> list[fuel_bed.FuelBed]:
    return [
        fuel_bed.fuel_bed(fuel=fuel_models.fuel_model(code), cured_fraction=cured)
        for code in SEVERAL
        for cured in (0.0, 0.4)
    ]


_FUEL_BED = {
    "cured_fraction_burgan": many(fuel_bed.cured_fraction_burgan, herb_moisture=to(0.2, 1.4)),
    "fuel_bed": lambda: [
        [
            fuel_bed.fuel_bed(fuel=model, cured_fraction=0.4),
            fuel_bed.fuel_bed(fuel=model).characteristic_surface_to_volume_1_m,
        ]
        for model in fuel_models.fuel_models()
    ],
    "fuel_bed of many": lambda: [
        at(
            fuel_bed.fuel_bed,
            *(
                {"fuel": fuel_models.fuel_model(code), "cured_fraction": cured}
                for cured in (np.linspace(0.0, 1.0, 5), -0.1, 1.1)
            ),
        )()
        for code in ("4", "GR4")
    ],
    "optimum_packing_rothermel": many(
        fuel_bed.optimum_packing_rothermel, characteristic_1_ft=to(200.0, 3500.0)
    ),
    "live_extinction_albini": lambda: [
        fuel_bed.live_extinction_albini(
            bed=bed,
            dead_moisture=np.array([0.05, 0.07, 0.09, 0.05]) * factor,
            dead_extinction=0.25,
        )
        for bed in _beds()
        for factor in (0.5, 1.0, 5.0)
    ],
}

_SITE: dict[str, Any] = {
    "month": every(*range(1, 13)),
    "local_hour": 13.0,
    "aspect": every("N", "E", "S", "W"),
    "slope_fraction": every(0.1, 0.305, 0.6),
    "is_shaded": every(False, True),
}
_DAY: dict[str, Any] = {
    "month": 7,
    "local_hour": 13.0,
    "aspect": "S",
    "slope_fraction": 0.2,
    "is_shaded": False,
}

_EDGES_OF_DAY: dict[str, tuple[Any, ...]] = {
    "month": (0, 13),
    "local_hour": (7.9, 8.0, 9.99, 10.0, 19.99, 20.0),
    "slope_fraction": (-0.1, 0.304, 2.0, 2.1),
    "aspect": ("NE", "s"),
}

_FUEL_MOISTURE = {
    "equilibrium_moisture_simard": many(
        fuel_moisture.equilibrium_moisture_simard,
        **_AIR,
        edges=[
            *_BAD_AIR,
            *({"relative_humidity": h} for h in (0.0, 0.0999, 0.1, 0.4999, 0.5, 1.0)),
        ],
    ),
    "equilibrium_moisture_wood_handbook": many(
        fuel_moisture.equilibrium_moisture_wood_handbook, **_AIR, edges=_BAD_AIR
    ),
    "equilibrium_moisture_van_wagner": many(
        fuel_moisture.equilibrium_moisture_van_wagner,
        **_AIR,
        edges=[*_BAD_AIR, {"relative_humidity": 0.0, "air_temperature_k": 318.0}],
    ),
    "one_hour_moisture_fosberg": many(
        fuel_moisture.one_hour_moisture_fosberg,
        **_AIR,
        cloud_cover=SHARE,
        is_sunlit=every(True, False),
        edges=[
            *_BAD_AIR,
            *({"cloud_cover": cloud} for cloud in (0.0, 0.1, 0.11, 0.5, 0.51, 0.9, 0.91, 1.0, 1.1)),
        ],
    ),
    "reference_moisture_rothermel": many(
        fuel_moisture.reference_moisture_rothermel,
        **_AIR,
        edges=[*_BAD_AIR, {"relative_humidity": 1.0}, {"air_temperature_k": 255.0}],
    ),
    "reference_moisture_rothermel whole": lambda: [
        fuel_moisture.reference_moisture_rothermel(
            air_temperature_k=(np.arange(10.0, 130.0, 10.0) + 459.67) * 5 / 9,
            relative_humidity=percent / 100.0,
        )
        for percent in range(0, 101, 5)
    ],
    "moisture_correction_rothermel": each(
        fuel_moisture.moisture_correction_rothermel,
        **{**_SITE, "local_hour": to(8.0, 19.9)},
    ),
    "moisture_correction_rothermel by height": at(
        fuel_moisture.moisture_correction_rothermel,
        *({**_DAY, "site": site} for site in fuel_moisture.SiteHeight),
        *({**_DAY, name: value} for name, values in _EDGES_OF_DAY.items() for value in values),
    ),
    "fine_dead_moisture_rothermel": many(
        fuel_moisture.fine_dead_moisture_rothermel,
        **_AIR,
        **_DAY,
        edges=[
            {"site": fuel_moisture.SiteHeight.ABOVE},
            {"month": 1, "local_hour": 9.0, "aspect": "N", "slope_fraction": 0.5},
            {"is_shaded": True},
        ],
    ),
    "fine_dead_moisture": many(
        fuel_moisture.fine_dead_moisture,
        **_AIR,
        cloud_cover=SHARE,
        is_sunlit=every(True, False),
        edges=[
            *({"air_temperature_k": air, "relative_humidity": 0.3} for air in (255.0, 342.0)),
            *({"relative_humidity": damp} for damp in (0.0, 0.05, 1.0)),
        ],
    ),
    "coarse_dead_moisture_rothermel": many(
        fuel_moisture.coarse_dead_moisture_rothermel, one_hour=to(0.02, 0.3)
    ),
    "forest_fire_danger_index_noble": many(
        fuel_moisture.forest_fire_danger_index_noble,
        drought_factor=to(1.0, 10.0),
        **_AIR,
        wind_speed_m_s=to(0.0, 25.0),
        edges=[
            *_BAD_AIR,
            *({"drought_factor": drought} for drought in (0.0, 0.01, 10.0, 10.1)),
            *({"wind_speed_m_s": speed} for speed in (-0.1, 60.1)),
        ],
    ),
}

_BED_AIR = {
    "top_exchange_fao56": many(
        bed_air.top_exchange_fao56,
        wind_m_s=to(0.0, 15.0),
        height_m=log(0.01, 3.0),
        edges=[
            {"reference_m": 4.0},
            *({"wind_m_s": speed} for speed in (-0.1, 60.1)),
            *({"height_m": height} for height in (0.009, 3.0, 3.1)),
        ],
    ),
    "through_flow": many(
        bed_air.through_flow,
        bed_wind_m_s=to(0.0, 5.0),
        depth_m=log(0.05, 2.0),
        width_m=log(0.5, 50.0),
        edges=[
            *({"bed_wind_m_s": speed} for speed in (-0.1, 60.1)),
            *({"depth_m": depth} for depth in (0.009, 3.1)),
            *({"width_m": width} for width in (0.049, 501.0)),
        ],
    ),
    "renewal_share": many(
        bed_air.renewal_share,
        surface=to(0.5, 20.0),
        blade_m_s=to(0.001, 0.05),
        supply_m_s=to(0.0, 0.2),
        edges=[{"surface": 0.0, "supply_m_s": 0.0}],
    ),
    "bed_drying_penman": many(
        bed_air.bed_drying_penman,
        whole_kg_m2_s=to(1e-5, 3e-4),
        ventilated_kg_m2_s=to(1e-5, 2e-4),
        share=SHARE,
        surface=to(0.5, 20.0),
        edges=[{"share": 0.0, "ventilated_kg_m2_s": 1.0}],
    ),
}


def _wet_beds() -> list[wet_fuel.WetBed]:
    return [
        wet_fuel.wet_bed(fuel=fuel_models.fuel_model(code), cured_fraction=0.4) for code in SEVERAL
    ]


_WATER: dict[str, Any] = {
    "water_kg_m2": np.linspace(0.0, 2.0, COUNT),
    "fuel_moisture": np.linspace(0.02, 0.2, COUNT),
}

_WET_FUEL: dict[str, Answer] = {
    "fuel_surface_area": many(
        wet_fuel.fuel_surface_area,
        load_kg_m2=to(0.0, 5.0),
        surface_to_volume_1_m=log(100.0, 12e3),
        edges=[
            {"particle_density_kg_m3": 400.0},
            *({"load_kg_m2": load} for load in (-0.1, 20.1)),
            *({"surface_to_volume_1_m": ratio} for ratio in (0.9, 5.1e4)),
        ],
    ),
    "wet_bed": lambda: [
        at(
            wet_fuel.wet_bed,
            *({"fuel": fuel_models.fuel_model(code), "cured_fraction": cured} for code in SEVERAL),
        )()
        for cured in (0.0, 0.4, 1.0, 1.1, -0.1)
    ],
    "WetBed properties": lambda: [
        [bed.leaf_area_index, bed.dead_load_over_share] for bed in _wet_beds()
    ],
    "film_per_surface": many(
        wet_fuel.film_per_surface, water_kg_m2=to(0.0, 3.0), surface=to(0.5, 20.0)
    ),
    "moisture_with_film": many(
        wet_fuel.moisture_with_film,
        film_kg_m2=to(0.0, 0.5),
        surface_to_volume_1_m=log(100.0, 12e3),
        fuel_moisture=to(0.02, 0.3),
        edges=[{"particle_density_kg_m3": 400.0}],
    ),
    "dead_moisture_wetted": lambda: [
        wet_fuel.dead_moisture_wetted(bed=bed, **_WATER) for bed in _wet_beds()
    ],
    "water_for_extinction": lambda: [
        at(
            wet_fuel.water_for_extinction,
            *(
                {"bed": bed, "fuel_moisture": moisture, "margin": margin}
                for moisture, margin in ((0.05, 1.0), (0.1, 1.5), (9.0, 2.0), (0.1, 0.99))
            ),
        )()
        for bed in _wet_beds()
    ],
    "water_boiled_by_flames": many(
        wet_fuel.water_boiled_by_flames,
        flux_w_m2=to(0.0, 150e3),
        exposure_s=to(0.0, 120.0),
        start_temperature_k=to(278.0, 320.0),
        water_efficiency=to(0.5, 1.0),
        edges=[
            {"absorptivity": 0.8},
            *({"flux_w_m2": heat} for heat in (-1.0, 401e3)),
            *({"exposure_s": seconds} for seconds in (-1.0, 7201.0)),
        ],
    ),
    "ground_view_past_flames": many(
        wet_fuel.ground_view_past_flames,
        tilt_deg=to(0.0, 90.0),
        edges=[{"tilt_deg": tilt} for tilt in (-1.0, 91.0)],
    ),
    "share_caught": many(
        wet_fuel.share_caught,
        leaf_area_index=to(0.0, 8.0),
        extinction=to(0.2, 1.0),
        edges=[{"extinction": extinction} for extinction in (0.04, 2.1)],
    ),
    "mean_share_on_surface": many(
        wet_fuel.mean_share_on_surface,
        surface=log(1e-3, 20.0),
        extinction=to(0.2, 1.0),
        edges=[{"surface": surface} for surface in (0.0, 501.0)],
    ),
    "tilt_for_sky_view": many(
        wet_fuel.tilt_for_sky_view,
        sky_view=SHARE,
        edges=[{"sky_view": view} for view in (0.0, 1.0, -0.1, 1.1)],
    ),
}

GROUPS: Groups = {
    "fuel_models": _FUEL_MODELS,
    "fuel_bed": _FUEL_BED,
    "fuel_moisture": _FUEL_MOISTURE,
    "bed_air": _BED_AIR,
    "wet_fuel": _WET_FUEL,
}
