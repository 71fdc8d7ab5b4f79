"""Why a line can or cannot be done, in words a burn boss can act on, and the rules that stop it."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.line_plan import Hindrance, LineHour, LineSegmentPlan, WidthCheck
from stillwet.domain.lines import Line, LinePurpose
from stillwet.domain.plan import Verdict
from stillwet.domain.weather import HOUR_S
from stillwet.engine.line_schedule import Stop
from stillwet.engine.line_search import Attempt, Frame
from stillwet.engine.line_work import crew_of
from stillwet.engine.verdicts import CONFIDENT
from stillwet.units import from_si

Array = NDArray[np.float64]

_PLENTY_S = 600.0  # an hour is named as a good one when it allows at least this lag
_MOST_HOURS = 12
_SLACK = 1e-6  # of a step: a length that is one but for rounding stays it


def length_words(metres: float) -> str:
    """A length for a sentence that both kinds of reader see."""
    return f"{metres:.1f} m ({from_si(metres, 'ft'):.0f} ft)"


def length_at_most(metres: float) -> str:
    """A length that must not be passed, rounded down in both units."""
    tenths, feet = math.floor(metres * 10.0 + _SLACK), math.floor(from_si(metres, "ft") + _SLACK)
    return f"{tenths / 10.0:.1f} m ({feet} ft)"


def length_at_least(metres: float) -> str:
    """A length that is needed, rounded up in both units."""
    tenths, feet = math.ceil(metres * 10.0 - _SLACK), math.ceil(from_si(metres, "ft") - _SLACK)
    return f"{tenths / 10.0:.1f} m ({feet} ft)"


def coverage_words(water_kg_m2: float) -> str:
    """A coverage for a sentence that both kinds of reader see."""
    return f"{water_kg_m2:.1f} L/m2 ({from_si(water_kg_m2, 'gal/100ft2'):.1f} gal per 100 ft2)"


def flow_words(flow_m3_s: float) -> str:
    """A flow for a sentence that both kinds of reader see."""
    return f"{from_si(flow_m3_s, 'l/min'):.0f} L/min ({from_si(flow_m3_s, 'gal/min'):.0f} gal/min)"


def minutes_left(seconds: float) -> str:
    """A time that is left or allowed, cut down to the whole minute."""
    return f"{math.floor(max(seconds, 0.0) / 60.0 + 1e-6)} min"


def minutes_taken(seconds: float) -> str:
    """A time that must be waited for, up to the next whole minute."""
    return f"{math.ceil(max(seconds, 0.0) / 60.0 - 1e-6)} min"


def pace_words(metres_per_s: float) -> str:
    """A pace for a sentence that both kinds of reader see."""
    metric, us = from_si(metres_per_s, "m/min"), from_si(metres_per_s, "ft/min")
    return f"{metric:.0f} m/min ({us:.0f} ft/min)"


def good_hours(hours: tuple[LineHour, ...], lag_s: float) -> tuple[float, ...]:
    """The hours of wetting that allow this lag with the planned coverage, in an allowed wind."""
    return tuple(hour.time_s for hour in hours if hour.lag_90_s >= lag_s and hour.may_light)[
        :_MOST_HOURS
    ]


def dry_hindrance(frame: Frame, segment: LineSegmentPlan) -> Hindrance | None:
    """Too dry to hold: no lag is left at the hours the segment is worked, even fully loaded."""
    if segment.lag_allowed_s is None or _is_long_enough(segment, segment.lag_allowed_s):
        return None
    if frame.line.work.is_lit:
        black = max(hour.black_s for hour in segment.hours)
        reason = (
            f"{segment.name}: with {coverage_words(segment.coverage_kg_m2)} the strip is too dry "
            f"before {length_words(segment.black_depth_m)} of black stand beside it, which takes "
            f"up to {minutes_taken(black)}."
        )
        frees = [
            "light in damper, calmer hours",
            "let a shallower black do, if that is safe here",
            "let the fire run into the unit faster: strips, or wind away from the line",
        ]
    else:
        reason = (
            f"{segment.name}: the strip stays wet for {minutes_left(segment.lag_allowed_s)} "
            f"(90 %) with {coverage_words(segment.coverage_kg_m2)}, and the fire may come up to "
            f"{minutes_taken(segment.lag_needed_s)} after it is laid."
        )
        frees = [
            "wet it nearer to the fire's arrival, if crews can be clear in time",
            "a narrower window of arrival",
        ]
    if np.isfinite(segment.coverage_needed_kg_m2):
        frees.insert(0, f"lay {coverage_words(segment.coverage_needed_kg_m2)}")
    else:
        frees.append("no coverage that clings to this fuel does it: use another kind of line")
    return Hindrance(
        "too dry to hold",
        segment.segment_id,
        reason,
        tuple(frees),
        good_hours(segment.hours, _PLENTY_S) if frame.line.work.is_lit else (),
    )


def planned_width(segment: LineSegmentPlan) -> WidthCheck:
    """The check by the multiple of the flame that the plan goes by."""
    return next(check for check in segment.widths if check.is_planned)


def width_hindrance(line: Line, segment: LineSegmentPlan) -> Hindrance | None:
    """Flames too long for the width, by the multiple that the plan goes by."""
    planned = planned_width(segment)
    if planned.is_enough:
        return None
    most = segment.barrier_width_m / planned.multiple
    reason = (
        f"{segment.name}: flames of {length_words(segment.flame_length_m)} beside it ask for "
        f"{length_words(planned.needed_m)} of width ({planned.multiple:g} times); there are "
        f"{length_words(segment.barrier_width_m)}."
    )
    frees = (
        f"widen the strip by {length_at_least(planned.needed_m - segment.barrier_width_m)}",
        f"light only while flames beside it stay under {length_at_most(most)}",
        "mow or cut the fuel beside the strip first",
    )
    hours = tuple(
        hour.time_s for hour in segment.hours if hour.flame_length_m <= most and hour.may_light
    )
    return Hindrance("flames too long", segment.segment_id, reason, frees, hours[:_MOST_HOURS])


def stop_hindrance(frame: Frame, attempt: Attempt, at: LineSegmentPlan) -> Hindrance | None:
    """What ended the schedule before the end of the line, if anything did."""
    stop = attempt.walk.stop
    if stop is None or stop is Stop.DRY:
        return None
    told = {
        Stop.WATER: _no_water,
        Stop.WIND: _wrong_wind,
        Stop.TIME: _no_time,
        Stop.LAG: _too_slow,
    }
    return told[stop](frame, at)


def _no_water(frame: Frame, at: LineSegmentPlan) -> Hindrance:
    crew = crew_of(frame.job, frame.line)
    usable_l, usable_gal = from_si(crew.usable_m3, "l"), from_si(crew.usable_m3, "gal")
    return Hindrance(
        "no water",
        at.segment_id,
        f"{at.name}: {crew.name} runs dry (usable tank {usable_l:.0f} L, {usable_gal:.0f} gal) "
        "and there is no water to refill from.",
        ("add a water point or a tender (refill_turn)", "use a crew with a larger tank"),
    )


def _wrong_wind(_: Frame, at: LineSegmentPlan) -> Hindrance:
    return Hindrance(
        "wind",
        at.segment_id,
        f"{at.name}: no forecast wind in the time left lets it be lit before the strip is dry.",
        ("choose hours with the wind in the sector", "widen the sector, if that is safe here"),
        good_hours(at.hours, _PLENTY_S),
    )


def _no_time(frame: Frame, at: LineSegmentPlan) -> Hindrance:
    flow = flow_words(crew_of(frame.job, frame.line).spray_flow_m3_s)
    return Hindrance(
        "time",
        at.segment_id,
        f"{at.name}: the work is not finished in the time there is.",
        ("start earlier", f"more flow than {flow}, a nearer water point or a second crew"),
    )


def _too_slow(frame: Frame, at: LineSegmentPlan) -> Hindrance:
    work = frame.line.work
    return Hindrance(
        "crew too slow",
        at.segment_id,
        f"{at.name}: the torch comes later than the {minutes_left(at.lag_allowed_s or 0.0)} that "
        "the strip allows.",
        (
            f"light faster than {pace_words(work.ignition_pace_m_s)}, or with two torches",
            f"follow closer than {minutes_taken(work.follow_gap_s)}",
            "wet shorter stretches and wait",
        ),
        good_hours(at.hours, _PLENTY_S),
    )


def segment_verdict(line: Line, segment: LineSegmentPlan) -> Verdict:
    """Whether one segment holds, by its own lag and width."""
    narrowest = min(segment.widths, key=lambda check: check.multiple)
    planned = planned_width(segment)
    lags_50 = [hour.lag_50_s for hour in _worked(segment)]
    sure = segment.lag_allowed_s is not None and _is_long_enough(segment, segment.lag_allowed_s)
    even = bool(lags_50) and _is_long_enough(segment, min(lags_50))
    if not even or not (narrowest.is_enough or planned.is_enough):
        return Verdict.WILL_NOT_HOLD
    return Verdict.HOLDS if sure and planned.is_enough else Verdict.DOUBTFUL


def _is_long_enough(segment: LineSegmentPlan, lag_s: float) -> bool:
    """True when a lag leaves any time at all, or lasts until the fire's latest arrival."""
    return lag_s > 0.0 if segment.lag_needed_s <= 0.0 else lag_s >= segment.lag_needed_s


def _worked(segment: LineSegmentPlan) -> tuple[LineHour, ...]:
    """The hours about the segment's wetting; the first one when it is not reached."""
    if segment.wet_from_s is None or segment.wet_to_s is None:
        return segment.hours[:1]
    first, last = segment.wet_from_s - HOUR_S, segment.wet_to_s + HOUR_S
    return tuple(hour for hour in segment.hours if first < hour.time_s < last)


def line_verdict(attempt: Attempt, segments: tuple[LineSegmentPlan, ...]) -> Verdict:
    """The line is as good as its weakest segment and its schedule."""
    order = (Verdict.WILL_NOT_HOLD, Verdict.DOUBTFUL, Verdict.HOLDS)
    worst = min((segment.verdict for segment in segments), key=order.index)
    if attempt.walk.stop is not None:
        return Verdict.WILL_NOT_HOLD
    if worst is Verdict.HOLDS and attempt.share < CONFIDENT:
        return Verdict.DOUBTFUL
    return worst


def line_reason(
    line: Line, attempt: Attempt, verdict: Verdict, hindrances: tuple[Hindrance, ...]
) -> str:
    """Why, in a sentence; what cannot be done comes first."""
    if hindrances:
        more = len(hindrances) - 1
        return hindrances[0].reason + (f" And {more} more, see below." if more else "")
    if verdict is Verdict.HOLDS:
        if line.work.is_lit:
            return "As forecast, every spot is lit while its strip is wet enough."
        slows = " It slows a fire; count on it to stop none."
        told = "As forecast, the whole strip is still wet enough when the fire comes."
        return told + (slows if line.purpose is LinePurpose.SLOWING else "")
    return (
        f"Kept to the minute it works; with ordinary delays only "
        f"{int(100 * attempt.share)} of 100 runs keep every rule."
    )
