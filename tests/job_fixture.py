"""An invented job for tests: a hot, dry, windy day at an invented place, fire in the afternoon."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from stillwet.domain.assets import Asset, Shading
from stillwet.domain.basis import Basis, BasisKind
from stillwet.domain.fire import FireExposure
from stillwet.domain.job import Job, Practice, Uncertainty
from stillwet.domain.products import Crew, Product, RatioBasis, WaterPoint
from stillwet.domain.weather import Weather

START_S = 1_786_716_000.0  # 2026-08-14 14:00 UTC, 08:00 in the job's zone
HOUR = 3600.0


def make_weather(**changes: Any) -> Weather:
    """36 hours: 15 C and 40 % at dawn to 36 C and 10 % in the afternoon, wind 4 to 9 m/s."""
    time_s = START_S + HOUR * np.arange(-6, 36)
    local_hour = (time_s / HOUR - 6.0) % 24
    warmth = np.clip(np.sin((local_hour - 6) / 24 * 2 * np.pi - 0.6), -1, 1)
    nan = np.full(time_s.size, np.nan)
    values: dict[str, Any] = {
        "time_s": time_s,
        "air_temperature_k": 273.15 + 25.5 + 10.5 * warmth,
        "relative_humidity": 0.25 - 0.15 * warmth,
        "wind_speed_m_s": 6.5 + 2.5 * warmth,
        "wind_direction_deg": np.full(time_s.size, 225.0),
        "pressure_pa": np.full(time_s.size, 85e3),
        "ghi_w_m2": nan,
        "dni_w_m2": nan,
        "dhi_w_m2": nan,
        "cloud_cover": np.zeros(time_s.size),
        "precipitation_kg_m2": np.zeros(time_s.size),
        "latitude_deg": 43.0,
        "longitude_deg": -112.0,
        "elevation_m": 1450.0,
        "wind_height_m": 10.0,
        "time_zone": "America/Denver",
        "source": "invented",
        "issued_s": START_S,
    }
    return Weather(**(values | changes))


def make_fire(**changes: Any) -> FireExposure:
    """A brush fire from the south-west that stops 8 m from the face, 15:00 to 16:00 local."""
    values: dict[str, Any] = {
        "name": "brush fire",
        "arrival_from_s": START_S + 7 * HOUR,
        "arrival_to_s": START_S + 8 * HOUR,
        "flame_length_m": 3.0,
        "flame_width_m": 50.0,
        "flame_tilt_deg": 30.0,
        "spread_rate_m_s": 0.4,
        "residence_s": 30.0,
        "setback_m": 8.0,
        "bearing_deg": 225.0,
    }
    return FireExposure(**(values | changes))


def make_asset(**changes: Any) -> Asset:
    """A wooden house of 12 by 9 m in the open."""
    values: dict[str, Any] = {
        "id": "a1",
        "name": "Invented house",
        "kind": "house",
        "value": 100.0,
        "x_m": 0.0,
        "y_m": 0.0,
        "footprint_m": None,
        "length_m": 12.0,
        "width_m": 9.0,
        "eave_height_m": 2.7,
        "roof_pitch_deg": 20.0,
        "facing_deg": 180.0,
        "material": "wood siding",
        "shading": Shading.OPEN,
        "sheltering": 0.6,
        "fire": make_fire(),
    }
    return Asset(**(values | changes))


def make_product(**changes: Any) -> Product:
    """A superabsorbent dispersion whose yield stress a trial has fixed."""
    values: dict[str, Any] = {
        "id": "p1",
        "name": "Invented gel",
        "product_type": "superabsorbent_dispersion",
        "ratio_basis": RatioBasis.VOLUME,
        "ratio_low": 0.005,
        "ratio_high": 0.03,
        "density_kg_m3": 1050.0,
        "yield_coefficient_pa": 5e4,
        "yield_threshold": 0.003,
        "yield_exponent": 1.5,
        "hardness_half_kg_m3": 0.3,
        "drying_exponent": 0.75,
        "pack_m3": 0.02,
        "cost_per_pack": 120.0,
        "basis": {
            "drying_exponent": Basis(BasisKind.UNTESTED, "test", 0.5, 1.0),
            "yield_coefficient": Basis(BasisKind.TRIAL, "test", 4e4, 6e4),
        },
    }
    return Product(**(values | changes))


def make_practice(**changes: Any) -> Practice:
    """Ordinary practice with the untested defaults' own intervals."""
    untested = BasisKind.UNTESTED
    values: dict[str, Any] = {
        "transfer_efficiency": 0.75,
        "coat_variation": 0.35,
        "cling_safety": 1.5,
        "thinnest_coat_kg_m2": 1.6,
        "ember_reserve_kg_m2": 0.3,
        "ember_period_s": 2 * HOUR,
        "water_efficiency": 0.7,
        "work_window_s": 2 * HOUR,
        "egress_lead_s": 0.75 * HOUR,
        "longest_wait_s": 12 * HOUR,
        "ground_albedo": 0.2,
        "basis": {
            "transfer_efficiency": Basis(untested, "test", 0.5, 0.95),
            "coat_variation": Basis(untested, "test", 0.2, 0.6),
            "water_efficiency": Basis(untested, "test", 0.5, 1.0),
        },
    }
    return Practice(**(values | changes))


def make_crew(**changes: Any) -> Crew:
    """A small engine: 300 gal tank, 100 gal reserve, 30 gal/min at the nozzle."""
    values: dict[str, Any] = {
        "id": "c1",
        "name": "Invented engine",
        "tank_m3": 1.136,
        "reserve_m3": 0.379,
        "spray_flow_m3_s": 0.00189,
        "people": 3,
        "setup_s": 600.0,
        "speed_m_s": 15.0,
    }
    return Crew(**(values | changes))


def make_job(**changes: Any) -> Job:
    """One house, one crew, one soft water point."""
    values: dict[str, Any] = {
        "name": "Invented job",
        "time_zone": "America/Denver",
        "crs": "EPSG:32612",
        "start_s": START_S,
        "members": 64,
        "seed": 1,
        "assets": (make_asset(),),
        "lines": (),
        "weather": make_weather(),
        "product": make_product(),
        "crews": (make_crew(),),
        "water_points": (WaterPoint("w1", "Invented pond", 100.0, 0.0, 0.01, 0.05, 288.15),),
        "practice": make_practice(),
        "uncertainty": Uncertainty((0.8, 1.8), (0.04, 0.09), (0.2, 0.35), (0.08, 0.2)),
    }
    return Job(**(values | changes))


def with_fire(asset: Asset, **changes: Any) -> Asset:
    """The asset with its fire changed."""
    return replace(asset, fire=replace(asset.fire, **changes))
