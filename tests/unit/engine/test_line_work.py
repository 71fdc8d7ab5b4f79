"""Where along a line one stands, from which water, and in which wind it may be lit."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from job_fixture import make_crew
from line_fixture import make_line, make_line_job, make_segment, make_work
from stillwet.domain.lines import Beginning, Side, WetSides
from stillwet.domain.products import WaterPoint
from stillwet.engine.line_drying import _ground_irradiance
from stillwet.engine.line_work import (
    barrier_width,
    course_of,
    effort_of,
    place_along,
    refill_turns,
    wind_allowed,
)
from stillwet.engine.lines import line_sky, make_lines
from stillwet.engine.members import draw_members

# Ten metres east, then ten metres north, then ten back west: a hand-drawn hook.
HOOK = make_segment(track_m=((100.0, 50.0), (110.0, 50.0), (110.0, 60.0), (100.0, 60.0)))


@pytest.mark.parametrize(
    ("share", "place"),
    [
        (0.0, (100.0, 50.0)),
        (1.0 / 6.0, (105.0, 50.0)),
        (1.0 / 3.0, (110.0, 50.0)),
        (0.5, (110.0, 55.0)),
        (0.9, (103.0, 60.0)),
        (1.0, (100.0, 60.0)),
    ],
)
def test_a_share_of_the_length_is_walked_along_the_track(
    share: float, place: tuple[float, float]
) -> None:
    """Round the corners, not across them: by hand on a hook of three equal pieces."""
    assert place_along(HOOK, share) == pytest.approx(place)


def test_the_way_walked_grows_with_the_share() -> None:
    """On a slant no step of one tenth is longer or shorter than another."""
    slant = make_segment(track_m=((3.0, 7.0), (33.0, 47.0)))
    places = [place_along(slant, share) for share in np.linspace(0.0, 1.0, 11)]
    steps = [math.dist(a, b) for a, b in pairwise(places)]
    assert steps == pytest.approx([5.0] * 10)


@pytest.mark.parametrize(
    ("from_deg", "to_deg", "wind_deg", "is_allowed"),
    [
        (180.0, 270.0, 225.0, True),
        (180.0, 270.0, 180.0, True),
        (180.0, 270.0, 270.0, True),
        (180.0, 270.0, 271.0, False),
        (180.0, 270.0, 90.0, False),
        (315.0, 45.0, 0.0, True),  # over north
        (315.0, 45.0, 359.0, True),
        (315.0, 45.0, 180.0, False),
        (0.0, 360.0, 123.0, True),  # all round
        (180.0, 270.0, math.nan, True),  # nobody could keep an unknown direction
    ],
)
def test_wind_from_the_allowed_sector(
    from_deg: float, to_deg: float, wind_deg: float, is_allowed: bool
) -> None:
    """Clockwise from one bearing to the other, ends included, over north too."""
    line = make_line(work=make_work(wind_from_deg=from_deg, wind_to_deg=to_deg))
    assert wind_allowed(line, np.array([wind_deg]), np.array([2.0])).tolist() == [is_allowed]


def test_wind_up_to_the_limit_and_no_more() -> None:
    """The limit itself is allowed."""
    line = make_line(work=make_work(wind_limit_m_s=5.0))
    allowed = wind_allowed(line, np.full(3, 200.0), np.array([4.9, 5.0, 5.1]))
    assert allowed.tolist() == [True, True, False]


def test_lines_tell_how_far_they_are() -> None:
    """The share told never falls, starts at nothing and ends at all."""
    job = make_line_job(make_line(), make_line(id="l2", name="South edge"))
    told: list[float] = []
    make_lines(job, now_s=job.start_s, progress=lambda _label, share: told.append(share))
    assert told == sorted(told)
    assert (told[0], told[-1]) == (0.0, 1.0)


def test_a_canopy_shades_the_wetted_strip() -> None:
    """Closed woods take all of the sun off the strip; half closed, half of it."""
    job = make_line_job()
    sky = line_sky(job, job.lines[0], draw_members(job))
    segment = make_segment()
    assert segment.fuel is not None
    light = [
        _ground_irradiance(
            replace(segment, fuel=replace(segment.fuel, canopy_cover=cover)), sky, job.weather, 0.2
        ).sum()
        for cover in (0.0, 0.5, 1.0)
    ]
    assert light[0] > 0.0
    assert light[1] == pytest.approx(light[0] / 2.0)
    assert light[2] == 0.0


@pytest.mark.parametrize(
    ("side", "track", "into_deg"),
    [
        (Side.RIGHT, ((0.0, 0.0), (80.0, 0.0)), 180.0),  # drawn east, the unit to the south
        (Side.LEFT, ((0.0, 0.0), (80.0, 0.0)), 0.0),
        (Side.RIGHT, ((80.0, 0.0), (0.0, 0.0)), 0.0),  # drawn west: right is north
        (Side.RIGHT, ((0.0, 80.0), (0.0, 0.0)), 270.0),
        (Side.LEFT, ((0.0, 80.0), (0.0, 0.0)), 90.0),
    ],
)
def test_the_fires_side_is_left_or_right_as_drawn(
    side: Side, track: tuple[tuple[float, float], ...], into_deg: float
) -> None:
    """A quarter turn from the way the line is drawn, told as a bearing."""
    line = make_line(
        segments=(make_segment(track_m=track),),
        work=make_work(fire_side=side, beginning=Beginning.FIRST),
    )
    (found,) = course_of(line, math.nan).into_deg
    assert found == pytest.approx(into_deg)


def test_a_refill_takes_the_way_there_and_back_the_filling_and_the_coupling() -> None:
    """Half a cubic metre usable. A brook fills 5 L/s, 60 m from the line's beginning, 100 m from
    its middle: 1.3 times the way and back at 10 m/s, 100 s of filling, 240 s of coupling. A hydrant
    430 m off the middle fills 50 L/s in 10 s: there it is the quicker, by four seconds.
    """
    crew = make_crew(tank_m3=0.6, reserve_m3=0.1, speed_m_s=10.0)
    brook = WaterPoint("w1", "Brook", 0.0, -60.0, 0.005, 0.0, 288.15)
    hydrant = WaterPoint("w2", "Hydrant", 80.0, 430.0, 0.05, 0.0, 288.15)
    line = make_line(segments=(make_segment(end_m=160.0),))
    job = make_line_job(line, crews=(crew,), water_points=(brook, hydrant))
    found = refill_turns(job, line, course_of(line, math.nan), [2])
    by_brook = [0.26 * math.dist((x, 0.0), (0.0, -60.0)) + 100.0 + 240.0 for x in (0.0, 80.0)]
    assert by_brook == pytest.approx([355.6, 366.0])
    assert found == pytest.approx([355.6, 0.26 * 430.0 + 10.0 + 240.0])
    told = replace(line, work=make_work(refill_turn_s=99.0))
    assert refill_turns(job, told, course_of(told, math.nan), [2]) == pytest.approx([99.0, 99.0])
    dry = replace(job, water_points=())
    assert np.isinf(refill_turns(dry, line, course_of(line, math.nan), [2])).all()


@pytest.mark.parametrize(("sides", "strips"), [(WetSides.ONE, 1), (WetSides.BOTH, 2)])
def test_litres_a_metre_and_the_pace_they_allow(sides: WetSides, strips: int) -> None:
    """2 L/m2 on 4 m of a 2 % mix: 8 / 0.98 L a metre and strip, laid at 1.89 L/s; 0.1 L/m2 is laid
    at a walk, however much the pump gives.
    """
    line = make_line(work=make_work(wet_sides=sides))
    job = make_line_job(line)
    segment = make_segment(bare_width_m=3.0)
    effort = effort_of(job, line, segment, coverage_kg_m2=2.0, ratio=0.02)
    litres = strips * 8.0 / 0.98
    assert effort.mix_m3_m == pytest.approx(litres / 1000.0)
    assert effort.walk_m_s == pytest.approx(1.89 / litres)
    assert effort.is_flow_limited
    assert effort.mix_m3 == pytest.approx(80.0 * litres / 1000.0)
    assert effort.water_m3 == pytest.approx(strips * 0.64)
    assert effort.concentrate_m3 == pytest.approx(0.02 * effort.mix_m3)
    quick = effort_of(job, line, segment, coverage_kg_m2=0.1, ratio=0.02)
    assert (quick.walk_m_s, quick.is_flow_limited) == (0.5, False)
    assert barrier_width(line, segment) == 4.0 * strips + 3.0


@pytest.mark.parametrize(
    ("wind_from_deg", "first_m"), [(270.0, 160.0), (90.0, 0.0), (200.0, 160.0), (340.0, 160.0)]
)
def test_the_downwind_end_comes_first_and_turned_segments_keep_their_sides(
    wind_from_deg: float, first_m: float
) -> None:
    """A line drawn east from 0 to 160 m. Wind from the west blows to its far end: begun there, the
    segments and their points in turned order; the unit is to the south all the same.
    """
    course = course_of(make_line(), wind_from_deg)
    assert course.segments[0].track_m[0] == (first_m, 0.0)
    assert course.segments[-1].track_m[-1] == (160.0 - first_m, 0.0)
    assert course.into_deg == pytest.approx((180.0, 180.0))
    assert course.begins_at.endswith("to" if first_m else "from")
