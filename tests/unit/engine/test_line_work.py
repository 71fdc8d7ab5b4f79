"""Where along a line one stands, from which water, and in which wind it may be lit."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from line_fixture import make_line, make_line_job, make_segment, make_work
from stillwet.domain.lines import Beginning, Side
from stillwet.engine.line_drying import _ground_irradiance
from stillwet.engine.line_work import course_of, place_along, wind_allowed
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
