"""A fire reckoned from fuel and forecast: numbers, what is kept, what is flagged, what it moves."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from job_fixture import HOUR, START_S, make_asset, make_fire, make_job, make_weather
from stillwet.domain.basis import BasisKind, given
from stillwet.domain.fire import FireExposure, Fuel
from stillwet.domain.job import Job
from stillwet.engine.exposure import ask_of_asset
from stillwet.engine.faces import faces_of
from stillwet.engine.fire_behaviour import fire_cases, settle_fire, settle_fires
from stillwet.engine.members import draw_members
from stillwet.errors import StillwetError
from stillwet.units import to_si

# Wind at 10 m that gives 5 mi/h at midflame over fuel 1 ft deep: 20-ft wind is 1/1.15 of it (Turner
# & Lawson 1978), midflame 0.362 of that (Andrews 2012, table for 1 ft; from memory).
WIND_10M = to_si(5.0, "mph", dimension="speed") / 0.362 * 1.15


def fuel(model: str = "1", **changes: Any) -> Fuel:
    """A fuel whose dead moisture is typed in, at 8 %."""
    values: dict[str, Any] = {
        "moisture_1h": 0.08,
        "moisture_10h": 0.08,
        "moisture_100h": 0.08,
        "moisture_herb": 1.0,
        "moisture_woody": 1.0,
    }
    return Fuel(model, **(values | changes))


def job_of(fire: FireExposure, wind_m_s: float = WIND_10M, **weather: Any) -> Job:
    """One house that meets this fire under a steady wind."""
    columns = {"wind_speed_m_s": np.full(make_weather().hours, wind_m_s)}
    sky = replace(make_weather(), **(columns | weather))
    return make_job(assets=(make_asset(fire=fire),), weather=sky)


def settled(fire: FireExposure, **changes: Any) -> FireExposure:
    """The fire as the plan meets it."""
    return settle_fire(job_of(fire, **changes), fire)


def chains_per_hour(fire: FireExposure) -> float:
    """Spread rate in the unit of the printed tables."""
    return fire.spread_rate_m_s / to_si(1.0, "ch/h", dimension="speed")


@pytest.mark.parametrize(
    ("model", "rate_ch_h", "flame_ft"),
    # Anderson 1982, INT-122: 8 % dead, 100 % live moisture, 5 mi/h midflame wind (from memory).
    [("1", 78.0, 4.0), ("2", 35.0, 6.0), ("3", 104.0, 12.0), ("8", 1.6, 1.0), ("9", 7.5, 2.6)],
)
def test_the_printed_fires_of_the_numbered_models(
    model: str, rate_ch_h: float, flame_ft: float
) -> None:
    """Spread and flame of Anderson's examples, through the whole path from 10-m wind to exposure.

    The wind at 10 m is set from each model's own depth, so that midflame has 5 mi/h.
    """
    depth_ft = {"1": 1.0, "2": 1.0, "3": 2.5, "8": 0.2, "9": 0.2}[model]
    reduction = 1.83 / np.log((20 + 0.36 * depth_ft) / (0.13 * depth_ft))
    wind = to_si(5.0, "mph", dimension="speed") / reduction * 1.15
    fire = settled(make_fire(fuel=fuel(model)), wind_m_s=float(wind))
    assert chains_per_hour(fire) == pytest.approx(rate_ch_h, rel=0.12)
    assert fire.flame_length_m / 0.3048 == pytest.approx(flame_ft, abs=0.6)


def test_every_number_says_where_it_came_from() -> None:
    """Published, with the fuel model and an interval that holds the value."""
    fire = settled(make_fire(fuel=fuel("GR2")))
    for name in ("flame_length", "flame_tilt", "spread_rate", "residence"):
        basis = fire.basis[name]
        assert basis.kind is BasisKind.PUBLISHED
        assert "Rothermel 1972" in basis.source
        assert "GR2" in basis.source
    low, high = fire.basis["flame_length"].low, fire.basis["flame_length"].high
    assert low is not None
    assert high is not None
    assert low < fire.flame_length_m < high


def test_what_is_typed_in_is_kept() -> None:
    """A given flame length stands; spread and lean still come from the fuel."""
    typed = make_fire(fuel=fuel(), flame_length_m=2.5, basis={"flame_length": given("job.toml")})
    fire = settled(typed)
    assert fire.flame_length_m == 2.5
    assert fire.basis["flame_length"] == given("job.toml")
    assert chains_per_hour(fire) == pytest.approx(78.0, rel=0.12)


def test_settling_twice_is_settling_once() -> None:
    """A settled job does not move again."""
    job = settle_fires(job_of(make_fire(fuel=fuel("SH5"))))
    assert settle_fires(job).assets == job.assets
    plain = job_of(make_fire())
    assert settle_fires(plain).assets == plain.assets


def test_the_worst_hour_of_the_arrival_window_counts() -> None:
    """A gust in one hour of a window of five sets the flame, wherever in the window it falls."""
    weather = make_weather()
    window = {"arrival_from_s": START_S + 3 * HOUR, "arrival_to_s": START_S + 8 * HOUR}
    fire = make_fire(fuel=fuel(), **window)
    flames = []
    for hour in (2, 4, 7, 10):
        wind = np.where(weather.time_s == START_S + hour * HOUR, 12.0, 3.0)
        flames.append(settled(fire, wind_speed_m_s=wind).flame_length_m)
    outside, early, late, after = flames
    assert early == late
    assert outside == after
    assert early > 1.5 * outside


def test_dry_air_dries_the_fuel_and_shade_dampens_it() -> None:
    """Dead moisture left out follows the forecast: damper air and a closed canopy burn lower."""
    hours = make_weather().hours
    grass = Fuel("TL8", moisture_herb=0.6, moisture_woody=0.9)
    flames = [
        settled(make_fire(fuel=grass), relative_humidity=np.full(hours, damp)).flame_length_m
        for damp in (0.1, 0.4, 0.8)
    ]
    assert flames[0] > flames[1] > flames[2] > 0.0
    closed = replace(grass, canopy_cover=0.7, canopy_height_m=20.0, crown_ratio=0.5)
    dry = np.full(hours, 0.1)
    shaded = settled(make_fire(fuel=closed), relative_humidity=dry)
    assert shaded.flame_length_m < 0.8 * flames[0]


def test_steep_ground_is_reckoned_and_flagged_steeper_is_refused() -> None:
    """Slopes beyond the 75 % of the tested beds are flagged; 60 degrees is no surface fire's."""
    gentle = settled(make_fire(fuel=fuel(slope_deg=20.0)))
    assert "slope steeper than the beds tested" not in gentle.flags
    steep = settled(make_fire(fuel=fuel(slope_deg=44.0)))
    assert "slope steeper than the beds tested" in steep.flags
    assert steep.spread_rate_m_s > settled(make_fire(fuel=fuel())).spread_rate_m_s
    with pytest.raises(StillwetError, match="fuel_slope: wanted 0 to 45 deg, got 60"):
        fuel(slope_deg=60.0)


def test_fuel_too_wet_to_burn_has_no_flame_and_says_so() -> None:
    """Above its moisture of extinction (12 % in model 1, Anderson 1982) nothing spreads."""
    fire = settled(make_fire(fuel=fuel(moisture_1h=0.2)))
    assert fire.flame_length_m == 0.0
    assert fire.spread_rate_m_s == 0.0
    assert "too wet to spread" in fire.flags


def test_an_impossible_moisture_is_refused() -> None:
    """400 % is no fuel's moisture."""
    with pytest.raises(StillwetError, match="moisture_1h: wanted 0 to 2 fraction, got 4"):
        fuel(moisture_1h=4.0)


def test_a_storm_is_cut_and_flagged() -> None:
    """Grass under 40 m/s of wind would run faster than any fire reported: cut, and said."""
    fire = settled(make_fire(fuel=fuel(moisture_1h=0.03)), wind_m_s=40.0)
    assert fire.spread_rate_m_s == 10.0
    assert "spread rate cut at that of the fastest fires" in fire.flags
    assert "wind beyond the 1972 limit" in fire.flags


def test_members_move_the_flame_with_their_wind() -> None:
    """Strong members have longer flames; the forecast's own lies among them."""
    fire = make_fire(fuel=fuel("GR4"))
    job = settle_fires(job_of(fire))
    members = draw_members(job)
    cases = fire_cases(job, job.assets[0].fire, members)
    lengths = [case.flame_length_m for case in cases.fires]
    assert lengths == sorted(lengths)
    assert lengths[0] < job.assets[0].fire.flame_length_m < lengths[-1]
    assert cases.position.min() == 0.0
    assert cases.position.max() == len(lengths) - 1


@pytest.mark.parametrize(
    "fixed", [{"flux_peak_w_m2": 2e4, "flux_duration_s": 60.0}, {"fuel": None}]
)
def test_a_fire_that_is_typed_in_does_not_move(fixed: dict[str, Any]) -> None:
    """A typed flux, or no fuel: one case for all members."""
    job = settle_fires(job_of(make_fire(**({"fuel": fuel()} | fixed))))
    members = draw_members(job)
    cases = fire_cases(job, job.assets[0].fire, members)
    assert cases.fires == (job.assets[0].fire,)
    assert (cases.position == 0.0).all()


def test_uncertain_wind_widens_what_the_fire_takes() -> None:
    """With nothing else uncertain, the water demand spreads only for the fire from fuel."""
    fire = make_fire(fuel=fuel("GR4"), setback_m=2.0)

    def spread_of(fire: FireExposure) -> float:
        job = job_of(fire)
        job = replace(job, practice=replace(job.practice, basis={}))
        members = draw_members(job)
        members = replace(members, flux_factor=np.ones(members.count))
        asset = job.assets[0]
        demand = ask_of_asset(job, asset, faces_of(asset), members).water_demand_kg_m2
        south = demand[2]
        return float(south.std() / south.mean())

    assert spread_of(replace(fire, fuel=None)) < 1e-12
    assert spread_of(fire) > 0.05


def test_a_member_between_two_cases_takes_a_share_of_each() -> None:
    """The demand by cases is near that of every member's own flame."""
    job = job_of(make_fire(fuel=fuel("GR4"), setback_m=3.0))
    job = settle_fires(replace(job, members=16))
    asset, members = job.assets[0], draw_members(job)
    members = replace(members, flux_factor=np.ones(16), water_efficiency=np.ones(16))
    faces = faces_of(asset)
    found = ask_of_asset(job, asset, faces, members).water_demand_kg_m2[2]
    cases = fire_cases(job, asset.fire, members)
    at_nodes = [
        ask_of_asset(job, replace(asset, fire=replace(case, fuel=None)), faces, members)
        for case in cases.fires
    ]
    nodes = np.array([ask.water_demand_kg_m2[2, 0] for ask in at_nodes])
    wanted = np.interp(cases.position, np.arange(len(nodes)), nodes)
    np.testing.assert_allclose(found, wanted, rtol=1e-9)


def test_what_is_typed_in_for_coarse_fuel_is_taken() -> None:
    """Damper ten-hour fuel slows brush that holds some; grass without any is not moved."""

    def rate(model: str, ten_hour: float) -> float:
        fire = make_fire(fuel=fuel(model, moisture_10h=ten_hour), bearing_deg=None)
        return settled(fire).spread_rate_m_s

    assert rate("9", 0.25) < rate("9", 0.05)
    assert rate("1", 0.25) == rate("1", 0.05)


def test_at_night_no_fuel_lies_in_the_sun() -> None:
    """Half way round the earth it is night: the same air leaves open fuel damper than by day, and
    as damp as fuel in the shade of a closed canopy.
    """
    here = make_weather()
    open_fuel = Fuel("TL8", moisture_herb=0.6, moisture_woody=0.9)
    under = replace(open_fuel, canopy_cover=0.7, canopy_height_m=20.0, crown_ratio=0.5)

    def moisture(fuel: Fuel, longitude_deg: float) -> str:
        hours = here.hours
        steady = {
            "relative_humidity": np.full(hours, 0.1),
            "air_temperature_k": np.full(hours, 305.0),
            "longitude_deg": longitude_deg,
        }
        basis = settled(make_fire(fuel=fuel), **steady).basis["spread_rate"]
        return basis.source.split("fine dead fuel at ")[1].split(" %")[0]

    night = (here.longitude_deg + 360.0) % 360.0 - 180.0
    assert float(moisture(open_fuel, here.longitude_deg)) < float(moisture(open_fuel, night))
    assert moisture(open_fuel, night) == moisture(under, night)
    assert float(moisture(open_fuel, here.longitude_deg)) < float(
        moisture(under, here.longitude_deg)
    )
