"""Lines as they are being worked, for a browser: SI numbers, ISO 8601 times, the reader's words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from stillwet.domain.line_plan import LineMark, LinePlan, LineSegmentPlan, LinesPlan
from stillwet.domain.line_watch import (
    LineAlarm,
    LineAlarmKind,
    LineWatch,
    LitStretch,
    SegmentState,
    SegmentWatch,
    WetStretch,
)
from stillwet.reports.line_rows import (
    hindrance_words,
    line_pairs,
    refill_words,
    rule_words,
    segment_row,
    wait_words,
)
from stillwet.reports.line_words import (
    LINE_VERDICTS,
    clock_of_lines,
    coverage_to_lay,
    length,
    span,
)
from stillwet.reports.local_time import LocalClock
from stillwet.reports.words import NONE, Units, clean, unit_label

_UTC = LocalClock("UTC")
_MARGIN_S = 600.0
_UNLIT = {
    SegmentState.LIGHT_SOON: "drying out: wet it again",
    SegmentState.TOO_LATE: "dried out: wet it again",
}
_ALARMS = {
    LineAlarmKind.TOO_LATE: "LAG EXCEEDED since {when}. Do not light behind it: wet it again first",
    LineAlarmKind.SOON: "light it by {when}, or not before it is wetted again",
    LineAlarmKind.LIT_LATE: "was lit after {when}, the last moment of its lag: watch it for fire "
    "in the strip",
    LineAlarmKind.LIT_DRY: "was lit at {when} where nobody had logged a wet strip",
    LineAlarmKind.AHEAD: "wetted at {when} past a holding point that the torch had not reached: "
    "the strip ahead dries while it waits",
    LineAlarmKind.THIN: "laid thinner than planned at {when}: the times shown do not hold there",
    LineAlarmKind.DRY_FIRST: "is dry from {when}, before the fire may have come: wet it again",
}

Point = list[Any]


def lines_live(
    plan: LinesPlan, watches: Sequence[LineWatch], *, now_s: float, units: str
) -> dict[str, Any]:
    """Plans and what the log makes of them, as plain data."""
    clock, reader = clock_of_lines(plan), Units(units)
    return {
        "now": _UTC.iso(now_s),
        "time_zone": plan.time_zone,
        "units": units,
        "length_unit": unit_label("m", reader),
        "plan_id": plan.id,
        "made": clock.full(plan.made_s),
        "cautions": [clean(text) for text in plan.cautions],
        "warnings": [clean(text) for text in plan.warnings],
        "lines": [
            _line(line, plan.ratio_basis, watch, clock, reader, now_s)
            for line, watch in zip(plan.lines, watches, strict=True)
        ],
    }


def _line(
    line: LinePlan,
    ratio_basis: str,
    watch: LineWatch,
    clock: LocalClock,
    units: Units,
    now_s: float,
) -> dict[str, Any]:
    first, last = _extent(line, watch, now_s)
    return {
        "id": line.line_id,
        "name": clean(line.name),
        "purpose": line.purpose,
        "is_lit": line.is_lit,
        "verdict": LINE_VERDICTS[line.verdict],
        "reason": clean(line.reason),
        "length_m": line.length_m,
        "from": _UTC.iso(first),
        "to": _UTC.iso(last),
        "planned": _planned(line),
        "done": _done(watch),
        "fire": [_UTC.iso(line.arrival_from_s), _UTC.iso(line.arrival_to_s)]
        if line.arrival_to_s is not None
        else None,
        "segments": [
            _segment(line, part, one, clock, units)
            for part, one in zip(line.segments, watch.segments, strict=True)
        ],
        "alarms": [_alarm(line, one, clock) for one in watch.alarms],
        "unknown": [clean(name) for name in watch.unknown],
        "pairs": [
            [name, clean(value)] for name, value in line_pairs(line, ratio_basis, units, clock)
        ],
        "steps": [*wait_words(line, units), *refill_words(line, units, clock)],
        "rules": [_rule(*rule_words(rule, clock), rule.is_kept) for rule in line.stop_rules],
        "against": [list(hindrance_words(one, clock)) for one in line.hindrances],
    }


def _extent(line: LinePlan, watch: LineWatch, now_s: float) -> tuple[float, float]:
    """The moments the figure runs between: the plan's and the log's; now, if it is near them."""
    times = [line.start_s]
    for mark in line.marks:
        times += [mark.wet_from_s, mark.latest_s, mark.dry_90_s]
        times += [] if mark.lit_to_s is None else [mark.lit_to_s]
    for stretch in watch.wet:
        times += [stretch.from_s, *stretch.latest_s, *stretch.dry_90_s]
    times += [time for one in watch.lit for time in (one.from_s, one.to_s)]
    times += [] if line.arrival_to_s is None else [line.arrival_to_s]
    first, last = min(times), max(times)
    if first - 12 * 3600.0 < now_s < last + 12 * 3600.0:
        first, last = min(first, now_s), max(last, now_s)
    return first - _MARGIN_S, last + _MARGIN_S


def _planned(line: LinePlan) -> dict[str, list[Point]]:
    marks = line.marks
    lit = [mark for mark in marks if mark.lit_from_s is not None and mark.lit_to_s is not None]
    return {
        "wet": _path((mark.wet_from_s, mark.wet_to_s, mark) for mark in marks),
        "lit": _path((mark.lit_from_s or 0.0, mark.lit_to_s or 0.0, mark) for mark in lit),
        "latest": _path((mark.latest_s, mark.latest_s, mark) for mark in marks),
        "dry_90": _path((mark.dry_90_s, mark.dry_90_s, mark) for mark in marks),
        "dry_50": _path((mark.dry_50_s, mark.dry_50_s, mark) for mark in marks),
    }


def _path(steps: Iterable[tuple[float, float, LineMark]]) -> list[Point]:
    """Two points a step: [moment, distance in metres]."""
    points: list[Point] = []
    for first, last, mark in steps:
        points += [[_UTC.iso(first), mark.from_m], [_UTC.iso(last), mark.to_m]]
    return points


def _done(watch: LineWatch) -> dict[str, Any]:
    return {
        "wet": [_stretch(one) for one in watch.wet],
        "lit": [_lit(one) for one in watch.lit],
        "torch": None if watch.torch is None else [_UTC.iso(watch.torch.when_s), watch.torch.at_m],
    }


def _stretch(one: WetStretch) -> dict[str, Any]:
    ends = (one.from_m, one.to_m)

    def both(times: tuple[float, float]) -> list[Point]:
        return [[_UTC.iso(time), at] for time, at in zip(times, ends, strict=True)]

    return {
        "wet": both((one.from_s, one.to_s)),
        "latest": both(one.latest_s),
        "dry_90": both(one.dry_90_s),
        "dry_50": both(one.dry_50_s),
        "is_guessed": one.is_guessed,
    }


def _lit(one: LitStretch) -> dict[str, Any]:
    ways = [[_UTC.iso(one.from_s), one.from_m], [_UTC.iso(one.to_s), one.to_m]]
    return {"lit": ways, "is_guessed": one.is_guessed}


def _segment(
    line: LinePlan, part: LineSegmentPlan, one: SegmentWatch, clock: LocalClock, units: Units
) -> dict[str, Any]:
    row = segment_row(part, units, clock)
    words = str(one.state) if line.is_lit else _UNLIT.get(one.state, str(one.state))
    return {
        "id": f"{line.line_id}/{part.segment_id}",
        "name": row.name,
        "from_m": part.from_m,
        "to_m": part.to_m,
        "state": str(one.state),
        "state_words": words,
        "words": {
            "stretch": row.stretch,
            "verdict": row.verdict,
            "wet": f"{row.wet} to {row.wet_end}",
            "lit": f"{row.lit} to {row.lit_end}" if line.is_lit else NONE,
            "lag": row.lag,
            "lay": coverage_to_lay(part.coverage_kg_m2),
            "walk": row.walk,
            "wet_to": _reached(part, one.wet_to_m, units),
            "lit_to": _reached(part, one.lit_to_m, units),
            "latest": clock.short(one.latest_s),
            "spare": _spare(one),
        },
    }


def _reached(part: LineSegmentPlan, at_m: float | None, units: Units) -> str:
    if at_m is None:
        return NONE
    return "all" if at_m >= part.to_m - 0.5 else f"{length(at_m - part.from_m, units)} of it"


def _spare(one: SegmentWatch) -> str:
    if one.spare_s is None:
        return NONE
    return span(one.spare_s) if one.spare_s >= 0.0 else f"{span(-one.spare_s)} too late"


def _alarm(line: LinePlan, one: LineAlarm, clock: LocalClock) -> dict[str, str]:
    says = _ALARMS[one.kind].format(when=clock.short(one.when_s))
    return {
        "id": f"{line.line_id}/{one.segment_id} {one.kind} {one.when_s:.0f}",
        "kind": str(one.kind),
        "says": f"{clean(line.name)}, {clean(one.name)}: {says}.",
    }


def late_alarms(plan: LinesPlan, watches: Sequence[LineWatch]) -> list[dict[str, str]]:
    """The alarms of lag exceeded alone, each with its segment as ``surface_id``."""
    clock = clock_of_lines(plan)
    return [
        {**_alarm(line, one, clock), "surface_id": f"{line.line_id}/{one.segment_id}"}
        for line, watch in zip(plan.lines, watches, strict=True)
        for one in watch.alarms
        if one.kind is LineAlarmKind.TOO_LATE
    ]


def _rule(name: str, rule: str, forecast: str, is_kept: bool) -> dict[str, Any]:
    return {"name": name, "rule": rule, "forecast": forecast, "is_kept": is_kept}
