"""Whether a line can be done and why not: the rules by hand on one stretch of an invented line."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from types import SimpleNamespace
from typing import Any, cast

import pytest

from job_fixture import HOUR, START_S
from line_fixture import make_line, make_line_job, make_segment, make_work
from stillwet.domain.line_plan import LineHour, LineSegmentPlan, WidthCheck
from stillwet.domain.lines import LinePurpose
from stillwet.domain.plan import Verdict
from stillwet.engine.line_reasons import (
    dry_hindrance,
    good_hours,
    line_reason,
    line_verdict,
    segment_verdict,
    width_hindrance,
)
from stillwet.engine.line_schedule import Stop
from stillwet.engine.line_search import Attempt, Frame
from stillwet.engine.lines import make_lines

LINE = make_line()
MINUTE = 60.0
CHECKS = (
    WidthCheck(1.5, 3.0, is_enough=True, is_planned=False, source="one"),
    WidthCheck(2.0, 4.0, is_enough=True, is_planned=True, source="other"),
)


@cache
def _reckoned() -> LineSegmentPlan:
    line = make_line(segments=(make_segment(end_m=20.0),))
    return make_lines(make_line_job(line, members=8), now_s=START_S).lines[0].segments[0]


def _hour(k: int, lag_50_min: float, lag_90_min: float, **changes: Any) -> LineHour:
    lags = {"lag_50_s": lag_50_min * MINUTE, "lag_90_s": lag_90_min * MINUTE}
    told = {"time_s": START_S + k * HOUR, "may_light": True, "flame_length_m": 1.0} | lags
    return replace(_reckoned().hours[0], **(told | changes))


def _segment(**changes: Any) -> LineSegmentPlan:
    """Wetted from minute 80 to 90; lags of 30 (50 %) and 20 min (90 %) in each of three hours."""
    values: dict[str, Any] = {
        "wet_from_s": START_S + 80 * MINUTE,
        "wet_to_s": START_S + 90 * MINUTE,
        "hours": tuple(_hour(k, 30.0, 20.0) for k in range(4)),
        "lag_allowed_s": 20 * MINUTE,
        "lag_needed_s": 0.0,
        "widths": CHECKS,
        "barrier_width_m": 4.0,
    }
    return replace(_reckoned(), **(values | changes))


def _checks(narrow: bool, planned: bool) -> tuple[WidthCheck, ...]:
    return replace(CHECKS[0], is_enough=narrow), replace(CHECKS[1], is_enough=planned)


def _hours(*lags_50_min: float) -> tuple[LineHour, ...]:
    return tuple(_hour(k, lag, lag - 1.0) for k, lag in enumerate(lags_50_min))


@pytest.mark.parametrize(
    ("changes", "verdict"),
    [
        ({}, Verdict.HOLDS),
        ({"lag_allowed_s": 0.0}, Verdict.DOUBTFUL),
        ({"lag_allowed_s": None}, Verdict.DOUBTFUL),
        ({"widths": _checks(narrow=True, planned=False)}, Verdict.DOUBTFUL),
        ({"widths": _checks(narrow=False, planned=False)}, Verdict.WILL_NOT_HOLD),
        # wetted at 80 to 90 min: the hours at 60 and 120 min lie within an hour of it
        ({"hours": _hours(30.0, -1.0, 30.0, 30.0)}, Verdict.WILL_NOT_HOLD),
        ({"hours": _hours(30.0, 30.0, -1.0, 30.0)}, Verdict.WILL_NOT_HOLD),
        ({"hours": _hours(-1.0, 30.0, 30.0, -1.0)}, Verdict.HOLDS),
        ({"hours": _hours(30.0, -1.0), "wet_from_s": None, "wet_to_s": None}, Verdict.HOLDS),
        ({"hours": _hours(-1.0, 30.0), "wet_from_s": None}, Verdict.WILL_NOT_HOLD),
        # a line that is met by the fire has to last so long
        ({"lag_needed_s": 20 * MINUTE}, Verdict.HOLDS),
        ({"lag_needed_s": 21 * MINUTE}, Verdict.DOUBTFUL),
        ({"lag_needed_s": 31 * MINUTE}, Verdict.WILL_NOT_HOLD),
    ],
)
def test_a_stretch_holds_by_its_own_lag_and_width(
    changes: dict[str, Any], verdict: Verdict
) -> None:
    """Sure where nine cases in ten leave time and the planned width does; in doubt where half do or
    only the narrowest published width does; else not.
    """
    assert segment_verdict(LINE, _segment(**changes)) is verdict


def _attempt(share: float = 1.0, stop: Stop | None = None) -> Attempt:
    told = SimpleNamespace(share=share, walk=SimpleNamespace(stop=stop))
    return cast(Attempt, told)


@pytest.mark.parametrize(
    ("worst", "share", "stop", "verdict"),
    [
        (Verdict.HOLDS, 0.9, None, Verdict.HOLDS),
        (Verdict.HOLDS, 0.895, None, Verdict.DOUBTFUL),
        (Verdict.HOLDS, 1.0, Stop.WIND, Verdict.WILL_NOT_HOLD),
        (Verdict.DOUBTFUL, 1.0, None, Verdict.DOUBTFUL),
        (Verdict.WILL_NOT_HOLD, 1.0, None, Verdict.WILL_NOT_HOLD),
    ],
)
def test_a_line_is_as_good_as_its_weakest_stretch_and_its_schedule(
    worst: Verdict, share: float, stop: Stop | None, verdict: Verdict
) -> None:
    """Nine runs in ten have to keep every rule; a schedule that stops holds nothing."""
    parts = (_segment(verdict=Verdict.HOLDS), _segment(verdict=worst))
    assert line_verdict(_attempt(share, stop), parts) is verdict


def test_good_hours_have_the_lag_and_the_wind() -> None:
    """Twenty minutes are enough for twenty; an hour of wrong wind is none."""
    hours = (
        _hour(0, 30.0, 19.0),
        _hour(1, 30.0, 20.0),
        _hour(2, 30.0, 40.0, may_light=False),
        _hour(3, 30.0, 40.0),
    )
    assert good_hours(hours, 20 * MINUTE) == (START_S + HOUR, START_S + 3 * HOUR)
    assert len(good_hours(tuple(_hour(k, 30.0, 20.0) for k in range(20)), 0.0)) == 12


def test_flames_too_long_are_told_with_what_is_wanted() -> None:
    """2.5 m of flame twice over ask for 5 m (16 ft); 4 m stand, so 1 m (3.3 ft: 4 ft) is
    wanting, and flames up to 2 m (6.6 ft: 6 ft) would do: in the one hour that has them and the
    wind.
    """
    planned = replace(CHECKS[1], needed_m=5.0, is_enough=False)
    part = _segment(
        name="Ridge",
        flame_length_m=2.5,
        widths=(CHECKS[0], planned),
        hours=(
            _hour(0, 9.0, 9.0, flame_length_m=2.1),
            _hour(1, 9.0, 9.0, flame_length_m=2.0),
            _hour(2, 9.0, 9.0, flame_length_m=1.0, may_light=False),
        ),
    )
    found = width_hindrance(LINE, part)
    assert found is not None
    assert found.reason == (
        "Ridge: flames of 2.5 m (8 ft) beside it ask for 5.0 m (16 ft) of width (2 times); there "
        "are 4.0 m (13 ft)."
    )
    assert found.frees[0] == "widen the strip by 1.0 m (4 ft)"
    assert found.frees[1] == "light only while flames beside it stay under 2.0 m (6 ft)"
    assert found.good_hours_s == (START_S + HOUR,)
    assert width_hindrance(LINE, replace(part, widths=CHECKS)) is None


def _frame(*, is_lit: bool) -> Frame:
    return cast(Frame, SimpleNamespace(line=make_line(work=make_work(is_lit=is_lit))))


def test_too_dry_is_told_with_what_would_free_it() -> None:
    """No lag left: the longest black of its hours (up to the next minute), and more coverage where
    any would do; hours of ten minutes' lag or more are named.
    """
    hours = (_hour(0, 9.0, 9.9, black_s=401.0), _hour(1, 9.0, 10.0, black_s=120.0))
    part = _segment(
        lag_allowed_s=-1.0, hours=hours, coverage_kg_m2=2.0, coverage_needed_kg_m2=math.inf
    )
    found = dry_hindrance(_frame(is_lit=True), part)
    assert found is not None
    assert "takes up to 7 min" in found.reason
    assert found.frees[-1].startswith("no coverage that clings")
    assert found.good_hours_s == (START_S + HOUR,)
    enough = dry_hindrance(_frame(is_lit=True), replace(part, coverage_needed_kg_m2=4.0))
    assert enough is not None
    assert enough.frees[0] == "lay 4.0 L/m2 (9.8 gal per 100 ft2)"
    assert dry_hindrance(_frame(is_lit=True), _segment()) is None
    assert dry_hindrance(_frame(is_lit=True), _segment(lag_allowed_s=None)) is None


def test_a_strip_that_the_fire_outwaits_says_both_times() -> None:
    """Wet for 20 minutes, wanted for 40."""
    part = _segment(lag_needed_s=40 * MINUTE)
    found = dry_hindrance(_frame(is_lit=False), part)
    assert found is not None
    assert "stays wet for 20 min (90 %)" in found.reason
    assert "up to 40 min after it is laid" in found.reason
    assert found.good_hours_s == ()


def test_the_reason_of_a_line_is_its_first_hindrance_or_its_promise() -> None:
    """One or more that hinder; lit, met by the fire, only slowing it; kept to the minute."""
    found = dry_hindrance(_frame(is_lit=True), _segment(lag_allowed_s=-1.0))
    assert found is not None
    will_not = Verdict.WILL_NOT_HOLD
    assert line_reason(LINE, _attempt(), will_not, (found,)) == found.reason
    told = line_reason(LINE, _attempt(), will_not, (found, found, found))
    assert told == f"{found.reason} And 2 more, see below."
    assert "every spot is lit while" in line_reason(LINE, _attempt(), Verdict.HOLDS, ())
    met = make_line(work=make_work(is_lit=False), purpose=LinePurpose.BESIDE)
    slowing = replace(met, purpose=LinePurpose.SLOWING)
    assert line_reason(met, _attempt(), Verdict.HOLDS, ()).endswith("when the fire comes.")
    assert "count on it to stop none" in line_reason(slowing, _attempt(), Verdict.HOLDS, ())
    assert "only 57 of 100 runs" in line_reason(LINE, _attempt(0.579), Verdict.DOUBTFUL, ())
