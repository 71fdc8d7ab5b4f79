"""Lines from job to answer: what works, what does not and why, and that it adds up."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from job_fixture import HOUR, START_S, make_crew, make_weather
from line_fixture import make_fuel, make_line, make_line_job, make_segment, make_work
from stillwet.domain.job import Job
from stillwet.domain.line_plan import LinePlan, LinesPlan
from stillwet.domain.lines import Beginning, Line, LinePurpose, Side, WetSides
from stillwet.domain.plan import Verdict
from stillwet.engine.line_holding import Hold
from stillwet.engine.line_inputs import need_reckonable
from stillwet.engine.line_reasons import minutes_left, segment_verdict
from stillwet.engine.lines import make_lines
from stillwet.errors import StillwetError


def plan_of(job: Job) -> LinesPlan:
    """The lines of a job, made at its start."""
    return make_lines(job, now_s=START_S)


def only(line: Line | None = None, **changes: Any) -> LinePlan:
    """The answer for one line."""
    job = make_line_job(*([line] if line else []), **changes)
    (found,) = plan_of(job).lines
    return found


@pytest.fixture(scope="module")
def usual() -> LinePlan:
    """The invented burn line on a dry morning."""
    return only()


def test_a_line_that_holds(usual: LinePlan) -> None:
    """Every spot is lit after it is wetted and before it may no longer be, from end to end."""
    assert usual.verdict is Verdict.HOLDS
    assert usual.hindrances == ()
    assert usual.marks[0].from_m == 0.0
    assert usual.marks[-1].to_m == pytest.approx(160.0)
    for mark in usual.marks:
        assert mark.lit_to_s is not None
        assert mark.wet_to_s < mark.lit_to_s <= mark.latest_s <= mark.dry_90_s <= mark.dry_50_s
    assert usual.finish_share is not None
    assert usual.finish_share >= 0.9


def test_amounts_add_up(usual: LinePlan) -> None:
    """Water is coverage x width x length; mix, concentrate and fills follow from the ratio."""
    water = sum(part.coverage_kg_m2 * part.width_m * 80.0 for part in usual.segments) / 1000.0
    assert usual.water_m3 == pytest.approx(water, rel=1e-9)
    assert usual.mix_m3 == pytest.approx(water / (1.0 - usual.mix_ratio), rel=1e-9)
    assert usual.concentrate_m3 == pytest.approx(usual.mix_m3 * usual.mix_ratio, rel=1e-9)
    assert usual.fills == int(np.ceil(usual.mix_m3 / usual.usable_m3))


def test_pace_is_flow_over_coverage_and_width(usual: LinePlan) -> None:
    """30 gal/min on a 4 m strip: the walk is flow / (mix a metre), and the work takes that long."""
    for part in usual.segments:
        flow = part.walk_m_s * part.mix_m3 / 80.0
        assert flow == pytest.approx(0.00189, rel=1e-6)
        assert part.is_flow_limited
    first = usual.marks[0]
    assert first.to_m / (first.wet_to_s - first.wet_from_s) == pytest.approx(
        usual.segments[0].walk_m_s
    )


def test_worse_hours_allow_less(usual: LinePlan) -> None:
    """From the cool morning to noon no hour holds longer than the one before, or asks for less."""
    for part in usual.segments:
        assert len(part.hours) == 5
        holds = [hour.hold_90_s for hour in part.hours]
        assert holds == sorted(holds, reverse=True)
        needed = [hour.coverage_needed_kg_m2 for hour in part.hours]
        assert needed == sorted(needed)
        assert all(hour.hold_alone_90_s <= hour.hold_90_s <= hour.hold_50_s for hour in part.hours)
        assert part.hours[-1].lag_90_s < 0.5 * part.hours[0].lag_90_s


def test_hours_coverage_and_lag_say_the_same() -> None:
    """Every moment of an hour has the lag wanted just where the coverage planned is enough."""
    line = only(make_line(work=make_work(coverage_kg_m2=4.9)))
    told = [
        (hour.coverage_needed_kg_m2 <= part.coverage_kg_m2, hour.lag_90_s >= line.lag_wanted_s)
        for part in line.segments
        for hour in part.hours
    ]
    assert all(enough is lasts for enough, lasts in told)
    assert {enough for enough, _ in told} == {True, False}


def test_same_seed_same_plan() -> None:
    """The same job gives the same lines to the bit; another seed gives others."""
    job = make_line_job()
    first, second = plan_of(job), plan_of(job)
    assert first == second
    assert plan_of(replace(job, seed=2)).lines != first.lines


def test_downwind_end_first() -> None:
    """Wind from the south-west blows along a west-east line to its east end: work begins there.

    Told otherwise, it begins where it is told to; the side that burns stays the same ground.
    """
    east = only()
    assert [part.segment_id for part in east.segments] == ["s80", "s0"]
    west = only(make_line(work=make_work(beginning=Beginning.FIRST)))
    assert [part.segment_id for part in west.segments] == ["s0", "s80"]
    assert {part.fire_at_line for part in east.segments + west.segments} == {"backing"}
    away = only(make_line(work=make_work(fire_side=Side.LEFT)))
    assert {part.fire_at_line for part in away.segments} == {"heading"}


def test_every_published_width_is_shown(usual: LinePlan) -> None:
    """1.5, 2 and 2.5 times the flames, one of them planned by; a given one joins them."""
    (checks, _) = (part.widths for part in usual.segments)
    assert [check.multiple for check in checks] == [1.5, 2.0, 2.5]
    assert [check.is_planned for check in checks] == [False, True, False]
    flame = usual.segments[0].flame_length_m
    assert [check.needed_m for check in checks] == pytest.approx(
        [1.5 * flame, 2 * flame, 2.5 * flame]
    )
    line = make_line()
    line = replace(line, model=replace(line.model, width_multiple=3.0))
    joined = only(line).segments[0].widths
    assert [check.multiple for check in joined] == [1.5, 2.0, 2.5, 3.0]
    assert [check.is_planned for check in joined] == [False, False, False, True]
    assert joined[-1].source == "given for this line"
    assert [check.source for check in joined[:3]] == [check.source for check in checks]


def test_flames_too_long_for_the_width() -> None:
    """A strip of 1 m beside brush: too narrow by every multiple, with what would free it."""
    brush = make_segment(fuel=make_fuel("SH5"), width_m=1.0)
    found = only(make_line(segments=(brush,)))
    assert found.verdict is Verdict.WILL_NOT_HOLD
    (why,) = [each for each in found.hindrances if each.kind == "flames too long"]
    assert "widen the strip by" in why.frees[0]
    rule = next(rule for rule in found.stop_rules if rule.name == "flames too long")
    assert not rule.is_kept


def test_a_bare_road_widens_the_barrier() -> None:
    """A 6 m road beside a 1 m strip: 7 m of barrier; both sides wetted: two strips and the road."""
    road = make_segment(width_m=1.0, bare_width_m=6.0)
    assert only(make_line(segments=(road,))).segments[0].barrier_width_m == 7.0
    both = only(make_line(segments=(road,), work=make_work(wet_sides=WetSides.BOTH)))
    assert both.segments[0].barrier_width_m == 8.0
    one = only(make_line(segments=(road,)))
    per_metre = [part.mix_m3 / part.coverage_kg_m2 for part in (one.segments[0], both.segments[0])]
    assert per_metre[1] == pytest.approx(2.0 * per_metre[0], rel=0.01)


def test_too_dry_to_hold() -> None:
    """A thin strip given by hand cannot outlast its black: said first, with what it takes."""
    found = only(make_line(work=make_work(coverage_kg_m2=1.5)))
    assert found.verdict is Verdict.WILL_NOT_HOLD
    assert "too dry before 3.0 m (10 ft) of black" in found.reason
    why = found.hindrances[0]
    assert why.kind == "too dry to hold"
    assert why.frees[0].startswith("lay ")
    assert found.lit_s is None


def test_a_torch_that_is_too_slow() -> None:
    """A torch of 1 cm/s comes after the strip is dry: it is not lit, and that is why."""
    found = only(make_line(work=make_work(ignition_pace_m_s=0.01)))
    assert found.verdict is Verdict.WILL_NOT_HOLD
    assert found.hindrances[0].kind == "crew too slow"
    assert "light faster" in found.hindrances[0].frees[0]


def test_no_water() -> None:
    """A small tank and no water point: the line ends where the tank does; a tender mends it."""
    crews = (make_crew(tank_m3=1.0),)
    found = only(crews=crews, water_points=())
    assert found.hindrances[0].kind == "no water"
    assert found.marks[-1].to_m < 160.0
    tender = make_line(work=make_work(refill_turn_s=240.0))
    assert only(tender, crews=crews, water_points=()).verdict is Verdict.HOLDS


def test_wrong_wind() -> None:
    """With the wind never in the sector nothing is wetted, and the wind is named."""
    found = only(make_line(work=make_work(wind_from_deg=0.0, wind_to_deg=90.0)))
    assert found.hindrances[0].kind == "wind"
    assert found.marks == ()
    rule = next(rule for rule in found.stop_rules if rule.name == "wind shift")
    assert not rule.is_kept


def test_wind_limit_ends_the_day() -> None:
    """The forecast passes a limit of 7 m/s in the morning: the rule says from when."""
    found = only(make_line(work=make_work(wind_limit_m_s=7.0)))
    rule = next(rule for rule in found.stop_rules if rule.name == "wind shift")
    assert rule.when_s is not None
    shut = [hour.time_s for hour in found.segments[0].hours if not hour.may_light]
    assert rule.when_s == min(shut)


def test_without_wind_direction_the_worst_is_taken() -> None:
    """Unknown wind: head-fire flames, which are longer than a backing fire's, and it is said."""
    weather = make_weather()
    still = replace(weather, wind_direction_deg=np.full(weather.hours, np.nan))
    found = only(weather=still)
    assert found.segments[0].fire_at_line == "unknown"
    assert found.segments[0].flame_length_m > 2.0 * only().segments[0].flame_length_m


@pytest.mark.parametrize("purpose", [LinePurpose.BESIDE, LinePurpose.SLOWING])
def test_a_line_that_is_not_lit(purpose: LinePurpose) -> None:
    """It must be wet when the fire comes, and is laid as late as crews may stay; no torch."""
    soon = make_work(
        is_lit=False,
        finish_s=None,
        arrival_from_s=START_S + 1.0 * HOUR,
        arrival_to_s=START_S + 1.1 * HOUR,
    )
    line = make_line(purpose=purpose, segments=(make_segment(end_m=30.0),), work=soon)
    job = make_line_job(line)
    job = replace(job, practice=replace(job.practice, egress_lead_s=300.0))
    (found,) = plan_of(job).lines
    assert found.verdict is Verdict.HOLDS
    assert found.lit_s is None
    assert found.black_at_s is None
    assert found.wetted_s is not None
    assert found.wetted_s <= START_S + 1.0 * HOUR - 300.0
    assert all(mark.latest_s >= START_S + 1.1 * HOUR for mark in found.marks)
    assert ("slows a fire" in found.reason) == (purpose is LinePurpose.SLOWING)
    assert found.segments[0].fire_at_line == "heading"


def test_a_line_laid_long_before_the_fire_is_not_relied_on() -> None:
    """The fire of the job's assets comes in the afternoon, hours after a strip dries: no line."""
    found = only(make_line(work=make_work(is_lit=False, finish_s=None)))
    assert found.verdict is Verdict.WILL_NOT_HOLD
    assert found.hindrances[0].kind == "too dry to hold"
    assert "wet it nearer to the fire's arrival" in found.hindrances[0].frees[0]


def test_what_is_missing_is_asked_for_all_at_once() -> None:
    """No fuel model, no side, no such crew, a start after the weather: four problems together."""
    bare = make_segment(fuel=None)
    work = make_work(fire_side=None, crew_id="e9", start_s=START_S + 400 * HOUR, finish_s=None)
    with pytest.raises(StillwetError) as caught:
        plan_of(make_line_job(make_line(segments=(bare,), work=work)))
    assert [problem.field for problem in caught.value.problems] == [
        "fuel_model",
        "fire_side",
        "crew",
        "start",
    ]
    assert "fire_side: wanted left or right: the side of the line" in str(caught.value)
    with pytest.raises(StillwetError, match="lines: wanted at least one line, got none"):
        plan_of(replace(make_line_job(), lines=()))


def test_cautions_are_there() -> None:
    """The divided guidance on gel for burn lines comes first of all cautions."""
    plan = plan_of(make_line_job())
    assert plan.cautions[0].startswith("Published guidance is divided on gel for burn lines")
    assert any("not a retardant" in caution for caution in plan.cautions)
    assert any("mop-up" in caution for caution in plan.cautions)


def test_numbers_carry_their_origin(usual: LinePlan) -> None:
    """Every spread number of the reckoning is among the inputs, with its interval."""
    names = {item.name: item.basis for item in usual.inputs}
    for name in ("extinction margin", "flame flux", "bed wind", "blade width"):
        assert names[name].low is not None
        assert names[name].high is not None


def test_a_line_that_stops_says_what_stops_it_most(usual: LinePlan) -> None:
    """Nothing where every run comes to its end; with long delays, the lag that was exceeded."""
    assert (usual.finish_share, usual.stopped_by) == (1.0, "")
    found = only(replace(make_line(), work=make_work(delay_share=0.9)))
    assert found.finish_share is not None
    assert found.finish_share < 1.0
    assert found.stopped_by == "lag exceeded"


def test_runs_that_keep_every_rule_are_counted_in_a_hundred(usual: LinePlan) -> None:
    """All of them is 100 of 100."""
    told = [rule.forecast for rule in usual.stop_rules]
    assert "100 of 100 runs with delays keep every rule" in told


def test_wide_enough_for_the_narrowest_rule_alone_is_doubtful(usual: LinePlan) -> None:
    """Wide enough by the rule planned with it holds; by none of the published ones it does not."""
    segment = usual.segments[0]
    line = make_line()
    assert segment_verdict(line, segment) is Verdict.HOLDS

    def with_widths(*enough: bool) -> Verdict:
        widths = [replace(w, is_enough=e) for w, e in zip(segment.widths, enough, strict=True)]
        return segment_verdict(line, replace(segment, widths=tuple(widths)))

    assert with_widths(True, False, False) is Verdict.DOUBTFUL
    assert with_widths(False, False, False) is Verdict.WILL_NOT_HOLD


def test_a_line_may_start_in_the_last_hour_of_the_forecast_and_not_after() -> None:
    """What is asked of a start is that some weather follows it."""
    job = make_line_job()
    last_s = float(job.weather.time_s[-1])

    def problems(start_s: float) -> list[str]:
        work = make_work(start_s=start_s, finish_s=start_s + HOUR)
        try:
            need_reckonable(replace(job, lines=(replace(job.lines[0], work=work),)))
        except StillwetError as error:
            return [problem.field for problem in error.problems]
        return []

    assert "start" not in problems(last_s - 60.0)
    assert "start" in problems(last_s)


def test_a_wind_that_stays_within_its_limit_is_said_to() -> None:
    """No hour is outside a limit of a gale, so the rule is kept and has no moment."""
    found = only(make_line(work=make_work(wind_limit_m_s=30.0)))
    rule = next(rule for rule in found.stop_rules if rule.name == "wind shift")
    assert (rule.forecast, rule.is_kept, rule.when_s) == ("no hour is outside", True, None)


@pytest.mark.parametrize(
    ("wind_from_deg", "right", "left"),
    # A line from west to east: its right is the south, where the wind from the north drives a fire.
    [
        (0.0, "heading", "backing"),
        (180.0, "backing", "heading"),
        (90.0, "flanking", "flanking"),
        (270.0, "flanking", "flanking"),
        (20.0, "heading", "backing"),
        (340.0, "heading", "backing"),
        (70.0, "flanking", "flanking"),
        (290.0, "flanking", "flanking"),
    ],
)
def test_wind_makes_it_a_heading_or_a_backing_fire(
    wind_from_deg: float, right: str, left: str
) -> None:
    """Blown into the unit it heads there, blown at the line it backs, along it it flanks."""
    weather = make_weather()
    blown = replace(weather, wind_direction_deg=np.full(weather.hours, wind_from_deg))
    for side, wanted in ((Side.RIGHT, right), (Side.LEFT, left)):
        segment = make_segment(end_m=20.0)
        line = make_line(segments=(segment,), work=make_work(fire_side=side))
        found = only(line, weather=blown)
        assert found.segments[0].fire_at_line == wanted, side


def test_the_least_time_to_spare_is_that_of_the_tightest_mark(usual: LinePlan) -> None:
    """Told with the rule of the lag: the smallest of the marks' latest less their lit time."""
    least = min(mark.latest_s - mark.lit_to_s for mark in usual.marks if mark.lit_to_s is not None)
    rule = next(rule for rule in usual.stop_rules if rule.name == "lag exceeded")
    assert minutes_left(least) in rule.forecast
    slacks = [part.slack_s for part in usual.segments]
    assert min(slack for slack in slacks if slack is not None) == pytest.approx(least)


def test_each_hour_of_a_line_carries_its_weather_and_fuel(usual: LinePlan) -> None:
    """A morning that warms and dries: fine dead fuel follows the air's humidity down (Rothermel
    1983: lower humidity, drier fuel), and stays between 1 % and what grass carries fire at.
    """
    for part in usual.segments:
        damp = [hour.relative_humidity for hour in part.hours]
        fuel = [hour.dead_moisture for hour in part.hours]
        assert damp == sorted(damp, reverse=True)
        assert fuel == sorted(fuel, reverse=True)
        assert all(0.01 <= each <= part.extinction_moisture for each in fuel)
        warm = [hour.air_temperature_k for hour in part.hours]
        assert warm == sorted(warm)
        assert all(h.drying_kg_m2_s <= h.drying_alone_kg_m2_s for h in part.hours)


def test_no_hour_promises_a_lag_that_a_spot_wetted_within_it_lacks(usual: LinePlan) -> None:
    """Every spot of the schedule, at whatever minute it is wetted, may wait at least as long as its
    hour says, but for the ten minutes in which the schedule looks ahead to the next hour.
    """
    looked = 0
    for mark in usual.marks:
        part = next(p for p in usual.segments if p.from_m <= mark.from_m + 1e-6 < p.to_m)
        own = [h for h in part.hours if h.time_s <= mark.wet_from_s < h.time_s + HOUR - 600.0]
        for hour in own:
            assert mark.latest_s - mark.wet_from_s >= hour.lag_90_s - 1.0
            looked += 1
    assert looked


def test_an_hours_lag_is_its_shortest(monkeypatch: pytest.MonkeyPatch) -> None:
    """A damp hour whose lag dips to 13 min fifty minutes in, with 58 min at both of its ends (as on
    a morning of 88 % humidity whose grass carries fire only from nine on): it says 13.
    """

    def dips(_strip: object, _gel: object, *, wet_s: Any, is_alone: bool = False) -> Hold:
        minutes = (np.asarray(wet_s) - START_S) / 60.0 % 60.0
        lag = np.where(np.isclose(minutes, 50.0), 13.0, 58.0) * 60.0
        return Hold(hold_s=lag[:, None] + 600.0, lag_s=lag[:, None])

    monkeypatch.setattr("stillwet.engine.line_answer.hold_of", dips)
    hours = only().segments[0].hours
    assert {hour.lag_90_s for hour in hours[:-1]} == {13.0 * 60.0}
    assert {hour.lag_50_s for hour in hours[:-1]} == {13.0 * 60.0}
    assert {hour.hold_90_s for hour in hours} == {68.0 * 60.0}
