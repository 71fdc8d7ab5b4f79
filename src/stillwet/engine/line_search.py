"""How much to spray: the least coverage, segment by segment, with which the schedule holds."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.job import Job
from stillwet.domain.lines import Line
from stillwet.engine.coating import round_coat_up
from stillwet.engine.line_holding import (
    MOST_COVERAGE_KG_M2,
    Hold,
    Strip,
    coverage_needed,
    hold_of,
    retention,
    water_on_fuel,
)
from stillwet.engine.line_schedule import Steps, Stop, Walk, finish_share, plan_walk
from stillwet.engine.line_work import Course, Effort, crew_of, effort_of, make_steps, refill_turns
from stillwet.engine.mixing import RATIO_STEP, Mix, best_ratio
from stillwet.engine.sky import Sky
from stillwet.engine.verdicts import CONFIDENT

Array = NDArray[np.float64]

LEAST_COVERAGE_KG_M2 = 0.2  # untested default, 0.1 to 0.4: half a gallon on 100 ft2, a quick pass
LAGS_S = tuple(60.0 * minutes for minutes in (5, 10, 15, 20, 30, 45, 60, 90, 120))
RUNS = 200  # of the schedule with random delays
KEEPS = (0.5, 0.25, 0.0)  # shares of the lag that the wetting crew may be ahead of the torch
MOMENT_S = 600.0  # lags are reckoned for spots wetted every ten minutes
SPARE_S = 300.0  # a strip that a fire is to meet shall still hold this long after it should have
_PASSES = 8  # coverage asks for time, time changes the hours, the hours ask for coverage
_RATIO_GIVE_S = 15.0  # lag given up for a leaner mix


@dataclass(frozen=True, eq=False)
class Frame:
    """What every attempt on one line shares."""

    job: Job
    line: Line
    course: Course
    strips: tuple[Strip, ...]
    sky: Sky
    mix: Mix
    moment_s: Array  # from start to finish, at which lags are reckoned
    may_light: NDArray[np.bool_]  # at the sky's hours
    start_s: float
    finish_s: float
    must_last_s: float

    @property
    def best_ratio(self) -> float:
        """The ratio that clings thickest."""
        return float(best_ratio(self.mix, 1)[0])

    @property
    def richest(self) -> float:
        """The richest ratio that coverage is reckoned with: the one given, else the best."""
        return self.line.work.mix_ratio or self.best_ratio


@dataclass(frozen=True, eq=False)
class Attempt:
    """One set of coverages and the schedule that comes of it."""

    lag_wanted_s: float
    coverage: Array  # (segments,) kg/m2 at the nozzle
    needed: Array  # (segments,) for the lag wanted, inf when none clings
    ratio: float
    efforts: list[Effort]
    holds: list[Hold]  # by segment, at the frame's moments
    steps: Steps
    walk: Walk
    share: float  # of runs with random delays that keep every rule
    commonest: Stop | None


def hour_of(frame: Frame, time_s: Array) -> NDArray[np.int64]:
    """The sky's hour that each moment falls in."""
    return np.searchsorted(frame.sky.time_s, time_s, side="right") - 1


def search(frame: Frame) -> Attempt:
    """The attempt to plan by: the shortest lag with which nine runs in ten keep every rule.

    When none does, the one that most runs finish; then the one that gets farthest.
    """
    wanted = (0.0,) if not frame.line.work.is_lit else LAGS_S
    if frame.line.work.coverage_kg_m2 is not None:
        wanted = wanted[:1]
    best: Attempt | None = None
    for lag_s in wanted:
        attempt = _attempt(frame, lag_s)
        if best is None or _is_better(attempt, best):
            best = attempt
        if best.walk.stop is None and best.share >= CONFIDENT:
            break
    assert best is not None
    return best


def _is_better(one: Attempt, other: Attempt) -> bool:
    return (one.share, one.walk.stopped_at) > (other.share, other.walk.stopped_at)


def _attempt(frame: Frame, lag_s: float) -> Attempt:
    """Coverage for one lag, raised until the hours it is wetted in ask for no more."""
    count = len(frame.strips)
    needed, found = np.zeros(count), None
    # a line that is lit begins at its start, one that a fire comes to is laid as late as may be
    first = frame.start_s if frame.line.work.is_lit else max(frame.start_s, frame.finish_s)
    windows = [(first, first)] * count
    for _ in range(_PASSES):
        raised = np.maximum(needed, _needed(frame, lag_s, windows))
        if found is not None and np.array_equal(raised, needed):
            break
        needed = raised
        found = _schedule(frame, lag_s, needed)
        windows = _windows(found, windows)
    assert found is not None
    return _played(frame, found)


def _played(frame: Frame, attempt: Attempt) -> Attempt:
    """The attempt with what becomes of its schedule under random delays.

    Where those break it, the wetting crew is kept closer to the torch.
    """
    best = attempt
    for keep in KEEPS if attempt.steps.is_lit else KEEPS[:1]:
        steps = replace(attempt.steps, keep_ahead=keep)
        walk = plan_walk(steps)
        if walk.stop is not None:
            continue
        share, commonest = finish_share(
            steps,
            walk,
            delay_share=frame.line.work.delay_share,
            runs=RUNS,
            seed=frame.job.seed,
        )
        if best.walk.stop is not None or share > best.share:
            best = replace(attempt, steps=steps, walk=walk, share=share, commonest=commonest)
        if share >= CONFIDENT:
            break
    return best


def _windows(attempt: Attempt, before: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """When each segment is wetted; one that was not reached keeps the moment work got to."""
    walk, steps = attempt.walk, attempt.steps
    found = []
    for index, known in enumerate(before):
        times = walk.wet_from_s[(steps.segment == index) & ~np.isnan(walk.wet_from_s)]
        found.append((float(times.min()), float(times.max())) if times.size else known)
    return found


def _needed(frame: Frame, lag_s: float, windows: list[tuple[float, float]]) -> Array:
    """Coverage (segments,) for the lag at the worst moment each segment is wetted in."""
    found = []
    for strip, (first, last) in zip(frame.strips, windows, strict=True):
        inside = frame.moment_s[(frame.moment_s > first) & (frame.moment_s < last)]
        moments = np.unique(np.array([first, *inside, last]))
        lags = np.full(moments.size, lag_s)
        if not frame.line.work.is_lit:
            lags = np.maximum(frame.must_last_s - moments, 0.0) + SPARE_S
        need = coverage_needed(
            strip,
            wet_s=moments,
            lag_s=lags,
            kept=retention(strip, frame.mix, frame.richest),
            confidence=CONFIDENT,
        )
        found.append(float(need.max()))
    return np.array(found)


def most_coverage(strip: Strip, kept: Array) -> float:
    """The coverage beyond which the middle case's fuel keeps no more."""
    return float(min(np.median(kept / strip.caught), MOST_COVERAGE_KG_M2))


def _schedule(frame: Frame, lag_s: float, needed: Array) -> Attempt:
    """Ratio, pace, lags and the walk for these coverages."""
    capped = [
        need
        if np.isfinite(need)
        else most_coverage(strip, retention(strip, frame.mix, frame.richest))
        for need, strip in zip(needed, frame.strips, strict=True)
    ]
    coverage = np.maximum(round_coat_up(np.array(capped)), LEAST_COVERAGE_KG_M2)
    given = frame.line.work.coverage_kg_m2
    if given is not None:
        coverage = np.full_like(coverage, given)
    ratio = frame.line.work.mix_ratio or _leanest(frame, coverage)
    holds = _holds(frame, coverage, ratio)
    efforts = [
        effort_of(
            frame.job, frame.line, segment, coverage_kg_m2=float(coverage[index]), ratio=ratio
        )
        for index, segment in enumerate(frame.course.segments)
    ]
    steps = make_steps(
        frame.job,
        frame.line,
        frame.course,
        efforts,
        start_s=_start(frame, efforts),
        finish_s=frame.finish_s,
        moment_s=frame.moment_s,
        lag_s=np.stack([hold.lag(CONFIDENT) for hold in holds]),
        may_light=frame.may_light[hour_of(frame, frame.moment_s)],
        must_last_s=frame.must_last_s,
    )
    walk = plan_walk(steps)
    return Attempt(
        lag_wanted_s=lag_s,
        coverage=coverage,
        needed=needed,
        ratio=ratio,
        efforts=efforts,
        holds=holds,
        steps=steps,
        walk=walk,
        share=0.0,
        commonest=walk.stop,
    )


def _start(frame: Frame, efforts: list[Effort]) -> float:
    """When wetting begins.

    A line that a fire is to meet is wetted as late as is wise: in time, with half as much to spare
    as the work itself takes.
    """
    if frame.line.work.is_lit or frame.line.work.start_s is not None:
        return frame.start_s
    segments = frame.course.segments
    work = sum(
        segment.length_m / effort.walk_m_s
        for segment, effort in zip(segments, efforts, strict=True)
    )
    fills = sum(effort.mix_m3 for effort in efforts) / max(
        crew_of(frame.job, frame.line).usable_m3, 1e-9
    )
    turns = refill_turns(frame.job, frame.line, frame.course, [1] * len(segments))
    if fills > 1.0 and np.isfinite(turns).all():
        work += float(np.ceil(fills) - 1.0) * float(turns.max())
    return max(frame.start_s, frame.finish_s - 1.5 * work)


def _holds(frame: Frame, coverage: Array, ratio: float) -> list[Hold]:
    """Hold times of every segment at every moment with these coverages."""
    return [
        hold_of(
            strip,
            water_on_fuel(strip, coverage=float(amount), kept=retention(strip, frame.mix, ratio)),
            wet_s=frame.moment_s,
        )
        for strip, amount in zip(frame.strips, coverage, strict=True)
    ]


def _leanest(frame: Frame, coverage: Array) -> float:
    """The lowest ratio on the label that costs no segment more than a quarter minute of lag."""
    low, best = frame.mix.product.ratio_low, frame.best_ratio
    ratios = np.unique(np.append(np.arange(low, best, RATIO_STEP), best))
    most = np.stack([hold.lag(CONFIDENT) for hold in _holds(frame, coverage, best)])
    first, last = 0, ratios.size - 1
    while first < last:
        middle = (first + last) // 2
        lags = np.stack(
            [hold.lag(CONFIDENT) for hold in _holds(frame, coverage, float(ratios[middle]))]
        )
        if bool((lags >= most - _RATIO_GIVE_S).all()):
            last = middle
        else:
            first = middle + 1
    return float(ratios[last])
