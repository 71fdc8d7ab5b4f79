"""Spread, flame and exposure over whole input spaces: direction, finiteness, convexity of shape."""

from __future__ import annotations

import dataclasses

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from stillwet.physics.as3959 import emissive_power_as3959, exposure_as3959
from stillwet.physics.flame import FireKind, flame_length
from stillwet.physics.fuel_models import FuelModel, fuel_models
from stillwet.physics.fuel_moisture import fine_dead_moisture
from stillwet.physics.spread import FuelMoisture, SurfaceSpread, WindLimit, surface_spread
from stillwet.physics.wind_reduction import wind_adjustment

MODELS = st.sampled_from(fuel_models())
LIMITS = st.sampled_from(list(WindLimit))
DEAD = st.floats(0.01, 0.5)
LIVE = st.floats(0.3, 3.0)
WIND = st.floats(0.0, 20.0)
SLOPE = st.floats(0.0, 45.0)


def _burn(model: FuelModel, moisture: FuelMoisture, wind: float, slope: float) -> SurfaceSpread:
    return surface_spread(fuel=model, moisture=moisture, midflame_wind_m_s=wind, slope_deg=slope)


def _dead(value: float, herb: float, woody: float) -> FuelMoisture:
    return FuelMoisture(one_hour=value, ten_hour=value, hundred_hour=value, herb=herb, woody=woody)


@settings(max_examples=150, deadline=None)
@given(model=MODELS, dead=DEAD, herb=LIVE, woody=LIVE, wind=WIND, slope=SLOPE, limit=LIMITS)
def test_every_fire_is_finite_and_none_is_negative(
    model: FuelModel,
    dead: float,
    herb: float,
    woody: float,
    wind: float,
    slope: float,
    limit: WindLimit,
) -> None:
    """No possible input gives a gap, an infinity or a negative anywhere in the answer."""
    fire = surface_spread(
        fuel=model,
        moisture=_dead(dead, herb, woody),
        midflame_wind_m_s=wind,
        slope_deg=slope,
        wind_limit=limit,
    )
    for column in dataclasses.fields(fire):
        if column.name != "flags":
            value = float(getattr(fire, column.name))
            assert np.isfinite(value), column.name
            assert value >= 0.0, column.name


@settings(max_examples=150, deadline=None)
@given(
    model=MODELS,
    dead=DEAD,
    drier=st.floats(0.0, 1.0),
    herb=LIVE,
    woody=LIVE,
    wind=WIND,
    slope=SLOPE,
)
def test_drying_the_dead_fuel_never_slows_or_weakens_the_fire(
    model: FuelModel,
    dead: float,
    drier: float,
    herb: float,
    woody: float,
    wind: float,
    slope: float,
) -> None:
    """All dead classes dried by any share: rate and intensity do not fall."""
    wet = _burn(model, _dead(dead, herb, woody), wind, slope)
    dry = _burn(model, _dead(dead * drier, herb, woody), wind, slope)
    # 1e-9 of slack for rounding
    assert float(dry.spread_rate_m_s) >= float(wet.spread_rate_m_s) * (1 - 1e-9)
    assert float(dry.fireline_intensity_w_m) >= float(wet.fireline_intensity_w_m) * (1 - 1e-9)


@settings(max_examples=150, deadline=None)
@given(model=MODELS, dead=DEAD, herb=LIVE, woody=LIVE, drier=st.floats(0.1, 1.0), wind=WIND)
def test_drying_the_shrubs_never_slows_the_fire(
    model: FuelModel, dead: float, herb: float, woody: float, drier: float, wind: float
) -> None:
    """Live woody fuel dried by any share: the rate does not fall."""
    wet = _burn(model, _dead(dead, herb, woody), wind, 0.0)
    dry = _burn(model, _dead(dead, herb, max(woody * drier, 0.3)), wind, 0.0)
    assert float(dry.spread_rate_m_s) >= float(wet.spread_rate_m_s) * (1 - 1e-9)


@settings(max_examples=150, deadline=None)
@given(
    model=MODELS, dead=DEAD, herb=LIVE, wind=WIND, more=st.floats(0.0, 10.0), slope=SLOPE,
    angle=st.floats(0.0, 180.0), limit=LIMITS,
)  # fmt: skip
def test_wind_along_is_the_worst_and_more_of_it_never_slows(
    model: FuelModel,
    dead: float,
    herb: float,
    wind: float,
    more: float,
    slope: float,
    angle: float,
    limit: WindLimit,
) -> None:
    """Uphill wind spreads at least as fast as wind at any angle; stronger uphill wind no slower."""

    def rate(speed: float, off_upslope: float) -> float:
        fire = surface_spread(
            fuel=model,
            moisture=_dead(dead, herb, 1.0),
            midflame_wind_m_s=speed,
            slope_deg=slope,
            wind_from_upslope_deg=off_upslope,
            wind_limit=limit,
        )
        return float(fire.spread_rate_m_s)

    assert rate(wind, 0.0) >= rate(wind, angle) * (1 - 1e-9)
    assert rate(wind + more, 0.0) >= rate(wind, 0.0) * (1 - 1e-9)


@settings(max_examples=60, deadline=None)
@given(intensity=st.floats(0.0, 1e8), kind=st.sampled_from(list(FireKind)))
def test_a_flame_lies_inside_its_interval(intensity: float, kind: FireKind) -> None:
    """The chosen flame length is one of the siblings, so it lies between least and most."""
    flame = flame_length(intensity_w_m=intensity, kind=kind)
    assert 0.0 <= float(flame.low_m) <= float(flame.length_m) <= float(flame.high_m) < 70.0


@settings(max_examples=80, deadline=None)
@given(
    vegetation=st.sampled_from(["forest", "woodland", "scrub", "grassland"]),
    danger=st.floats(40.0, 100.0),
    slope=st.floats(-20.0, 20.0),
    distance=st.floats(0.1, 500.0),
    farther=st.floats(1.05, 3.0),
)
def test_flux_is_bounded_by_the_flame_and_falls_away(
    vegetation: str, danger: float, slope: float, distance: float, farther: float
) -> None:
    """No distance gives more than the flame emits, and going farther never gives more (0.1 %)."""
    near, far = (
        exposure_as3959(
            vegetation=vegetation,
            fire_danger_index=danger,
            slope_deg=slope,
            distance_m=metres,
        ).heat_flux_w_m2
        for metres in (distance, distance * farther)
    )
    assert 0.0 < far <= near + 1e-3 * emissive_power_as3959()
    assert near < emissive_power_as3959()


@settings(max_examples=80, deadline=None)
@given(
    warmth=st.floats(273.2, 323.0),
    humidity=st.floats(0.0, 1.0),
    cloud=st.floats(0.0, 1.0),
    is_sunlit=st.booleans(),
)
def test_fine_moisture_lies_inside_its_interval(
    warmth: float, humidity: float, cloud: float, is_sunlit: bool
) -> None:
    """The chosen moisture is between its siblings, never negative, never above 40 %."""
    found = fine_dead_moisture(
        air_temperature_k=warmth,
        relative_humidity=humidity,
        cloud_cover=cloud,
        is_sunlit=is_sunlit,
    )
    assert 0.0 <= float(found.low) <= float(found.moisture) <= float(found.high) < 0.4
    assert found.flags == ()


@settings(max_examples=60, deadline=None)
@given(
    depth=st.floats(0.02, 2.0),
    cover=st.floats(0.0, 1.0),
    ratio=st.floats(0.0, 1.0),
    height=st.floats(3.1, 60.0),
)
def test_midflame_wind_is_always_a_part_of_the_open_wind(
    depth: float, cover: float, ratio: float, height: float
) -> None:
    """Whatever the fuel and canopy, the adjustment and its interval stay between 0 and 0.6."""
    found = wind_adjustment(
        fuel_depth_m=depth, canopy_cover=cover, crown_ratio=ratio, canopy_height_m=height
    )
    assert 0.0 < float(found.low) <= float(found.factor) <= float(found.high) < 0.6
