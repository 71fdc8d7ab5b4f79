"""A line's record from its reckoning: marks, refills, waits and words, by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from job_fixture import make_weather
from line_fixture import frame_of, make_fuel, make_line, make_line_job, make_segment, make_work
from stillwet.domain.lines import Side
from stillwet.engine.line_answer import (
    _fire_at_line,
    _worked_hours,
    _worse,
    walk_marks,
    walk_refills,
    walk_waits,
)
from stillwet.engine.line_holding import Hold
from stillwet.engine.line_schedule import Walk
from stillwet.engine.line_search import Attempt, Frame, _needed, _schedule

NAN = math.nan


def _walk(**changes: Any) -> Walk:
    """Three steps: two wetted and lit, the third only wetted, with a refill before the second."""
    values: dict[str, Any] = {
        "wet_from_s": np.array([0.0, 700.0, 900.0]),
        "wet_to_s": np.array([20.0, 720.0, 910.0]),
        "lit_from_s": np.array([80.0, 780.0, NAN]),
        "lit_to_s": np.array([105.0, 805.0, NAN]),
        "latest_s": np.array([1000.0, 1500.0, 1600.0]),
        "refill_from_s": np.array([NAN, 20.0, NAN]),
        "refill_to_s": np.array([NAN, 620.0, NAN]),
        "hold_after": np.array([-1, 0, 1]),
        "stop": None,
        "stopped_at": 2,
    }
    return Walk(**(values | changes))


def _attempt(**changes: Any) -> Attempt:
    """Steps of 10, 10 and 5 m, the last in the second segment; ten members whose strips hold 30 to
    39 minutes wetted at 0 s and 20 to 29 wetted at 600 s or 1200 s.
    """
    steps = SimpleNamespace(
        segment=np.array([0, 0, 1]),
        length_m=np.array([10.0, 10.0, 5.0]),
        distance_m=np.array([10.0, 20.0, 25.0]),
        start_s=0.0,
    )
    minutes = np.array([[30.0], [20.0], [20.0]]) + np.arange(10.0)
    hold = Hold(hold_s=60.0 * minutes, lag_s=60.0 * minutes - 300.0)
    values = {"steps": steps, "walk": _walk(), "holds": [hold, hold]}
    return cast(Attempt, SimpleNamespace(**(values | changes)))


FRAME = cast(Frame, SimpleNamespace(moment_s=np.array([0.0, 600.0, 1200.0])))


def test_marks_tell_where_when_and_until_when() -> None:
    """The first step's ground is wetted at a moment reckoned: nine of ten hold 30 min or more, half
    34 (the lower of the two in the middle). The second is wetted between two: the shorter counts.
    """
    marks = walk_marks(FRAME, _attempt())
    assert [(mark.from_m, mark.to_m) for mark in marks] == [(0, 10), (10, 20), (20, 25)]
    assert (marks[0].wet_from_s, marks[0].wet_to_s) == (0.0, 20.0)
    assert (marks[0].lit_from_s, marks[0].lit_to_s, marks[0].latest_s) == (80.0, 105.0, 1000.0)
    assert (marks[0].dry_90_s, marks[0].dry_50_s) == (1800.0, 2040.0)
    assert (marks[1].dry_90_s, marks[1].dry_50_s) == (700.0 + 1200.0, 700.0 + 1440.0)
    assert (marks[2].lit_from_s, marks[2].lit_to_s) == (None, None)


def test_a_step_that_nobody_wetted_has_no_mark() -> None:
    """Work that stopped before the last step."""
    walk = _walk(wet_from_s=np.array([0.0, 700.0, NAN]), wet_to_s=np.array([20.0, 720.0, NAN]))
    assert len(walk_marks(FRAME, _attempt(walk=walk))) == 2
    assert [wait.at_m for wait in walk_waits(_attempt(walk=walk))] == [10.0]


def test_refills_are_where_the_step_begins() -> None:
    """Ten metres on, out at 20 s and back ten minutes later."""
    (refill,) = walk_refills(_attempt())
    assert (refill.at_m, refill.leave_s, refill.back_s) == (10.0, 20.0, 620.0)


def test_waits_name_the_step_that_has_to_be_lit() -> None:
    """At 10 m until the first step is lit to its end (10 m), at 20 m until the second (20 m)."""
    waits = walk_waits(_attempt())
    assert [(wait.at_m, wait.until_lit_m) for wait in waits] == [(10.0, 10.0), (20.0, 20.0)]


@pytest.mark.parametrize(
    ("when_s", "value"),
    [(-5.0, 3.0), (0.0, 3.0), (1.0, 1.0), (600.0, 1.0), (601.0, 1.0), (1200.0, 2.0), (9e9, 2.0)],
)
def test_the_worse_of_the_moments_about_it_counts(when_s: float, value: float) -> None:
    """3 at 0 s, 1 at 600 s, 2 at 1200 s, held beyond both ends."""
    assert _worse(np.array([3.0, 1.0, 2.0]), FRAME.moment_s, when_s) == value


@pytest.mark.parametrize(
    ("wet", "lit", "is_lit", "hours"),
    [
        ((3700.0, 5000.0), (4000.0, 7300.0), True, (1, 4)),
        ((3600.0, 3600.0), (3600.0, 3600.0), True, (1, 2)),
        ((NAN, NAN), (NAN, NAN), True, (0, 1)),
        ((3700.0, 5000.0), (NAN, NAN), False, (1, 6)),
    ],
)
def test_hours_of_work_reach_to_both_sides(
    wet: tuple[float, float], lit: tuple[float, float], is_lit: bool, hours: tuple[int, int]
) -> None:
    """From the hour before the first wetting to that after the last lighting, or to the moment a
    line that is not lit has to last to (17 000 s); where nothing is done, the start's.
    """
    frame = cast(
        Frame,
        SimpleNamespace(
            sky=SimpleNamespace(time_s=3600.0 * np.arange(9.0)),
            line=make_line(work=make_work(is_lit=is_lit)),
            must_last_s=17_000.0,
        ),
    )
    steps = SimpleNamespace(segment=np.array([0, 0]), start_s=0.0)
    walk = SimpleNamespace(wet_from_s=np.array(wet), lit_to_s=np.array(lit))
    found = _worked_hours(frame, _attempt(steps=steps, walk=walk), 0)
    assert (found.start, found.stop) == hours


@pytest.mark.parametrize("turned", [0.0, 45.0, 90.0, 250.0])
@pytest.mark.parametrize(
    ("blown", "is_lit", "word"),
    [
        (0.0, True, "heading"),
        (50.0, True, "heading"),
        (90.0, True, "flanking"),
        (-90.0, True, "flanking"),
        (180.0, True, "backing"),
        (0.0, False, "backing"),
        (180.0, False, "heading"),
    ],
)
def test_the_word_for_the_fire_does_not_know_where_north_is(
    turned: float, blown: float, is_lit: bool, word: str
) -> None:
    """A line drawn at any bearing with the unit on its right: blown ``blown`` degrees off straight
    into the unit, a fire lit there heads, one that comes out of it backs. Level ground.
    """
    along = math.radians(turned)
    end = (20.0 * math.sin(along), 20.0 * math.cos(along))
    into = (turned + 90.0) % 360.0
    weather = make_weather()
    wind_from = np.full(weather.hours, (into + blown + 180.0) % 360.0)
    line = make_line(
        segments=(make_segment(track_m=((0.0, 0.0), end)),),
        work=make_work(fire_side=Side.RIGHT, is_lit=is_lit),
    )
    job = make_line_job(line, weather=replace(weather, wind_direction_deg=wind_from), members=8)
    assert _fire_at_line(frame_of(job), 0, slice(0, 2)) == word


def test_no_more_is_sprayed_than_the_fuel_keeps_at_the_ratio_given() -> None:
    """Grass so thirsty that no coverage does it: with the leaner mix the crew asked for it keeps
    less, and less is laid.
    """
    laid = {}
    for ratio in (0.004, 0.02):
        work = make_work(mix_ratio=ratio)
        segment = make_segment(fuel=make_fuel("GR8"))
        frame = frame_of(make_line_job(make_line(segments=(segment,), work=work), members=16))
        needed = _needed(frame, 7200.0, [(frame.start_s, frame.start_s)])
        assert np.isinf(needed).all()
        laid[ratio] = float(_schedule(frame, 7200.0, needed).coverage[0])
    assert laid[0.004] < laid[0.02]
