"""Wetted lines: how much to spray, how soon to light behind, in which order, when to stop."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.job import Job
from stillwet.domain.line_plan import Hindrance, LinePlan, LineSegmentPlan, LinesPlan
from stillwet.domain.lines import Line
from stillwet.domain.plan import Verdict, WeatherSummary
from stillwet.domain.suitability import Fit, Scope, Suitability
from stillwet.domain.weather import HOUR_S
from stillwet.engine.cautions import job_cautions, rule_cautions, rule_warnings
from stillwet.engine.line_answer import segment_plans, walk_marks, walk_refills, walk_waits
from stillwet.engine.line_fire import wind_direction
from stillwet.engine.line_holding import make_strip
from stillwet.engine.line_inputs import (
    line_inputs,
    line_start,
    lines_job_inputs,
    need_reckonable,
)
from stillwet.engine.line_members import draw_line_members
from stillwet.engine.line_reasons import (
    dry_hindrance,
    line_reason,
    line_verdict,
    stop_hindrance,
    width_hindrance,
)
from stillwet.engine.line_rules import stop_rules
from stillwet.engine.line_search import MOMENT_S, Attempt, Frame, search
from stillwet.engine.line_work import course_of, crew_of, wind_allowed
from stillwet.engine.members import Members, draw_members
from stillwet.engine.mixing import make_mix
from stillwet.engine.sky import Sky, make_sky
from stillwet.engine.suitability import job_findings, line_suitability
from stillwet.engine.surroundings import surroundings_of
from stillwet.engine.weather_summary import weather_summary
from stillwet.tables import load_table
from stillwet.version import VERSION

Array = NDArray[np.float64]
Progress = Callable[[str, float], None]

WORKDAY_S = 12 * HOUR_S  # a line without a finish is looked at for this long
AFTER_S = 6 * HOUR_S  # hold times are followed this far past the end of work


def make_lines(job: Job, *, now_s: float, progress: Progress | None = None) -> LinesPlan:
    """Reckon every line of the job; the same job gives the same plan to the bit.

    Raises StillwetError, with all that is missing, for lines that cannot be reckoned.
    """
    tell = progress or (lambda _label, _share: None)
    need_reckonable(job)
    tell("drawing members", 0.0)
    members = draw_members(job)
    plans, told = [], rule_warnings(job_findings(job))
    around = surroundings_of(job)
    for index, line in enumerate(job.lines):
        tell(f"reckoning {line.name}", 0.1 + 0.9 * index / len(job.lines))
        said = line_suitability(job, line, around)
        plans.append(_ruled(_line_plan(job, line, members), said))
        told += _line_warnings(said)
    tell("done", 1.0)
    return LinesPlan(
        id=_plan_id(job),
        job_name=job.name,
        time_zone=job.time_zone,
        crs=job.crs,
        made_s=now_s,
        model_version=VERSION,
        seed=job.seed,
        members=job.members,
        input_hash=job.input_hash,
        product_name=job.product.name,
        ratio_basis=job.product.ratio_basis.value,
        lines=tuple(plans),
        weather=_weather(job, tuple(plans)),
        cautions=(*load_table("line_practice")["cautions"]["lines"], *job_cautions()),
        warnings=(*told, *job.remarks),
        inputs=lines_job_inputs(job),
    )


def _ruled(plan: LinePlan, said: tuple[Suitability, ...]) -> LinePlan:
    """The line's plan, not to be used where a rule forbids a stretch of it."""
    found = [
        Hindrance("not suitable", stretch.id, one.reason, (one.instead,))
        for stretch in said
        for one in stretch.findings
        if one.fit is Fit.DO_NOT
    ]
    if not found:
        return plan
    reason = f"{found[0].reason} {found[0].frees[0]}"
    return replace(
        plan,
        verdict=Verdict.DO_NOT_COAT,
        reason=reason,
        hindrances=(*found, *plan.hindrances),
    )


def _line_warnings(said: tuple[Suitability, ...]) -> tuple[str, ...]:
    """What the rules tell of each stretch; what they tell of the task is among the cautions."""
    return tuple(
        f"{stretch.name}: {words}"
        for stretch in said
        for words in rule_cautions(
            tuple(one for one in stretch.findings if one.scope is Scope.PLACE)
        )
    )


def _plan_id(job: Job) -> str:
    marks = ("lines", job.input_hash, VERSION, str(job.seed), str(job.members))
    return hashlib.sha256("|".join(marks).encode()).hexdigest()[:10]


def _line_plan(job: Job, line: Line, members: Members) -> LinePlan:
    frame = make_frame(job, line, members, line_sky(job, line, members))
    attempt = search(frame)
    segments = segment_plans(frame, attempt)
    hindrances = _hindrances(frame, attempt, segments)
    verdict = line_verdict(attempt, segments)
    walk, lit = attempt.walk, line.work.is_lit
    arrival = (None, None) if lit else _arrival(job, line)
    ends = [segment.black_at_s for segment in segments if segment.black_at_s is not None]
    crew, mix = crew_of(job, line), sum(effort.mix_m3 for effort in attempt.efforts)
    return LinePlan(
        line_id=line.id,
        name=line.name,
        purpose=line.purpose.value,
        is_lit=lit,
        verdict=verdict,
        reason=line_reason(line, attempt, verdict, hindrances),
        length_m=line.length_m,
        begins_at=frame.course.begins_at,
        lag_wanted_s=attempt.lag_wanted_s,
        start_s=attempt.steps.start_s,
        wetted_s=_last(walk.wet_to_s),
        lit_s=_last(walk.lit_to_s) if lit else None,
        black_at_s=max(ends, default=None) if lit else None,
        arrival_from_s=arrival[0],
        arrival_to_s=arrival[1],
        mix_ratio=attempt.ratio,
        mix_m3=mix,
        water_m3=sum(effort.water_m3 for effort in attempt.efforts),
        concentrate_m3=sum(effort.concentrate_m3 for effort in attempt.efforts),
        fills=math.ceil(mix / crew.usable_m3 - 1e-9) if crew.usable_m3 > 0 else None,
        crew_name=crew.name,
        usable_m3=crew.usable_m3,
        finish_share=attempt.share if walk.stop is None else None,
        delay_share=line.work.delay_share,
        stopped_by="" if attempt.commonest is None else attempt.commonest.value,
        segments=segments,
        marks=walk_marks(frame, attempt),
        refills=walk_refills(attempt),
        waits=walk_waits(attempt),
        stop_rules=stop_rules(frame, attempt, segments),
        hindrances=hindrances,
        track_m=line.track_m,
        inputs=line_inputs(line),
        note=line.note,
    )


def line_sky(job: Job, line: Line, members: Members) -> Sky:
    """The weather in which one line is reckoned, in every member."""
    start_s = line_start(job, line)
    last_s = _finish(job, line, start_s)
    if not line.work.is_lit:
        last_s = max(last_s, _arrival(job, line)[1])
    return make_sky(
        job.weather,
        from_s=start_s,
        to_s=last_s + AFTER_S,
        members=members,
        uncertainty=job.uncertainty,
    )


def make_frame(job: Job, line: Line, members: Members, sky: Sky) -> Frame:
    """The strips and the times of one line under one sky."""
    start_s = line_start(job, line)
    finish_s = _finish(job, line, start_s)
    must_last_s = -math.inf if line.work.is_lit else _arrival(job, line)[1]
    wind_from = wind_direction(job.weather, sky)
    course = course_of(line, float(wind_from[0]))
    draws = draw_line_members(line, members=job.members, seed=job.seed)
    strips = tuple(
        make_strip(
            job,
            segment,
            sky,
            members,
            draws,
            # a fire that is lit moves into its side; one that comes, comes out of it
            towards_deg=into if line.work.is_lit else (into + 180.0) % 360.0,
            is_lit=line.work.is_lit,
        )
        for segment, into in zip(course.segments, course.into_deg, strict=True)
    )
    return Frame(
        job=job,
        line=line,
        course=course,
        strips=strips,
        sky=sky,
        mix=make_mix(job, members),
        moment_s=np.arange(start_s, max(finish_s, start_s + MOMENT_S) + MOMENT_S, MOMENT_S),
        may_light=wind_allowed(line, wind_from, _median_wind(sky)),
        start_s=start_s,
        finish_s=finish_s,
        must_last_s=must_last_s,
    )


def _median_wind(sky: Sky) -> Array:
    return np.asarray(np.median(sky.wind_speed_m_s, axis=1))


def _arrival(job: Job, line: Line) -> tuple[float, float]:
    """When the fire comes to the line: its own times, else those of the job's assets."""
    first = min(asset.fire.arrival_from_s for asset in job.assets)
    last = max(asset.fire.arrival_to_s for asset in job.assets)
    work = line.work
    return (
        first if work.arrival_from_s is None else work.arrival_from_s,
        last if work.arrival_to_s is None else work.arrival_to_s,
    )


def _finish(job: Job, line: Line, start_s: float) -> float:
    """The latest moment of work: the user's, else the egress lead before the fire, else a day's.

    The crew of a line that is lit leaves the line to others, but not to a fire that is on its way.
    """
    end = line.work.finish_s
    if end is None:
        end = start_s + WORKDAY_S
    if not line.work.is_lit:
        end = min(end, _arrival(job, line)[0] - job.practice.egress_lead_s)
    return min(end, float(job.weather.time_s[-1]))


def _last(times_s: Array) -> float | None:
    return float(np.nanmax(times_s)) if np.isfinite(times_s).any() else None


def _hindrances(
    frame: Frame, attempt: Attempt, segments: tuple[LineSegmentPlan, ...]
) -> tuple[Hindrance, ...]:
    """Everything that stands against the line, what ends the schedule first."""
    steps = attempt.steps
    at = segments[int(steps.segment[min(attempt.walk.stopped_at, steps.count - 1)])]
    found = [stop_hindrance(frame, attempt, at)]
    for segment in segments:
        found += [dry_hindrance(frame, segment), width_hindrance(frame.line, segment)]
    return tuple(hindrance for hindrance in found if hindrance is not None)


def _weather(job: Job, plans: tuple[LinePlan, ...]) -> WeatherSummary:
    """The weather the lines stood on, from the first work to the last hour shown."""
    weather = job.weather
    first = min(plan.start_s for plan in plans)
    last = max(hour.time_s for plan in plans for part in plan.segments for hour in part.hours)
    used = (weather.time_s >= first - HOUR_S) & (weather.time_s <= last)
    return weather_summary(weather, used)
