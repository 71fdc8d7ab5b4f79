"""Hold time and coverage of a strip: by hand under a steady demand, and against plain water."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from line_fixture import frame_of, make_fuel, make_line, make_line_job, make_segment, make_work
from stillwet.engine.drying import running_sum
from stillwet.engine.line_drying import StripDrying
from stillwet.engine.line_holding import (
    Strip,
    _target,
    as_plain_water,
    coverage_needed,
    hold_of,
    retention,
    water_on_fuel,
)
from stillwet.engine.line_members import draw_line_members
from stillwet.engine.members import draw_members
from stillwet.engine.mixing import make_mix
from stillwet.physics.cling import LEAF_WATER_KG_M2

HOUR = 3600.0


@pytest.fixture(scope="module")
def strip() -> Strip:
    """The first segment of the invented line."""
    job = make_line_job()
    return frame_of(job).strips[0]


def steady(strip: Strip, *, demand_mm_h: float, target: float, **changes: Any) -> Strip:
    """The strip with a demand that never changes, one target and one constant-rate coat."""
    shape = strip.target.shape
    time_s = strip.time_s[0] + HOUR * np.arange(shape[0])
    rate = np.full(shape, demand_mm_h / HOUR)
    total = running_sum(time_s, rate[None])
    ones = np.ones(shape[1])
    values: dict[str, Any] = {
        "time_s": time_s,
        "drying": StripDrying(rate, 3.0 * rate, total, running_sum(time_s, 3.0 * rate[None])),
        "target": np.full(shape, target),
        "black_s": np.full(shape, 600.0),
        "caught": 0.5 * ones,
        "thinnest": 0.8 * ones,
        "exponent": 0.0 * ones,
    }
    return replace(strip, **(values | changes))


def test_hold_by_hand(strip: Strip) -> None:
    """3 L/m2, half of it caught, thinnest tenth 0.8: 1.2 mm. Under 2 mm/h down to 0.4 mm: 24 min.

    Less ten minutes for the black: a lag of 14 min; blade by blade, three times the demand, 8 min.
    """
    still = steady(strip, demand_mm_h=2.0, target=0.4)
    water = water_on_fuel(still, coverage=3.0, kept=np.full(64, 9.0))
    np.testing.assert_allclose(water, 1.2)
    wet_s = still.time_s[:1] + 900.0
    found = hold_of(still, water, wet_s=wet_s)
    np.testing.assert_allclose(found.hold(0.9), 24 * 60.0)
    np.testing.assert_allclose(found.lag(0.9), 14 * 60.0)
    alone = hold_of(still, water, wet_s=wet_s, is_alone=True)
    np.testing.assert_allclose(alone.hold(0.9), 8 * 60.0)


def test_what_does_not_cling_does_not_count(strip: Strip) -> None:
    """Fuel that keeps 1 mm keeps 1 mm, however much is sprayed."""
    still = steady(strip, demand_mm_h=2.0, target=0.4)
    kept = np.full(64, 1.0)
    most = water_on_fuel(still, coverage=20.0, kept=kept)
    np.testing.assert_allclose(most, 0.8)
    need = coverage_needed(
        still,
        wet_s=still.time_s[:1],
        lag_s=np.array([3600.0]),
        kept=kept,
        confidence=0.9,
    )
    assert np.isinf(need).all()


def test_too_little_to_begin_with_holds_for_no_time(strip: Strip) -> None:
    """Less on the fuel than extinction and flames ask: no hold time, and a lag below zero."""
    still = steady(strip, demand_mm_h=2.0, target=0.4)
    found = hold_of(still, np.full(64, 0.39), wet_s=still.time_s[:1])
    assert (found.hold_s == 0.0).all()
    assert (found.lag_s == -600.0).all()


def test_coverage_needed_by_hand(strip: Strip) -> None:
    """14 min of lag and 10 of black at 2 mm/h take 0.8 mm, with 0.4 left: 1.2 / 0.8 / 0.5 = 3."""
    still = steady(strip, demand_mm_h=2.0, target=0.4)
    need = coverage_needed(
        still,
        wet_s=still.time_s[:1],
        lag_s=np.array([14 * 60.0]),
        kept=np.full(64, 9.0),
        confidence=0.9,
    )
    np.testing.assert_allclose(need, 3.0, rtol=1e-6)


@pytest.mark.parametrize("lag_min", [5.0, 15.0, 40.0])
def test_coverage_needed_gives_the_lag_asked_for(strip: Strip, lag_min: float) -> None:
    """With real members: the coverage for a lag allows it at 90 %, a twentieth less does not."""
    kept = np.full(64, 50.0)
    wet_s = strip.time_s[1:4] + 300.0
    lag_s = np.full(3, 60.0 * lag_min)
    need = coverage_needed(strip, wet_s=wet_s, lag_s=lag_s, kept=kept, confidence=0.9)
    for share, is_enough in ((1.0001, True), (0.95, False)):
        lags = [
            hold_of(
                strip, water_on_fuel(strip, coverage=float(share * c), kept=kept), wet_s=wet_s
            ).lag(0.9)[index]
            for index, c in enumerate(need)
        ]
        assert (np.array(lags) >= lag_s - 1.0).all() == is_enough


def test_plain_water_dries_as_fast_and_holds_far_shorter(strip: Strip) -> None:
    """Ratio nought: only what leaves keep of water clings. The demand is the same, the hold is not.

    Small flames here, or plain water would not hold at all.
    """
    mild = replace(strip, target=0.1 * strip.target)
    job = make_line_job()
    mix = make_mix(job, draw_members(job))
    wet_s = mild.time_s[:6]
    gel = water_on_fuel(mild, coverage=3.0, kept=retention(mild, mix, 0.012))
    water = water_on_fuel(mild, coverage=3.0, kept=retention(mild, None, 0.0))
    assert (as_plain_water(mild).drying.demand == mild.drying.demand).all()
    long = hold_of(mild, gel, wet_s=wet_s).hold(0.5)
    short = hold_of(as_plain_water(mild), water, wet_s=wet_s).hold(0.5)
    assert (short > 0.0).all()
    assert (short < 0.4 * long).all()


def test_plain_water_is_leaf_storage(strip: Strip) -> None:
    """Water kept is leaf storage (Dickinson 1984: 0.2 mm of leaf) times the leaf area reached."""
    kept = retention(strip, None, 0.0)
    np.testing.assert_allclose(kept, strip.leaf_area * LEAF_WATER_KG_M2)
    assert (kept < 0.3 * strip.bed.leaf_area_index).all()


def test_a_bed_never_dries_faster_than_its_blades_alone(strip: Strip) -> None:
    """The bed's demand lies under the sum of lone blades, in every hour and member."""
    assert (strip.drying.demand <= strip.drying.alone + 1e-12).all()
    assert (strip.drying.demand >= 0.0).all()


def test_what_the_user_gave_does_not_spread() -> None:
    """A number without an interval is the same for every member."""
    line = make_line(basis={})
    draws = draw_line_members(line, members=64, seed=1)
    assert np.ptp(draws.extinction_margin) == 0.0
    assert np.ptp(draws.blade_width_m) == 0.0
    wide = draw_line_members(make_line(), members=64, seed=1)
    assert wide.extinction_margin.min() >= 1.2
    assert wide.extinction_margin.max() <= 2.5
    again = draw_line_members(make_line(), members=64, seed=1)
    np.testing.assert_array_equal(wide.bed_wind, again.bed_wind)


def test_fuel_too_wet_to_burn_asks_for_no_black() -> None:
    """Where nothing spreads, the black beside the line is no matter, and little water is asked."""
    wet = make_segment(fuel=make_fuel(moisture_1h=0.4, moisture_herb=1.5))
    line = make_line(segments=(wet,), work=make_work())
    job = make_line_job(line)
    found = frame_of(job).strips[0]
    assert (found.black_s == 0.0).all()
    np.testing.assert_allclose(found.target, found.boiled)


def test_a_strip_is_held_to_the_driest_fuel_still_to_come(strip: Strip) -> None:
    """Wetted in the damp morning it must meet noon's dry fuel; once noon is past, the evening's."""
    job = make_line_job()
    frame, members = frame_of(job), draw_members(job)
    draws = draw_line_members(job.lines[0], members=job.members, seed=job.seed)
    bed, fire = strip.bed, strip.fire
    hours = fire.dead_moisture.shape[0]
    noon = hours // 2
    damp = np.full(fire.dead_moisture.shape, 0.12)
    damp[noon] = 0.03
    late = np.full(fire.dead_moisture.shape, 0.12)
    late[-1] = 0.03
    asked = {
        name: _target(bed, replace(fire, dead_moisture=moisture), frame.sky, members, draws)[0]
        for name, moisture in (("noon", damp), ("end", late))
    }
    np.testing.assert_allclose(asked["noon"][: noon + 1], asked["end"][: noon + 1])
    assert np.all(asked["noon"][noon + 1 :] < asked["end"][noon + 1 :])
