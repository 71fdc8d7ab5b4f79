"""Surface spread: limits, directions, siblings, hourly series, dimensions, refusals."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from stillwet.errors import StillwetError
from stillwet.physics.fuel_bed import (
    cured_fraction_burgan,
    fuel_bed,
    optimum_packing_rothermel,
)
from stillwet.physics.fuel_models import fuel_model, fuel_models
from stillwet.physics.spread import (
    FuelMoisture,
    WindLimit,
    combined_factor_andrews,
    mineral_damping_rothermel,
    moisture_damping_rothermel,
    reaction_velocity_albini,
    slope_factor_rothermel,
    surface_spread,
    wind_factor_rothermel,
)

CODES = [model.code for model in fuel_models()]


def _moisture(dead: float = 0.06, herb: float = 0.6, woody: float = 0.9) -> FuelMoisture:
    return FuelMoisture(one_hour=dead, ten_hour=dead, hundred_hour=dead, herb=herb, woody=woody)


@pytest.mark.parametrize("code", CODES)
def test_a_bed_past_extinction_does_not_burn_and_says_so(code: str) -> None:
    """Dead and live fuel wetter than they can burn: no rate, intensity or flame, and a flag."""
    model = fuel_model(code)
    # dead fuel past extinction holds the live limit down to the dead one as well
    wet = _moisture(model.extinction_moisture * 1.01, herb=2.0, woody=2.0)
    fire = surface_spread(fuel=model, moisture=wet, midflame_wind_m_s=5.0)
    for value in (
        fire.spread_rate_m_s,
        fire.reaction_intensity_w_m2,
        fire.fireline_intensity_w_m,
        fire.flame_length_m,
    ):
        assert float(value) == 0.0
    assert fire.flags == ("too wet to spread",)


@pytest.mark.parametrize("code", CODES)
def test_drier_windier_steeper_never_slow_the_fire(code: str) -> None:
    """Below extinction, for every model: less dead moisture, more wind, more slope go faster."""
    model = fuel_model(code)
    steps = np.linspace(0.02, model.extinction_moisture * 0.98, 25)
    moisture = FuelMoisture(one_hour=steps, ten_hour=steps, hundred_hour=steps, herb=0.6, woody=0.9)
    wet = surface_spread(fuel=model, moisture=moisture, midflame_wind_m_s=2.0)
    assert np.all(np.diff(wet.spread_rate_m_s) < 0)
    windy = surface_spread(
        fuel=model, moisture=_moisture(), midflame_wind_m_s=np.linspace(0.0, 15.0, 25)
    )
    assert np.all(np.diff(windy.spread_rate_m_s) > 0)
    steep = surface_spread(
        fuel=model,
        moisture=_moisture(),
        midflame_wind_m_s=1.0,
        slope_deg=np.linspace(0.0, 40.0, 25),
    )
    assert np.all(np.diff(steep.spread_rate_m_s) > 0)


@pytest.mark.parametrize("code", [model.code for model in fuel_models() if model.is_dynamic])
def test_green_herbs_never_speed_the_fire(code: str) -> None:
    """In every dynamic model green herbs spread slower, and burn weaker, than cured ones."""
    model = fuel_model(code)
    cured, green = (
        surface_spread(fuel=model, moisture=_moisture(herb=herb), midflame_wind_m_s=2.0)
        for herb in (0.3, 1.2)
    )
    assert float(green.spread_rate_m_s) < float(cured.spread_rate_m_s)
    if code != "SH9":  # a trait of the published weights, told in the docstring
        assert float(green.fireline_intensity_w_m) < float(cured.fireline_intensity_w_m)


def test_no_wind_and_no_slope_add_nothing() -> None:
    """In still air on level ground both factors are 0 and the rate is the no-wind rate."""
    fire = surface_spread(fuel=fuel_model("10"), moisture=_moisture(), midflame_wind_m_s=0.0)
    assert float(fire.wind_factor) == 0.0
    assert float(fire.slope_factor) == 0.0
    assert float(fire.spread_rate_m_s) == float(fire.no_wind_spread_rate_m_s)


def test_an_hourly_series_is_the_hours_one_by_one() -> None:
    """A series with changing moisture, wind and curing equals single calls, in every field."""
    model = fuel_model("GS2")
    dead = np.array([0.04, 0.09, 0.2])
    herb = np.array([0.3, 0.8, 1.5])
    wind = np.array([0.0, 3.0, 1.0])
    series = surface_spread(
        fuel=model,
        moisture=FuelMoisture(
            one_hour=dead, ten_hour=dead + 0.01, hundred_hour=0.1, herb=herb, woody=1.0
        ),
        midflame_wind_m_s=wind,
        slope_deg=12.0,
        wind_from_upslope_deg=40.0,
    )
    for hour in range(3):
        single = surface_spread(
            fuel=model,
            moisture=FuelMoisture(
                one_hour=float(dead[hour]),
                ten_hour=float(dead[hour]) + 0.01,
                hundred_hour=0.1,
                herb=float(herb[hour]),
                woody=1.0,
            ),
            midflame_wind_m_s=float(wind[hour]),
            slope_deg=12.0,
            wind_from_upslope_deg=40.0,
        )
        for column in dataclasses.fields(single):
            if column.name != "flags":
                whole = np.asarray(getattr(series, column.name))
                assert whole[hour] == pytest.approx(float(getattr(single, column.name)), rel=1e-12)
                assert np.ndim(getattr(single, column.name)) == 0
    assert series.flags == ("too wet to spread",)


def test_inputs_are_not_changed() -> None:
    """The caller's arrays are the same after the call."""
    dead, wind = np.array([0.05, 0.3]), np.array([1.0, 9.0])
    kept = dead.copy(), wind.copy()
    moisture = FuelMoisture(one_hour=dead, ten_hour=dead, hundred_hour=dead, herb=1.0, woody=1.0)
    surface_spread(fuel=fuel_model("2"), moisture=moisture, midflame_wind_m_s=wind)
    np.testing.assert_array_equal(dead, kept[0])
    np.testing.assert_array_equal(wind, kept[1])


def test_intensity_is_heat_per_area_times_spread() -> None:
    """Byram's intensity is reaction intensity times residence times rate, in SI."""
    fire = surface_spread(fuel=fuel_model("SH5"), moisture=_moisture(), midflame_wind_m_s=2.0)
    heat = float(fire.reaction_intensity_w_m2) * float(fire.residence_s)
    assert float(fire.heat_per_area_j_m2) == pytest.approx(heat)
    assert float(fire.fireline_intensity_w_m) == pytest.approx(heat * float(fire.spread_rate_m_s))


def test_heat_released_is_less_than_the_fuel_holds() -> None:
    """For every model the front gives off less heat than burning all its fuel would."""
    for model in fuel_models():
        fire = surface_spread(fuel=model, moisture=_moisture(0.03, 0.3, 0.6), midflame_wind_m_s=2.0)
        held = float(model.load_kg_m2.sum()) * model.heat_content_j_kg
        assert 0 < float(fire.heat_per_area_j_m2) < held


def test_wind_limits_only_slow_and_the_default_has_none() -> None:
    """Each limit gives at most the unlimited rate; sparse grass in a gale is held and flagged."""
    common = {
        "fuel": fuel_model("GR1"),
        "moisture": _moisture(),
        "midflame_wind_m_s": np.array([0.5, 15.0]),
    }
    free = surface_spread(**common)  # type: ignore[arg-type]
    assert free.flags == ("wind beyond the 1972 limit",)
    for limit in (WindLimit.ROTHERMEL, WindLimit.ANDREWS):
        held = surface_spread(**common, wind_limit=limit)  # type: ignore[arg-type]
        rates, free_rates = np.asarray(held.spread_rate_m_s), np.asarray(free.spread_rate_m_s)
        assert rates[0] == free_rates[0]
        assert rates[1] < free_rates[1]


def test_at_the_1972_limit_the_limit_changes_nothing() -> None:
    """Wind just at the reported limit spreads the same with and without it; above, it does not."""
    model = fuel_model("SH1")
    still = surface_spread(fuel=model, moisture=_moisture(), midflame_wind_m_s=0.0)
    limit = float(still.wind_limit_m_s)
    for wind, is_same in ((limit * 0.999, True), (limit * 1.1, False)):
        free, held = (
            surface_spread(
                fuel=model, moisture=_moisture(), midflame_wind_m_s=wind, wind_limit=choice
            )
            for choice in (WindLimit.NONE, WindLimit.ROTHERMEL)
        )
        assert (float(free.spread_rate_m_s) == float(held.spread_rate_m_s)) is is_same


def test_wind_limits_stand_where_hand_reckoning_puts_them() -> None:
    """Model 1 at 6 %: I_R 825.46 Btu/ft2/min; 0.9 I_R = 742.9 and 96.8 I_R^(1/3) = 908.1 ft/min."""
    model = fuel_model("1")
    foot_per_minute = 0.3048 / 60
    fire = surface_spread(fuel=model, moisture=_moisture(), midflame_wind_m_s=0.0)
    assert float(fire.wind_limit_m_s) == pytest.approx(742.9 * foot_per_minute, rel=1e-4)
    held = surface_spread(
        fuel=model,
        moisture=_moisture(),
        midflame_wind_m_s=20.0,
        wind_limit=WindLimit.ANDREWS,
    )
    at_limit = surface_spread(
        fuel=model, moisture=_moisture(), midflame_wind_m_s=908.1 * foot_per_minute
    )
    assert float(held.spread_rate_m_s) == pytest.approx(float(at_limit.spread_rate_m_s), rel=5e-4)


def test_wind_across_the_slope_lies_between_along_and_none() -> None:
    """Uphill wind simply adds to slope, cross wind adds at right angles, downhill wind opposes."""
    factors = [
        float(
            combined_factor_andrews(wind_factor=4.0, slope_factor=3.0, wind_from_upslope_deg=angle)
        )
        for angle in (0.0, 90.0, 180.0)
    ]
    assert factors == pytest.approx([7.0, 5.0, 1.0])


def test_curing_runs_from_120_to_30_percent() -> None:
    """Herbs at 120 % are green, at 30 % cured, and in between a third is gone at 90 %."""
    cured = cured_fraction_burgan(herb_moisture=np.array([0.3, 0.9, 1.2, 2.0]))
    np.testing.assert_allclose(cured, [1.0, 1 / 3, 0.0, 0.0], atol=0.004)


def test_curing_moves_load_and_loses_none() -> None:
    """A half-cured bed holds the same load and density; static beds do not cure."""
    green, half = (fuel_bed(fuel=fuel_model("GR4"), cured_fraction=share) for share in (0.0, 0.5))
    assert half.load_lb_ft2.sum() == pytest.approx(green.load_lb_ft2.sum())
    assert float(half.bulk_density_lb_ft3) == pytest.approx(float(green.bulk_density_lb_ft3))
    assert half.category_weight[0] > green.category_weight[0]
    static = fuel_bed(fuel=fuel_model("2"), cured_fraction=0.5)
    np.testing.assert_array_equal(static.load_lb_ft2, fuel_bed(fuel=fuel_model("2")).load_lb_ft2)


def test_a_fully_cured_grass_bed_with_no_live_fuel_burns() -> None:
    """With nothing live left, the live limit falls back to the dead one and all stays finite."""
    fire = surface_spread(
        fuel=fuel_model("GR2"), moisture=_moisture(herb=0.29), midflame_wind_m_s=2
    )
    assert float(fire.live_extinction_moisture) == pytest.approx(0.15)
    assert float(fire.spread_rate_m_s) > 0


def test_live_fuel_burns_wetter_under_more_dead_fuel() -> None:
    """The live limit falls as dead fuel wets, and never below the dead limit."""
    dead = np.linspace(0.02, 0.25, 20)
    moisture = FuelMoisture(one_hour=dead, ten_hour=dead, hundred_hour=dead, herb=0.6, woody=0.9)
    fire = surface_spread(fuel=fuel_model("4"), moisture=moisture, midflame_wind_m_s=2.0)
    limits = np.asarray(fire.live_extinction_moisture)
    assert np.all(np.diff(limits) <= 0)
    assert limits[0] > 1.0
    assert limits[-1] == pytest.approx(0.20)


def test_splitting_a_size_class_changes_nothing_of_the_bed() -> None:
    """Weights sum to one in each category that has fuel, and to one over the categories."""
    for model in fuel_models():
        bed = fuel_bed(fuel=model, cured_fraction=0.4)
        assert bed.class_weight[:4].sum() == pytest.approx(1.0)
        assert bed.class_weight[4:].sum() == pytest.approx(1.0 if bed.category_weight[1] else 0.0)
        assert bed.category_weight.sum() == pytest.approx(1.0)
        assert bed.net_load_lb_ft2.sum() <= bed.load_lb_ft2.sum()


def test_damping_runs_from_one_to_none_and_never_rises() -> None:
    """Bone-dry fuel is not damped, fuel at extinction not burning; ash damps to 0.417."""
    ratio = np.linspace(0.0, 1.5, 200)
    damping = np.asarray(moisture_damping_rothermel(moisture_ratio=ratio))
    assert damping[0] == 1.0
    assert np.all(damping[ratio >= 1] == 0.0)
    assert np.all(np.diff(damping) <= 0)
    # 0.010^-0.19 = 2.3988; the published standard value is 0.42
    assert mineral_damping_rothermel(effective_mineral=0.010) == pytest.approx(0.4174, abs=1e-4)
    assert mineral_damping_rothermel(effective_mineral=1e-6) == 1.0


def test_reaction_is_fastest_at_the_optimum_packing() -> None:
    """Any packing other than the optimum burns slower, for coarse and fine beds."""
    for sigma in (800.0, 1500.0, 3500.0):
        best = reaction_velocity_albini(characteristic_1_ft=sigma, relative_packing_ratio=1.0)
        for packing in (0.5, 0.9, 1.1, 3.0):
            other = reaction_velocity_albini(
                characteristic_1_ft=sigma, relative_packing_ratio=packing
            )
            assert float(other) < float(best)


def test_fine_fuel_feels_the_wind_more_and_packs_looser() -> None:
    """At 5 mi/h, finer fuel has the larger wind factor; its optimum packing is lower."""
    factors = wind_factor_rothermel(
        wind_ft_min=440.0,
        characteristic_1_ft=np.array([1000.0, 2000.0, 3500.0]),
        relative_packing_ratio=0.5,
    )
    assert np.all(np.diff(np.asarray(factors)) > 0)
    packing = optimum_packing_rothermel(characteristic_1_ft=np.array([1000.0, 3500.0]))
    assert np.asarray(packing)[0] > np.asarray(packing)[1]


def test_slope_acts_alike_up_and_down() -> None:
    """The slope factor goes with the tangent squared: half the slope, a quarter of the factor."""
    full, half = (
        float(slope_factor_rothermel(slope_tangent=tangent, packing_ratio=0.01))
        for tangent in (0.6, 0.3)
    )
    assert full == pytest.approx(4 * half)


def test_steep_ground_is_flagged() -> None:
    """Beds were burned to 75 % slope: 40 deg is beyond it, 35 deg is not."""
    for slope, flags in ((35.0, ()), (40.0, ("slope steeper than the beds tested",))):
        fire = surface_spread(
            fuel=fuel_model("4"), moisture=_moisture(), midflame_wind_m_s=0.0, slope_deg=slope
        )
        assert fire.flags == flags


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (
            lambda: _moisture(dead=8.0),
            "moisture_one_hour: wanted 0 to 2, got 8.0; moisture is a fraction of dry weight; "
            "is it in percent?",
        ),
        (
            lambda: _moisture(woody=4.0),
            "moisture_woody: wanted 0.1 to 3.5, got 4.0; moisture is a fraction of dry weight; "
            "is it in percent?",
        ),
        (
            lambda: surface_spread(
                fuel=fuel_model("1"), moisture=_moisture(), midflame_wind_m_s=np.array([1.0, 72.0])
            ),
            "midflame_wind: wanted 0 to 40 m/s, got 72.0 (item 1); is it in km/h or mi/h?",
        ),
        (
            lambda: surface_spread(
                fuel=fuel_model("1"), moisture=_moisture(), midflame_wind_m_s=-1.0
            ),
            "midflame_wind: wanted 0 to 40 m/s, got -1.0; is it in km/h or mi/h?",
        ),
        (
            lambda: surface_spread(
                fuel=fuel_model("1"), moisture=_moisture(), midflame_wind_m_s=1.0, slope_deg=60.0
            ),
            "slope: wanted 0 to 45 deg, got 60.0; is it in percent?",
        ),
        (
            lambda: fuel_bed(fuel=fuel_model("GR1"), cured_fraction=80.0),
            "cured_fraction: wanted 0 to 1 fraction, got 80.0; is it in percent?",
        ),
    ],
)
def test_impossible_inputs_are_refused_in_words(make: object, words: str) -> None:
    """Percent for fraction, 400 % moisture, a gale in km/h and 60 deg are named and explained."""
    assert callable(make)
    with pytest.raises(StillwetError) as caught:
        make()
    assert str(caught.value) == words
