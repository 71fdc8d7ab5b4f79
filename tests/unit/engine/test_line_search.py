"""How much to spray and when to begin: the pieces of the search, by hand."""

from __future__ import annotations

from types import SimpleNamespace
from typing import cast

import numpy as np
import pytest

from job_fixture import make_crew
from line_fixture import make_line, make_line_job, make_segment, make_work
from stillwet.domain.lines import LineWork
from stillwet.engine.line_holding import Strip
from stillwet.engine.line_search import (
    Attempt,
    Frame,
    _is_better,
    _start,
    _windows,
    hour_of,
    most_coverage,
)
from stillwet.engine.line_work import Effort, course_of

NAN = np.nan


def _begun(work: LineWork, mix_m3: float, finish_s: float = 10_000.0) -> float:
    """When wetting begins on two stretches of 80 m at 0.4 m/s: 400 s of work."""
    line = make_line(segments=(make_segment(), make_segment(80.0, 160.0)), work=work)
    job = make_line_job(line, crews=(make_crew(tank_m3=2.5, reserve_m3=0.5),))
    told = SimpleNamespace(
        job=job, line=line, course=course_of(line, NAN), start_s=1000.0, finish_s=finish_s
    )
    effort = Effort(0.0, 0.4, True, 0.5 * mix_m3, 0.0, 0.0)
    return _start(cast(Frame, told), [effort, effort])


def test_a_line_that_a_fire_comes_to_is_laid_as_late_as_is_wise() -> None:
    """Half as much again as the work: 400 s on one tank of 2 m3; 5 m3 are three tanks, so two turns
    of ten minutes more; never before the start.
    """
    met = make_work(is_lit=False, refill_turn_s=600.0)
    assert _begun(met, 2.0) == pytest.approx(10_000.0 - 1.5 * 400.0)
    assert _begun(met, 2.1) == pytest.approx(10_000.0 - 1.5 * 1000.0)
    assert _begun(met, 5.0) == pytest.approx(10_000.0 - 1.5 * 1600.0)
    assert _begun(met, 5.0, finish_s=3000.0) == 1000.0


def test_a_start_that_is_given_or_a_torch_behind_begins_at_once() -> None:
    """What the crew says counts; a line that is lit begins when it may."""
    assert _begun(make_work(refill_turn_s=600.0), 5.0) == 1000.0
    assert _begun(make_work(is_lit=False, start_s=1.0, refill_turn_s=600.0), 5.0) == 1000.0


def _attempt(share: float, stopped_at: int) -> Attempt:
    return cast(Attempt, SimpleNamespace(share=share, walk=SimpleNamespace(stopped_at=stopped_at)))


def test_more_runs_to_the_end_count_before_more_ground() -> None:
    """Of two that no run finishes the one that gets farther."""
    assert _is_better(_attempt(0.5, 3), _attempt(0.4, 9))
    assert not _is_better(_attempt(0.4, 9), _attempt(0.5, 3))
    assert _is_better(_attempt(0.0, 9), _attempt(0.0, 3))
    assert not _is_better(_attempt(0.0, 9), _attempt(0.0, 9))


def test_a_stretch_that_was_not_reached_keeps_its_window() -> None:
    """First and last wetting of each stretch; the third was not begun."""
    told = SimpleNamespace(
        walk=SimpleNamespace(wet_from_s=np.array([10.0, 30.0, 50.0, NAN, NAN])),
        steps=SimpleNamespace(segment=np.array([0, 0, 1, 1, 2])),
    )
    found = _windows(cast(Attempt, told), [(0.0, 0.0)] * 2 + [(7.0, 8.0)])
    assert found == [(10.0, 30.0), (50.0, 50.0), (7.0, 8.0)]


def test_beyond_what_the_fuel_keeps_nothing_is_gained() -> None:
    """1 to 3 mm kept of half of what is sprayed: 4 L/m2 in the middle case, at most 20."""
    strip = cast(Strip, SimpleNamespace(caught=np.full(3, 0.5)))
    assert most_coverage(strip, np.array([1.0, 2.0, 3.0])) == 4.0
    assert most_coverage(strip, np.array([10.0, 20.0, 30.0])) == 20.0


def test_a_moment_on_the_hour_belongs_to_the_hour_that_begins() -> None:
    """And one between two to the earlier."""
    frame = cast(Frame, SimpleNamespace(sky=SimpleNamespace(time_s=3600.0 * np.arange(4.0))))
    assert hour_of(frame, np.array([0.0, 3599.0, 3600.0, 10_000.0])).tolist() == [0, 0, 1, 2]
