"""From the reckoning of a line to its record: hours, segments, marks, refills, waits."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.line_plan import (
    LineHour,
    LineMark,
    LineRefill,
    LineSegmentPlan,
    LineWait,
    WidthCheck,
)
from stillwet.domain.lines import Line
from stillwet.domain.plan import Verdict
from stillwet.domain.weather import HOUR_S
from stillwet.engine.line_holding import (
    Hold,
    Strip,
    as_plain_water,
    coverage_needed,
    hold_of,
    retention,
    water_on_fuel,
)
from stillwet.engine.line_reasons import segment_verdict
from stillwet.engine.line_schedule import Steps
from stillwet.engine.line_search import MOMENT_S, SPARE_S, Attempt, Frame
from stillwet.engine.line_work import barrier_width
from stillwet.engine.verdicts import CONFIDENT, EVEN
from stillwet.physics.fuel_models import fuel_model
from stillwet.tables import load_table

Array = NDArray[np.float64]

_FLANK_DEG, _BACK_DEG = 60.0, 120.0
_HOURS_SHOWN = 12


def segment_plans(frame: Frame, attempt: Attempt) -> tuple[LineSegmentPlan, ...]:
    """The answer for every segment in the order of work."""
    ends = np.cumsum([segment.length_m for segment in frame.course.segments])
    return tuple(
        _segment_plan(frame, attempt, index, float(ends[index]))
        for index in range(len(frame.course.segments))
    )


def _segment_plan(frame: Frame, attempt: Attempt, index: int, end_m: float) -> LineSegmentPlan:
    segment, strip = frame.course.segments[index], frame.strips[index]
    effort, coverage = attempt.efforts[index], float(attempt.coverage[index])
    kept = retention(strip, frame.mix, attempt.ratio)
    worked = _worked_hours(frame, attempt, index)
    flame = float(np.quantile(strip.fire.flame_length_m[worked], CONFIDENT, axis=1).max())
    width = barrier_width(frame.line, segment)
    assert segment.fuel is not None  # need_reckonable has looked
    model = fuel_model(segment.fuel.model)
    draft = LineSegmentPlan(
        segment_id=segment.id,
        name=segment.name,
        from_m=end_m - segment.length_m,
        to_m=end_m,
        fuel_model=model.code,
        fuel_name=model.name,
        fine_load_kg_m2=strip.bed.fine_load_kg_m2,
        fuel_surface=strip.bed.surface,
        extinction_moisture=strip.bed.extinction_moisture,
        width_m=segment.width_m,
        barrier_width_m=width,
        black_depth_m=segment.black_depth_m,
        coverage_kg_m2=coverage,
        coverage_needed_kg_m2=float(attempt.needed[index]),
        water_on_fuel_kg_m2=float(np.median(np.minimum(coverage * strip.caught, kept))),
        kept_kg_m2=float(np.median(kept)),
        target_kg_m2=float(np.quantile(strip.target[worked], CONFIDENT, axis=1).max()),
        boiled_kg_m2=float(np.quantile(strip.boiled[worked], CONFIDENT, axis=1).max()),
        flame_length_m=flame,
        fire_at_line=_fire_at_line(frame, index, worked),
        widths=_widths(frame.line, flame, width),
        walk_m_s=effort.walk_m_s,
        is_flow_limited=effort.is_flow_limited,
        mix_m3=effort.mix_m3,
        water_m3=effort.water_m3,
        concentrate_m3=effort.concentrate_m3,
        hours=_hours(frame, attempt, index),
        verdict=Verdict.HOLDS,
        flags=strip.fire.flags,
        note=segment.note,
        **_times(attempt, index),
    )
    return replace(draft, verdict=segment_verdict(frame.line, draft))


def _worked_hours(frame: Frame, attempt: Attempt, index: int) -> slice:
    """The hours about the segment's wetting and lighting; the first two when it is not reached."""
    walk, mine = attempt.walk, attempt.steps.segment == index
    moments = np.concatenate([walk.wet_from_s[mine], walk.lit_to_s[mine]])
    moments = moments[np.isfinite(moments)]
    if not frame.line.work.is_lit:
        moments = np.append(moments, frame.must_last_s)
    if not moments.size:
        moments = np.array([attempt.steps.start_s])
    first = int(np.searchsorted(frame.sky.time_s, moments.min(), side="right")) - 1
    last = int(np.searchsorted(frame.sky.time_s, moments.max())) + 1
    return slice(max(first, 0), max(last, first + 1))


def _times(attempt: Attempt, index: int) -> dict[str, Any]:
    """When the segment is wetted, lit and black, and its lag and slack; None where it is not."""
    walk, steps = attempt.walk, attempt.steps
    mine = steps.segment == index
    wet, lit = walk.wet_from_s[mine], walk.lit_to_s[mine]
    moments = wet[np.isfinite(wet)]
    allowed = [steps.lag_at(index, float(when)) for when in moments]
    if not allowed:
        allowed = [steps.lag_at(index, steps.start_s)]
    spare = walk.latest_s[mine] - (lit if steps.is_lit else steps.must_last_s)
    return {
        "wet_from_s": _least(wet),
        "wet_to_s": _most(walk.wet_to_s[mine]),
        "lit_from_s": _least(walk.lit_from_s[mine]),
        "lit_to_s": _most(lit),
        "black_at_s": _black_at(attempt, index, _most(lit)),
        "lag_planned_s": _most(walk.lag_s[mine]),
        "lag_allowed_s": min(allowed),
        "lag_needed_s": _lag_needed(steps, moments),
        "slack_s": _least(spare),
    }


def _lag_needed(steps: Steps, wet_s: Array) -> float:
    """The lag a segment must at least allow."""
    if steps.is_lit:
        return 0.0
    return float(steps.must_last_s - (wet_s.min() if wet_s.size else steps.start_s))


def _black_at(attempt: Attempt, index: int, lit_to_s: float | None) -> float | None:
    """When the black beside the segment is deep enough in the middle case."""
    if lit_to_s is None:
        return None
    hold = attempt.holds[index]
    black = np.median(hold.hold_s - hold.lag_s, axis=1)
    return lit_to_s + float(np.interp(lit_to_s, attempt.steps.moment_s, black))


def _least(values: Array) -> float | None:
    return float(np.nanmin(values)) if np.isfinite(values).any() else None


def _most(values: Array) -> float | None:
    return float(np.nanmax(values)) if np.isfinite(values).any() else None


def _fire_at_line(frame: Frame, index: int, worked: slice) -> str:
    """How the fire moves at the line: heading, flanking or backing, at the first hour of work."""
    bearing = float(frame.strips[index].fire.head_towards_deg[worked][0])
    if np.isnan(bearing):
        return "unknown"
    into = frame.course.into_deg[index]
    towards = into if frame.line.work.is_lit else into + 180.0
    angle = abs((bearing - towards + 180.0) % 360.0 - 180.0)
    if angle <= _FLANK_DEG:
        return "heading"
    return "flanking" if angle <= _BACK_DEG else "backing"


def _widths(line: Line, flame_m: float, width_m: float) -> tuple[WidthCheck, ...]:
    """Every published multiple of the flame, and the one that the plan goes by."""
    rows = {row["value"]: row["source"] for row in load_table("line_practice")["multiple"]}
    planned = line.model.width_multiple
    rows.setdefault(planned, "given for this line")
    return tuple(
        WidthCheck(
            multiple=multiple,
            needed_m=multiple * flame_m,
            is_enough=width_m >= multiple * flame_m,
            is_planned=multiple == planned,
            source=source,
        )
        for multiple, source in sorted(rows.items())
    )


def _hours(frame: Frame, attempt: Attempt, index: int) -> tuple[LineHour, ...]:
    """The segment wetted at each hour of the working day with the coverage planned."""
    strip, coverage = frame.strips[index], float(attempt.coverage[index])
    shown = frame.sky.time_s <= max(frame.finish_s, frame.must_last_s)
    hour_s = frame.sky.time_s[shown][: _HOURS_SHOWN + 1]
    gel = water_on_fuel(strip, coverage=coverage, kept=retention(strip, frame.mix, attempt.ratio))
    water = water_on_fuel(strip, coverage=coverage, kept=retention(strip, None, 0.0))
    moments = _moments(frame, hour_s)
    lag_50, lag_90 = _shortest_lags(strip, gel, moments)
    siblings = _Siblings(
        lag_50=lag_50,
        lag_90=lag_90,
        gel=hold_of(strip, gel, wet_s=hour_s),
        alone=hold_of(strip, gel, wet_s=hour_s, is_alone=True),
        water=hold_of(as_plain_water(strip), water, wet_s=hour_s),
        needed=_coverage_by_hour(frame, attempt, strip, moments),
    )
    return tuple(_hour(frame, strip, siblings, k) for k in range(hour_s.size))


def _shortest_lags(strip: Strip, gel: Array, moments: Array) -> tuple[list[float], list[float]]:
    """The shortest lag of each hour's moments (K, .), in half of the cases and in nine of ten.

    Not that of the full hour alone: the black of a damp hour may grow so slowly that a spot wetted
    late in it has minutes where one wetted at either end of it has an hour.
    """
    found = hold_of(strip, gel, wet_s=moments.ravel())
    even, sure = (
        found.lag(share).reshape(moments.shape).min(axis=1) for share in (EVEN, CONFIDENT)
    )
    return even.tolist(), sure.tolist()


def _moments(frame: Frame, hour_s: Array) -> Array:
    """Moments (K, .) [epoch s] within each of K hours, none past the weather."""
    steps = np.arange(0.0, HOUR_S, MOMENT_S)
    return np.asarray(np.minimum(hour_s[:, None] + steps[None, :], frame.sky.time_s[-1]))


@dataclass(frozen=True, eq=False)
class _Siblings:
    """By hour: hold times of gel, of gel were every blade alone, of water; lags; coverage."""

    lag_50: list[float]
    lag_90: list[float]
    gel: Hold
    alone: Hold
    water: Hold
    needed: Array


def _coverage_by_hour(frame: Frame, attempt: Attempt, strip: Strip, moments: Array) -> Array:
    """Least coverage for the lag wanted, at the worst of each hour's moments (K, .)."""
    lags = np.full(moments.shape, attempt.lag_wanted_s)
    if not frame.line.work.is_lit:
        lags = np.maximum(frame.must_last_s - moments, 0.0) + SPARE_S
    needed = coverage_needed(
        strip,
        wet_s=moments.ravel(),
        lag_s=lags.ravel(),
        kept=retention(strip, frame.mix, frame.richest),
        confidence=CONFIDENT,
    )
    return np.asarray(needed.reshape(moments.shape).max(axis=1))


def _hour(frame: Frame, strip: Strip, found: _Siblings, k: int) -> LineHour:
    sky, fire = frame.sky, strip.fire
    direction = float(fire.wind_from_deg[k])
    return LineHour(
        time_s=float(sky.time_s[k]),
        air_temperature_k=float(np.median(sky.air_temperature_k[k])),
        relative_humidity=float(np.median(sky.relative_humidity[k])),
        wind_speed_m_s=float(np.median(sky.wind_speed_m_s[k])),
        wind_from_deg=None if np.isnan(direction) else direction,
        may_light=bool(frame.may_light[k]),
        dead_moisture=float(np.median(fire.dead_moisture[k])),
        drying_kg_m2_s=float(np.median(strip.drying.demand[k])),
        drying_alone_kg_m2_s=float(np.median(strip.drying.alone[k])),
        hold_50_s=float(found.gel.hold(EVEN)[k]),
        hold_90_s=float(found.gel.hold(CONFIDENT)[k]),
        hold_alone_90_s=float(found.alone.hold(CONFIDENT)[k]),
        hold_water_90_s=float(found.water.hold(CONFIDENT)[k]),
        black_s=float(np.median(strip.black_s[k])),
        lag_50_s=found.lag_50[k],
        lag_90_s=found.lag_90[k],
        coverage_needed_kg_m2=float(found.needed[k]),
        flame_length_m=float(np.quantile(fire.flame_length_m[k], CONFIDENT)),
        spread_rate_m_s=float(np.median(fire.spread_rate_m_s[k])),
    )


def walk_marks(frame: Frame, attempt: Attempt) -> tuple[LineMark, ...]:
    """Every step that is wetted, in order."""
    walk, steps = attempt.walk, attempt.steps
    ends = steps.distance_m
    marks = []
    for i in np.flatnonzero(np.isfinite(walk.wet_from_s)):
        hold = attempt.holds[int(steps.segment[i])]
        wet = float(walk.wet_from_s[i])
        is_lit = bool(np.isfinite(walk.lit_to_s[i]))
        marks.append(
            LineMark(
                from_m=float(ends[i] - steps.length_m[i]),
                to_m=float(ends[i]),
                wet_from_s=wet,
                wet_to_s=float(walk.wet_to_s[i]),
                lit_from_s=float(walk.lit_from_s[i]) if is_lit else None,
                lit_to_s=float(walk.lit_to_s[i]) if is_lit else None,
                latest_s=float(walk.latest_s[i]),
                dry_90_s=wet + _worse(hold.hold(CONFIDENT), frame.moment_s, wet),
                dry_50_s=wet + _worse(hold.hold(EVEN), frame.moment_s, wet),
            )
        )
    return tuple(marks)


def _worse(values: Array, moment_s: Array, when_s: float) -> float:
    """The smaller of the two values about a moment."""
    upper = min(int(np.searchsorted(moment_s, when_s)), moment_s.size - 1)
    lower = max(int(np.searchsorted(moment_s, when_s, side="right")) - 1, 0)
    return float(min(values[lower], values[upper]))


def walk_refills(attempt: Attempt) -> tuple[LineRefill, ...]:
    """The trips to the water."""
    walk, steps = attempt.walk, attempt.steps
    begins = steps.distance_m - steps.length_m
    return tuple(
        LineRefill(float(begins[i]), float(walk.refill_from_s[i]), float(walk.refill_to_s[i]))
        for i in np.flatnonzero(np.isfinite(walk.refill_from_s))
    )


def walk_waits(attempt: Attempt) -> tuple[LineWait, ...]:
    """Where the wetting crew waits for the torch: the first step of each wait."""
    walk, steps = attempt.walk, attempt.steps
    ends = steps.distance_m
    found: list[LineWait] = []
    for i in np.flatnonzero(walk.hold_after >= 0):
        if np.isfinite(walk.wet_from_s[i]):
            begin = float(ends[i] - steps.length_m[i])
            found.append(LineWait(begin, float(ends[walk.hold_after[i]])))
    return tuple(found)
