"""How lines are told: coverage, pace, lag and verdict in the reader's words."""

from __future__ import annotations

import math

from stillwet.domain.line_plan import LinePlan, LineSegmentPlan, LinesPlan
from stillwet.domain.plan import Verdict
from stillwet.reports.local_time import LocalClock, clock_for
from stillwet.reports.words import NONE, Units
from stillwet.units import from_si

LINE_VERDICTS = {
    Verdict.HOLDS: "HOLDS",
    Verdict.DOUBTFUL: "DOUBTFUL",
    Verdict.WILL_NOT_HOLD: "WILL NOT HOLD",
    Verdict.DO_NOT_COAT: "DO NOT USE",
}
FIRE_AT_LINE = {
    "backing": "backs away from the line; flames lean over the strip",
    "flanking": "runs along the line",
    "heading": "heads away from the line",
    "unknown": "direction not forecast: the worst taken",
}
FIRE_THAT_COMES = {
    "backing": "comes as a backing fire",
    "flanking": "comes as a flanking fire",
    "heading": "comes as a head fire",
    "unknown": "direction not forecast: the worst taken",
}


def coverage_label(units: Units) -> str:
    """The unit of coverage."""
    return "L/m2" if units is Units.METRIC else "gal/100 ft2"


def coverage_number(water_kg_m2: float | None, units: Units) -> str:
    """Coverage to lay at the least, rounded up, without its unit; "none" where nothing will do."""
    if water_kg_m2 is None:
        return NONE
    if not math.isfinite(water_kg_m2):
        return "none"
    value = water_kg_m2 if units is Units.METRIC else from_si(water_kg_m2, "gal/100ft2")
    return f"{_tenth_up(value):.1f}"


def coverage_both(water_kg_m2: float) -> str:
    """Coverage in both systems, as it was laid."""
    gallons = from_si(water_kg_m2, "gal/100ft2")
    return f"{water_kg_m2:.1f} L/m2, {gallons:.1f} gal per 100 ft2"


def coverage_to_lay(water_kg_m2: float) -> str:
    """Coverage in both systems, rounded up, for the place where the nozzle is set."""
    gallons = from_si(water_kg_m2, "gal/100ft2")
    return f"{_tenth_up(water_kg_m2):.1f} L/m2, {_tenth_up(gallons):.1f} gal per 100 ft2"


def _tenth_up(value: float) -> float:
    return math.ceil(10.0 * value - 1e-6) / 10.0


def length(metres: float | None, units: Units) -> str:
    """A length to the tenth where it is short, with its unit."""
    if metres is None or not math.isfinite(metres):
        return NONE
    value, label = (metres, "m") if units is Units.METRIC else (from_si(metres, "ft"), "ft")
    return f"{value:.1f} {label}" if 0.0 < value < 9.95 else f"{value:,.0f} {label}"


def pace(metres_per_s: float, units: Units) -> str:
    """A walking pace a minute, cut down, for a faster walk lays a thinner coat."""
    unit = "m/min" if units is Units.METRIC else "ft/min"
    value = from_si(metres_per_s, unit)
    if value < 10.0:
        return f"{math.floor(10.0 * value + 1e-6) / 10.0:.1f} {unit}"
    return f"{math.floor(value + 1e-6):,} {unit}"


def span(seconds: float | None, *, up: bool = False, narrow: bool = False) -> str:
    """A time span in whole minutes: "14 min", "2 h 05", "none" at or under zero.

    Cut down, for what is left or allowed; ``up`` for what must be waited for. ``narrow``: "< 1 min"
    in place of "under 1 min".
    """
    if seconds is None or not math.isfinite(seconds):
        return NONE
    if seconds <= 0.0:
        return "none"
    if seconds < 60.0 and not up:
        return "< 1 min" if narrow else "under 1 min"
    whole = math.ceil(seconds / 60.0 - 1e-6) if up else math.floor(seconds / 60.0 + 1e-6)
    return f"{whole} min" if whole < 120 else f"{whole // 60} h {whole % 60:02d}"


def clock_of_lines(plan: LinesPlan) -> LocalClock:
    """The clock of a lines' plan: weekdays when they are unambiguous, dates otherwise."""
    return clock_for(plan.time_zone, lines_times(plan))


def lines_times(plan: LinesPlan) -> list[float]:
    """Every moment that the tables show, epoch seconds."""
    times = []
    for line in plan.lines:
        shown = (line.start_s, line.wetted_s, line.lit_s, line.black_at_s, line.arrival_to_s)
        times += [time for time in shown if time is not None]
        times += [hour.time_s for part in line.segments for hour in part.hours]
    return times


def hour_minute(clock: LocalClock, time_s: float | None, *, up: bool = False) -> str:
    """The time of day without its weekday, for tables of one day's work."""
    return clock.short(time_s, up=up).rpartition(" ")[2]


def fire_words(line: LinePlan, segment: LineSegmentPlan) -> str:
    """How the fire at the line moves."""
    return (FIRE_AT_LINE if line.is_lit else FIRE_THAT_COMES)[segment.fire_at_line]


def widest_wanted(segment: LineSegmentPlan, units: Units) -> str:
    """Every published multiple with the width it asks for: "1.5 times: 4.1 ft enough; ..."."""
    told = []
    for check in segment.widths:
        answer = "enough" if check.is_enough else "TOO NARROW"
        planned = " (planned by)" if check.is_planned else ""
        told.append(f"{check.multiple:g} times: {length(check.needed_m, units)} {answer}{planned}")
    return "; ".join(told)
