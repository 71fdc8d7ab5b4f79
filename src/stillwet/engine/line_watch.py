"""Hold the log of a line against its plan: until when may each wetted stretch be lit behind?

Nothing is reckoned anew: the plan says for every hour, and for every step at its planned moment,
how long ground wetted then may wait; between these it is taken to change evenly, and so is the
work between two entries.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TypeVar

from stillwet.domain.line_plan import LinePlan, LineSegmentPlan
from stillwet.domain.line_watch import (
    LineAlarm,
    LineAlarmKind,
    LineWatch,
    LitStretch,
    SegmentState,
    SegmentWatch,
    Spot,
    WetStretch,
)
from stillwet.domain.log import Entry, Ignition, SegmentLit, SegmentWetted
from stillwet.domain.weather import HOUR_S

SOON_S = 300.0  # so long before the last moment it is told; untested default, 120 to 900 s
_THIN = 0.95  # of the coverage planned; less is told as thin
_SAME_M = 0.5
_LOG_SLACK_S = 120.0  # two people who log the same moment differ by so much

Knot = tuple[float, float]
Worked = TypeVar("Worked", WetStretch, LitStretch)


@dataclass(frozen=True, slots=True)
class _Run:
    """Work from one spot to another inside a segment; with a guess its beginning was not logged."""

    part: LineSegmentPlan
    first: Spot
    end: Spot
    is_guessed: bool


@dataclass(frozen=True, slots=True)
class _Due:
    """A spot that has to be lit: the last moment, and when it was."""

    latest_s: float
    lit_s: float | None

    def spare_s(self, now_s: float) -> float:
        """Time left at lighting, or now."""
        return self.latest_s - (now_s if self.lit_s is None else self.lit_s)


def watch_line(plan: LinePlan, entries: Iterable[Entry], *, now_s: float) -> LineWatch:
    """How the line stands at a moment, by the entries that stand and have happened by then."""
    known = [entry for entry in entries if entry.when_s <= now_s]
    laid = [
        (entry.when_s, entry.body)
        for entry in known
        if isinstance(entry.body, SegmentWetted) and _line_of(entry.body) == plan.line_id
    ]
    wetting = [(when_s, *_spot(plan, body)) for when_s, body in laid]
    lighting = _lighting(plan, known)
    wet = tuple(_wet(plan, run) for run in _runs(wetting, "wet"))
    lit = tuple(_lit(run) for run in _runs(lighting, "lit"))
    segments = tuple(_segment(part, wet, lit, now_s) for part in plan.segments)
    due = _alarms(segments, now_s) if plan.is_lit else _dry_first(plan, segments)
    own = {part.segment_id for part in plan.segments}
    told = [body for _, body in laid]
    last = max(lighting, key=lambda one: one[0], default=None)
    return LineWatch(
        line_id=plan.line_id,
        wet=wet,
        lit=lit,
        torch=None if last is None else Spot(last[0], last[2]),
        segments=segments,
        alarms=(*due, *_lit_dry(plan, wet, lit), *_ahead(plan, wet, lit), *_thin(plan, laid)),
        unknown=tuple(sorted({one.segment_id for one in told if _part_of(one) not in own})),
    )


def _line_of(body: SegmentWetted | SegmentLit) -> str:
    return body.segment_id.partition("/")[0]


def _part_of(body: SegmentWetted | SegmentLit) -> str:
    return body.segment_id.partition("/")[2]


def _spot(plan: LinePlan, body: SegmentWetted | SegmentLit) -> tuple[LineSegmentPlan | None, float]:
    """The segment and the distance along the line; never past the segment's end."""
    part = next((one for one in plan.segments if one.segment_id == _part_of(body)), None)
    if part is None:
        return None, 0.0
    return part, part.to_m if body.up_to_m is None else min(part.from_m + body.up_to_m, part.to_m)


Told = tuple[float, LineSegmentPlan | None, float]  # when, where, how far


def _lighting(plan: LinePlan, entries: Iterable[Entry]) -> list[Told]:
    """How far it was lit; fire lit at the name of the line or of a segment begins there."""
    places = {plan.line_id: plan.segments[0], plan.name: plan.segments[0]}
    for part in plan.segments:
        whole = f"{plan.line_id}/{part.segment_id}"
        places |= {part.segment_id: part, part.name: part, whole: part}
    told: list[Told] = []
    for entry in entries:
        body = entry.body
        if isinstance(body, Ignition) and body.place in places:
            told.append((entry.when_s, places[body.place], places[body.place].from_m))
        if isinstance(body, SegmentLit) and _line_of(body) == plan.line_id:
            told.append((entry.when_s, *_spot(plan, body)))
    return told


def _runs(told: Iterable[Told], kind: str) -> list[_Run]:
    """The stretches worked, in order of time; what is done again is in it twice."""
    found: list[_Run] = []
    last: Spot | None = None
    for when_s, part, at_m in sorted(told, key=lambda one: one[0]):
        if part is None:
            continue
        first = _begun(part, last, Spot(when_s, at_m), _pace(part, kind))
        if at_m > first.at_m + _SAME_M:
            found.append(_Run(part, first, Spot(when_s, at_m), is_guessed=first != last))
        last = Spot(when_s, at_m)
    return found


def _pace(part: LineSegmentPlan, kind: str) -> float:
    """The plan's pace along a segment [m/s]."""
    if kind == "wet" or part.lit_from_s is None or part.lit_to_s is None:
        return part.walk_m_s
    return (part.to_m - part.from_m) / max(part.lit_to_s - part.lit_from_s, 1.0)


def _begun(part: LineSegmentPlan, last: Spot | None, end: Spot, pace_m_s: float) -> Spot:
    """Where and when the stretch that ends here was begun.

    At the last entry where that lies in this segment or at its beginning; else at the segment's
    beginning, by the pace of the plan.
    """
    if last is not None and part.from_m - _SAME_M <= last.at_m <= end.at_m:
        return last
    return Spot(end.when_s - (end.at_m - part.from_m) / pace_m_s, part.from_m)


# Of a segment's hours -> of its steps: how long it may wait, and until when it is wet.
_WAITS = {"lag_90_s": "latest_s", "hold_90_s": "dry_90_s", "hold_50_s": "dry_50_s"}


def _wet(plan: LinePlan, run: _Run) -> WetStretch:
    def both(name: str) -> tuple[float, float]:
        knots = _knots(plan, run.part, name)
        first, last = run.first.when_s, run.end.when_s
        ends = ((when_s, _between(knots, when_s)) for when_s in (first, last))
        if name == "lag_90_s":
            ends = ((when_s, min(left, _in_hour(run.part, when_s))) for when_s, left in ends)
        begun, ended = (when_s + left for when_s, left in ends)
        return begun, ended

    return WetStretch(
        segment_id=run.part.segment_id,
        from_m=run.first.at_m,
        to_m=run.end.at_m,
        from_s=run.first.when_s,
        to_s=run.end.when_s,
        latest_s=both("lag_90_s"),
        dry_90_s=both("hold_90_s"),
        dry_50_s=both("hold_50_s"),
        is_guessed=run.is_guessed,
    )


def _knots(plan: LinePlan, part: LineSegmentPlan, name: str) -> list[Knot]:
    """Moments of wetting this segment, each with the time that is left from then."""
    found = {hour.time_s: float(getattr(hour, name)) for hour in part.hours}
    for mark in plan.marks:
        if part.from_m - _SAME_M <= mark.from_m and mark.to_m <= part.to_m + _SAME_M:
            found[mark.wet_from_s] = float(getattr(mark, _WAITS[name])) - mark.wet_from_s
    return sorted(found.items())


def _in_hour(part: LineSegmentPlan, when_s: float) -> float:
    """The shortest lag of the hour that a moment lies in; without end where no hour is known.

    Lags change by leaps where the black of the next hour grows faster, so that a moment late in an
    hour may have less than both ends of it.
    """
    own = [h.lag_90_s for h in part.hours if h.time_s <= when_s < h.time_s + HOUR_S]
    return max(0.0, min(own, default=math.inf))


def _between(knots: Sequence[Knot], when_s: float) -> float:
    """The time left at a moment: evenly between knots, beyond them the nearest; never below 0.

    A knot without end counts as the finite one beside it.
    """
    finite = [one for one in knots if math.isfinite(one[1])]
    if not finite:
        return 0.0
    before = [one for one in finite if one[0] <= when_s][-1:] or finite[:1]
    after = [one for one in finite if one[0] >= when_s][:1] or finite[-1:]
    (first_s, first), (last_s, last) = before[0], after[0]
    share = 0.0 if last_s == first_s else (when_s - first_s) / (last_s - first_s)
    return max(0.0, first + share * (last - first))


def _lit(run: _Run) -> LitStretch:
    return LitStretch(
        segment_id=run.part.segment_id,
        from_m=run.first.at_m,
        to_m=run.end.at_m,
        from_s=run.first.when_s,
        to_s=run.end.when_s,
        is_guessed=run.is_guessed,
    )


def _passed(stretches: Sequence[Worked], at_m: float, after_s: float = 0.0) -> float | None:
    """When the work first passed a spot, of what was done since ``after_s``; None: not yet."""
    for one in stretches:
        if one.from_m - _SAME_M <= at_m <= one.to_m + _SAME_M and one.to_s >= after_s:
            share = (at_m - one.from_m) / max(one.to_m - one.from_m, _SAME_M)
            return one.from_s + min(max(share, 0.0), 1.0) * (one.to_s - one.from_s)
    return None


def _segment(
    part: LineSegmentPlan, wet: Sequence[WetStretch], lit: Sequence[LitStretch], now_s: float
) -> SegmentWatch:
    own = _standing(part, wet)
    ends = [one.to_m for one in lit if one.segment_id == part.segment_id]
    lit_to = max(ends, default=None)
    if not own:
        return SegmentWatch(
            part.segment_id, part.name, SegmentState.NOT_BEGUN, None, lit_to, None, None
        )
    due = [one for stretch in own for one in _dues(stretch, lit)]
    waiting = [one for one in due if one.lit_s is None]
    late = [one for one in due if one.spare_s(now_s) < 0.0]
    return SegmentWatch(
        segment_id=part.segment_id,
        name=part.name,
        state=_state(waiting, late, now_s),
        wet_to_m=max(one.to_m for one in own),
        lit_to_m=lit_to,
        latest_s=min(one.latest_s for one in waiting or due),
        spare_s=min(one.spare_s(now_s) for one in waiting or due),
    )


def _standing(part: LineSegmentPlan, wet: Sequence[WetStretch]) -> list[WetStretch]:
    """The segment's stretches; of ground wetted twice the last."""
    found: list[WetStretch] = []
    for one in (stretch for stretch in wet if stretch.segment_id == part.segment_id):
        found = [old for old in found if not (one.from_m <= old.from_m and old.to_m <= one.to_m)]
        found.append(one)
    return found


def _dues(stretch: WetStretch, lit: Sequence[LitStretch]) -> list[_Due]:
    """Both ends of a stretch, and the spot that the torch has come to in it."""
    since = stretch.from_s
    found = [
        _Due(latest, _passed(lit, at_m, since))
        for latest, at_m in zip(stretch.latest_s, (stretch.from_m, stretch.to_m), strict=True)
    ]
    reached = [
        one.to_m for one in lit if one.to_s >= since and stretch.from_m < one.to_m < stretch.to_m
    ]
    if found[0].lit_s is not None and found[1].lit_s is None and reached:
        share = (max(reached) - stretch.from_m) / (stretch.to_m - stretch.from_m)
        first, last = stretch.latest_s
        found.append(_Due(first + share * (last - first), None))
    return found


def _state(waiting: Sequence[_Due], late: Sequence[_Due], now_s: float) -> SegmentState:
    if any(one.lit_s is None for one in late):
        return SegmentState.TOO_LATE
    if late:
        return SegmentState.LIT_LATE
    if not waiting:
        return SegmentState.LIT
    is_soon = min(one.spare_s(now_s) for one in waiting) <= SOON_S
    return SegmentState.LIGHT_SOON if is_soon else SegmentState.WET


_OF_STATE = {
    SegmentState.TOO_LATE: LineAlarmKind.TOO_LATE,
    SegmentState.LIGHT_SOON: LineAlarmKind.SOON,
    SegmentState.LIT_LATE: LineAlarmKind.LIT_LATE,
}


def _alarms(segments: Sequence[SegmentWatch], now_s: float) -> list[LineAlarm]:
    return [
        LineAlarm(_OF_STATE[one.state], one.segment_id, one.name, one.latest_s or now_s)
        for one in segments
        if one.state in _OF_STATE
    ]


def _dry_first(plan: LinePlan, segments: Sequence[SegmentWatch]) -> list[LineAlarm]:
    """A line that is not lit: wet ground that has dried by the latest that the fire may come."""
    end_s = plan.arrival_to_s
    return [
        LineAlarm(LineAlarmKind.DRY_FIRST, one.segment_id, one.name, one.latest_s)
        for one in segments
        if one.latest_s is not None and end_s is not None and one.latest_s < end_s
    ]


def _lit_dry(
    plan: LinePlan, wet: Sequence[WetStretch], lit: Sequence[LitStretch]
) -> list[LineAlarm]:
    """Fire along ground that nobody had wetted by then; only where the line is lit at all."""
    names = {part.segment_id: part.name for part in plan.segments}
    found: dict[str, LineAlarm] = {}
    for one in lit if plan.is_lit else ():
        done = _passed(wet, one.to_m)
        if done is None or done > one.to_s + _LOG_SLACK_S:
            name = names[one.segment_id]
            alarm = LineAlarm(LineAlarmKind.LIT_DRY, one.segment_id, name, one.to_s)
            found.setdefault(one.segment_id, alarm)
    return list(found.values())


def _ahead(plan: LinePlan, wet: Sequence[WetStretch], lit: Sequence[LitStretch]) -> list[LineAlarm]:
    """Wetted past a holding point before the torch had passed there: the furthest of them."""
    for wait in reversed(plan.waits):
        past = next((one for one in wet if one.to_m > wait.at_m + _SAME_M), None)
        went_s = None if past is None else _passed(wet, max(wait.at_m, past.from_m))
        if past is None or went_s is None:
            continue
        passed_s = _passed(lit, wait.until_lit_m)
        if passed_s is None or passed_s > went_s + _LOG_SLACK_S:
            part = next(one for one in plan.segments if one.segment_id == past.segment_id)
            return [LineAlarm(LineAlarmKind.AHEAD, part.segment_id, part.name, went_s)]
    return []


def _thin(plan: LinePlan, laid: Iterable[tuple[float, SegmentWetted]]) -> list[LineAlarm]:
    """Coverage under the plan's: its times do not hold there."""
    found = []
    for when_s, body in laid:
        part, _ = _spot(plan, body)
        if part is None or body.coverage_kg_m2 is None:
            continue
        if body.coverage_kg_m2 < _THIN * part.coverage_kg_m2:
            found.append(LineAlarm(LineAlarmKind.THIN, part.segment_id, part.name, when_s))
    return found
