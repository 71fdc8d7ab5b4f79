"""Invented jobs with lines to be wetted: each purpose, each way of working, each way of failing."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from job_fixture import HOUR, START_S, make_asset, make_crew, make_product, make_weather, with_fire
from kept.engine.places import CREEK, told
from line_fixture import (
    UNTESTED,
    make_fuel,
    make_line,
    make_line_job,
    make_model,
    make_segment,
    make_work,
    steady_job,
)
from stillwet.domain.job import Job
from stillwet.domain.lines import Beginning, LinePurpose, Side, WetSides
from stillwet.domain.products import RatioBasis, WaterPoint
from stillwet.domain.suitability import LocalRules, Well

_OF_SEGMENT = ("width", "bare_width", "black_depth", "aspect")
_OF_FUEL = (
    *("fuel_model", "slope", "moisture_1h", "moisture_herb", "moisture_woody"),
    *("canopy_cover", "canopy_height", "crown_ratio"),
)
_OF_WORK = (
    *("coverage", "mix_ratio", "wind_limit", "ignition_pace", "spray_walk", "follow_gap"),
    *("refill_turn", "connect", "detour", "delay_share"),
)


def burn_line() -> Job:
    """Two segments lit behind, the crew's refills on the way."""
    work = make_work(delay_share=0.11)
    crew = make_crew(tank_m3=0.71, reserve_m3=0.19)
    near = WaterPoint("w1", "Invented pond", 40.0, 30.0, 0.02, 0.05, 288.15)
    return make_line_job(
        make_line(work=work, basis=UNTESTED | told(_OF_WORK)),
        members=12,
        crews=(crew,),
        water_points=(near,),
        remarks=("a remark of the reader",),
    )


def tight_day() -> Job:
    """The same with hardly more time than it takes: delays break most days."""
    job = burn_line()
    work = replace(job.lines[0].work, finish_s=START_S + 0.9 * HOUR, delay_share=0.25)
    return replace(job, lines=(replace(job.lines[0], work=work),))


def holding_points() -> Job:
    """A nozzle much faster than its torch, which it has to wait for."""
    work = make_work(
        ignition_pace_m_s=0.06,
        spray_walk_m_s=0.9,
        beginning=Beginning.LAST,
        fire_side=Side.LEFT,
        finish_s=START_S + 6.5 * HOUR,
        delay_share=0.05,
        coverage_kg_m2=2.3,
        mix_ratio=0.013,
    )
    segments = (make_segment(black_depth_m=1.1), make_segment(80.0, 155.0, black_depth_m=1.4))
    line = make_line(work=work, segments=segments, note="slowly")
    return make_line_job(line, members=12, crews=(make_crew(tank_m3=9.0),))


def beside_a_road() -> Job:
    """Both edges of a road in shrub and litter; a fire comes, nobody lights."""
    fuel = make_fuel("SH2", moisture_1h=0.06, slope_deg=9.0, basis=told(_OF_FUEL))
    litter = make_fuel("TL3", canopy_cover=0.55, canopy_height_m=14.0, crown_ratio=0.4)
    segments = (
        make_segment(
            track_m=((0.0, 0.0), (21.0, 40.0)),
            fuel=fuel,
            bare_width_m=6.5,
            basis=told(_OF_SEGMENT),
            note="bend",
        ),
        make_segment(
            47.0,
            track_m=((21.0, 40.0), (60.0, 77.0)),
            fuel=litter,
            bare_width_m=5.0,
            width_m=2.5,
            aspect_deg=75.0,
        ),
    )
    work = make_work(
        is_lit=False,
        wet_sides=WetSides.BOTH,
        crew_id="c2",
        finish_s=None,
        arrival_from_s=START_S + 3.2 * HOUR,
        arrival_to_s=START_S + 3.9 * HOUR,
        beginning=Beginning.FIRST,
    )
    line = make_line(id="l2", name="Road", purpose=LinePurpose.BESIDE, segments=segments, work=work)
    second = make_crew(id="c2", name="Second engine", tank_m3=2.2, spray_flow_m3_s=0.0034)
    return make_line_job(line, members=13, crews=(make_crew(), second), seed=4)


def slowing_strip() -> Job:
    """A strip ahead of a fire that comes when it comes to the house."""
    line = make_line(
        id="l3",
        purpose=LinePurpose.SLOWING,
        work=make_work(is_lit=False, finish_s=None),
        segments=(make_segment(0.0, 60.0, fuel=make_fuel("GR1", moisture_herb=1.1)),),
        model=make_model(flame_flux_w_m2=31e3, flame_exposure=1.2),
    )
    soon = {"arrival_from_s": START_S + 2.1 * HOUR, "arrival_to_s": START_S + 2.6 * HOUR}
    return make_line_job(line, members=12, seed=3, assets=(with_fire(make_asset(), **soon),))


def wind_turns() -> Job:
    """A wind that leaves its sector at noon and comes back; light winds only."""
    weather = make_weather()
    hours = np.arange(weather.hours)
    turning = replace(weather, wind_direction_deg=np.mod(190.0 + 23.0 * hours, 360.0))
    work = make_work(
        wind_from_deg=150.0, wind_to_deg=20.0, wind_limit_m_s=7.9, finish_s=START_S + 7.7 * HOUR
    )
    return make_line_job(make_line(work=work), members=12, weather=turning, seed=6)


def wrong_wind() -> Job:
    """No hour with an allowed wind."""
    work = make_work(wind_from_deg=300.0, wind_to_deg=340.0, finish_s=START_S + 3.1 * HOUR)
    return make_line_job(make_line(work=work, segments=(make_segment(),)), members=12)


def no_direction() -> Job:
    """A weather without wind directions, in damp, still air."""
    line = make_line(
        work=make_work(wind_from_deg=300.0, wind_to_deg=340.0, start_s=START_S + 1.1 * HOUR),
        segments=(make_segment(0.0, 70.0, fuel=make_fuel("GS1"), black_depth_m=2.2),),
    )
    job = steady_job(line, wind=1.7, humidity=0.61, sun=0.3, members=12)
    unknown = np.full(job.weather.hours, np.nan)
    return replace(job, weather=replace(job.weather, wind_direction_deg=unknown))


def no_water() -> Job:
    """A small tank, and nothing to fill it from."""
    crew = make_crew(tank_m3=0.52, reserve_m3=0.31)
    return make_line_job(members=12, crews=(crew,), water_points=())


def no_time() -> Job:
    """Hardly any time, and a weak nozzle."""
    work = make_work(finish_s=START_S + 0.31 * HOUR, refill_turn_s=900.0)
    crew = make_crew(spray_flow_m3_s=0.0004, tank_m3=2.0)
    return make_line_job(
        make_line(work=work, segments=(make_segment(),)), members=12, crews=(crew,)
    )


def slow_torch() -> Job:
    """A torch too slow for an afternoon's drying; flames too long for the strip."""
    work = make_work(
        ignition_pace_m_s=0.02, start_s=START_S + 6.2 * HOUR, finish_s=START_S + 9.0 * HOUR
    )
    fuel = make_fuel("GR4", slope_deg=12.0)
    slanting = make_segment(fuel=fuel, width_m=1.3, track_m=((0.0, 0.0), (-17.0, 46.0)))
    segments = (slanting,)
    return make_line_job(make_line(work=work, segments=segments), members=12)


def dry_shrub() -> Job:
    """Shrub that dries before any black stands, met by a fire a day's end later."""
    fuel = make_fuel("SH5", moisture_1h=0.03, moisture_woody=0.6)
    lit = make_line(
        id="l4",
        name="Ridge",
        work=make_work(start_s=START_S + 5.0 * HOUR, finish_s=START_S + 8.0 * HOUR),
        segments=(make_segment(0.0, 55.0, fuel=fuel, black_depth_m=30.0, bare_width_m=31.0),),
    )
    met = make_line(
        id="l5",
        name="Saddle",
        purpose=LinePurpose.BESIDE,
        work=make_work(
            is_lit=False,
            start_s=START_S + 0.2 * HOUR,
            finish_s=START_S + 2.0 * HOUR,
            arrival_from_s=START_S + 4.0 * HOUR,
            arrival_to_s=START_S + 11.0 * HOUR,
        ),
        segments=(make_segment(0.0, 42.0, fuel=fuel, bare_width_m=26.0),),
    )
    return make_line_job(lit, met, members=12, seed=2)


def near_a_creek() -> Job:
    """A line through the buffer of a creek and past a well, in a wind above the local limit."""
    rules = LocalRules(ground_buffer_m=30.5, well_buffer_m=70.0, wind_limit_m_s=4.1)
    segments = (
        make_segment(0.0, 60.0, name="North edge"),
        make_segment(60.0, 90.0, bare_width_m=3.0),
    )
    powder = make_product(
        product_type="dry_superabsorbent",
        ratio_basis=RatioBasis.MASS,
        ratio_low=0.0006,
        ratio_high=0.0043,
        density_kg_m3=730.0,
        yield_coefficient_pa=4.1e5,
        yield_threshold=0.0004,
    )
    return make_line_job(
        make_line(segments=segments, work=make_work(wet_sides=WetSides.BOTH)),
        members=12,
        streams_m=(CREEK,),
        wells=(Well("v1", "Bore", "well", 120.0, 9.0),),
        local=rules,
        product=powder,
    )


def met_in_time() -> Job:
    """Strips in damp grass that are still wet when the fire comes; no interval is known of them."""
    work = make_work(
        is_lit=False,
        start_s=START_S + 0.5 * HOUR,
        finish_s=START_S + 1.2 * HOUR,
        arrival_from_s=START_S + 1.9 * HOUR,
        arrival_to_s=START_S + 2.0 * HOUR,
    )
    fuel = make_fuel("GR1", moisture_herb=1.9, moisture_1h=0.12)
    kinds = (LinePurpose.BESIDE, LinePurpose.SLOWING)
    lines = [
        make_line(
            id=f"l{row}",
            purpose=kind,
            work=work,
            segments=(make_segment(0.0, 30.0, fuel=fuel, bare_width_m=9.0),),
            model=make_model(flame_flux_w_m2=9e3, flame_exposure=0.4),
            basis={},
        )
        for row, kind in enumerate(kinds)
    ]
    job = steady_job(lines[0], wind=0.8, humidity=0.83, sun=0.05, members=12)
    return replace(job, lines=tuple(lines))


def late_torch() -> Job:
    """A torch that follows so late that it comes after the finish."""
    work = make_work(finish_s=START_S + 0.3 * HOUR, follow_gap_s=1400.0)
    return make_line_job(make_line(work=work, segments=(make_segment(),)), members=12)


def lacking() -> Job:
    """Lines of which much is not told."""
    bare = replace(make_segment(), fuel=None)
    lines = (
        make_line(segments=(bare, replace(make_segment(80.0, 120.0), fuel=None))),
        make_line(id="l6", segments=(bare,), work=make_work(fire_side=None, crew_id="c9")),
        make_line(id="l7", work=make_work(start_s=START_S + 40.0 * HOUR, finish_s=None)),
    )
    return make_line_job(*lines, members=12)


STRIPS: dict[str, Callable[[], Job]] = {
    "burn line": burn_line,
    "tight day": tight_day,
    "holding points": holding_points,
    "beside a road": beside_a_road,
    "slowing strip": slowing_strip,
    "wind turns": wind_turns,
    "wrong wind": wrong_wind,
    "no direction": no_direction,
    "no water": no_water,
    "no time": no_time,
    "slow torch": slow_torch,
    "dry shrub": dry_shrub,
    "near a creek": near_a_creek,
    "met in time": met_in_time,
    "late torch": late_torch,
}
