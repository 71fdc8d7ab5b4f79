"""A line held against its log: lags by hand, states as time passes, what raises an alarm."""

from __future__ import annotations

import uuid
from dataclasses import replace
from functools import cache
from typing import Any

import pytest

from job_fixture import HOUR, START_S
from line_fixture import make_line, make_line_job, make_work
from stillwet.domain.line_plan import LinePlan, LineWait
from stillwet.domain.line_watch import LineAlarmKind, LineWatch, SegmentState
from stillwet.domain.lines import Beginning, LinePurpose
from stillwet.domain.log import Body, Entry, Ignition, SegmentLit, SegmentWetted
from stillwet.engine.line_watch import SOON_S, watch_line
from stillwet.engine.lines import make_lines

MINUTE = 60.0
NO = LineAlarmKind
FORWARD = make_line(work=make_work(beginning=Beginning.FIRST))


@cache
def _plan() -> LinePlan:
    """Two segments of 80 m; a lag of 20 min at the start, 10 min an hour later, by hand."""
    (line,) = make_lines(make_line_job(FORWARD, members=16), now_s=START_S).lines
    lags = {0: 20.0, 1: 10.0}
    parts = []
    for part in line.segments:
        hours = [
            replace(
                part.hours[k],
                time_s=START_S + k * HOUR,
                lag_90_s=lag * MINUTE,
                hold_90_s=2 * lag * MINUTE,
                hold_50_s=3 * lag * MINUTE,
            )
            for k, lag in lags.items()
        ]
        parts.append(replace(part, hours=tuple(hours), walk_m_s=80.0 / (8 * MINUTE)))
    return replace(line, segments=tuple(parts), marks=(), waits=())


def at(minute: float, body: Body) -> Entry:
    """An entry so many minutes after the start."""
    when_s = START_S + minute * MINUTE
    return Entry(str(uuid.uuid4()), when_s, when_s, "Ash", "", body)


def wet(minute: float, part: str, up_to: float | None = None, **more: Any) -> Entry:
    """A line wet up to here."""
    return at(minute, SegmentWetted(f"l1/{part}", up_to, **more))


def lit(minute: float, part: str, up_to: float | None = None) -> Entry:
    """A line lit up to here."""
    return at(minute, SegmentLit(f"l1/{part}", up_to))


def watch(minute: float, *entries: Entry, plan: LinePlan | None = None) -> LineWatch:
    """The line so many minutes after the start."""
    return watch_line(plan or _plan(), entries, now_s=START_S + minute * MINUTE)


def kinds(found: LineWatch) -> list[LineAlarmKind]:
    """What the alarms are."""
    return [one.kind for one in found.alarms]


def test_nothing_logged_nothing_due() -> None:
    """Before the first entry no segment is begun and nothing alarms."""
    found = watch(10)
    assert [one.state for one in found.segments] == [SegmentState.NOT_BEGUN] * 2
    assert found.alarms == ()


def test_lag_falls_evenly_between_the_hours() -> None:
    """By hand: 20 min at 0, 10 at 60; so 17.5 at 15 and 15 at 30: due at 32.5 and at 45 min."""
    found = watch(31, wet(15, "s0", 0.0), wet(30, "s0"))
    (stretch,) = found.wet
    assert [round((t - START_S) / MINUTE, 6) for t in stretch.latest_s] == [32.5, 45.0]
    assert [round((t - START_S) / MINUTE, 6) for t in stretch.dry_90_s] == [50.0, 60.0]
    assert not stretch.is_guessed


def test_a_lag_that_leaps_is_never_taken_to_lie_between_the_hours() -> None:
    """The hour's shortest lag is 13 min and the next one's 33: wetted 50 minutes into it, 13 count,
    not the 29 2/3 of a straight line.
    """
    plan = _plan()
    parts = []
    for part in plan.segments:
        hours = (
            replace(part.hours[0], lag_90_s=13 * MINUTE),
            replace(part.hours[1], lag_90_s=33 * MINUTE),
        )
        parts.append(replace(part, hours=hours))
    leaping = replace(plan, segments=tuple(parts))
    found = watch(51, wet(50, "s0", 0.0), wet(50.5, "s0"), plan=leaping)
    (stretch,) = found.wet
    assert [round((t - START_S) / MINUTE, 6) for t in stretch.latest_s] == [63.0, 63.5]


def test_beginning_nobody_logged_is_by_the_plans_pace() -> None:
    """80 m at 80 m in 8 min: wet at 15 min means begun at 7 min, and that is said to be a guess."""
    (stretch,) = watch(16, wet(15, "s0")).wet
    assert stretch.from_s == pytest.approx(START_S + 7 * MINUTE, rel=0.0, abs=0.01)
    assert stretch.is_guessed


def test_state_runs_from_wet_to_exceeded() -> None:
    """Begun at 0 (20 min of lag): wet, soon 5 min before its end, exceeded just after it."""
    entries = wet(0, "s0", 0.0), wet(10, "s0")
    before = 20 - SOON_S / MINUTE
    for minute, state in (
        (before - 1, SegmentState.WET),
        (before + 1, SegmentState.LIGHT_SOON),
        (20.5, SegmentState.TOO_LATE),
    ):
        assert watch(minute, *entries).segments[0].state is state
    assert kinds(watch(15.5, *entries)) == [NO.SOON]
    assert kinds(watch(20.5, *entries)) == [NO.TOO_LATE]


def test_lit_in_time_stays_so() -> None:
    """Lit from 4 to 14 min behind wetting from 0 to 10: in time; what was left is told."""
    entries = wet(0, "s0", 0.0), wet(10, "s0"), lit(4, "s0", 0.0), lit(14, "s0")
    first = watch(300, *entries).segments[0]
    assert first.state is SegmentState.LIT
    # at its end: wetted at 10 with 18 1/3 min, lit at 14: 14 1/3 left; at its beginning 16
    assert first.spare_s == pytest.approx((10 + 18 + 1 / 3 - 14) * MINUTE)


def test_torch_half_way_leaves_the_rest_due() -> None:
    """Lit to 40 m: the spot there was wetted at 5 min and has 20 to 18.3 min: due at 24.17."""
    entries = wet(0, "s0", 0.0), wet(10, "s0"), lit(4, "s0", 0.0), lit(9, "s0", 40.0)
    first = watch(10, *entries).segments[0]
    assert first.latest_s == pytest.approx(
        START_S + (20 + (10 + 18 + 1 / 3)) / 2 * MINUTE, rel=0.0, abs=0.01
    )
    assert watch(25, *entries).segments[0].state is SegmentState.TOO_LATE


def test_lit_late_is_told_though_it_is_past() -> None:
    """Lit 25 min after wetting began: the strip may not have been wet enough."""
    entries = wet(0, "s0", 0.0), wet(10, "s0"), lit(25, "s0", 0.0), lit(26, "s0")
    assert kinds(watch(30, *entries)) == [NO.LIT_LATE]


def test_wetted_again_starts_anew() -> None:
    """What is wetted over again after its lag is due by its second wetting."""
    entries = wet(0, "s0", 0.0), wet(10, "s0"), wet(25, "s0", 0.0), wet(33, "s0")
    assert watch(24, *entries[:2]).segments[0].state is SegmentState.TOO_LATE
    assert watch(34, *entries).segments[0].state is SegmentState.WET


def test_ground_wetted_again_is_due_where_the_torch_has_come_since() -> None:
    """Lit to 40 m, then wetted over again from minute 15 to 23, and lit since to 20 m. Wetted at 15
    it waits 17.5 min, at 23 16.17: due at 32.5 and 39.17, and at a quarter of the way at 34.17.
    """
    before = wet(0, "s0", 0.0), wet(8, "s0"), lit(9, "s0", 0.0), lit(10, "s0", 40.0)
    again = wet(15, "s0", 0.0), wet(23, "s0"), lit(24, "s0", 0.0), lit(26, "s0", 20.0)
    first = watch(26, *before, *again).segments[0]
    assert first.latest_s == pytest.approx(START_S + (34 + 1 / 6) * MINUTE, rel=0.0, abs=0.01)


def test_ignition_by_the_lines_name_begins_lighting() -> None:
    """A plain entry of fire lit along the line counts as its beginning."""
    entries = wet(0, "s0", 0.0), wet(10, "s0"), at(5, Ignition("North edge")), lit(15, "s0")
    (stretch,) = watch(20, *entries).lit
    assert (stretch.from_s, stretch.is_guessed) == (START_S + 5 * MINUTE, False)


def test_fire_without_a_wet_strip_alarms() -> None:
    """Lit where nobody logged wetting, and not where it was wetted just before."""
    assert kinds(watch(20, lit(5, "s0", 0.0), lit(15, "s0"))) == [NO.LIT_DRY]
    entries = wet(0, "s0", 0.0), wet(10, "s0"), lit(4, "s0", 0.0), lit(11, "s0")
    assert kinds(watch(20, *entries)) == []


def test_past_a_holding_point() -> None:
    """The plan: not past 40 m before the torch is at 20 m."""
    plan = replace(_plan(), waits=(LineWait(40.0, 20.0),))
    entries = wet(0, "s0", 0.0), wet(10, "s0")
    assert NO.AHEAD in kinds(watch(11, *entries, plan=plan))
    behind = lit(1, "s0", 0.0), lit(9, "s0", 60.0)
    assert NO.AHEAD not in kinds(watch(11, *entries, *behind, plan=plan))


def test_thin_coverage_is_told() -> None:
    """Less than the plan's coverage: the times shown do not hold."""
    planned = _plan().segments[0].coverage_kg_m2
    thin, full = (
        wet(5, "s0", coverage_kg_m2=share * planned, crew_id="c1") for share in (0.5, 1.0)
    )
    assert kinds(watch(6, thin)) == [NO.THIN]
    assert kinds(watch(6, full)) == []


def test_line_that_is_met_by_the_fire() -> None:
    """Without a torch: dry before the latest arrival alarms from the moment it is wetted."""
    work = make_work(
        is_lit=False,
        beginning=Beginning.FIRST,
        arrival_from_s=START_S + HOUR,
        arrival_to_s=START_S + 2 * HOUR,
        finish_s=None,
    )
    line = make_line(purpose=LinePurpose.SLOWING, work=work)
    (plan,) = make_lines(make_line_job(line, members=16), now_s=START_S).lines
    by_hand = replace(plan, segments=_plan().segments, marks=(), waits=())
    entries = wet(0, "s0", 0.0), wet(8, "s0")
    assert kinds(watch(9, *entries, plan=by_hand)) == [NO.DRY_FIRST]
    soon = replace(by_hand, arrival_to_s=START_S + 15 * MINUTE)
    assert kinds(watch(9, *entries, plan=soon)) == []


def test_other_lines_and_unknown_segments() -> None:
    """Entries of another line are nobody's here; a segment the plan does not have is named."""
    other = at(5, SegmentWetted("l2/s0"))
    found = watch(10, other, wet(6, "s999"))
    assert found.wet == ()
    assert found.unknown == ("l1/s999",)


def test_plans_own_steps_refine_the_hours() -> None:
    """A step wetted when the plan wets it is wet as long as the plan says, to the second; it is lit
    by the plan's own last moment or, where that is sooner, by the shortest lag of its hour.
    """
    (plan,) = make_lines(make_line_job(FORWARD, members=16), now_s=START_S).lines
    mark = plan.marks[0]
    minute = (mark.wet_from_s - START_S) / MINUTE
    entries = wet(minute, "s0", 0.0), wet(minute + 8, "s0")
    (stretch,) = watch(minute + 9, *entries, plan=plan).wet
    hours = plan.segments[0].hours
    own = next(h for h in hours if h.time_s <= mark.wet_from_s < h.time_s + HOUR)
    soonest = min(mark.latest_s, mark.wet_from_s + own.lag_90_s)
    assert stretch.latest_s[0] == pytest.approx(soonest, rel=0.0, abs=0.01)
    assert stretch.dry_50_s[0] == pytest.approx(mark.dry_50_s, rel=0.0, abs=0.01)
