"""The work along a line: which way it goes, the steps, litres a metre, pace, refills."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.job import Job
from stillwet.domain.lines import Beginning, Line, LineSegment, Side, WetSides
from stillwet.domain.products import Crew
from stillwet.engine.line_schedule import STEP_M, Steps
from stillwet.engine.mixing import concentrate_share, water_share

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Course:
    """The line as it is worked: segments in order, each with the bearing from line into the fire's
    side (the unit to be burnt, or where the fire comes from).
    """

    segments: tuple[LineSegment, ...]
    into_deg: tuple[float, ...]
    begins_at: str


@dataclass(frozen=True, slots=True)
class Effort:
    """What one segment takes: mix a metre of line, and how fast the nozzle walks."""

    mix_m3_m: float
    walk_m_s: float
    is_flow_limited: bool
    mix_m3: float
    water_m3: float
    concentrate_m3: float


def crew_of(job: Job, line: Line) -> Crew:
    """The wetting crew: the one named, else the first."""
    named = [crew for crew in job.crews if crew.id == line.work.crew_id]
    return named[0] if named else job.crews[0]


def course_of(line: Line, wind_from_deg: float) -> Course:
    """The order of work. Downwind end first: fire and smoke then move away from the work to come.

    Without a wind direction the line is worked as drawn.
    """
    forward = line.work.beginning is not Beginning.LAST
    if line.work.beginning is Beginning.DOWNWIND and not math.isnan(wind_from_deg):
        downwind = math.radians(wind_from_deg + 180.0)
        (x0, y0), (x1, y1) = line.track_m[0], line.track_m[-1]
        forward = (x0 - x1) * math.sin(downwind) + (y0 - y1) * math.cos(downwind) >= 0.0
    turn = -90.0 if line.work.fire_side is Side.LEFT else 90.0
    into = tuple((segment.bearing_deg + turn) % 360.0 for segment in line.segments)
    end = "the end it is drawn from" if forward else "the end it is drawn to"
    if forward:
        return Course(line.segments, into, end)
    turned = tuple(
        replace(segment, track_m=segment.track_m[::-1]) for segment in reversed(line.segments)
    )
    return Course(turned, into[::-1], end)


def sides_of(line: Line) -> int:
    """Number of strips."""
    return 2 if line.work.wet_sides is WetSides.BOTH else 1


def barrier_width(line: Line, segment: LineSegment) -> float:
    """Width [m] that has to stop the fire: strips and bare line together."""
    return sides_of(line) * segment.width_m + segment.bare_width_m


def effort_of(
    job: Job, line: Line, segment: LineSegment, *, coverage_kg_m2: float, ratio: float
) -> Effort:
    """Mix, water and concentrate of one segment, and the pace that lays its coverage.

    The pump sets the pace unless the legs are slower; then the nozzle is throttled.
    """
    crew = crew_of(job, line)
    share = water_share(job.product, ratio)
    a_metre = coverage_kg_m2 / 1000.0 * segment.width_m * sides_of(line) / share
    by_flow = crew.spray_flow_m3_s / a_metre
    mix = a_metre * segment.length_m
    return Effort(
        mix_m3_m=a_metre,
        walk_m_s=min(by_flow, line.work.spray_walk_m_s),
        is_flow_limited=by_flow < line.work.spray_walk_m_s,
        mix_m3=mix,
        water_m3=mix * share,
        concentrate_m3=mix * concentrate_share(job.product, ratio),
    )


def make_steps(
    job: Job,
    line: Line,
    course: Course,
    efforts: list[Effort],
    *,
    start_s: float,
    finish_s: float,
    moment_s: Array,
    lag_s: Array,
    may_light: NDArray[np.bool_],
    must_last_s: float,
) -> Steps:
    """The line in steps of at most ten metres, with the work, the mix and the refill of each."""
    counts = [max(1, math.ceil(segment.length_m / STEP_M)) for segment in course.segments]
    segment = np.repeat(np.arange(len(counts)), counts)
    length = np.array(
        [part.length_m / count for part, count in zip(course.segments, counts, strict=True)]
    )[segment]
    walk = np.array([effort.walk_m_s for effort in efforts])[segment]
    mix = np.array([effort.mix_m3_m for effort in efforts])[segment] * length
    return Steps(
        segment=segment,
        length_m=length,
        wet_work_s=length / walk,
        light_work_s=length / line.work.ignition_pace_m_s,
        mix_m3=mix,
        turn_s=refill_turns(job, line, course, counts),
        tank_m3=crew_of(job, line).usable_m3,
        gap_s=line.work.follow_gap_s,
        start_s=start_s,
        finish_s=finish_s,
        moment_s=moment_s,
        lag_s=lag_s,
        may_light=may_light,
        is_lit=line.work.is_lit,
        must_last_s=must_last_s,
    )


def refill_turns(job: Job, line: Line, course: Course, counts: list[int]) -> Array:
    """Seconds a refill takes from each step's beginning; inf without water."""
    places = [
        place_along(segment, index / count)
        for segment, count in zip(course.segments, counts, strict=True)
        for index in range(count)
    ]
    if line.work.refill_turn_s is not None:
        return np.full(len(places), line.work.refill_turn_s)
    crew = crew_of(job, line)
    found = np.full(len(places), np.inf)
    for point in job.water_points:
        away = np.array([math.dist(place, (point.x_m, point.y_m)) for place in places])
        drive = 2.0 * line.work.detour * away / crew.speed_m_s
        turn = drive + crew.usable_m3 / point.fill_flow_m3_s + line.work.connect_s
        found = np.minimum(found, turn)
    return found


def place_along(segment: LineSegment, share: float) -> tuple[float, float]:
    """The point at this share of a segment's length."""
    left = share * segment.length_m
    for start, end in zip(segment.track_m, segment.track_m[1:], strict=False):
        piece = math.dist(start, end)
        if left <= piece and piece > 0:
            part = left / piece
            return (
                start[0] + part * (end[0] - start[0]),
                start[1] + part * (end[1] - start[1]),
            )
        left -= piece
    return segment.track_m[-1]


def wind_allowed(line: Line, wind_from_deg: Array, wind_m_s: Array) -> NDArray[np.bool_]:
    """Whether the forecast wind (H,) is one the line may be lit in; an unknown direction is not
    held against a sector, since nobody could keep it.
    """
    allowed = np.ones(wind_m_s.size, dtype=np.bool_)
    work = line.work
    if work.wind_from_deg is not None and work.wind_to_deg is not None:
        width = (work.wind_to_deg - work.wind_from_deg) % 360.0 or 360.0
        inside = (wind_from_deg - work.wind_from_deg) % 360.0 <= width
        allowed &= inside | np.isnan(wind_from_deg)
    if work.wind_limit_m_s is not None:
        allowed &= wind_m_s <= work.wind_limit_m_s
    return allowed
