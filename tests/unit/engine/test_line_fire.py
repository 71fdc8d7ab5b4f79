"""Fire beside a strip: how wind leans its flames, and what is taken where nobody knows the wind."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from job_fixture import make_weather
from line_fixture import make_fuel, make_line, make_line_job, make_segment
from stillwet.domain.fire import Fuel
from stillwet.domain.lines import LineSegment
from stillwet.engine.line_fire import StripFire, _lean, midflame_factor, strip_fire
from stillwet.engine.lines import line_sky
from stillwet.engine.members import draw_members


def _fire(
    segment: LineSegment, wind_from_deg: float, towards_deg: float, *, is_lit: bool = True
) -> StripFire:
    """The fire beside this stretch in a wind from one direction all day."""
    weather = make_weather()
    blown = replace(weather, wind_direction_deg=np.full(weather.hours, wind_from_deg))
    job = make_line_job(make_line(segments=(segment,)), weather=blown, members=8)
    return strip_fire(
        segment,
        line_sky(job, job.lines[0], draw_members(job)),
        blown,
        towards_deg=towards_deg,
        wind_factor=midflame_factor(segment),
        is_lit=is_lit,
    )


@pytest.mark.parametrize("towards_deg", [0.0, 90.0, 155.0, 270.0])
@pytest.mark.parametrize("turned", [0.0, 60.0, -60.0, 90.0, 180.0])
def test_wind_leans_flames_by_its_share_across_the_strip(towards_deg: float, turned: float) -> None:
    """Straight over it all of the wind, at 60 degrees half, along it or away from it none; a fire
    that is lit stands on the other side.
    """
    share = {0.0: 1.0, 60.0: 0.5, 90.0: 0.0, 180.0: 0.0}[abs(turned)]
    blown = np.array([[towards_deg + turned]])
    assert _lean(blown, towards_deg, is_lit=False) == pytest.approx(np.array([[share]]), abs=1e-9)
    lit = _lean(blown + 180.0, towards_deg, is_lit=True)
    assert lit == pytest.approx(np.array([[share]]), abs=1e-9)


@pytest.mark.parametrize("towards_deg", [0.0, 75.0, 200.0])
def test_without_a_wind_direction_the_fire_backs_with_the_flames_of_its_head(
    towards_deg: float,
) -> None:
    """The worst on both counts: the black grows as slowly as against a wind from where it goes, the
    flames are as long as with a wind from behind. On a slope across the way, where a degree of turn
    changes the rate at once.
    """
    across = (towards_deg + 90.0) % 360.0
    segment = make_segment(fuel=make_fuel(slope_deg=20.0), aspect_deg=across)
    unknown = _fire(segment, np.nan, towards_deg)
    against = _fire(segment, towards_deg, towards_deg)
    np.testing.assert_allclose(unknown.spread_rate_m_s, against.spread_rate_m_s, rtol=1e-12)
    assert (unknown.flame_length_m > against.flame_length_m).all()
    level = make_segment()
    behind = (towards_deg + 180.0) % 360.0
    np.testing.assert_allclose(
        _fire(level, np.nan, towards_deg).flame_length_m,
        _fire(level, behind, towards_deg, is_lit=False).flame_length_m,
        rtol=1e-9,
    )
    assert np.isnan(unknown.head_towards_deg).all()


@pytest.mark.parametrize("turned", [35.0, 90.0, 215.0])
def test_the_fire_does_not_know_where_north_is(turned: float) -> None:
    """Wind, slope and the way asked for turned alike: the same rates, flames and view."""
    segment = make_segment(fuel=make_fuel(slope_deg=15.0), aspect_deg=120.0)
    here = _fire(segment, 40.0, 300.0)
    there = _fire(
        replace(segment, aspect_deg=(120.0 + turned) % 360.0),
        (40.0 + turned) % 360.0,
        (300.0 + turned) % 360.0,
    )
    for name in ("spread_rate_m_s", "flame_length_m", "flame_view"):
        np.testing.assert_allclose(getattr(there, name), getattr(here, name), rtol=1e-9)
    turn = (there.head_towards_deg - here.head_towards_deg - turned + 180.0) % 360.0 - 180.0
    np.testing.assert_allclose(turn, 0.0, atol=1e-9)


@pytest.mark.parametrize("stated", [{"moisture_10h": 0.3}, {"moisture_100h": 0.4}])
def test_what_is_stated_of_coarse_dead_fuel_is_taken(stated: dict[str, float]) -> None:
    """Slash with its twigs or branches as wet as stated burns slower than with those of the rule
    (1 and 2 points over the fine fuel, Rothermel 1983).
    """

    def rate(fuel: Fuel) -> float:
        return float(_fire(make_segment(fuel=fuel), 0.0, 180.0).spread_rate_m_s.min())

    assert rate(make_fuel("SB2", **stated)) < rate(make_fuel("SB2"))
