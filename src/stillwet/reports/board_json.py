"""The wet board for a browser: SI numbers with their units in the names, and the reader's words."""

from __future__ import annotations

from typing import Any

from stillwet.domain.board import Alarm, AlarmKind, Board, FaceRow, FaceState
from stillwet.domain.left import FaceLeft
from stillwet.reports.local_time import LocalClock
from stillwet.reports.words import NONE, Units, chance, clean, coat, minutes_held

_UTC = LocalClock("UTC")
_MOST_SPAN_S = 86400.0
_BEFORE = {  # of a face that nobody has logged a coat on
    FaceState.COAT_NOW: "coat it now",
    FaceState.COAT_LATER: "coat it later",
    FaceState.TOO_LATE: "too late to coat",
    FaceState.NO_COAT: "no coat lasts",
}
_AGAIN = {
    FaceState.LOOK: "look at it",
    FaceState.COAT_NOW: "coat it again now",
    FaceState.COAT_LATER: "coat it again later",
    FaceState.TOO_LATE: "too late to coat again",
    FaceState.NO_COAT: "will not last, and no coat does",
    FaceState.HOLDS: "holds",
}


def board_to_json(board: Board, *, now_s: float, units: str) -> dict[str, Any]:
    """The board as plain data; ``now_s`` is the house's clock, whatever moment is looked at."""
    clock, reader = LocalClock(board.left.time_zone), Units(units)
    times = _span(board)
    return {
        "at": _UTC.iso(board.at_s),
        "now": _UTC.iso(now_s),
        "time_zone": board.left.time_zone,
        "units": units,
        "plan_id": board.plan_id,
        "from": _UTC.iso(times[0]),
        "to": _UTC.iso(times[1]),
        "faces": [_face(row, board, clock, reader) for row in board.rows],
        "alarms": [_alarm(alarm, clock) for alarm in board.alarms],
        "weather": _weather(board, now_s, clock),
        "washed": [clean(name) for name in board.left.washed],
        "passed": [clean(name) for name in board.left.passed],
        "notes": [clean(note) for note in board.left.notes],
        "checks": board.left.checks,
    }


def _span(board: Board) -> tuple[float, float]:
    """The moments between which the bands are drawn, on whole hours."""
    times: list[float] = []
    for row in board.rows:
        times += [row.fire_from_s, row.fire_to_s]
        times += [] if row.left is None else [row.left.laid_s]
        times += [time for time in (row.coat_from_s, row.coat_by_s) if time is not None]
    first, last = min(times, default=board.at_s), max(times, default=board.at_s)
    if first - _MOST_SPAN_S < board.at_s < last + _MOST_SPAN_S:  # else the job is of another day
        first, last = min(first, board.at_s), max(last, board.at_s)
    return first // 3600.0 * 3600.0, -(-(last + 1.0) // 3600.0) * 3600.0


def _face(row: FaceRow, board: Board, clock: LocalClock, units: Units) -> dict[str, Any]:
    left = row.left
    state = (_BEFORE if left is None else _AGAIN)[row.state]
    return {
        "surface_id": row.surface_id,
        "asset_id": row.asset_id,
        "asset_name": clean(row.asset_name),
        "label": clean(row.label),
        "state": row.state.value,
        "state_words": state,
        "coat_from": _UTC.iso(row.coat_from_s),
        "coat_by": _UTC.iso(row.coat_by_s),
        "fire_from": _UTC.iso(row.fire_from_s),
        "fire_to": _UTC.iso(row.fire_to_s),
        "crew": clean(row.crew),
        "crew_at": _UTC.iso(row.crew_at_s),
        "coat": None if left is None else _coat(left),
        "words": {
            "look": "" if left is None else clean("; ".join(left.flags)),
            "left": _left_words(left, units),
            "hold": _hold_words(left, board.at_s, clock),
            "fire": f"{clock.short(row.fire_from_s)} to {clock.short(row.fire_to_s, up=True)}",
            "coat_by": _coat_by_words(row, clock),
            "who": _who_words(row, clock),
            "chance": "" if left is None else f"{chance(left.chance)} sure to last the fire",
        },
    }


def _coat(left: FaceLeft) -> dict[str, Any]:
    return {
        "laid": _UTC.iso(left.laid_s),
        "laid_by": clean(left.laid_by),
        "laid_mm": left.coat_kg_m2,
        "left_mm": left.left_kg_m2,
        "left_low_mm": left.left_low_kg_m2,
        "left_high_mm": left.left_high_kg_m2,
        "share_left": left.share_left,
        "hold_90": _UTC.iso(left.hold_90_s),
        "hold_50": _UTC.iso(left.hold_50_s),
        "chance": left.chance,
        "verdict": left.verdict.value,
        "checks": left.checks,
        "flags": list(left.flags),
    }


def _left_words(left: FaceLeft | None, units: Units) -> str:
    if left is None:
        return "no coat logged"
    between = f"{coat(left.left_low_kg_m2, units)} to {coat(left.left_high_kg_m2, units)}"
    return f"{coat(left.left_kg_m2, units)} left of {coat(left.coat_kg_m2, units)} ({between})"


def _hold_words(left: FaceLeft | None, at_s: float, clock: LocalClock) -> str:
    if left is None:
        return NONE
    to_go_s = left.hold_90_s - at_s
    span = f"{minutes_held(to_go_s)} to go" if to_go_s > 0 else f"since {minutes_held(-to_go_s)}"
    verb = "until" if to_go_s > 0 else "over at"
    return f"{verb} {clock.short(left.hold_90_s)}, {span}"


def _coat_by_words(row: FaceRow, clock: LocalClock) -> str:
    if row.state is FaceState.HOLDS or row.coat_by_s is None:
        return NONE
    until = clock.short(row.coat_by_s)
    if row.coat_from_s is None:
        return f"by {until}"
    return f"from {clock.short(row.coat_from_s, up=True)} to {until}"


def _who_words(row: FaceRow, clock: LocalClock) -> str:
    if row.crew:
        return f"{clean(row.crew)}, {clock.short(row.crew_at_s, up=True)}"
    if row.left is not None and row.left.laid_by:
        return f"laid by {clean(row.left.laid_by)}"
    return "nobody"


def _alarm(alarm: Alarm, clock: LocalClock) -> dict[str, Any]:
    where = f"{clean(alarm.asset_name)}, {clean(alarm.label)}"
    ends = {
        AlarmKind.BELOW_DEMAND: f"too little water for the fire at {clock.short(alarm.by_s)}",
        AlarmKind.COAT_DUE: f"coat due, by {clock.short(alarm.by_s)}",
        AlarmKind.UNKNOWN: f"look at it: {clean(alarm.why)}",
    }
    return {
        "id": alarm.id,
        "kind": alarm.kind.value,
        "surface_id": alarm.surface_id,
        "says": f"{where}: {ends[alarm.kind]}",
    }


def _weather(board: Board, now_s: float, clock: LocalClock) -> dict[str, Any]:
    issued, seen = board.weather_issued_s, board.weather_seen_s
    age = "age of the forecast not known"
    if issued is not None:
        hours = max(0.0, now_s - issued) / 3600.0
        age = f"forecast is {hours:.0f} h old" if hours >= 1 else "forecast is under an hour old"
    last = "no weather logged yet" if seen is None else f"weather last logged {clock.short(seen)}"
    return {
        "issued": _UTC.iso(issued),
        "seen": _UTC.iso(seen),
        "words": f"{age}; {last}",
    }
