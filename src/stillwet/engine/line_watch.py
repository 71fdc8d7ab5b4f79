"""Hold the log of a line against its plan: until when may each wetted stretch be lit behind?

Nothing is reckoned anew: the plan says for every hour how long a segment wetted then may wait. A
moment between two hours gets the shorter of their two times.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from stillwet.domain.line_plan import LineHour, LinePlan, LineSegmentPlan
from stillwet.domain.line_watch import (
    LineAlarm,
    LineAlarmKind,
    LineWatch,
    SegmentState,
    SegmentWatch,
    Spot,
    WetStretch,
)
from stillwet.domain.log import Entry, Ignition, SegmentLit, SegmentWetted

SOON_S = 300.0  # so long before the last moment it is told; untested default, 120 to 900 s
_THIN = 0.95  # of the coverage planned; less is told as thin
_SAME_M = 0.5


def watch_line(plan: LinePlan, entries: Iterable[Entry], *, now_s: float) -> LineWatch:
    """How the line stands at a moment, by the entries that stand and have happened by then."""
    known = [entry for entry in entries if entry.when_s <= now_s]
    laid = [(entry, entry.body) for entry in known if isinstance(entry.body, SegmentWetted)]
    parts = {part.segment_id: part for part in plan.segments}
    own = [(entry, body) for entry, body in laid if _line_of(body.segment_id) == plan.line_id]
    wet = _wet(parts, [(entry.when_s, body) for entry, body in own])
    lit = _lit(plan, known)
    segments = tuple(_segment(part, wet, lit, now_s) for part in plan.segments)
    thin = _thin(parts, own)
    due = _alarms(segments, now_s) if plan.is_lit else _dry_first(plan, segments)
    alarms = (*due, *_lit_dry(plan, wet, lit), *_ahead(plan, wet, lit), *thin)
    unknown = {body.segment_id for _, body in own if _part_of(body.segment_id) not in parts}
    return LineWatch(plan.line_id, wet, lit, segments, alarms, tuple(sorted(unknown)))


def _line_of(segment_id: str) -> str:
    return segment_id.partition("/")[0]


def _part_of(segment_id: str) -> str:
    return segment_id.partition("/")[2]


def _reached(part: LineSegmentPlan, up_to_m: float | None) -> float:
    """The distance along the line; never past the segment's end."""
    return part.to_m if up_to_m is None else min(part.from_m + up_to_m, part.to_m)


def _wet(
    parts: dict[str, LineSegmentPlan], told: Sequence[tuple[float, SegmentWetted]]
) -> tuple[WetStretch, ...]:
    """The stretches wetted, in order of time; what is wetted again is in it twice."""
    found: list[WetStretch] = []
    last: Spot | None = None
    for when_s, body in sorted(told, key=lambda one: one[0]):
        part = parts.get(_part_of(body.segment_id))
        if part is None:
            continue
        at_m = _reached(part, body.up_to_m)
        first = _begun(part, last, when_s, at_m)
        if at_m > first.at_m + _SAME_M:
            is_guessed = last is None or first != last
            found.append(_stretch(part, first, Spot(when_s, at_m), is_guessed))
        last = Spot(when_s, at_m)
    return tuple(found)


def _begun(part: LineSegmentPlan, last: Spot | None, when_s: float, at_m: float) -> Spot:
    """Where and when the stretch that ends here was begun.

    At the last entry where that lies in this segment or at its beginning, which errs early, to
    the safe side; else at the segment's beginning, by the pace of the plan.
    """
    if last is not None and part.from_m - _SAME_M <= last.at_m <= at_m:
        return last
    return Spot(when_s - (at_m - part.from_m) / part.walk_m_s, part.from_m)


def _stretch(part: LineSegmentPlan, first: Spot, end: Spot, is_guessed: bool) -> WetStretch:
    def both(name: str) -> tuple[float, float]:
        return (
            first.when_s + _least(part.hours, first.when_s, name),
            end.when_s + _least(part.hours, end.when_s, name),
        )

    return WetStretch(
        segment_id=part.segment_id,
        from_m=first.at_m,
        to_m=end.at_m,
        from_s=first.when_s,
        to_s=end.when_s,
        latest_s=both("lag_90_s"),
        dry_90_s=both("hold_90_s"),
        dry_50_s=both("hold_50_s"),
        is_guessed=is_guessed,
    )


def _least(hours: Sequence[LineHour], when_s: float, name: str) -> float:
    """The shorter time of the hours around a moment, never below 0; beyond them the nearest's."""
    before = [hour for hour in hours if hour.time_s <= when_s][-1:]
    after = [hour for hour in hours if hour.time_s >= when_s][:1]
    return max(0.0, min((float(getattr(hour, name)) for hour in (*before, *after)), default=0.0))


def _lit(plan: LinePlan, entries: Iterable[Entry]) -> tuple[Spot, ...]:
    """How far it was lit, in order of time; fire lit at the line's or a segment's name begins it."""
    parts = {part.segment_id: part for part in plan.segments}
    places = {plan.line_id: 0.0, plan.name: 0.0}
    for part in plan.segments:
        whole = f"{plan.line_id}/{part.segment_id}"
        places |= {part.segment_id: part.from_m, part.name: part.from_m, whole: part.from_m}
    spots = []
    for entry in entries:
        body = entry.body
        if isinstance(body, Ignition) and body.place in places:
            spots.append(Spot(entry.when_s, places[body.place]))
        if not isinstance(body, SegmentLit) or _line_of(body.segment_id) != plan.line_id:
            continue
        part_lit = parts.get(_part_of(body.segment_id))
        if part_lit is not None:
            spots.append(Spot(entry.when_s, _reached(part_lit, body.up_to_m)))
    return tuple(sorted(spots, key=lambda spot: (spot.when_s, spot.at_m)))


def _lit_at(lit: Sequence[Spot], at_m: float) -> float | None:
    """When the torch had passed a spot: by the first entry that lies at or beyond it."""
    return next((spot.when_s for spot in lit if spot.at_m >= at_m - _SAME_M), None)


@dataclass(frozen=True, slots=True)
class _Due:
    """One end of a stretch that has to be lit: the last moment, and when it was."""

    latest_s: float
    lit_s: float | None


def _segment(
    part: LineSegmentPlan, wet: Sequence[WetStretch], lit: Sequence[Spot], now_s: float
) -> SegmentWatch:
    own = _standing(part, wet)
    reached = max((spot.at_m for spot in lit), default=0.0)
    lit_to = min(reached, part.to_m) if reached > part.from_m + _SAME_M else None
    if not own:
        return SegmentWatch(
            part.segment_id, part.name, SegmentState.NOT_BEGUN, None, lit_to, None, None
        )
    due = [
        _Due(latest, _lit_at(lit, at_m))
        for one in own
        for latest, at_m in zip(one.latest_s, (one.from_m + 2 * _SAME_M, one.to_m), strict=True)
    ]
    waiting = [one for one in due if one.lit_s is None]
    latest = min(one.latest_s for one in waiting or due)
    spare = latest - now_s if waiting else min(_spare(one, now_s) for one in due)
    late = [one for one in due if _spare(one, now_s) < 0.0]
    return SegmentWatch(
        segment_id=part.segment_id,
        name=part.name,
        state=_state(waiting, late, spare),
        wet_to_m=max(one.to_m for one in own),
        lit_to_m=lit_to,
        latest_s=latest,
        spare_s=spare,
    )


def _standing(part: LineSegmentPlan, wet: Sequence[WetStretch]) -> list[WetStretch]:
    """The segment's stretches, of ground wetted twice the last."""
    found: list[WetStretch] = []
    for one in (stretch for stretch in wet if stretch.segment_id == part.segment_id):
        found = [old for old in found if not (one.from_m <= old.from_m and old.to_m <= one.to_m)]
        found.append(one)
    return found


def _spare(due: _Due, now_s: float) -> float:
    return due.latest_s - (now_s if due.lit_s is None else due.lit_s)


def _state(waiting: Sequence[_Due], late: Sequence[_Due], spare: float) -> SegmentState:
    if any(one.lit_s is None for one in late):
        return SegmentState.TOO_LATE
    if late:
        return SegmentState.LIT_LATE
    if not waiting:
        return SegmentState.LIT
    return SegmentState.LIGHT_SOON if spare <= SOON_S else SegmentState.WET


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


def _lit_dry(plan: LinePlan, wet: Sequence[WetStretch], lit: Sequence[Spot]) -> list[LineAlarm]:
    """Fire along ground that nobody had wetted by then; only where the line is lit at all."""
    found = []
    for part in plan.segments if plan.is_lit else ():
        own = [spot for spot in lit if part.from_m + _SAME_M < spot.at_m <= part.to_m + _SAME_M]
        for spot in own[:1]:
            done = [one for one in wet if one.to_s <= spot.when_s]
            if max((one.to_m for one in done), default=0.0) < spot.at_m - _SAME_M:
                found.append(
                    LineAlarm(LineAlarmKind.LIT_DRY, part.segment_id, part.name, spot.when_s)
                )
    return found


def _ahead(plan: LinePlan, wet: Sequence[WetStretch], lit: Sequence[Spot]) -> list[LineAlarm]:
    """Wetted past a holding point before the torch had passed there: the furthest of them."""
    for wait in reversed(plan.waits):
        past = [one for one in wet if one.to_m > wait.at_m + _SAME_M]
        if not past:
            continue
        passed = _lit_at(lit, wait.until_lit_m)
        if passed is None or passed > past[0].to_s:
            part = next(one for one in plan.segments if one.segment_id == past[0].segment_id)
            return [LineAlarm(LineAlarmKind.AHEAD, part.segment_id, part.name, past[0].to_s)]
    return []


def _thin(
    parts: dict[str, LineSegmentPlan], laid: Sequence[tuple[Entry, SegmentWetted]]
) -> tuple[LineAlarm, ...]:
    """Coverage under the plan's: its times do not hold there."""
    found = []
    for entry, body in laid:
        part = parts.get(_part_of(body.segment_id))
        if part is None or body.coverage_kg_m2 is None:
            continue
        if body.coverage_kg_m2 < _THIN * part.coverage_kg_m2:
            found.append(
                LineAlarm(LineAlarmKind.THIN, part.segment_id, part.name, entry.when_s)
            )
    return tuple(found)
